package plan

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

// The ways in and out of a cut, where it begins, and which way round it goes.

// steepest is the steepest way down below the skin by feed that goes sideways too,
// and the longest straight down, mm.
func steepest(ps []toolpath.Program) (slope, plunge float64) {
	for _, m := range replay(ps) {
		down := math.Min(m.from[2], 0) - m.Z
		if m.Kind == toolpath.Rapid || down < 0.002 {
			continue
		}
		l := m.seg().Length()
		if l < 1e-9 {
			plunge = math.Max(plunge, down)
			continue
		}
		slope = math.Max(slope, (m.from[2]-m.Z)/l)
	}
	return slope, plunge
}

func TestTheWayInIsARampOrAHelix(t *testing.T) {
	pocket := through("c", work.Pocket, region(geom.Rect(0, 0, 30, 17)))
	pocket.Through, pocket.Depth = false, 1.2
	slot := through("c", work.Slot)
	slot.Chains = []geom.Chain{{{Point: geom.Pt(0, 0)}, {Point: geom.Pt(40, 6)}}}
	bore := through("c", work.Bore)
	bore.Points, bore.Diameter = []geom.Point{{}}, 6
	door := through("c", work.Door, region(geom.RoundRect(0, 0, 40, 20, 3)))
	part := through("c", work.PartCut, region(geom.RoundRect(0, 0, 40, 20, 3)))
	fine := through("c", work.Opening, region(geom.RoundRect(0, 0, 40, 20, 3)))
	fine.Finish = 0.1
	for name, c := range map[string]work.Cut{"opening": through("c", work.Opening, region(geom.Rect(0, 0, 40, 20))), "finished": fine, "part": part, "door": door, "pocket": pocket, "slot": slot, "bore": bore} {
		for _, cutter := range []shop.Cutter{endmill2(), burr2()} {
			for _, deg := range []float64{3, 1.5} {
				c.Ramp = deg * math.Pi / 180
				slope, plunge := steepest(mustPlan(t, sheet([]shop.Cutter{cutter}, c)))
				assert.Greater(t, slope, 0.0, name)
				assert.LessOrEqual(t, slope, math.Tan(c.Ramp)*1.001, "%s with %s: %.2f°", name, cutter.Name, math.Atan(slope)*180/math.Pi)
				if !cutter.CentreCutting {
					assert.Zero(t, plunge, "%s plunges with %s", name, cutter.Name)
				}
			}
		}
	}
}

// A pocket is entered by a helix where one fits: arcs alone lead down.
func TestAPocketIsEnteredByAHelix(t *testing.T) {
	pocket := through("c", work.Pocket, region(geom.Rect(0, 0, 30, 17)))
	pocket.Through, pocket.Depth, pocket.Step = false, 1.2, 1.2
	down := 0.0
	for _, m := range replay(mustPlan(t, sheet([]shop.Cutter{burr2()}, pocket))) {
		if d := math.Min(m.from[2], 0) - m.Z; m.Kind != toolpath.Rapid && d > 1e-6 {
			assert.Equal(t, toolpath.Arc, m.Kind)
			down += d
		}
	}
	assert.InDelta(t, 1.2, down, 1e-9)
}

// Where neither fits, a cutter that cuts at its centre plunges; no other does.
func TestOnlyACutterThatCutsAtItsCentrePlunges(t *testing.T) {
	c := through("c", work.Opening, region(geom.Circle(geom.Pt(0, 0), 1.02)))
	c.Open = true
	_, plunge := steepest(mustPlan(t, sheet([]shop.Cutter{endmill2()}, c)))
	assert.Greater(t, plunge, 0.5)
	ps, l := Plan(context.Background(), sheet([]shop.Cutter{burr2()}, c))
	assert.Empty(t, ps)
	require.True(t, l.Blocks())
	assert.Contains(t, l[len(l)-1].Code, "ramp-too-long")
}

// contourOf plans one cut and returns its operation.
func contourOf(t *testing.T, c work.Cut) *op {
	t.Helper()
	p, ops := planOps(context.Background(), sheet([]shop.Cutter{endmill2()}, c))
	require.False(t, p.stopped(), "%v", p.found)
	require.Len(t, ops, 1)
	return &ops[0]
}

