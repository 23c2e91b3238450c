package plan

import (
	"fmt"

	"sparclear/pkg/diag"
	"sparclear/pkg/shop"
)

// widestGap is the gap round a door that still looks right, mm (one jet manual
// asks for about 1 mm each side; handbook of the trade).
const widestGap = 1.0

// door cuts along the line itself, so that the plug can be used as the door:
// the gap is the cutter and its runout.
func (j *job) door() []op {
	gap := j.cutter.Diameter + j.w.Machine.Runout
	limit := j.option("gap", widestGap)
	msg := fmt.Sprintf("the gap round the door is %.2f mm (cutter and runout)", gap)
	if j.cutter.Diameter > limit+hair {
		j.add(j.finding(diag.Warn, "door-gap", msg+fmt.Sprintf(", wanted is at most %.2f mm", limit), "use a thinner cutter").With(gap, limit, "mm"))
	} else {
		j.add(j.finding(diag.Note, "door-gap", msg, "sand the edges to suit").With(gap, limit, "mm"))
	}
	return j.onOutline("door", rankOpening)
}

// chamfer breaks the edge along the outline with a cone or a ball before the
// outline is cut: on the kept side the chamfer is depth·tan(ε/2) wide.
func (j *job) chamfer() []op {
	if j.cutter.Kind != shop.Vee && j.cutter.Kind != shop.Ball {
		j.stop("chamfer-cutter", fmt.Sprintf("%s cannot cut a chamfer", j.cutter.Name), "name a vee or ball cutter")
		return nil
	}
	out := j.onOutline("chamfer", rankRebate)
	return append(out, j.lines("chamfer", rankRebate)...)
}

// onOutline runs the centre of the cutter along the outlines themselves.
func (j *job) onOutline(name string, rank int) []op {
	c := *j.c
	c.Finish = 0
	k := *j
	k.c = &c
	var out []op
	for _, g := range c.Regions {
		for _, path := range g.Contours() {
			os, ok := k.ring(edge{outline: g, inside: true, final: path, rough: path, onPath: true})
			if !ok {
				return nil
			}
			os[0].name, os[0].rank = name, rank
			out = append(out, os...)
		}
	}
	return out
}
