package plan

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

const (
	leastSkinRadius = 2.0  // of the corners of an opening in a skin, mm (common practice, no source; 3 to 5 mm are usual)
	tightTurn       = 0.35 // least turn of an outline that counts as a corner here, rad: finer ones belong to a curve drawn in lines
)

// tightCorners warns of an opening in a wing whose corners come out tighter than a
// skin stands: a crack begins there. A corner that is drawn sharp, or relieved, has
// the radius of the cutter.
func (j *job) tightCorners() {
	if j.w.Sheet || j.c.Kind != work.Opening {
		return
	}
	least, where, n := math.Inf(1), geom.Point{}, 0
	for _, g := range j.c.Regions {
		c := g.Outer
		for i := range c {
			prev, s := c.Seg((i+len(c)-1)%len(c)), c.Seg(i)
			in, on := prev.TangentB(), s.TangentA()
			radius, at := math.Inf(1), s.A
			switch {
			case math.Atan2(in.Cross(on), in.Dot(on)) > tightTurn:
				radius = 0
			case s.Bulge > 0 && 4*math.Atan(s.Bulge) > tightTurn:
				radius, at = s.Radius(), s.Mid()
			}
			if radius = math.Max(radius, j.r); radius >= leastSkinRadius-1e-6 {
				continue
			}
			if n++; radius < least {
				least, where = radius, at
			}
		}
	}
	if n == 0 {
		return
	}
	what := "a corner of the opening comes"
	if n > 1 {
		what = fmt.Sprintf("%d corners of the opening come", n)
	}
	f := j.finding(diag.Warn, "corner-tight", fmt.Sprintf("%s out with a radius of %.2f mm; in a skin a crack begins in so tight a corner", what, least),
		fmt.Sprintf("draw them with a radius of 3 to 5 mm, at least %.0f, or put a doubler inside", leastSkinRadius))
	j.add(j.at(f.With(least, leastSkinRadius, "mm"), where))
}
