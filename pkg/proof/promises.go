package proof

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/work"
)

// mostHeightTol is the largest tolerance of a draped path, mm: it is given away
// below the bottom of every blind cut.
const mostHeightTol = 0.5

// promises refuses work that the proof cannot reason about.
func (p *prover) promises() bool {
	bad := func(what string) bool {
		p.fault("", diag.Finding{Code: "work-unsound", Severity: diag.Stop, Subject: p.w.Title, Message: what, Help: "repair the job", Input: true})
		return false
	}
	w := p.w
	if w.Skin == nil {
		return bad("the height of the skin is not known")
	}
	if w.Skin.Flat() {
		u, e := w.Skin.Error(geom.Box{})
		if z := w.Skin.Height(geom.Point{}) + u + e; math.IsNaN(z) || math.IsInf(z, 0) {
			return bad("the height of the skin is not a number")
		}
	}
	if len(w.Cutters) == 0 {
		return bad("no cutter is named")
	}
	for _, c := range w.Cutters {
		for _, v := range []float64{c.Diameter, c.DiameterTol, c.CornerRadius, c.PointAngle, c.FluteLength, c.Shank, c.StickOut} {
			if !(v >= 0) || math.IsInf(v, 0) {
				return bad(fmt.Sprintf("cutter %s has a size that is not a number", c.Name))
			}
		}
		if c.Diameter <= 0 || c.FluteLength <= 0 && c.StickOut <= 0 {
			return bad(fmt.Sprintf("cutter %s has no diameter or no length", c.Name))
		}
	}
	numbers := map[int]bool{}
	for _, c := range w.Cutters {
		if numbers[c.Number] {
			return bad(fmt.Sprintf("two cutters have the number T%d", c.Number))
		}
		numbers[c.Number] = true
	}
	for _, l := range [][]keepout.Volume{w.Members, w.Clamps} {
		for _, v := range l {
			if !rightWay(v.Footprint) {
				return bad(fmt.Sprintf("the outline of keep-out %s is turned the wrong way", v.Name))
			}
			b := v.Bounds()
			if b.Empty() || !b.Min.Finite() || !b.Max.Finite() || !(v.From <= v.To) || !(v.Clearance >= 0) || math.IsInf(v.Clearance, 0) {
				return bad(fmt.Sprintf("keep-out %s has no footprint, depth range or clearance", v.Name))
			}
		}
	}
	m := w.Machine
	for _, v := range []float64{m.Runout, m.Reversal, m.ReversalZ, m.Controller.BlendTol, w.Register.Base, w.Register.Fixed, w.Register.Spread, w.ThickTol} {
		if !(v >= 0) || math.IsInf(v, 0) {
			return bad("a tolerance of machine or location is not a number")
		}
	}
	if !rightWay(w.Stock) {
		return bad("the outline of the stock is turned the wrong way")
	}
	for _, v := range []float64{m.SpindleMin, m.SpindleMax, m.FeedXY, m.FeedZ, m.Accel, w.HeightTol, w.ChordTol, w.Thickness} {
		if !(v >= 0) || math.IsInf(v, 0) {
			return bad("a limit of the machine, the thickness or a tolerance of the path is not a number")
		}
	}
	if w.HeightTol > mostHeightTol {
		return bad(fmt.Sprintf("a draped path may stray by %.2f mm from its depth, no more than %.2f mm can be judged", w.HeightTol, mostHeightTol))
	}
	names := map[string]bool{}
	for _, c := range w.Cuts {
		if names[c.Name] {
			return bad(fmt.Sprintf("two cuts have the name %s", c.Name))
		}
		names[c.Name] = true
		if !rightWay(c.Regions) {
			return bad(fmt.Sprintf("an outline of cut %s is turned the wrong way", c.Name))
		}
		for _, v := range []float64{c.RPM, c.Feed, c.Plunge, c.Step, c.Ramp, c.Overcut, c.Onion, c.Tabs.Width, c.Tabs.Height, c.Diameter} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return bad(fmt.Sprintf("cut %s has a value that is not a number", c.Name))
			}
		}
		if len(c.Regions) == 0 {
			switch c.Kind {
			case work.Opening, work.PartCut, work.Pocket, work.Rebate, work.Bore:
				return bad(fmt.Sprintf("cut %s has no outline", c.Name))
			}
		}
		if c.Cutter < 0 || c.Cutter >= len(w.Cutters) || math.IsNaN(c.Limit) || math.IsNaN(c.Depth) {
			return bad(fmt.Sprintf("cut %s has no cutter or depth", c.Name))
		}
	}
	if math.IsNaN(w.Floor) || math.IsInf(w.Floor, -1) {
		return bad("the floor is not a number")
	}
	if w.Hollow && math.IsInf(w.Floor, 1) && len(w.Cuts) > 0 {
		return bad("the wing is hollow and nothing says how deep the far skin lies")
	}
	return true
}

// rightWay tells whether outlines run counter-clockwise and holes clockwise, so
// that inside means the same for everybody.
func rightWay(regions []geom.Region) bool {
	for _, g := range regions {
		if !(g.Outer.Area() > 0) {
			return false
		}
		for _, h := range g.Holes {
			if !(h.Area() < 0) {
				return false
			}
		}
	}
	return true
}
