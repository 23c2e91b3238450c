package plan

import (
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

func vee90() shop.Cutter {
	c := endmill2()
	c.Name, c.Kind, c.Diameter, c.PointAngle = "vee-90", shop.Vee, 6, math.Pi/2
	return c
}

// uncut counts grid places of the region, h apart, that no move at full depth
// has touched although the cutter could reach them. A plain slow count.
func uncut(ms []motion, g geom.Region, r, h, z float64) (left int, first geom.Point) {
	inner, err := g.Offset(-r, 1e-3)
	if err != nil {
		panic(err)
	}
	var strokes []geom.Seg
	for _, m := range ms {
		if m.Z <= z+1e-6 && m.from[2] <= z+1e-6 {
			strokes = append(strokes, m.seg())
		}
	}
	b := g.Bounds()
	for x := b.Min.X; x <= b.Max.X; x += h {
		for y := b.Min.Y; y <= b.Max.Y; y += h {
			p := geom.Pt(x, y)
			reach := math.Inf(1)
			for _, i := range inner {
				if i.ContainsInterior(p) {
					reach = 0
				} else {
					reach = math.Min(reach, i.Dist(p))
				}
			}
			if reach > r-1e-3 {
				continue
			}
			hit := false
			for _, s := range strokes {
				if s.Dist(p) <= r+1e-3 {
					hit = true
					break
				}
			}
			if !hit {
				left++
				first = p
			}
		}
	}
	return left, first
}

func TestPocketLeavesNothingAndTouchesNoWall(t *testing.T) {
	island := geom.NewRegion(geom.RoundRect(0, 0, 40, 30, 4), geom.Circle(geom.Pt(14, 14), 5))
	two := geom.NewRegion(geom.Rect(0, 0, 50, 30), geom.Rect(10, 8, 18, 20), geom.Circle(geom.Pt(34, 15), 6))
	grid := 0.37
	if os.Getenv("SPARCLEAR_LONG") != "" {
		grid = 0.23
	}
	shapes := map[string]geom.Region{
		"rectangle":         region(geom.Rect(0, 0, 30, 17)),
		"circle":            region(geom.Circle(geom.Pt(3, 4), 11)),
		"triangle":          region(geom.Polygon(geom.Pt(0, 0), geom.Pt(24, 0), geom.Pt(0, 24))),
		"an island":         island,
		"two islands":       two,
		"dumb-bell":         region(geom.Polygon(geom.Pt(0, 0), geom.Pt(14, 0), geom.Pt(14, 6), geom.Pt(30, 6), geom.Pt(30, 0), geom.Pt(44, 0), geom.Pt(44, 15), geom.Pt(30, 15), geom.Pt(30, 9), geom.Pt(14, 9), geom.Pt(14, 15), geom.Pt(0, 15))),
		"hardly any wider":  region(geom.Rect(0, 0, 20, 2.2)),
		"a hole for a disc": region(geom.Circle(geom.Pt(0, 0), 1.3)),
	}
	for name, g := range shapes {
		for _, finish := range []float64{0, 0.1} {
			for _, cutter := range []shop.Cutter{endmill2(), burr2()} {
				if name == "hardly any wider" && finish > 0 {
					continue // refused: no room for the allowance
				}
				t.Run(name+" "+cutter.Name, func(t *testing.T) {
					cut := through("p", work.Pocket, g)
					cut.Through, cut.Depth, cut.Limit, cut.Finish = false, 1.1, 1.5, finish
					w := sheet([]shop.Cutter{cutter}, cut)
					ps := mustPlan(t, w)
					assertSafe(t, w, ps)
					ms := replay(ps)
					taken := 0.0
					if name == "triangle" { // strokes into its tips
						taken = strokeShare * cut.Tol
					}
					sampled(ms, 0.05, func(m motion, p geom.Point, z float64) {
						if d := -g.SignedDist(p); z < 0.9 && d < 1-1e-6-taken {
							t.Fatalf("centre %v at z %.3f lies %.6f mm from the wall", p, z, d)
						}
					})
					n, at := uncut(ms, g, 1, grid, -1.1)
					assert.Zero(t, n, "places left, one at %v", at)
					assert.InDelta(t, -1.1, deepest(ps), 1e-12)
				})
			}
		}
	}
}

func TestBoreLeavesNoCoreAndKeepsItsDiameter(t *testing.T) {
	for _, d := range []float64{2.0, 2.5, 3.2, 4.1, 6, 11} {
		for _, finish := range []float64{0, 0.1} {
			if finish > 0 && d < 2.5 {
				continue
			}
			cut := through("b", work.Bore)
			cut.Points, cut.Diameter, cut.Finish = []geom.Point{geom.Pt(3, 4), geom.Pt(40, 9)}, d, finish
			w := sheet([]shop.Cutter{endmill2()}, cut)
			ps := mustPlan(t, w)
			assertSafe(t, w, ps)
			ms := replay(ps)
			far := 0.0
			sampled(ms, 0.05, func(m motion, p geom.Point, z float64) {
				if z < 0.9 {
					far = math.Max(far, math.Min(p.Dist(cut.Points[0]), p.Dist(cut.Points[1])))
				}
			})
			assert.InDelta(t, d/2-1, far, 1e-6, "centre path of a hole of %g mm", d)
			if d > 2 {
				n, at := uncut(ms, region(geom.Circle(cut.Points[0], d/2)), 1, 0.1, -2.2)
				assert.Zero(t, n, "places left in a hole of %g mm, one at %v", d, at)
			}
		}
	}
}

func TestBorePitchAndFeed(t *testing.T) {
	// Dh 6, D 2, 3°: pitch 0.65858 mm/turn; edge feed 600 gives centre feed 400;
	// closed form
	cut := through("b", work.Bore)
	cut.Points, cut.Diameter, cut.Step = []geom.Point{{}}, 6, 2
	w := sheet([]shop.Cutter{endmill2()}, cut)
	j := &job{planner: &planner{w: w}, c: &w.Cuts[0], cutter: &w.Cutters[0], r: 1}
	assert.InDelta(t, 400, j.boreFeed(2), 1e-9)
	// 20,000 rpm, 2 flutes: below 200 mm/min a tooth takes less than 0.005 mm and
	// rubs, which is what the cutter is not slowed down to (closed form)
	w.Cuts[0].RPM, w.Cutters[0].Flutes = 20000, 2
	assert.InDelta(t, 200, j.boreFeed(0.25), 1e-9)
	w.Cuts[0].Feed = 150
	assert.InDelta(t, 150, j.boreFeed(0.25), 1e-9, "never faster than asked for")
	w.Cuts[0].Feed = 600
	require.True(t, j.settleDepths())
	var l legs
	l.begin(geom.Point{}, 0)
	require.True(t, j.helix(&l, geom.Point{}, 2))
	most := 0.0
	for _, g := range l.list {
		if !g.seg.IsLine() {
			most = math.Max(most, g.d1-g.d0)
		}
	}
	assert.LessOrEqual(t, 2*most, 0.65858+1e-5)
	assert.Greater(t, 2*most, 0.65858*0.8)
}

func TestEveryKindIsPlanned(t *testing.T) {
	box := region(geom.Rect(0, 0, 40, 20))
	line := geom.Chain{{Point: geom.Pt(0, 0)}, {Point: geom.Pt(60, 0)}, {Point: geom.Pt(70, 10)}}
	shallow := func(k work.Kind) work.Cut {
		c := through("x", k)
		c.Through, c.Depth, c.Limit = false, 0.8, 1.5
		return c
	}
	for _, tc := range []struct {
		fact   string
		cutter shop.Cutter
		set    func() work.Cut
		z      float64
	}{
		{"rebate of a whole outline", endmill2(), func() work.Cut { c := shallow(work.Rebate); c.Regions = []geom.Region{box}; return c }, -0.8},
		{"rebate as a ledge", endmill2(), func() work.Cut {
			c := shallow(work.Rebate)
			c.Regions, c.Options = []geom.Region{box}, map[string]float64{"ledge": 5}
			return c
		}, -0.8},
		{"slot on a centre line, one pass", endmill2(), func() work.Cut { c := through("x", work.Slot); c.Chains = []geom.Chain{line}; return c }, -2.2},
		{"slot on a centre line, both walls", endmill2(), func() work.Cut {
			c := through("x", work.Slot)
			c.Chains, c.Options = []geom.Chain{line}, map[string]float64{"width": 3.1}
			return c
		}, -2.2},
		{"slot drawn as wide as the cutter", endmill2(), func() work.Cut {
			c := through("x", work.Slot, region(geom.RoundRect(0, 0, 30, 2, 1)))
			return c
		}, -2.2},
		{"groove", burr2(), func() work.Cut { c := shallow(work.Score); c.Chains = []geom.Chain{line}; return c }, -0.8},
		{"perforation", endmill2(), func() work.Cut {
			c := through("x", work.Score)
			c.Chains, c.Options = []geom.Chain{line}, map[string]float64{"bridge": 1.5, "cut": 4}
			return c
		}, -2.2},
		{"mark with a text", vee90(), func() work.Cut {
			c := shallow(work.Mark)
			c.Depth, c.Text, c.Options = 0.2, "RIB 12-A", map[string]float64{"x": 5, "y": 6, "height": 4}
			return c
		}, -0.2},
		{"chamfer", vee90(), func() work.Cut { c := shallow(work.Chamfer); c.Regions = []geom.Region{box}; c.Depth = 0.5; return c }, -0.5},
		{"door", endmill2(), func() work.Cut {
			c := through("x", work.Door, box)
			c.Tabs = work.Tabs{Count: 3, Width: 3, Height: 0.6}
			return c
		}, -2.2},
		{"onion skin", endmill2(), func() work.Cut {
			c := through("x", work.Opening, box)
			c.Through, c.Onion, c.Depth = false, 0.2, 1.8
			return c
		}, -1.8},
		{"opening cleared away", endmill2(), func() work.Cut {
			c := through("x", work.Opening, box)
			c.Options = map[string]float64{"clear": 1}
			return c
		}, -2.2},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			w := sheet([]shop.Cutter{tc.cutter}, tc.set())
			ps := mustPlan(t, w)
			assertSafe(t, w, ps)
			assert.InDelta(t, tc.z, deepest(ps), 1e-9)
		})
	}
}
