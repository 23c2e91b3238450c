package plan

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

// fed is the length of path that a cut feeds level or down along it, mm, and the
// greatest height at which it does.
func fed(ps []toolpath.Program, cut string) (length, highest float64) {
	highest = math.Inf(-1)
	for _, m := range replay(ps) {
		if m.cut != cut || m.Kind == toolpath.Rapid || m.seg().Length() < 1e-6 {
			continue
		}
		length += m.seg().Length()
		highest = math.Max(highest, m.Z)
	}
	return length, highest
}

func blind(name string, kind work.Kind, depth float64, g geom.Region) work.Cut {
	c := through(name, kind, g)
	c.Through, c.Depth, c.Overcut = false, depth, 0
	return c
}

// What a pocket has cleared is not cut again in the air: what lies on its floor
// begins there, and the proof, which knows nothing of floors, finds every pass no
// deeper than its step.
func TestNothingIsCutInTheAirOverAFloor(t *testing.T) {
	area := region(geom.Rect(0, 0, 40, 30))
	inner := region(geom.RoundRect(8, 8, 32, 22, 3))
	opening := through("upper", work.Opening, inner)
	opening.Open = true
	door := through("upper", work.Door, inner)
	door.Open = true
	slot := through("upper", work.Slot)
	slot.Chains = []geom.Chain{{{Point: geom.Pt(8, 8)}, {Point: geom.Pt(30, 20)}}}
	for name, c := range map[string]struct {
		floor, cut work.Cut
		cutter     shop.Cutter
		skin       bowl
		most       float64 // part of the path that is left of it
	}{
		"an opening in a pocket":        {blind("floor", work.Pocket, 1.2, area), opening, endmill2(), bowl{}, 0.62},
		"an opening in a rebate":        {blind("floor", work.Rebate, 1.2, area), opening, endmill2(), bowl{}, 0.62},
		"a pocket in a pocket":          {blind("floor", work.Pocket, 0.6, area), blind("upper", work.Pocket, 1.2, inner), endmill2(), bowl{}, 0.55},
		"a slot in a pocket":            {blind("floor", work.Pocket, 1.2, area), slot, endmill2(), bowl{}, 0.62},
		"a door in a rebate":            {blind("floor", work.Rebate, 1.2, area), door, endmill2(), bowl{}, 0.62},
		"no plunge by a burr":           {blind("floor", work.Pocket, 1.2, area), opening, burr2(), bowl{}, 0.75},
		"a round skin":                  {blind("floor", work.Rebate, 1.2, area), opening, endmill2(), bowl{a: 5, b: 0.02, k: 0.0005, err: 0.02}, 0.75},
		"a finish pass":                 {blind("floor", work.Pocket, 1.2, area), finished(opening), endmill2(), bowl{}, 0.7},
		"a tab as high as what is left": {blind("floor", work.Pocket, 1.4, area), tabbed(opening), endmill2(), bowl{}, 0.62},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			made := func(cuts ...work.Cut) (*work.Work, []toolpath.Program) {
				c.cutter.Number, c.cutter.MaxRPM = 1, 30000
				w := sheet([]shop.Cutter{c.cutter}, cuts...)
				if !c.skin.Flat() {
					w = wing(c.skin, []shop.Cutter{c.cutter}, cuts...)
					for i := range w.Cuts {
						w.Cuts[i].Limit = 4
					}
				}
				w.Machine, w.ClampsSaid = bench(), true
				return w, mustPlan(t, w)
			}
			_, alone := made(c.cut)
			w, both := made(c.floor, c.cut)
			before, _ := fed(alone, "upper")
			after, highest := fed(both, "upper")
			assert.Less(t, after, c.most*before, "path of the upper cut alone: %.0f mm", before)
			if c.skin.Flat() && c.cutter.CentreCutting {
				assert.LessOrEqual(t, highest, -c.floor.Depth+1e-9, "nothing is fed along above the floor")
			}
			_, found, _ := provenOf(t, w, both)
			for _, f := range found {
				assert.NotEqual(t, diag.Stop, f.Severity, f.Error())
				assert.NotEqual(t, "step-deep", f.Code, f.Error())
			}
		})
	}
}

func finished(c work.Cut) work.Cut { c.Finish = 0.1; return c }

func tabbed(c work.Cut) work.Cut { c.Tabs = work.Tabs{Count: 3, Width: 3, Height: 0.6}; return c }

// Where any of it lies off the floor the cut begins at the skin.
func TestACutThatLeavesTheFloorBeginsAtTheSkin(t *testing.T) {
	area := geom.Rect(0, 0, 40, 30)
	inner := region(geom.RoundRect(8, 8, 32, 22, 3))
	opening := through("upper", work.Opening, inner)
	opening.Open = true
	ledge := blind("floor", work.Rebate, 1.2, region(area))
	ledge.Options = map[string]float64{"ledge": 6}
	other := blind("floor", work.Pocket, 1.2, region(area))
	other.Part = 0
	deeper := blind("floor", work.Pocket, 1.2, region(area))
	island := geom.NewRegion(area, geom.Circle(geom.Pt(20, 15), 2))
	for name, c := range map[string]struct{ floor, cut work.Cut }{
		"over the wall":                     {blind("floor", work.Pocket, 1.2, region(geom.Rect(0, 0, 30, 30))), opening},
		"nearer to the wall than the sweep": {blind("floor", work.Pocket, 1.2, region(geom.Rect(8.05, 0, 40, 30))), opening},
		"inside the corner of the cutter":   {blind("floor", work.Pocket, 1.2, region(geom.Rect(8, 8, 32, 22))), through("upper", work.Opening, region(geom.Rect(8, 8, 32, 22)))},
		"across a ledge":                    {ledge, opening},
		"on an island":                      {blind("floor", work.Pocket, 0.6, geom.NewRegion(area, inner.Outer)), opening},
		"of another part":                   {other, opening},
		"a pocket about an island":          {blind("floor", work.Pocket, 0.6, island), blind("upper", work.Pocket, 1.2, inner)},
		"a pocket in a deeper one":          {deeper, blind("upper", work.Pocket, 0.6, inner)},
	} {
		t.Run(name, func(t *testing.T) {
			cut := c.cut
			cut.Open = true
			w := sheet([]shop.Cutter{endmill2()}, c.floor, cut)
			w.Parts = []work.Part{{Name: "p", Region: region(geom.Rect(-5, -5, 50, 50))}}
			_, highest := fed(mustPlan(t, w), "upper")
			assert.Greater(t, highest, -0.6)
		})
	}
}