// plain is an opening without lead, so that it begins where its track does.
func plain() work.Cut {
	c := through("c", work.Opening, region(geom.Polygon(geom.Pt(0, 0), geom.Pt(50, 0), geom.Pt(40, 20), geom.Pt(0, 20))))
	c.Open, c.Options = true, map[string]float64{"lead_radius": 0}
	return c
}

func TestACutBeginsInTheMiddleOfTheLongestStraightOrWhereTheJobSays(t *testing.T) {
	c := plain() // 1 mm inside: from x 1 to where the slanted side is met, y 1
	corner := 50 - 1*math.Tan((math.Pi/2+math.Atan(0.5))/2)
	assert.InDelta(t, 0, contourOf(t, c).start().Dist(geom.Pt((1+corner)/2, 1)), 1e-6)
	c.Frame = geom.Rigid{Turn: math.Pi / 2, Shift: geom.Pt(7, 3)}
	c.Options["start_x"], c.Options["start_y"] = 10, -2
	assert.InDelta(t, 0, contourOf(t, c).start().Dist(geom.Pt(9, 19)), 1e-6, "the place nearest to it: drawn 10, -2 lies at 9, 13")
}

func TestTheLastRoundGoesOnPastWhereItBegan(t *testing.T) {
	c := plain()
	c.Climb = true
	for _, over := range []float64{0, 4} {
		c.Options["overlap"] = over
		o := contourOf(t, c)
		level, round := 0.0, 0.0
		for _, l := range o.legs {
			if l.d0 == 2.2 && l.d1 == 2.2 {
				level += l.seg.Length()
			}
		}
		g, err := c.Regions[0].Offset(-1, 1e-3)
		require.NoError(t, err)
		round = g[0].Outer.Length()
		assert.InDelta(t, round+over, level, 1e-3)
	}
}

// sense is the area that the legs enclose, positive counter-clockwise.
func sense(ls []leg) float64 {
	a := 0.0
	for _, l := range ls {
		a += l.seg.A.Cross(l.seg.B) / 2
	}
	return a
}

// With a spindle that turns clockwise a cutter climbs when what stays lies on its
// right: inside counter-clockwise, outside clockwise (closed form). The finish pass
// has a sense of its own.
func TestEachPassClimbsOrNotAsAsked(t *testing.T) {
	for _, inside := range []bool{true, false} {
		for _, climb := range []bool{true, false} {
			for _, finishClimb := range []bool{true, false} {
				c := plain()
				c.Climb, c.Finish, c.Tabs = climb, 0.1, work.Tabs{Count: 2, Width: 3, Height: 0.5}
				want := 1.0
				if !inside {
					c.Kind, want = work.PartCut, -1
				}
				c.Options["finish_climb"] = 0
				if finishClimb {
					c.Options["finish_climb"] = 1
				}
				o := contourOf(t, c)
				passes := map[int32][]leg{}
				last := int32(0)
				for _, l := range o.legs {
					passes[l.pass] = append(passes[l.pass], l)
					last = max(last, l.pass)
				}
				for n, ls := range passes {
					is := want
					if n == last && !finishClimb || n < last && !climb {
						is = -want
					}
					assert.Greater(t, is*sense(ls), 500.0, "inside %v climb %v finish %v pass %d of %d", inside, climb, finishClimb, n, last)
				}
			}
		}
	}
}

// The finish pass goes round once at full depth, after the roughing passes left
// the allowance; where the machine or the outline does not allow it, pass by pass.
func TestTheFinishPassTakesTheFullDepthWhereItCan(t *testing.T) {
	c := plain()
	c.Finish, c.Tabs = 0.15, work.Tabs{Count: 2, Width: 3, Height: 0.5}
	rounds := func(c work.Cut) (final, depths int) {
		seen := map[float64]bool{}
		for _, l := range contourOf(t, c).legs {
			if l.onTab || l.way != feeding {
				continue
			}
			d := c.Regions[0].Dist(l.seg.Mid())
			if c.Relief == "" {
				assert.GreaterOrEqual(t, d, 1-1e-6)
			}
			if d < 1.15-1e-3 && l.d0 == l.d1 {
				final++
				seen[l.d1] = true
			}
		}
		return final, len(seen)
	}
	n, depths := rounds(c)
	assert.Greater(t, n, 3)
	assert.Equal(t, 1, depths, "one depth only")
	c.Relief = "dogbone" // roughing leaves the relief full: the finish pass would meet it over the full depth
	_, depths = rounds(c)
	assert.Greater(t, depths, 2)
}

