package plan

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// partsWithHoles is a sheet of nx × ny parts with holes in each.
func partsWithHoles(nx, ny, holes int, cutters []shop.Cutter, holeCutter int) *work.Work {
	w := sheet(cutters)
	for i := range nx * ny {
		x, y := float64(i%nx)*70, float64(i/nx)*50
		name := fmt.Sprintf("part %d", i+1)
		g := region(geom.RoundRect(x, y, x+60, y+40, 5))
		for h := range holes {
			c := through(fmt.Sprintf("%s hole %d", name, h+1), work.Bore)
			c.Part, c.Cutter, c.Diameter = i, holeCutter, 3.2
			c.Points = []geom.Point{geom.Pt(x+6+float64(h%10)*5, y+8+float64(h/10)*12)}
			c.Regions = []geom.Region{{Outer: geom.Circle(c.Points[0], 1.6)}}
			w.Cuts = append(w.Cuts, c)
		}
		c := through(name, work.PartCut, g)
		c.Part, c.Tabs = i, work.Tabs{Count: 3, Width: 4, Height: 0.6}
		w.Cuts = append(w.Cuts, c)
		w.Parts = append(w.Parts, work.Part{Name: name, Region: g})
	}
	return w
}

// names lists the cuts in the order in which they are made.
func names(t testing.TB, w *work.Work) []string {
	var out []string
	for _, p := range mustPlan(t, w) {
		for _, q := range p.Paths {
			out = append(out, q.Cut)
		}
	}
	return out
}

func index(t testing.TB, all []string, name string) int {
	for i, n := range all {
		if n == name {
			return i
		}
	}
	require.Failf(t, "missing", "no path of %q", name)
	return -1
}

func TestHolesComeBeforeTheOutlineOfTheirPart(t *testing.T) {
	w := partsWithHoles(3, 2, 4, []shop.Cutter{endmill2()}, 0)
	order := names(t, w)
	for i := range 6 {
		for h := range 4 {
			assert.Less(t, index(t, order, fmt.Sprintf("part %d hole %d", i+1, h+1)), index(t, order, fmt.Sprintf("part %d", i+1)))
		}
	}
}

func TestEveryCutterIsLoadedOnce(t *testing.T) {
	small := endmill2()
	small.Name, small.Diameter = "endmill-1", 1
	w := partsWithHoles(3, 2, 4, []shop.Cutter{endmill2(), small}, 1)
	ps := mustPlan(t, w)
	require.Len(t, ps, 1)
	loads := 0
	last := -1
	for _, q := range ps[0].Paths {
		if q.Cutter != last {
			loads, last = loads+1, q.Cutter
		}
	}
	assert.Equal(t, 2, loads)
	assert.Equal(t, 1, ps[0].Paths[0].Cutter, "the holes come first")

	w.Machine.Controller.ToolChange = shop.ChangeFiles
	ps = mustPlan(t, w)
	require.Len(t, ps, 2, "one program for each cutter")
	assert.NotEqual(t, ps[0].Name, ps[1].Name)
}

func TestOrderOnAWing(t *testing.T) {
	at := func(c work.Cut) work.Cut { c.Options = map[string]float64{}; return c }
	rebate := at(through("rebate", work.Rebate, region(geom.Rect(-4, -4, 44, 24))))
	rebate.Through, rebate.Depth = false, 0.8
	opening := at(through("opening", work.Opening, region(geom.RoundRect(0, 0, 40, 20, 2))))
	drill := at(through("screws", work.Drill))
	drill.Points = []geom.Point{geom.Pt(-2, 10), geom.Pt(42, 10)}
	slot := at(through("slot", work.Slot))
	slot.Chains = []geom.Chain{{{Point: geom.Pt(10, 10)}, {Point: geom.Pt(30, 10)}}}
	inner := at(through("inner", work.PartCut, region(geom.Circle(geom.Pt(200, 0), 10))))
	outer := at(through("outer", work.PartCut, region(geom.Circle(geom.Pt(200, 0), 30))))
	w := wing(bowl{}, []shop.Cutter{endmill2()}, outer, opening, inner, slot, drill, rebate)
	order := names(t, w)
	assert.Less(t, index(t, order, "screws"), index(t, order, "rebate"))
	assert.Less(t, index(t, order, "rebate"), index(t, order, "slot"))
	assert.Less(t, index(t, order, "slot"), index(t, order, "opening"))
	assert.Less(t, index(t, order, "inner"), index(t, order, "outer"))
}

func TestHingeLineComesBeforeItsChordwiseEnds(t *testing.T) {
	c := through("hinge", work.Score)
	c.Through, c.Depth = false, 1
	c.Chains = []geom.Chain{{{Point: geom.Pt(0, 0)}, {Point: geom.Pt(0, 20)}}, {{Point: geom.Pt(0, 0)}, {Point: geom.Pt(100, 0)}}, {{Point: geom.Pt(100, 0)}, {Point: geom.Pt(100, 20)}}}
	w := wing(bowl{}, []shop.Cutter{endmill2()}, c)
	ms := replay(mustPlan(t, w))
	ends := false
	for _, m := range ms {
		if m.Z >= 0 {
			continue
		}
		if m.X != m.from[0] {
			assert.False(t, ends, "the hinge line is cut after one of its ends")
		}
		ends = ends || m.Y != m.from[1]
	}
	assert.True(t, ends, "the ends are cut too")
}

func TestRouteKeepsEveryPrecedence(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "n")
		ops := make([]op, n)
		pre := make([][]int32, n)
		load := make([]int, n)
		pt := func(l string) geom.Point {
			return geom.Pt(rapid.Float64Range(0, 100).Draw(t, l), rapid.Float64Range(0, 100).Draw(t, l))
		}
		for i := range ops {
			ops[i].legs = []leg{{seg: geom.Line(pt("a"), pt("b"))}}
			load[i] = i
			for range rapid.IntRange(0, 2).Draw(t, "deg") {
				if i > 0 {
					pre[i] = append(pre[i], int32(rapid.IntRange(0, i-1).Draw(t, "before")))
				}
			}
		}
		at := make([]int, n)
		seq := route(ops, pre, load, geom.Point{})
		if len(seq) != n {
			t.Fatalf("%d of %d", len(seq), n)
		}
		for k, i := range seq {
			at[i] = k
		}
		for i := range pre {
			for _, b := range pre[i] {
				if at[b] >= at[i] {
					t.Fatalf("%d before %d", i, b)
				}
			}
		}
	})
}

func BenchmarkPlanSheetOf200PartsWith20Holes(b *testing.B) {
	w := partsWithHoles(20, 10, 20, []shop.Cutter{endmill2()}, 0)
	b.ReportAllocs()
	for b.Loop() {
		mustPlan(b, w)
	}
}

func BenchmarkPlanSheetOf50PartsWith20Holes(b *testing.B) {
	w := partsWithHoles(10, 5, 20, []shop.Cutter{endmill2()}, 0)
	b.ReportAllocs()
	for b.Loop() {
		mustPlan(b, w)
	}
}