// A slot beside it is on the floor of the one pocket and off that of the other: the
// deepest that holds all of it counts.
func TestTheDeepestFloorCounts(t *testing.T) {
	a := blind("shallow", work.Pocket, 0.5, region(geom.Rect(0, 0, 40, 30)))
	b := blind("deep", work.Pocket, 1.3, region(geom.Rect(4, 4, 36, 26)))
	c := blind("half", work.Pocket, 1.5, region(geom.Rect(4, 4, 20, 26)))
	opening := through("upper", work.Opening, region(geom.RoundRect(8, 8, 32, 22, 3)))
	opening.Open = true
	w := sheet([]shop.Cutter{endmill2()}, opening, c, b, a)
	_, highest := fed(mustPlan(t, w), "upper")
	assert.LessOrEqual(t, highest, -1.3+1e-9)
	assert.Greater(t, highest, -1.5)
}

// Of pockets that reach into each other the second clears only what the first has
// left of each layer; the proof finds nothing left over and no pass too deep.
func TestOverlappingPocketsAreClearedOnce(t *testing.T) {
	a := geom.RoundRect(0, 0, 40, 30, 2)
	b := geom.RoundRect(15, 8, 60, 22, 2)
	both, err := geom.Union([]geom.Region{region(a)}, []geom.Region{region(b)})
	assert.NoError(t, err)
	plain := func(depthA, depthB float64, shapeB geom.Region) []work.Cut {
		return []work.Cut{blind("a", work.Pocket, depthA, region(a)), blind("b", work.Pocket, depthB, shapeB)}
	}
	finish := plain(1.2, 1.2, region(b))
	finish[1].Finish = 0.1
	sharp := plain(1.2, 1.2, region(geom.Polygon(geom.Pt(15, 8), geom.Pt(60, 8), geom.Pt(50, 22), geom.Pt(15, 22))))
	for name, c := range map[string]struct {
		cuts   []work.Cut
		cutter shop.Cutter
		skin   bowl
		most   float64 // part of the path that is left of the second
	}{
		"as deep":        {plain(1.2, 1.2, region(b)), endmill2(), bowl{}, 0.66},
		"the first less": {plain(0.6, 1.2, region(b)), endmill2(), bowl{}, 0.85},
		"sharp corners":  {sharp, endmill2(), bowl{}, 0.7},
		"a burr":         {plain(1.2, 1.2, region(b)), burr2(), bowl{}, 0.75},
		"a finish pass":  {finish, endmill2(), bowl{}, 0.86},
		"a round skin":   {plain(1.2, 1.2, region(b)), endmill2(), bowl{a: 5, b: 0.01, k: 0.0005, err: 0.02}, 0.86},
		"an island":      {plain(1.2, 1.2, geom.NewRegion(b, geom.Circle(geom.Pt(30, 15), 2))), endmill2(), bowl{}, 0.75},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			made := func(cuts ...work.Cut) (*work.Work, []toolpath.Program) {
				c.cutter.Number, c.cutter.MaxRPM = 1, 30000
				w := sheet([]shop.Cutter{c.cutter}, cuts...)
				if !c.skin.Flat() {
					w = wing(c.skin, []shop.Cutter{c.cutter}, cuts...)
				}
				w.Machine, w.ClampsSaid = bench(), true
				return w, mustPlan(t, w)
			}
			if name == "an island" { // which the first would cut away
				c.cuts[0].Regions[0].Holes = c.cuts[1].Regions[0].Holes
			}
			_, alone := made(c.cuts[1])
			w, ps := made(c.cuts...)
			before, _ := fed(alone, "b")
			after, _ := fed(ps, "b")
			assert.Less(t, after, c.most*before, "alone: %.0f mm", before)
			_, found, _ := provenOf(t, w, ps)
			for _, f := range found {
				assert.NotEqual(t, diag.Stop, f.Severity, f.Error())
				assert.NotEqual(t, "step-deep", f.Code, f.Error())
			}
			if name == "as deep" {
				n, at := uncut(replay(ps), both[0], 1, 0.37, -1.2)
				assert.Zero(t, n, "places left, one at %v", at)
			}
		})
	}
}

// A pocket within another that is as deep has nothing left to do, and that is said.
func TestAPocketClearedByAnotherIsSaid(t *testing.T) {
	w := sheet([]shop.Cutter{endmill2()}, blind("a", work.Pocket, 1.2, region(geom.Rect(0, 0, 40, 30))), blind("b", work.Pocket, 1.2, region(geom.RoundRect(8, 8, 30, 20, 2))))
	ps, l := Plan(context.Background(), w)
	length, _ := fed(ps, "b")
	assert.Zero(t, length)
	assert.Contains(t, fmt.Sprint(l), "cleared-before")
}
