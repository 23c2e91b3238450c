package plan

import (
	"math"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
)

// Beside an edge that was roughed before, a cutter meets material only at its side,
// where the chip is thinner than the feed per tooth, so that it may be fed faster.
// What it meets is not taken from the allowance alone: in front of corners, reliefs
// and the ends of the roughing path it meets more. So the whole front is looked at,
// place by place, and only where it is free the feed is raised.
type thinChip struct {
	rough nearness // path of the roughing cut, at the depth of the finish pass
	r     float64  // radius of the cutter, mm
	free  float64  // angle from straight ahead up to which the front must be free, rad
	feed  float64  // there, mm/min
}

const (
	spareFront   = math.Pi / 18 // by which material is taken to begin nearer to straight ahead than it does, rad
	shortestFast = 6.0          // length of path below which it is not worth while, mm
)

// thinChip is what a finish pass along rough may be fed faster; nil when nothing is
// gained: a burr has no teeth to count by, a thick allowance makes full chips, and on
// a skin that slopes the roughing cut stood higher beside the place. The
// chip thins by 2·√(q(1−q)) with q = ae/D (closed form, see shop.ChipFactor); below a
// twentieth of the diameter the factor is held, since runout and bending are larger
// than the chip then.
func (j *job) thinChip(rough []geom.Seg) *thinChip {
	d, ae := j.cutter.Diameter, j.c.Finish
	if j.cutter.Flutes < 1 || tipLength(j.cutter) > 0 || !(ae > 0) || ae >= d/2 || !j.w.Skin.Flat() {
		return nil
	}
	ae = math.Max(ae, d/20)
	free := math.Asin(1-2*ae/d) - spareFront
	if free <= 0 {
		return nil
	}
	f := j.c.Feed * math.Min(1/math.Cos(free), shop.ChipFactor(ae, d))
	if most := j.w.Machine.FeedXY; most > 0 {
		f = math.Min(f, most)
	}
	if f < 1.05*j.c.Feed {
		return nil
	}
	t := &thinChip{r: j.r, free: free, feed: f}
	t.rough.fill(rough)
	return t
}

// deepest is the track where no tab lifts the cutter.
func (r *runner) deepest() []geom.Seg {
	var out []geom.Seg
	at := 0.0
	for _, c := range r.capsBetween(0, r.t.len, math.Inf(1)) {
		if c.at[0] > at+hair {
			out = append(out, r.t.section(at, c.at[0])...)
		}
		at = math.Max(at, c.at[4])
	}
	if at < r.t.len-hair {
		out = append(out, r.t.section(at, r.t.len)...)
	}
	return out
}

// runs along a straight: positions, in mm from its start, between which the front is
// free, each longer than shortestFast.
func (t *thinChip) runs(s geom.Seg) [][2]float64 {
	l := s.Length()
	if !s.IsLine() || l < shortestFast {
		return nil
	}
	var out [][2]float64
	sure := t.beside(s)
	step := t.r / 8
	n := int(math.Ceil(l / step))
	from := -1.0
	for i := 0; i <= n; i++ {
		at := math.Min(float64(i)*step, l)
		free := false
		for _, b := range sure {
			free = free || at >= b[0] && at <= b[1]
		}
		free = free || t.freeAt(s.At(at/l), s.TangentA())
		if free && from < 0 {
			if from = at; i > 0 {
				from += step
			}
		}
		if end := at - 2*step; !free || i == n {
			if free {
				end = l
			}
			if from >= 0 && end-from >= shortestFast {
				out = append(out, [2]float64{from, end})
			}
			from = -1
		}
	}
	return out
}

// shy is how much nearer to the roughing path than its cutter reached what counts as
// free must lie, mm.
const shy = 0.02

// beside lists where on a straight the whole front lies beside one straight of the
// roughing path, which is most of it and needs no closer look.
func (t *thinChip) beside(s geom.Seg) [][2]float64 {
	var out [][2]float64
	way := s.TangentA()
	wide := t.r*(1-math.Sin(t.free)) - shy
	for _, g := range t.rough.segs {
		u, v := g.A.Sub(s.A), g.B.Sub(s.A)
		if !g.IsLine() || math.Max(math.Abs(way.Cross(u)), math.Abs(way.Cross(v))) > wide {
			continue
		}
		a, b := way.Dot(u), way.Dot(v)
		out = append(out, [2]float64{math.Min(a, b), math.Max(a, b) - t.r})
	}
	return out
}

// freeAt tells whether a cutter at p that goes the way ahead has nothing before it up
// to the free angle to both sides.
func (t *thinChip) freeAt(p, ahead geom.Point) bool {
	const fine = math.Pi / 60 // 3°
	n := int(math.Ceil(t.free / fine))
	for i := 0; i <= n; i++ {
		sin, cos := math.Sincos(t.free * float64(i) / float64(n))
		for _, side := range [...]float64{1, -1} {
			q := p.Add(ahead.Mul(t.r * cos)).Add(ahead.Left().Mul(side * t.r * sin))
			if t.rough.beyond(q, t.r-shy) != 0 {
				return false
			}
		}
	}
	return true
}

// straight runs along a segment of a finish pass, faster where the chip is thin.
func (r *runner) straight(g geom.Seg, d, feed float64) {
	l, at := g.Length(), 0.0
	for _, f := range r.thin.runs(g) {
		if f[0] > at {
			r.to(part(g, at/l, f[0]/l), d, feed)
		}
		r.to(part(g, f[0]/l, f[1]/l), d, r.thin.feed)
		at = f[1]
	}
	if at < l {
		r.to(part(g, at/l, 1), d, feed)
	}
}
