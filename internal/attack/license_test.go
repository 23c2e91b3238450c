package attack_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

func TestADeepCutLicensesNoShallowOneWithinIt(t *testing.T) {
	w := panel()
	w.Cuts = append(w.Cuts, work.Cut{Name: "shallow", Kind: work.Pocket, Part: -1, Regions: rect(10, 0, 12, 20), Depth: 1, Limit: 1.1, Step: 1, RPM: 18000, Feed: 600, Plunge: 200, Ramp: 1, Tol: 0.05})
	refused(t, w, "depth-limit", edit(t, whole, "G0 Z5.000\nM5\n", "G0 Z5\nG0 X11 Y1\nG0 Z0.5\nG1 Z-1 F200\nG1 Y19 F600\nG1 Z-2 F200\nG1 Y1 F600\nG0 Z5.000\nM5\n"))
}

func TestADrillWiderThanItsHoleIsRefused(t *testing.T) {
	w := panel()
	w.Cutters[0] = shop.Cutter{Name: "drill-6", Number: 1, Kind: shop.Drill, PointAngle: 2.3, Diameter: 6, FluteLength: 20, Shank: 6, StickOut: 30, CentreCutting: true}
	w.Cuts = []work.Cut{{Name: "hole", Kind: work.Drill, Part: -1, Points: []geom.Point{{X: 10, Y: 10}}, Diameter: 3, Through: true, Depth: 4, Limit: 5, RPM: 18000, Feed: 200, Plunge: 200, Tol: 0.05}}
	refused(t, w, "gouge", head+"G0 X10 Y10\nG0 Z0.5\nG1 Z-4 F200\n"+tail)
}

// A drill cuts at its point only, and packs its chips where it is not lifted.
func TestADrillGoesStraightAndByPecks(t *testing.T) {
	holes := func() *work.Work {
		w := panel()
		w.Cutters[0] = shop.Cutter{Name: "drill", Number: 1, Kind: shop.Drill, PointAngle: 2, Diameter: 2, FluteLength: 20, Shank: 2, StickOut: 30, CentreCutting: true}
		w.Cuts = []work.Cut{{Name: "holes", Kind: work.Drill, Part: -1, Points: []geom.Point{{X: 10, Y: 10}, {X: 12.5, Y: 10}}, Diameter: 2, Through: true, Depth: 3, Limit: 5, Peck: 1, RPM: 18000, Feed: 200, Plunge: 200, Tol: 0.05}}
		return w
	}
	refused(t, holes(), "drill-sideways", head+"G0 X10 Y10\nG0 Z0.5\nG1 Z-3 F200\nG1 X10.04\nG0 Z5\nG0 X12.5 Y10\nG0 Z0.5\nG1 Z-3\n"+tail)
	heard(t, holes(), diag.Warn, "peck-deep", head+"G0 X10 Y10\nG98 G81 X10 Y10 Z-3 R0.5 F200\nX12.5\nG80\n"+tail)
	c, l := prove(holes(), head+"G0 X10 Y10\nG98 G83 X10 Y10 Z-3 R0.5 Q1 F200\nX12.5\nG80\n"+tail)
	require.True(t, c.OK && !l.Has("peck-deep"), told(l))
}
