package plan

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
)

// drill drills at every point: spotted first when the option spot asks for it,
// in pecks when the cut says so, the length of the point added to a through
// hole (and held against the limit with everything else).
func (j *job) drill() []op {
	c, t := j.c, j.cutter
	if t.Kind != shop.Drill && !t.CentreCutting {
		j.stop("plunge-not-centre-cutting", fmt.Sprintf("%s does not cut at its centre and cannot go straight down", t.Name), "use a drill, or kind = \"bore\" with a thinner cutter")
		return nil
	}
	if c.Diameter > 0 && math.Abs(c.Diameter-t.Diameter) > 0.05+hair {
		code, help := "cutter-too-wide", "use a drill of that diameter, or kind = \"bore\" with a thinner cutter"
		if t.Diameter < c.Diameter {
			code = "drill-too-thin"
		}
		f := j.finding(diag.Stop, code, fmt.Sprintf("a hole of %.3f mm is asked for, the cutter is %.3f mm", c.Diameter, t.Diameter), help)
		j.add(j.at(f.With(t.Diameter, c.Diameter, "mm"), j.bounds(0).Center()))
		return nil
	}
	if len(c.Points) == 0 {
		j.stop("cut-empty", "there is no point to drill", "draw points or circles on the layer")
		return nil
	}
	if c.Peck > 0 && j.d.bottom/c.Peck > mostPasses {
		f := j.finding(diag.Stop, "passes-too-many", fmt.Sprintf("pecks of %.4f mm would be %.0f", c.Peck, j.d.bottom/c.Peck), "give a larger peck, or 0 for one stroke")
		f.Input = true
		j.add(f.With(c.Peck, j.d.bottom/mostPasses, "mm"))
		return nil
	}
	spot := j.option("spot", 0)
	if spot < 0 || spot > j.d.bottom {
		j.refuseNumber("spot", spot, "0 to the depth of the hole")
		return nil
	}
	out := make([]op, 0, len(c.Points))
	for _, q := range c.Points {
		g := geom.Region{Outer: geom.Circle(q, j.r)}
		o := op{cut: j.index, name: "drill", cutter: c.Cutter, rpm: c.RPM, base: j.d.base, legs: j.drillAt(q, spot), rank: rankDrill, size: g.Area(), around: g}
		o.measure(j.r)
		out = append(out, o)
	}
	return out
}

// drillAt goes down at q. After a peck the drill is lifted out by rapid and fed
// back, since a rapid down into a hole is a rapid into material when the hole
// is not where it is thought to be.
func (j *job) drillAt(q geom.Point, spot float64) []leg {
	var l legs
	l.begin(q, j.d.surface())
	if spot > 0 {
		l.line(q, spot, j.c.Plunge)
		l.lift()
	}
	n := 1
	if j.c.Peck > 0 {
		n = int(math.Max(1, math.Ceil((j.d.bottom+j.d.spread)/j.c.Peck-hair)))
	}
	for i := range n {
		if i > 0 {
			l.lift()
		}
		d := j.d.surface() + float64((j.d.bottom-j.d.surface())*float64(i+1)/float64(n))
		if i == n-1 {
			d = j.d.bottom
		}
		l.line(q, d, j.c.Plunge)
	}
	return l.list
}
