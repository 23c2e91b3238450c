package plan

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

// thinResidual is the layer under a rebate below which it is flimsy, mm (common
// practice, no source).
const thinResidual = 0.3

// rebate clears a ledge for a flush cover: the whole outline, or, by the option
// ledge, a band of that width along it.
func (j *job) rebate() []op {
	if !j.residual("rebate", j.option("doubler", 0)) {
		return nil
	}
	j.ridge()
	return j.pocket("rebate", rankRebate, j.option("ledge", 0))
}

// ridge warns of an opening within a ledge that does not reach it: between the two
// a ridge stays on which the cover would lie. Openings further from the ledge than
// it is wide have nothing to do with it.
func (j *job) ridge() {
	wide := j.option("ledge", 0)
	if wide <= 0 {
		return
	}
	for i := range j.w.Cuts {
		o := &j.w.Cuts[i]
		if o.Part != j.c.Part || o.Kind != work.Opening && o.Kind != work.Door {
			continue
		}
		least, most, where := math.Inf(1), 0.0, geom.Point{}
		for _, g := range j.c.Regions {
			for _, h := range o.Regions {
				if !g.ContainsInterior(h.Outer[0].Point) {
					continue
				}
				for k := range h.Outer {
					for _, q := range [...]geom.Point{h.Outer[k].Point, h.Outer.Seg(k).Mid()} {
						d := g.Dist(q) - wide
						if least = math.Min(least, d); d > most {
							most, where = d, q
						}
					}
				}
			}
		}
		if most <= math.Max(j.c.Tol, 0.05) || least > math.Max(wide, j.cutter.Diameter) {
			continue
		}
		f := j.finding(diag.Warn, "ledge-ridge", fmt.Sprintf("the ledge of %.2f mm does not reach %s: a ridge up to %.2f mm wide stays between them", wide, o.Name, most),
			fmt.Sprintf("give a ledge of at least %.2f mm, or leave out ledge to clear the whole outline", math.Ceil((wide+most)*100)/100))
		j.add(j.at(f.With(wide, wide+most, "mm"), where))
	}
}

// residual holds the layer that stays below a cut, everywhere under the
// footprint, against what the heights are known to. backing is what lies below
// the skin by declaration, mm.
func (j *job) residual(what string, backing float64) bool {
	if j.c.Through {
		return true
	}
	stays := j.w.Thickness - j.w.ThickTol + backing - j.c.Depth - j.d.spread
	q := j.bounds(0).Center()
	switch {
	case stays <= 0:
		f := j.finding(diag.Stop, "layer-gone", fmt.Sprintf("the %s goes through the skin: %.3f mm deep in %.3f mm, slope and tolerance included", what, j.c.Depth+j.d.spread, j.w.Thickness-j.w.ThickTol+backing),
			"cut less deep, or declare the doubler below by the option doubler")
		j.add(j.at(f.With(stays, 0, "mm"), q))
		return false
	case stays < 2*j.d.err:
		f := j.finding(diag.Stop, "layer-unsure", fmt.Sprintf("%.3f mm are to stay, but the height is only known to %.3f mm", stays, j.d.err),
			"touch more heights around this cut, or keep a thicker layer")
		j.add(j.at(f.With(stays, 2*j.d.err, "mm"), q))
		return false
	case stays < thinResidual:
		f := j.finding(diag.Warn, "layer-thin", fmt.Sprintf("only %.3f mm of skin stay under the %s", stays, what), "cut less deep, or put a doubler below")
		j.add(j.at(f.With(stays, thinResidual, "mm"), q))
	}
	return true
}
