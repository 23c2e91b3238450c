package plan

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

// sharpTurn is the least turn of the path that counts as a corner, rad.
const sharpTurn = 0.05

// leastRelief is the way below which a corner is as good as filled, mm.
const leastRelief = 0.02

// cornering adds what a path does beside its plain course in the corners that the
// cutter cannot fill: the relief that the cut asks for, or a short stroke where
// that brings a corner within the tolerance.
type cornering struct {
	*job
	outline []geom.Contour
	index   *geom.Index
	sharp   []outlineCorner
}

// outlineCorner is a drawn corner.
type outlineCorner struct {
	at       geom.Point
	half     float64 // half of its inside angle, rad
	number   int     // of the edge that begins there, in the index
	previous int     // of the edge that ends there
}

// cornered returns the path c, which has the kept side on its right, with relief
// and strokes at its corners. g is the drawn outline.
//
// Dog-bone: straight towards the drawn corner until the cutter touches it, which
// is r(1/sin(θ/2) − 1) along the bisector where both walls are straight. T-bone,
// at nearly square corners: along the longer wall until the corner lies on the
// circle of the cutter (r for a square one).
func (j *job) cornered(g geom.Region, c geom.Contour) geom.Contour {
	k := cornering{job: j, outline: g.Contours()}
	n := len(c)
	out := make(geom.Contour, 0, n+8)
	for i := range c {
		out = append(out, c[i])
		prev, next := c.Seg((i+n-1)%n), c.Seg(i)
		in, on := prev.TangentB(), next.TangentA()
		turn := math.Atan2(in.Cross(on), in.Dot(on))
		if turn < sharpTurn {
			continue
		}
		v := pathCorner{at: c[i].Point, half: (math.Pi - turn) / 2, towards: in.Sub(on).Unit(), along: in}
		if next.Length() > prev.Length() {
			v.along = on.Mul(-1)
		}
		q, ok := geom.Point{}, false
		if j.c.Relief != "" {
			q, ok = k.relief(v)
		}
		if !ok {
			q, ok = k.stroke(v)
		}
		if !ok {
			continue
		}
		bulge := out[len(out)-1].Bulge
		out[len(out)-1].Bulge = 0
		out = append(out, geom.Vertex{Point: q}, geom.Vertex{Point: c[i].Point, Bulge: bulge})
	}
	return out
}

// pathCorner is a corner of the path of the centre.
type pathCorner struct {
	at      geom.Point
	half    float64    // half of the angle between the walls, rad
	towards geom.Point // direction to what stays
	along   geom.Point // direction of the longer wall, towards the corner
}

// prepare indexes the outline when it is needed first.
func (k *cornering) prepare() {
	if k.index != nil {
		return
	}
	k.index = geom.NewIndex(k.outline...)
	first := 0
	for _, c := range k.outline {
		for i := range c {
			p := (i + len(c) - 1) % len(c)
			in, on := c.Seg(p).TangentB(), c.Seg(i).TangentA()
			if turn := math.Abs(math.Atan2(in.Cross(on), in.Dot(on))); turn > sharpTurn {
				k.sharp = append(k.sharp, outlineCorner{c[i].Point, (math.Pi - turn) / 2, first + i, first + p})
			}
		}
		first += len(c)
	}
}

// sharpest is the sine of half of the sharpest corner that gets relief: in a
// tighter one the way to the corner is longer than five times the radius.
const sharpest = 0.2

