package plan

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
)

// bore mills round holes on a helix whose pitch follows from the ramp angle:
// pitch = 2π·r·tan α (closed form). A hole wider than two cutters is cleared
// from inside, ring by ring, so that no core falls out. The finish circle takes
// what the helix left and leaves on a half circle to the middle.
func (j *job) bore() []op {
	c := j.c
	pts := c.Points
	if len(pts) == 0 {
		for _, g := range c.Regions {
			pts = append(pts, g.Bounds().Center())
		}
	}
	if c.Diameter <= 0 {
		j.refuseNumber("diameter", c.Diameter, "above 0")
		return nil
	}
	gap := c.Diameter - j.cutter.Diameter
	if gap < -hair || gap < 1e-3 && !j.cutter.CentreCutting {
		f := j.finding(diag.Stop, "cutter-too-wide", fmt.Sprintf("a hole of %.3f mm cannot be bored by a cutter of %.3f mm", c.Diameter, j.cutter.Diameter),
			fmt.Sprintf("use a cutter of less than %.2f mm, or drill the hole", c.Diameter))
		j.add(j.at(f.With(j.cutter.Diameter, c.Diameter, "mm"), pts[0]))
		return nil
	}
	if c.Finish > 0 && gap/2-c.Finish < 1e-3 {
		f := j.finding(diag.Stop, "allowance-vanishes", fmt.Sprintf("a finish allowance of %.3f mm leaves no helix in a hole of %.3f mm", c.Finish, c.Diameter),
			"leave a smaller finish allowance, or use a thinner cutter")
		j.add(j.at(f.With(c.Finish, gap/2, "mm"), pts[0]))
		return nil
	}
	if turns := (j.d.bottom + j.d.spread) / c.Step; !j.sizeHolds(float64(len(pts)) * math.Max(1, gap/(1.6*j.cutter.Diameter)) * (2*turns + 6)) {
		return nil
	}
	out := make([]op, 0, len(pts))
	for _, q := range pts {
		ls, ok := j.boreAt(q, gap/2)
		if !ok {
			return nil
		}
		g := geom.Region{Outer: geom.Circle(q, c.Diameter/2)}
		o := op{cut: j.index, name: "bore", cutter: c.Cutter, rpm: c.RPM, base: j.d.base, legs: ls, rank: rankBore, size: g.Area(), around: g}
		o.measure(j.r)
		out = append(out, o)
	}
	return out
}

// rings are the radii of the helices, from inside, the last one r.
func (j *job) rings(r float64) []float64 {
	inner := 0.9 * j.r // leaves no core: the cutter reaches past the middle
	if r <= j.r {
		return []float64{r}
	}
	n := int(math.Ceil((r-inner)/(0.8*j.cutter.Diameter) - 1e-9))
	out := make([]float64, n+1)
	for i := range out {
		out[i] = inner + float64((r-inner)*float64(i)/float64(n))
	}
	out[n] = r
	return out
}

func (j *job) boreAt(q geom.Point, r float64) ([]leg, bool) {
	c := j.c
	var l legs
	if r < 1e-3 { // as wide as the cutter: straight down
		l.begin(q, j.d.surface())
		l.line(q, j.d.bottom, c.Plunge)
		return l.list, true
	}
	l.begin(q, j.d.surface())
	all := j.rings(r - c.Finish)
	for i, ring := range all {
		if i > 0 {
			l.lift()
			l.line(q, j.d.surface(), c.Feed)
		}
		if !j.helix(&l, q, ring) {
			return nil, false
		}
		if i == len(all)-1 {
			l.to(halfCircle(l.at, q, c.Climb), j.d.bottom, j.boreFeed(ring))
		}
	}
	if c.Finish > 0 {
		l.to(halfCircle(l.at, q.Add(c.Frame.ApplyVector(geom.Pt(r, 0))), c.Climb), j.d.bottom, j.boreFeed(r))
		j.circle(&l, q, r)
		l.to(halfCircle(l.at, q, c.Climb), j.d.bottom, j.boreFeed(r))
	}
	return l.list, true
}

// boreFeed is the feed of the centre that gives the feed asked for at the edge:
// vf·(Dh-D)/Dh for a hole of diameter Dh (closed form). Ahead of the cutter, where
// a narrow hole is cut over its whole width, that is also the chip, so it is not
// slowed down until the cutter rubs.
func (j *job) boreFeed(r float64) float64 {
	return math.Max(j.c.Feed*r/(r+j.r), math.Min(j.c.Feed, j.rubbing()))
}

// rubbing is the least feed at which a tooth still takes a chip, mm/min.
func (j *job) rubbing() float64 {
	return math.Ceil(shop.RubbingChip * j.c.RPM * math.Max(1, float64(j.cutter.Flutes)))
}

// helix goes down from where the cutter is, out to radius r, down to the bottom
// in whole half turns, and once around there.
func (j *job) helix(l *legs, q geom.Point, r float64) bool {
	c := j.c
	d0 := j.d.surface()
	pitch := math.Min(2*math.Pi*r*math.Tan(c.Ramp), c.Step)
	turns := (j.d.bottom - d0) / pitch
	if turns > mostPasses {
		f := j.finding(diag.Stop, "ramp-too-long", fmt.Sprintf("the helix would take %.0f turns of %.4f mm", turns, pitch), "use a thinner cutter, a steeper ramp or a larger depth per pass")
		j.add(j.at(f.With(math.Ceil(turns), mostPasses, ""), q))
		return false
	}
	half := int(math.Max(1, math.Ceil(2*turns-hair)))
	out := j.c.Frame.ApplyVector(geom.Pt(r, 0))
	east, west := q.Add(out), q.Sub(out)
	l.line(east, d0, j.boreFeed(r)) // in the air: the helix begins at the highest skin
	feed := math.Min(j.boreFeed(r), j.slopeFeed(math.Sin(math.Atan(pitch/(2*math.Pi*r)))))
	for i := range half {
		to := west
		if l.at == west {
			to = east
		}
		d := d0 + float64((j.d.bottom-d0)*float64(i+1)/float64(half))
		if i == half-1 {
			d = j.d.bottom
		}
		l.to(halfCircle(l.at, to, c.Climb), d, feed)
	}
	j.circle(l, q, r)
	return true
}

// circle goes once around q at the bottom from where the cutter is.
func (j *job) circle(l *legs, q geom.Point, r float64) {
	from := l.at
	across := q.Add(q.Sub(from))
	l.to(halfCircle(from, across, j.c.Climb), j.d.bottom, j.boreFeed(r))
	l.to(halfCircle(across, from, j.c.Climb), j.d.bottom, j.boreFeed(r))
}

// halfCircle runs from a to b, counter-clockwise when climbing inside a hole.
func halfCircle(a, b geom.Point, climb bool) geom.Seg {
	if climb {
		return geom.Seg{A: a, B: b, Bulge: 1}
	}
	return geom.Seg{A: a, B: b, Bulge: -1}
}
