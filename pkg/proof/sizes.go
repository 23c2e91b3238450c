package proof

import (
	"math"

	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// Size is how large an outline will measure once it is cut. Drawn is width and
// height of the outline as the cut has it, a fit already in it; Edge is how far the
// wall that the path leaves may lie outside (positive) or inside of that outline;
// Spread is what runout and the tolerance of the cutter add to either side, Bend
// how far the cutter may bend away from the wall when it is dull. Measured is width
// and height, lowest to highest, all of these at their worst.
type Size struct {
	Cut      string        `json:"cut"`
	Drawn    [2]float64    `json:"drawn_mm"`
	Fit      float64       `json:"fit_mm"`            // how far each edge was moved for a fit, outwards positive
	Class    string        `json:"class,omitempty"`   // ISO 286 class that asked for it
	Held     float64       `json:"held_mm,omitempty"` // width of the tolerance that machine and cutter hold on such a size
	Edge     [2]float64    `json:"edge_mm"`
	Spread   float64       `json:"spread_mm"`
	Bend     float64       `json:"bend_mm"`
	Measured [2][2]float64 `json:"measured_mm"`
}

// mostSizes is how many outlines of one cut are told of.
const mostSizes = 20

// shortOf returns how far short of an outline the wall may stay where it is
// finished: the least of a few tolerances at which it counts as cut, mm.
func (p *prover) shortOf(i int, full swept, gaps []gapOf) float64 {
	tol := p.areas.list[i].tol
	var tols []float64
	for _, t := range [5]float64{0.005, 0.01, 0.02, 0.05, 0.1} {
		if t < tol {
			tols = append(tols, t)
		}
	}
	return math.Min(tol, p.needs(i, full, gaps, tols))
}

// sizes states how large the outlines of a finished cut will measure.
func (p *prover) sizes(i int, short float64) {
	c := &p.w.Cuts[i]
	if c.Kind == work.Door || math.IsInf(p.past[i], 0) {
		return
	}
	t := p.w.Cutters[c.Cutter]
	e := shop.Engagement{Slot: !(c.Finish > 0), Width: c.Finish, Depth: c.Depth, Pass: c.Step, Through: c.Through, RPM: c.RPM, Feed: c.Feed, Finish: c.Finish > 0}
	d, _ := shop.Data(p.w.Machine, t, p.w.Material, e)
	bend := d.DeflectionDull
	if !(bend >= 0) || math.IsInf(bend, 0) {
		bend = 0
	}
	fit, class, held := 0.0, "", 0.0
	if c.Fit != nil {
		fit, class, held = c.Fit.Side, c.Fit.Class, micro(c.Fit.Held)
	}
	spread := p.w.Machine.Runout/2 + t.DiameterTol/2
	// The wall lies outside of the drawn outline by at most high, inside by low.
	edge := [2]float64{-short, p.past[i]}
	low, high := short+t.DiameterTol/2+bend, p.past[i]+spread
	if c.Kind == work.PartCut {
		edge = [2]float64{-p.past[i], short}
		low, high = high, low
	}
	for n, g := range c.Regions {
		if n == mostSizes {
			break
		}
		b := g.Transform(c.Frame.Inverse()).Bounds().Size()
		s := Size{Cut: c.Name, Drawn: [2]float64{micro(b.X), micro(b.Y)}, Fit: fit, Class: class, Held: held, Edge: [2]float64{micro(edge[0]), micro(edge[1])}, Spread: micro(spread), Bend: micro(bend)}
		for k, w := range s.Drawn {
			s.Measured[k] = [2]float64{micro(w - 2*low), micro(w + 2*high)}
		}
		p.cert.Sizes = append(p.cert.Sizes, s)
	}
}

// micro rounds to a tenth of a micrometre: what is stated is no closer.
func micro(v float64) float64 { return math.Round(v*1e4) / 1e4 }