// Beside a tab the cutter goes straight up and down, or by ramps: up by at most
// 45°, down by at most 20°, by 10° when it does not cut at its centre (common
// practice, no source).
func TestTabsAreSteppedOrRamped(t *testing.T) {
	for _, tc := range []struct {
		cutter shop.Cutter
		step   float64
		up     float64 // ° at most
		down   float64
	}{{endmill2(), 0, 45, 20}, {burr2(), 0, 45, 10}, {endmill2(), 1, 90, 90}} {
		c := through("c", work.PartCut, region(geom.RoundRect(0, 0, 80, 50, 6)))
		c.Tabs, c.Options = work.Tabs{Count: 4, Width: 3, Height: 0.6}, map[string]float64{"tab_step": tc.step}
		var up, down float64
		rises := 0
		for _, m := range replay(mustPlan(t, sheet([]shop.Cutter{tc.cutter}, c))) {
			if m.Kind == toolpath.Rapid || m.Z > -0.5 || m.from[2] > -0.5 {
				continue
			}
			a := math.Atan2(m.Z-m.from[2], m.seg().Length()) * 180 / math.Pi
			if m.Z == -1.4 && m.from[2] < -1.4 {
				rises++
			}
			up, down = math.Max(up, a), math.Max(down, -a)
		}
		assert.GreaterOrEqual(t, rises, 4, "as high as the tab is asked for: 2 mm less 0.6")
		assert.InDelta(t, tc.up, up, 1e-6)
		assert.InDelta(t, tc.down, down, 1e-6)
	}
}

// As many tabs as perimeter, area and force ask for.
func TestAutomaticTabsFollowPerimeterAndForce(t *testing.T) {
	count := func(w, h, shear float64) int {
		c := through("c", work.PartCut, region(geom.RoundRect(0, 0, w, h, 3)))
		c.Tabs = work.Tabs{Auto: true, Width: 4, Height: 0.6}
		k := sheet([]shop.Cutter{endmill2()}, c)
		k.Material.Kc, k.Material.Shear = 800, shear
		j := &job{planner: &planner{w: k}, c: &k.Cuts[0], cutter: &k.Cutters[0], r: 1}
		require.True(t, j.settleDepths())
		es, ok := j.edges(k.Cuts[0].Regions[0], false)
		require.True(t, ok)
		tr := j.startTrack(es[0].rough, true)
		return j.tabCount(&tr, es[0])
	}
	assert.Equal(t, 2, count(60, 10, 60), "a strip")
	assert.Equal(t, 3, count(60, 50, 60), "three about a middle")
	assert.Equal(t, 7, count(200, 200, 60), "one for every 120 mm: 800 mm of outline and the cutter")
	// 800 N/mm² · 0.6 mm · 600/(π·18000) mm = 5.09 N; 6 · 5.09 / (4 · 0.6 · 2) = 6.4 (closed form)
	assert.Equal(t, 7, count(60, 50, 2), "enough for the force of a dull cutter, three times")
}

// A relief reaches past the outline; where a spar stands behind the corner, the
// program is not proven. Without relief it is, and with the form that goes along
// the longer wall.
func TestAReliefIsHeldAgainstKeepouts(t *testing.T) {
	for relief, ok := range map[string]bool{"": true, "dogbone": false, "tbone": true} {
		c := through("c", work.Opening, region(geom.Rect(0, 0, 40, 20)))
		c.Open, c.Relief, c.Limit = true, relief, 4
		w := wing(bowl{}, []shop.Cutter{endmill2()}, c)
		w.Cutters[0].Number, w.Cutters[0].MaxRPM = 1, 30000
		w.Machine, w.ClampsSaid = bench(), true
		w.Members = []keepout.Volume{{Name: "spar", Kind: keepout.Primary, Footprint: []geom.Region{{Outer: geom.Rect(-20, 20.6, 60, 24)}}, To: math.Inf(1), Clearance: 0.4}}
		_, found, _ := provenOf(t, w, mustPlan(t, w))
		hit := false
		for _, f := range found {
			hit = hit || f.Severity == diag.Stop && f.Code == "keepout-near"
		}
		assert.Equal(t, ok, !hit, "relief %q: %v", relief, found)
	}
}
