package plan

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// slot cuts along centre lines, as wide as the option width says (the cutter's
// diameter by default), or clears drawn outlines.
func (j *job) slot() []op {
	var out []op
	if len(j.c.Regions) > 0 {
		ops := j.slotOutlines()
		if ops == nil {
			return nil
		}
		out = append(out, ops...)
	}
	if len(j.c.Chains) == 0 {
		return out
	}
	width := j.option("width", j.cutter.Diameter)
	switch {
	case width < j.cutter.Diameter-hair:
		f := j.finding(diag.Stop, "cutter-too-wide", fmt.Sprintf("a slot of %.3f mm is narrower than the cutter of %.3f mm", width, j.cutter.Diameter), fmt.Sprintf("use a cutter of at most %.2f mm", width))
		j.add(j.at(f.With(j.cutter.Diameter, width, "mm"), j.c.Chains[0][0].Point))
		return nil
	case width < j.cutter.Diameter+0.05:
		j.oneBreath(width, j.c.Chains[0][0].Point)
		return append(out, j.lines("slot", rankSlot)...)
	}
	c := *j.c
	c.Regions = nil
	for _, ch := range j.c.Chains {
		gs, err := ch.Sweep(width / 2)
		if err != nil {
			j.geomFinding(err)
			return nil
		}
		c.Regions = append(c.Regions, gs...)
	}
	k := *j
	k.c = &c
	return append(out, k.pocket("slot", rankSlot, 0)...)
}

// oneBreath warns that the cutter is as wide as the slot: both walls are cut at
// once and the width is that of the cutter and its runout.
func (j *job) oneBreath(width float64, q geom.Point) {
	f := j.finding(diag.Warn, "slot-one-pass", fmt.Sprintf("the cutter of %.3f mm cuts both walls of the %.3f mm slot at once; it comes out as wide as the cutter runs", j.cutter.Diameter, width),
		"use a thinner cutter where the width matters")
	j.add(j.at(f.With(width, j.cutter.Diameter+0.05, "mm"), q))
}

// slotOutlines clears drawn slots. One that is exactly as wide as the cutter
// leaves no room for its centre; it is widened by a hair within the tolerance.
func (j *job) slotOutlines() []op {
	k := *j
	for _, g := range j.c.Regions {
		gs, err := g.Offset(-j.r, j.offsetTol())
		if err == nil && len(gs) == 0 {
			k.r = j.r - math.Min(0.005, j.c.Tol/4)
			if gs, err = g.Offset(-k.r, j.offsetTol()); err == nil && len(gs) > 0 {
				j.oneBreath(j.cutter.Diameter, g.Bounds().Center())
			}
		}
	}
	return k.pocket("slot", rankSlot, 0)
}