// relief returns where the centre goes to relieve a corner. Only a corner that
// is drawn sharp gets relief: a square part does not seat in a round one however
// deep the relief is.
func (k *cornering) relief(v pathCorner) (geom.Point, bool) {
	k.prepare()
	r := k.r
	guess := v.at.Add(v.towards.Mul(r / math.Sin(v.half)))
	var corner *outlineCorner
	best := math.Inf(1)
	for i := range k.sharp {
		s := &k.sharp[i]
		if d := s.at.Dist(guess); d < best && math.Sin(s.half) > sharpest && s.at.Dist(v.at) <= r/math.Sin(s.half)+k.c.Tol/2 {
			corner, best = s, d
		}
	}
	if corner == nil {
		return geom.Point{}, false
	}
	way := corner.at.Sub(v.at)
	q := corner.at.Sub(way.Unit().Mul(r))
	if k.c.Relief == "tbone" && math.Abs(v.half-math.Pi/4) < 0.15 { // of a nearly square corner only
		const short = 0.002 // mm: the centre stays off the other wall when coordinates are rounded
		dot := way.Dot(v.along)
		l := dot - math.Sqrt(math.Max(0, float64(dot*dot)-way.Dot(way)+float64(r*r)))
		if beside := v.at.Add(v.along.Mul(l - short)); k.index.DistSeg(geom.Line(v.at, beside)) > short/4 {
			q = beside
		}
	}
	if way.Len() <= r || q.Dist(v.at) < leastRelief {
		return geom.Point{}, false
	}
	if d := k.otherWalls(geom.Line(v.at, q), corner) - r; d < -k.c.Tol/2 {
		f := k.finding(diag.Warn, "relief-near", fmt.Sprintf("a corner relief would cut %.2f mm into another wall of the outline and is left out", -d), "use the other form of relief, a thinner cutter, or draw the corner wider")
		k.add(k.at(f.With(-d, 0, "mm"), q))
		return geom.Point{}, false
	}
	k.reliefNear(q)
	return q, true
}

// otherWalls returns how far s lies from the walls that do not meet in a corner.
func (k *cornering) otherWalls(s geom.Seg, corner *outlineCorner) float64 {
	d := math.Inf(1)
	k.index.Each(s.Bounds().Grow(k.r), func(i int) bool {
		if i != corner.number && i != corner.previous {
			d = math.Min(d, k.index.Seg(i).DistSeg(s))
		}
		return true
	})
	return d
}

// strokeShare is the part of the tolerance that a stroke into a corner takes
// from the walls beside it. The rest is for runout and the error of the cutter.
const strokeShare = 0.6

// clearedShare is the part of the tolerance that may stay inside an outline that
// is to be cleared; a whole tolerance may stay on an edge.
const clearedShare = 0.45

// clears tells whether nothing may stay inside the outline.
func (j *job) clears() bool {
	switch j.c.Kind {
	case work.Pocket, work.Rebate, work.Slot:
		return true
	}
	return false
}

// longestTip is how far what stays in a tip may reach from it, in radii: a tip of
// some 21°. Beyond that it is a slit that the cutter does not fit.
const longestTip = 5.5

// tipReach is how far what stays in a tip reaches along its walls when a stroke
// takes so much from them: where less than half of the tolerance stays counts as
// cleared.
func (k *cornering) tipReach(v pathCorner, taken float64) float64 {
	return (k.r-taken)/math.Tan(v.half) - math.Sqrt(k.r*k.c.Tol+float64(2*k.r*taken))
}

// tipStays refuses a tip of an outline that is to be cleared when it is so sharp
// that what stays in it is more than a corner.
func (k *cornering) tipStays(v pathCorner) {
	left := k.r * (1/math.Sin(v.half) - 1)
	f := k.finding(diag.Stop, "tip-left", fmt.Sprintf("a tip of %.0f° is to be cleared, and the %.2f mm cutter stays %.2f mm short of it", 2*v.half*180/math.Pi, k.cutter.Diameter, left),
		fmt.Sprintf("draw the tip with a radius of at least %.2f mm, or cut along it by kind = \"opening\"", math.Ceil(k.r*100)/100))
	k.add(k.at(f.With(left, k.c.Tol, "mm"), v.at))
}

// stroke returns where the centre goes to bring a corner within the tolerance
// that would else stay just outside of it: a round corner a little tighter than
// the cutter, or the mouth of a sharp tip. It takes a part of the tolerance from
// the walls. Corners that no stroke within the tolerance brings nearer are left.
func (k *cornering) stroke(v pathCorner) (geom.Point, bool) {
	sin := math.Sin(v.half)
	least := k.c.Tol
	if k.clears() {
		least *= clearedShare
	}
	if k.r*(1/sin-1) <= least { // whatever is drawn there
		return geom.Point{}, false
	}
	k.prepare()
	left := math.Inf(1)
	if q, ok := k.hit(v.at, v.towards); ok {
		left = q.Dist(v.at) - k.r
	}
	if left <= least {
		return geom.Point{}, false
	}
	if left <= k.c.Tol {
		q := v.at.Add(v.towards.Mul(left - least + 1e-3))
		return q, k.index.DistSeg(geom.Line(v.at, q)) >= k.r-strokeShare*k.c.Tol
	}
	long := k.clears() && k.tipReach(v, 0) > longestTip*k.r
	if !long && !k.withinReach(v) {
		return geom.Point{}, false
	}
	for share := strokeShare; share > 0.1; share /= 2 {
		q := v.at.Add(v.towards.Mul(share * k.c.Tol / sin))
		if k.index.DistSeg(geom.Line(v.at, q)) >= k.r-strokeShare*k.c.Tol-1e-6 {
			if long && k.tipReach(v, share*k.c.Tol) > longestTip*k.r {
				k.tipStays(v)
			}
			return q, q.Dist(v.at) >= 1e-3
		}
	}
	return geom.Point{}, false
}

