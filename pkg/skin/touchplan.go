package skin

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// TouchPlan says where the skin may be touched, and how densely. Lengths mm.
type TouchPlan struct {
	Within []geom.Region // where there is skin to touch; empty = everywhere
	Away   []geom.Region // clamps, straps, cradle: not touched, nor within Margin of them
	Margin float64       // kept from the border of Within and from Away; 0 = 3 mm
	// Around is how far outside the bounds of an opening the outer touches lie:
	// at least the radius of the cutter, so that its footprint stays inside the
	// touched area; 0 = 3 mm.
	Around float64
	// Spacing is the largest distance between touches at an opening; 0 = 20 mm.
	// Never fewer than three rows of three, which is what tells the bend.
	Spacing float64
	// Coarse is the spacing over the rest of Within; 0 = only the openings.
	Coarse float64
}

func (o TouchPlan) filled() TouchPlan {
	set := func(v *float64, d float64) {
		if !(*v > 0) {
			*v = d
		}
	}
	set(&o.Margin, 3)
	set(&o.Around, 3)
	set(&o.Spacing, 20)
	return o
}

// maxPlanned bounds a plan: a probe takes some ten seconds a touch.
const maxPlanned = 1000

// PlanTouches returns where to touch the skin, program coordinates, mm: a grid
// over each opening and Around it, and a coarse one over the rest. Touches inside
// an opening count, as the skin is still there. Rows run to and fro, so that the
// travel is short; touches that two openings would share are planned once. The
// same input gives the same plan. No more than 1000 touches are planned; the
// spacing grows until that holds.
func PlanTouches(openings []geom.Region, o TouchPlan) []geom.Point {
	o = o.filled()
	for {
		out := planTouches(openings, o)
		if len(out) <= maxPlanned {
			return out
		}
		o.Spacing *= 1.3
		o.Coarse *= 1.3
	}
}

func planTouches(openings []geom.Region, o TouchPlan) []geom.Point {
	var out []geom.Point
	add := func(b geom.Box, spacing float64, least int, keep float64) {
		size := b.Size()
		nx, ny := count(size.X, spacing, least), count(size.Y, spacing, least)
		before := out // a grid is not thinned by itself
		for j := range ny {
			for i := range nx {
				k := i
				if j%2 == 1 {
					k = nx - 1 - i
				}
				p := geom.Pt(between(b.Min.X, b.Max.X, k, nx), between(b.Min.Y, b.Max.Y, j, ny))
				if o.allows(p) && apart(before, p, keep) {
					out = append(out, p)
				}
			}
			if len(out) > 4*maxPlanned {
				return
			}
		}
	}
	for _, g := range openings {
		if b := g.Bounds(); !b.Empty() {
			// A touch shared with a neighbour may lie so much farther in that the
			// hull still holds the opening and most of Around.
			add(b.Grow(o.Around), o.Spacing, 3, o.Around/4)
		}
	}
	if o.Coarse > 0 {
		for _, g := range o.Within {
			if b := g.Bounds(); !b.Empty() {
				add(b.Grow(-1.01*o.Margin), o.Coarse, 2, o.Coarse/2)
			}
		}
	}
	return out
}

func count(size, spacing float64, least int) int {
	n := math.Ceil(size/spacing-1e-9) + 1
	return max(least, int(math.Min(n, maxPlanned)))
}

func between(a, b float64, i, n int) float64 {
	if n < 2 {
		return (a + b) / 2
	}
	return a + float64((b-a)*(float64(i)/float64(n-1)))
}

func apart(out []geom.Point, p geom.Point, keep float64) bool {
	for _, q := range out {
		if q.Dist(p) < keep {
			return false
		}
	}
	return true
}

// allows tells whether p may be touched.
func (o TouchPlan) allows(p geom.Point) bool {
	in := len(o.Within) == 0
	for _, g := range o.Within {
		in = in || g.ContainsInterior(p) && borderDist(g, p) >= o.Margin
	}
	for _, g := range o.Away {
		in = in && !g.ContainsInterior(p) && borderDist(g, p) >= o.Margin
	}
	return in
}

func borderDist(g geom.Region, p geom.Point) float64 {
	d := math.Inf(1)
	for _, c := range g.Contours() {
		d = math.Min(d, c.Dist(p))
	}
	return d
}

// MoreTouches returns where to touch besides, so that the height is known to
// within limit mm (twice the standard uncertainty plus the bound of the rest)
// everywhere under a cutter of radius r that works on the openings, the worst
// place first. It is empty when the model is good enough. Findings:
// "heights-uncertain" (note: the largest bound found, and where), and
// "heights-out-of-reach" (warn: the touches themselves repeat no better than the
// limit asks, so more of them would not help). At most 50 places.
func MoreTouches(m Model, openings []geom.Region, limit, r float64, o TouchPlan) ([]geom.Point, diag.List) {
	o = o.filled()
	type spot struct {
		p     geom.Point
		bound float64
	}
	var bad []spot
	var have []geom.Point
	floor := 0.0
	if f, ok := FittedOf(m); ok {
		have = f.Places()
		floor = 2 * f.Report().TouchU
	}
	known := len(have)
	worst := spot{}
	for _, g := range openings {
		b := g.Bounds()
		if b.Empty() {
			continue
		}
		b = b.Grow(r)
		step := math.Max(math.Min(o.Spacing/4, b.Size().Len()/12), b.Size().Len()/80)
		nx, ny := count(b.Size().X, step, 3), count(b.Size().Y, step, 3)
		for k := range nx * ny {
			p := geom.Pt(between(b.Min.X, b.Max.X, k%nx, nx), between(b.Min.Y, b.Max.Y, k/nx, ny))
			s := spot{p, Bound(m, geom.Box{Min: p, Max: p}.Grow(step/2))}
			if s.bound > worst.bound {
				worst = s
			}
			if (s.bound > limit || !Covered(m, p, r)) && o.allows(p) {
				bad = append(bad, s)
			}
		}
	}
	var found diag.List
	if len(bad) == 0 {
		return nil, nil
	}
	found.Add(diag.Finding{Code: "heights-uncertain", Severity: diag.Note,
		Message: fmt.Sprintf("the height of the skin at an opening is known to %.3f mm only", worst.bound),
		Help:    "touch the places listed"}.With(worst.bound, limit, "mm").AtMachine(worst.p.X, worst.p.Y, m.Height(worst.p)))
	if floor > limit {
		found.Add(diag.Finding{Code: "heights-out-of-reach", Severity: diag.Warn,
			Message: "one touch repeats less well than the height is to be known",
			Help:    "touch more slowly, clean the skin and the probe, or ask for less"}.With(floor, limit, "mm"))
	}
	// The place farthest from every touch, planned ones included, comes next; a
	// place near a planned one is taken as mended.
	mended := o.Spacing / 2
	for len(bad) > 0 && len(have) < maxPlanned {
		at, far := 0, -1.0
		for i, s := range bad {
			d := math.Inf(1)
			for _, q := range have {
				d = math.Min(d, q.Dist(s.p))
			}
			if math.IsInf(d, 1) {
				d = s.bound
			}
			if d > far {
				at, far = i, d
			}
		}
		p := bad[at].p
		have = append(have, p)
		left := bad[:0]
		for _, s := range bad {
			if s.p.Dist(p) > mended {
				left = append(left, s)
			}
		}
		bad = left
	}
	return append([]geom.Point(nil), have[known:min(len(have), known+50)]...), found
}
