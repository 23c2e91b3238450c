package plan

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// Passes along a line go to and fro; a ramp that left its wedge would be met by the
// next pass over two steps.
func TestNoPassAlongALineIsDeeperThanItsStep(t *testing.T) {
	for name, cutter := range map[string]shop.Cutter{"centre-cutting": endmill2(), "burr": burr2()} {
		for _, to := range []geom.Point{geom.Pt(60, 10), geom.Pt(14, 2), geom.Pt(6, 1)} {
			c := through("s", work.Slot)
			c.Chains = []geom.Chain{{{Point: geom.Pt(0, 0)}, {Point: to}}}
			cutter.Number, cutter.MaxRPM = 1, 30000
			w := sheet([]shop.Cutter{cutter}, c)
			w.Machine, w.ClampsSaid = bench(), true
			_, found, _ := provenOf(t, w, mustPlan(t, w))
			for _, f := range found {
				assert.NotEqual(t, diag.Stop, f.Severity, "%s to %v: %s", name, to, f.Error())
				assert.NotEqual(t, "step-deep", f.Code, "%s to %v: %s", name, to, f.Error())
			}
		}
	}
}