// withinReach tells whether some place of the outline beside a corner is left
// although a cutter that keeps the tolerance could stand there.
func (k *cornering) withinReach(v pathCorner) bool {
	r, tol := k.r, k.c.Tol
	s0 := math.Sqrt(float64(2*r*tol) + float64(tol*tol)) // from where the wall is left
	for _, s := range [...]float64{1.02, 1.2, 1.5, 2, 3, math.Inf(1)} {
		for _, side := range [...]float64{-1, 1} {
			turn := math.Pi/2 - v.half // of the bisector from where the cutter touches the wall
			if !math.IsInf(s, 0) {
				turn = math.Min(turn, math.Atan(s*s0/r))
			}
			dir := turned(v.towards, side*(math.Pi/2-v.half-turn))
			q, ok := k.hit(v.at, dir)
			if !ok || q.Dist(v.at) <= r+tol {
				continue
			}
			_, i, _ := k.index.Nearest(q)
			n := k.index.Seg(i).TangentA().Left()
			if g := k.index.Seg(i); !g.IsLine() {
				n = q.Sub(g.Center()).Unit()
			}
			if n.Dot(v.at.Sub(q)) < 0 {
				n = n.Mul(-1)
			}
			if k.index.Dist(q.Add(n.Mul(r))) >= r-1.02*tol {
				return true
			}
		}
	}
	return false
}

// hit follows a ray from p to the outline.
func (k *cornering) hit(p, dir geom.Point) (geom.Point, bool) {
	far := 6 * k.r
	for run, i := 0.0, 0; i < 60 && run < far; i++ {
		q := p.Add(dir.Mul(run))
		d := k.index.Dist(q)
		if d < 1e-4 {
			return q, true
		}
		run += d
	}
	return geom.Point{}, false
}

// turned turns a direction counter-clockwise.
func turned(d geom.Point, angle float64) geom.Point {
	s, c := math.Sincos(angle)
	return geom.Pt(float64(d.X*c)-float64(d.Y*s), float64(d.X*s)+float64(d.Y*c))
}

// reliefNear warns when a relief comes near the edge of its part or another cut.
func (j *job) reliefNear(q geom.Point) {
	least := math.Max(1, j.w.Thickness)
	if k := j.c.Part; k >= 0 && k < len(j.w.Parts) {
		if d := j.w.Parts[k].Region.Outer.Dist(q) - j.r; d < least && j.c.Regions[0].Outer.Dist(q) < j.w.Parts[k].Region.Outer.Dist(q) {
			f := j.finding(diag.Warn, "relief-near", fmt.Sprintf("a corner relief comes within %.2f mm of the edge of %s", d, j.w.Parts[k].Name), "move the opening, use the other form of relief, or a thinner cutter")
			j.add(j.at(f.With(d, least, "mm"), q))
		}
	}
	for i := range j.w.Cuts {
		o := &j.w.Cuts[i]
		if i == j.index || o.Part != j.c.Part {
			continue
		}
		for _, g := range o.Regions {
			if g.Bounds().Dist(q) > j.r+least || o.Kind == "part" {
				continue
			}
			if d := g.SignedDist(q) - j.r; d < least && d > -j.r {
				f := j.finding(diag.Warn, "relief-near", fmt.Sprintf("a corner relief comes within %.2f mm of %s", d, o.Name), "move the opening, use the other form of relief, or a thinner cutter")
				j.add(j.at(f.With(d, least, "mm"), q))
			}
		}
	}
}
