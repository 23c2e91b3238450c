package plan

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

// paths lists the paths in the order in which they are run.
func paths(ps []toolpath.Program) []toolpath.Path {
	var out []toolpath.Path
	for _, p := range ps {
		out = append(out, p.Paths...)
	}
	return out
}

func TestLastPassThroughASkin(t *testing.T) {
	for _, cutter := range []shop.Cutter{endmill2(), burr2()} {
		part := through("part", work.PartCut, region(geom.RoundRect(0, 0, 60, 40, 4)))
		part.Part, part.Options = 0, map[string]float64{"skin": 0.3}
		hole := through("window", work.Opening, region(geom.RoundRect(10, 10, 30, 30, 3)))
		hole.Part, hole.Options = 0, map[string]float64{"skin": 0.25}
		screw := through("screw", work.Bore)
		screw.Part, screw.Points, screw.Diameter = 0, []geom.Point{geom.Pt(45, 20)}, 4
		screw.Regions = []geom.Region{region(geom.Circle(screw.Points[0], 2))}
		cutter.Number, cutter.MaxRPM = 1, 30000
		w := sheet([]shop.Cutter{cutter}, part, hole, screw)
		w.Machine, w.ClampsSaid, w.Parts = bench(), true, []work.Part{{Name: "part", Region: part.Regions[0]}}
		ps := mustPlan(t, w)
		assertSafe(t, w, ps)
		all := paths(ps)
		var order []string
		for _, q := range all {
			order = append(order, q.Cut+" "+q.Op)
		}
		require.Len(t, order, 5, "%v", order)
		assert.Equal(t, "part free", order[4], "the part comes free after everything else of it")
		assert.Less(t, index(t, order, "window contour"), index(t, order, "window free"))
		assert.Less(t, index(t, order, "window free"), index(t, order, "part contour"))
		for _, q := range all {
			skin, what := 0.0, q.Cut+" "+q.Op
			switch what {
			case "part contour":
				skin = 0.3
			case "window contour":
				skin = 0.25
			}
			low, cutting := 0.0, 0.0
			for i, m := range q.Moves {
				low = min(low, m.Z)
				if m.Kind != toolpath.Rapid && i > 0 && m.Z <= -2.2+1e-9 && q.Moves[i-1].Z <= -2.2+1e-9 {
					cutting = max(cutting, m.Feed)
				}
			}
			if skin > 0 {
				assert.InDelta(t, -(2 - skin), low, 1e-9, "%s leaves its skin", what)
			} else {
				assert.InDelta(t, -2.2, low, 1e-9, "%s goes through", what)
			}
			if q.Op == "free" {
				assert.InDelta(t, 300, cutting, 1e-9, "at half the feed")
			}
		}
		cert, found, _ := provenOf(t, w, ps)
		assert.True(t, cert.OK, "%v", found)
	}
}

func TestSkinThatStaysForGoodIsNotCut(t *testing.T) {
	c := through("x", work.Opening, region(geom.RoundRect(0, 0, 40, 20, 3)))
	c.Through, c.Onion, c.Depth, c.Limit = false, 0.2, 1.8, 1.9
	for _, q := range paths(mustPlan(t, sheet([]shop.Cutter{endmill2()}, c))) {
		assert.NotEqual(t, "free", q.Op)
	}
}

func TestFinishPassNeverCutsWhatIsLoose(t *testing.T) {
	// roughed to a skin, finished to it, then freed
	c := through("x", work.Opening, region(geom.RoundRect(0, 0, 40, 20, 3)))
	c.Finish, c.Open = 0.1, true
	all := paths(mustPlan(t, sheet([]shop.Cutter{endmill2()}, c)))
	require.Len(t, all, 2)
	assert.InDelta(t, -1.7, deepest([]toolpath.Program{{Paths: all[:1]}}), 1e-9)
	c.Tabs = work.Tabs{Count: 3, Width: 3, Height: 0.5}
	assert.Len(t, paths(mustPlan(t, sheet([]shop.Cutter{endmill2()}, c))), 1, "tabs hold it")
}
