package proof

import (
	"math"

	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

// budget is what has to be added to a clearance. Bounds that always hold add
// linearly; random parts combine as root sum of squares with coverage factor 2
// (JCGM 100:2008, 5.1 and 6.2).
type budget struct {
	reg    work.Registration
	bounds []Share // the same everywhere, in the plane
	linear float64 // their sum
	height float64 // reversal value of Z, mm: counts where the skin model holds no larger bound
	round  float64 // mm
}

// coverage is the factor k of JCGM 100:2008, 6.3.3 for about 95 %.
const coverage = 2

// newBudget collects the bounds of a job and cutter. blend is how far the
// controller may cut corners, mm.
func newBudget(w *work.Work, t tool, blend float64) budget {
	b := budget{reg: w.Register}
	add := func(name string, mm float64) {
		if mm > 0 {
			b.bounds = append(b.bounds, Share{name, mm, "bound"})
			b.linear += mm
		}
	}
	round := roundingOf(w)
	add("runout", w.Machine.Runout/2)
	add("cutter tolerance", t.cutter.DiameterTol/2)
	add("reversal", math.Max(w.Register.Fixed, w.Machine.Reversal))
	add("path blending", blend)
	add("rounding", round)
	b.height, b.round = w.Machine.ReversalZ, round
	return b
}

// roundingOf is half the last decimal that the controller takes, mm.
func roundingOf(w *work.Work) float64 {
	d := w.Machine.Controller.Decimals
	if d <= 0 {
		return 0
	}
	r := math.Pow(10, -float64(d)) / 2
	if w.Machine.Controller.Units == "inch" {
		r *= 25.4
	}
	return r
}

// place returns the largest standard uncertainty of the drawing's place over
// the box, mm: it is convex, so a corner decides.
func (b *budget) place(box geom.Box) float64 {
	if b.reg.Base <= 0 {
		return 0
	}
	if b.reg.Spread <= 0 {
		return b.reg.Base
	}
	far := 0.0
	for _, p := range [4]geom.Point{box.Min, box.Max, {X: box.Min.X, Y: box.Max.Y}, {X: box.Max.X, Y: box.Min.Y}} {
		far = math.Max(far, p.Dist(b.reg.Centroid))
	}
	q := far / b.reg.Spread
	return b.reg.Base * math.Sqrt(1+float64(q*q))
}

// flat returns what is added to a distance that does not depend on heights.
func (b *budget) flat(box geom.Box) float64 { return b.linear + coverage*b.place(box) }

// full returns what is added to a distance that depends on the height of the
// skin, whose error is u (random) and e (bound).
func (b *budget) full(box geom.Box, u, e float64) float64 {
	return b.linear + math.Max(b.height, e) + coverage*math.Hypot(b.place(box), u)
}

// depth returns the error of a depth below the skin, whose error is u (random)
// and e (bound).
func (b *budget) depth(u, e float64) float64 {
	return math.Max(b.height, e) + b.round + coverage*u
}

// shares lists the contributions at a place, for the certificate.
func (b *budget) shares(box geom.Box, u, e float64, heights bool) []Share {
	out := append([]Share(nil), b.bounds...)
	if p := b.place(box); p > 0 {
		out = append(out, Share{"registration", p, "random"})
	}
	if !heights {
		return out
	}
	if v := math.Max(b.height, e); v > 0 {
		out = append(out, Share{"height of skin and tip", v, "bound"})
	}
	if u > 0 {
		out = append(out, Share{"touched heights", u, "random"})
	}
	return out
}
