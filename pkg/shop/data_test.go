package shop_test

import (
	"encoding/json"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/shop"
)

// bench is a plain case that nothing is wrong with: a stiff machine without
// runout, a 6 mm end mill, a soft material. Tests change one thing of it.
func bench() (shop.Machine, shop.Cutter, shop.Material, shop.Engagement) {
	m := shop.Machine{Name: "bench", FeedXY: 5000, FeedZ: 1500, Accel: 1000, SpindleMin: 6000, SpindleMax: 24000, Power: 1000}
	c := shop.Cutter{Name: "six", Kind: shop.Flat, Form: shop.FormEndMill, Material: "carbide", Diameter: 6, Flutes: 2,
		FluteLength: 20, Shank: 6, StickOut: 25, CentreCutting: true, MaxRPM: 30000}
	mat := shop.Material{Name: "stuff", Family: "acetal", Kc: 150, KcLow: 80, KcHigh: 250, Rules: []shop.Rule{
		{Form: shop.FormEndMill, Speed: [2]float64{200, 300}, FeedTooth: [2]float64{0.01, 0.02}, Step: [2]float64{0.5, 1}, Life: [2]float64{10, 40}, Source: "test"},
		{Form: shop.FormBurr, Speed: [2]float64{200, 300}, FeedRev: [2]float64{0.05, 0.1}, Step: [2]float64{0.5, 1}, Source: "test"},
		{Form: shop.FormDrill, Speed: [2]float64{100, 200}, FeedRev: [2]float64{0.05, 0.1}, Peck: 1, Source: "test"},
	}}
	return m, c, mat, shop.Engagement{Slot: true, Depth: 9, Tolerance: 0.2}
}

func TestAPlainSlotIsChosenFromTheMiddleOfItsRanges(t *testing.T) {
	m, c, mat, e := bench()
	d, list := shop.Data(m, c, mat, e)
	require.Empty(t, list)
	// 250 m/min at 6 mm is 13262.9 rpm (closed form), down to whole hundreds
	assert.Equal(t, 13200.0, d.RPM)
	// 13200 · 2 · 0.09 = 2376 mm/min, down to whole tens
	assert.Equal(t, 2370.0, d.FeedXY)
	assert.InDelta(t, 2370.0/13200/2, d.FeedTooth, 1e-12, "mm, from the rounded feed")
	assert.Equal(t, 2, d.Passes, "9 mm by at most 4.5 mm")
	assert.Equal(t, 4.5, d.Step)
	assert.Equal(t, 790.0, d.FeedPlunge, "a third")
	assert.Equal(t, 1180.0, d.FeedRamp, "a half, down to whole tens")
	assert.InDelta(t, 4.5*6*2370*150/60e6, d.Power, 1e-12, "kW, closed form")
	assert.InDelta(t, d.Power/(1.0*13200/24000), d.PowerShare, 1e-12, "of what the spindle gives at that speed")
	assert.InDelta(t, 60000*d.Power/d.Speed, d.ForceSharp, 1e-9, "N, closed form")
	assert.Equal(t, 2*d.ForceSharp, d.ForceDull)
	assert.Equal(t, "slot", d.Mode)
	assert.Equal(t, 10.0, d.Life, "the low end of the range")
}

func TestAbrasiveMaterialsAreCutAtTheLowerQuarter(t *testing.T) {
	m, c, mat, e := bench()
	mat.Abrasive = true
	d, _ := shop.Data(m, c, mat, e)
	assert.Equal(t, 11900.0, d.RPM) // 225 m/min at 6 mm is 11936.6 rpm
}

func TestALightSideCutIsFedFaster(t *testing.T) {
	m, c, mat, e := bench()
	e.Slot, e.Width = false, 0.6
	d, list := shop.Data(m, c, mat, e)
	require.Empty(t, list)
	assert.InDelta(t, 5.0/3, d.ChipFactor, 1e-9, "a tenth of the diameter, closed form")
	assert.InDelta(t, 0.09, d.ChipMax, 0.0005, "the chip is that of a slot")
	assert.Equal(t, "side cut", d.Mode)
	e.Width = 0.001
	d, _ = shop.Data(m, c, mat, e)
	assert.InDelta(t, 2.29416, d.ChipFactor, 1e-4, "held at a twentieth")
}

func TestAMachineTooSlowForTheChipTurnsSlower(t *testing.T) {
	m, c, mat, e := bench()
	m.FeedXY = 2000
	d, list := shop.Data(m, c, mat, e)
	require.Empty(t, list)
	assert.Equal(t, 11100.0, d.RPM, "2000 mm/min by 0.18 mm/rev")
	m.FeedXY = 1000
	d, list = shop.Data(m, c, mat, e)
	assert.True(t, list.Has("speed-low"))
	assert.False(t, list.Has("feed-low"), "the least feed per tooth goes before the speed: %v", list)
	assert.Equal(t, 8300.0, d.RPM, "1000 mm/min by 0.12 mm/rev")
	m.FeedXY = 100
	d, list = shop.Data(m, c, mat, e)
	assert.Equal(t, 6000.0, d.RPM, "no slower than the spindle can")
	assert.True(t, list.Has("feed-low"))
}

func TestPassesAreMadeShallowerForPowerAndBending(t *testing.T) {
	m, c, mat, e := bench()
	m.Power = 300
	d, list := shop.Data(m, c, mat, e)
	assert.Equal(t, 3, d.Passes)
	assert.False(t, list.Has("power-high"))
	m.Power = 100
	d, list = shop.Data(m, c, mat, e)
	assert.Equal(t, 3.0, d.Step, "not below the range of the rule")
	assert.True(t, list.Has("power-high"))
	m.Power = 1000
	e.Tolerance = 0.05
	c.StickOut = 40
	d, list = shop.Data(m, c, mat, e)
	assert.Equal(t, 3, d.Passes)
	assert.False(t, list.Has("deflection-high"), "%v, %v", d.Deflection, list)
}

// Both sides of every limit: at it nothing is said, a digit past it the finding.
func TestLimits(t *testing.T) {
	type world struct {
		m   *shop.Machine
		c   *shop.Cutter
		mat *shop.Material
		e   *shop.Engagement
	}
	for _, tc := range []struct {
		code       string
		stops      bool
		at, beyond func(world)
	}{
		{"rpm-high", true, func(w world) { w.e.RPM, w.e.Feed = 24000, 4000 }, func(w world) { w.e.RPM = 24001 }},
		{"rpm-high", true, func(w world) { w.c.MaxRPM = 20000; w.e.RPM = 20000 }, func(w world) { w.e.RPM = 20001 }},
		{"rpm-high", true, func(w world) { w.c.MaxRPM = 6000 }, func(w world) { w.c.MaxRPM = 5999 }},
		{"rpm-low", true, func(w world) { w.e.RPM = 6000 }, func(w world) { w.e.RPM = 5999 }},
		{"feed-limit", true, func(w world) { w.e.Feed = 5000 }, func(w world) { w.e.Feed = 5001 }},
		{"flute-short", true, func(w world) { w.e.Depth = 20 }, func(w world) { w.e.Depth = 20.01 }},
		{"stickout-short", true, func(w world) { w.c.FluteLength, w.e.Depth = 25, 25 }, func(w world) { w.e.Depth = 25.01 }},
		{"engagement-wide", true, func(w world) { w.e.Slot, w.e.Width = false, 6 }, func(w world) { w.e.Width = 6.01 }},
		{"plunge-not-centre-cutting", true, func(w world) { w.e.Plunge = true }, func(w world) { w.c.CentreCutting = false }},
		{"step-high", false, func(w world) { w.e.Pass = 6 }, func(w world) { w.e.Pass = 6.01 }},
		{"speed-high", false, func(w world) { w.e.RPM = 15915 }, func(w world) { w.e.RPM = 15916 }},
		{"speed-low", false, func(w world) { w.e.RPM = 10611 }, func(w world) { w.e.RPM = 10610 }},
		{"feed-high", false, func(w world) { w.e.RPM, w.e.Feed = 12000, 2880 }, func(w world) { w.e.Feed = 2881 }},
		{"chip-rubbing", false, func(w world) { w.e.RPM, w.e.Feed = 12000, 120 }, func(w world) { w.e.Feed = 119 }},
		{"runout-high", false, func(w world) { w.e.RPM, w.e.Feed, w.m.Runout = 12000, 1440, 0.03 }, func(w world) { w.m.Runout = 0.0301 }},
		{"compression-shallow", false, func(w world) { w.c.Form, w.c.UpcutLength = shop.FormCompression, 4.5 }, func(w world) { w.c.UpcutLength = 4.51 }},
		// 4.5·6·2400·150/60e6 kW = 0.162 kW; 80 % of the spindle at 12000 rpm is 0.4·P
		{"power-high", false, func(w world) { w.e.RPM, w.e.Feed, w.e.Pass, w.m.Power = 12000, 2400, 4.5, 405.001 }, func(w world) { w.m.Power = 404.99 }},
		{"data-missing", true, func(world) {}, func(w world) { w.c.Form = shop.FormVee }},
		{"drill-sideways", true, func(world) {}, func(w world) { w.c.Kind = shop.Drill }},
		{"stress-high", false, func(world) {}, func(w world) { w.c.StickOut, w.c.Shank = 250, 3 }},
		{"number-bad", true, func(world) {}, func(w world) { w.m.Power = 0 }},
		{"number-bad", true, func(world) {}, func(w world) { w.c.Diameter = math.NaN() }},
		{"number-bad", true, func(world) {}, func(w world) { w.e.Depth = math.Inf(1) }},
		{"number-bad", true, func(world) {}, func(w world) { w.e.Tolerance = -1 }},
		{"number-bad", true, func(world) {}, func(w world) { w.e.Pass = 1e-9 }},
		{"number-bad", true, func(world) {}, func(w world) { w.c.MaxRPM = 0 }},
	} {
		m, c, mat, e := bench()
		w := world{&m, &c, &mat, &e}
		tc.at(w)
		_, list := shop.Data(m, c, mat, e)
		assert.False(t, list.Has(tc.code), "%s at its limit: %v", tc.code, list)
		tc.beyond(w)
		d, list := shop.Data(m, c, mat, e)
		require.True(t, list.Has(tc.code), "%s past its limit: %v", tc.code, list)
		assert.Equal(t, tc.stops, list.Blocks(), "%s: %v", tc.code, list)
		for _, f := range list {
			assert.NotEmpty(t, f.Subject)
			if f.Code == tc.code {
				assert.NotEmpty(t, f.Help)
			}
		}
		_ = d
	}
}

func TestDeflectionIsHeldAgainstHalfTheTolerance(t *testing.T) {
	m, c, mat, e := bench()
	e.Pass = 4.5
	d, _ := shop.Data(m, c, mat, e)
	e.Tolerance = 2 * d.Deflection * 1.0001
	_, list := shop.Data(m, c, mat, e)
	assert.False(t, list.Has("deflection-high"))
	e.Tolerance = 2 * d.Deflection * 0.9999
	_, list = shop.Data(m, c, mat, e)
	assert.True(t, list.Has("deflection-high"))
}

func TestADrillGoesStraightDown(t *testing.T) {
	m, c, mat, _ := bench()
	c.Kind, c.Form, c.Diameter, c.PointAngle = shop.Drill, shop.FormDrill, 3, 130*deg
	d, list := shop.Data(m, c, mat, shop.Engagement{Drill: true, Depth: 8, Through: true})
	require.Empty(t, list)
	assert.Equal(t, d.FeedPlunge, d.FeedXY)
	assert.Equal(t, 3.0, d.Peck)
	assert.InDelta(t, 0.075, d.FeedRev, 0.001, "mm")
	assert.LessOrEqual(t, d.FeedPlunge, m.FeedZ)
	assert.InDelta(t, shop.DrillTorque(150, d.FeedRev, 3), d.Torque, 1e-12)
	assert.Zero(t, d.Deflection)
	mat.Family = "cfrp"
	_, list = shop.Data(m, c, mat, shop.Engagement{Drill: true, Depth: 8, Through: true})
	assert.True(t, list.Has("drill-unbacked"))
	_, list = shop.Data(m, c, mat, shop.Engagement{Drill: true, Depth: 8, Through: true, Backed: true})
	assert.False(t, list.Has("drill-unbacked"))
	_, list = shop.Data(m, c, mat, shop.Engagement{Drill: true, Depth: 8})
	assert.False(t, list.Has("drill-unbacked"), "a blind hole has no exit")
}

func TestAnEndMillUsedAsADrillMustCutAtItsCentre(t *testing.T) {
	m, c, mat, _ := bench()
	d, list := shop.Data(m, c, mat, shop.Engagement{Drill: true, Depth: 8})
	require.False(t, list.Blocks())
	assert.LessOrEqual(t, d.FeedPlunge, d.FeedXY/3, "fed down as in a plunge")
	c.CentreCutting = false
	_, list = shop.Data(m, c, mat, shop.Engagement{Drill: true, Depth: 8})
	assert.True(t, list.Has("plunge-not-centre-cutting"))
}

func TestABurrIsFedByTheRevolution(t *testing.T) {
	m, c, mat, e := bench()
	c.Form, c.Flutes = shop.FormBurr, 0
	m.Runout = 1 // no countable teeth to share it
	d, list := shop.Data(m, c, mat, e)
	require.Empty(t, list)
	assert.Zero(t, d.FeedTooth)
	assert.InDelta(t, 0.075, d.FeedRev, 0.001)
	assert.Equal(t, 1.0, d.ChipFactor)
}

func TestACoatedCutterLastsLonger(t *testing.T) {
	l := shop.Embedded()
	m, _ := l.Machine("small-router-metric")
	plain, _ := l.Cutter("burr-2")
	coated, _ := l.Cutter("burr-2-coated")
	mat, _ := l.Material("carbon-plate-2")
	a, _ := shop.Data(m, plain, mat, shop.Engagement{Depth: 2})
	b, _ := shop.Data(m, coated, mat, shop.Engagement{Depth: 2})
	assert.Equal(t, 5.0, a.Life)
	assert.Equal(t, 50.0, b.Life)
	plain.Life = 7
	a, _ = shop.Data(m, plain, mat, shop.Engagement{Depth: 2})
	assert.Equal(t, 7.0, a.Life, "its own figure goes first")
}

func TestDataAskedForInFullNeedNoRule(t *testing.T) {
	m, c, mat, e := bench()
	mat.Rules = nil
	_, list := shop.Data(m, c, mat, e)
	assert.True(t, list.Has("data-missing"))
	e.RPM, e.Feed, e.Pass = 12000, 2000, 3
	d, list := shop.Data(m, c, mat, e)
	assert.False(t, list.Blocks())
	assert.True(t, list.Has("data-unjudged"))
	assert.Equal(t, []float64{12000, 2000, 3}, []float64{d.RPM, d.FeedXY, d.Step})
	for _, r := range d.Rows() {
		assert.False(t, math.IsNaN(r.Value) || math.IsInf(r.Value, 0), r.Name)
	}
}

func TestShortBlocksNeverReachTheFeed(t *testing.T) {
	m, c, mat, e := bench()
	m.Accel, e.Block = 300, 0.5
	d, list := shop.Data(m, c, mat, e)
	assert.InDelta(t, 734.85, d.FeedAchieved, 0.01, "mm/min, closed form")
	assert.Less(t, d.ChipAchieved, d.ChipMax)
	assert.False(t, list.Has("chip-rubbing"))
	e.Block = 0.005
	_, list = shop.Data(m, c, mat, e)
	assert.True(t, list.Has("chip-rubbing"))
}

func TestARuleMayGiveItsFiguresInMillimetres(t *testing.T) {
	m, c, mat, e := bench()
	mat.Rules[0].FeedTooth, mat.Rules[0].FeedToothMM = [2]float64{}, [2]float64{0.06, 0.12}
	mat.Rules[0].StepMax = 2
	d, list := shop.Data(m, c, mat, e)
	require.Empty(t, list)
	assert.InDelta(t, 0.09, d.FeedTooth, 0.0005, "mm")
	assert.LessOrEqual(t, d.Step, 2.0, "mm")
	mat.Rules[0].FeedToothMM, mat.Rules[0].FeedRev = [2]float64{}, [2]float64{0.12, 0.24}
	mat.Rules[0].Step = [2]float64{}
	d, list = shop.Data(m, c, mat, e)
	require.Empty(t, list)
	assert.InDelta(t, 0.09, d.FeedTooth, 0.0005, "half of the feed per revolution, mm")
	assert.InDelta(t, 1, d.Step, 0.001, "the middle of 0 to 2 mm")
}

func TestSteelBreaksSooner(t *testing.T) {
	m, c, mat, e := bench()
	e.Pass = 4.5
	c.StickOut, c.Shank = 60, 3
	d, _ := shop.Data(m, c, mat, e)
	k := 1400 / d.Stress // bring the stress between half of 2500 and half of 3000 N/mm²
	mat.Kc, mat.KcLow, mat.KcHigh = mat.Kc*k, mat.KcLow*k, mat.KcHigh*k
	_, list := shop.Data(m, c, mat, e)
	assert.False(t, list.Has("stress-high"))
	c.Material = "hss"
	_, list = shop.Data(m, c, mat, e)
	assert.True(t, list.Has("stress-high"))
}

func TestAFinishPassTakesTheFullDepth(t *testing.T) {
	m, c, mat, e := bench()
	e.Slot, e.Width, e.Finish, e.Depth = false, 0.2, true, 12
	d, list := shop.Data(m, c, mat, e)
	assert.Equal(t, 1, d.Passes)
	assert.Equal(t, 12.0, d.Step)
	assert.False(t, list.Has("step-high"))
	assert.Equal(t, "finish pass", d.Mode)
}

func TestAluminiumHasTheForceOfItsChip(t *testing.T) {
	l := shop.Embedded()
	mat, _ := l.Material("aluminium-2")
	assert.InDelta(t, 1681.97, mat.ForceAt(0.03), 0.01, "Kienzle 700, 0.25; from memory")
	assert.Equal(t, mat.Kc, mat.ForceAt(0), "without a chip the constant")
	m, _ := l.Machine("gantry-router-metric")
	c, _ := l.Cutter("single-3")
	d, _ := shop.Data(m, c, mat, shop.Engagement{Depth: 2})
	assert.True(t, d.KcRange[0] < d.Kc && d.Kc < d.KcRange[1])
}

// Whatever is in the shop, used sensibly, stays inside the limits of cutter and
// machine, and every row has a name, a finite value and a source.
func TestEveryEmbeddedPairStaysInsideItsLimits(t *testing.T) {
	l := shop.Embedded()
	pairs := 0
	for _, mn := range l.Machines() {
		m, _ := l.Machine(mn)
		for _, cn := range l.Cutters() {
			c, _ := l.Cutter(cn)
			for _, tn := range l.Materials() {
				mat, _ := l.Material(tn)
				for _, e := range []shop.Engagement{{Slot: true, Depth: c.FluteLength / 2, Tolerance: 0.2}, {Width: c.Diameter / 10, Depth: c.FluteLength, Finish: true}} {
					e.Drill = c.Kind == shop.Drill
					d, list := shop.Data(m, c, mat, e)
					if list.Has("data-missing") {
						continue
					}
					pairs++
					what := fmt.Sprintf("%s, %s, %s, %s", mn, cn, tn, d.Mode)
					require.False(t, list.Blocks(), "%s: %v", what, list)
					require.True(t, d.RPM >= m.SpindleMin && d.RPM <= m.SpindleMax && d.RPM <= c.MaxRPM, what)
					require.True(t, d.FeedXY > 0 && d.FeedXY <= m.FeedXY && d.FeedPlunge > 0 && d.FeedPlunge <= m.FeedZ && d.FeedRamp > 0, what)
					require.True(t, d.Step > 0 && d.Step <= c.FluteLength, what)
					require.False(t, list.Has("feed-high") || list.Has("step-high") || list.Has("chip-rubbing"), "%s: %v", what, list)
					for _, r := range d.Rows() {
						require.True(t, r.Name != "" && r.Source != "" && !math.IsNaN(r.Value) && !math.IsInf(r.Value, 0), "%s: %+v", what, r)
					}
					_, err := json.Marshal(d)
					require.NoError(t, err)
				}
			}
		}
	}
	assert.Greater(t, pairs, 1000)
}

func TestNoNumberMakesDataPanicOrPass(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, c, mat, e := bench()
		odd := rapid.SampledFrom([]float64{0, -1, 1e-300, 1e-9, 0.01, 1, 3, 1e9, 1e300, math.NaN(), math.Inf(1), math.Inf(-1)})
		for _, at := range []*float64{&m.FeedXY, &m.SpindleMin, &m.Runout, &c.Diameter, &c.FluteLength, &c.StickOut, &c.Shank, &mat.Kc, &e.Width, &e.Depth, &e.Pass, &e.RPM, &e.Feed, &e.Block, &e.Tolerance} {
			if rapid.IntRange(0, 4).Draw(t, "change") == 0 {
				*at = odd.Draw(t, "value")
			}
		}
		e.Drill = rapid.Bool().Draw(t, "drill")
		d, list := shop.Data(m, c, mat, e)
		if list.Blocks() {
			return
		}
		for _, v := range []float64{d.RPM, d.FeedXY, d.FeedPlunge, d.Step} {
			if !(v > 0) || math.IsInf(v, 0) {
				t.Fatalf("passes with %+v", d)
			}
		}
		if d.RPM > c.MaxRPM*(1+1e-9) || d.FeedXY > math.Max(m.FeedXY, m.FeedZ)*(1+1e-9) || d.Step > c.FluteLength*(1+1e-9) {
			t.Fatalf("beyond a limit: %+v", d)
		}
	})
}

func TestACutterIsChangedBetweenPasses(t *testing.T) {
	var passes []shop.Pass
	for i := range 7 { // 3.3 m of path in seven passes: 23.1 m, closed form
		passes = append(passes, shop.Pass{Name: "outline", Length: 3300, Depth: 0.5, Again: i > 0})
	}
	w, list := shop.CutterWear(passes, 10, 0)
	assert.InDelta(t, 3.3, w.PathMetres, 1e-9, "m")
	assert.InDelta(t, 23.1, w.PassMetres, 1e-9, "m")
	assert.InDelta(t, 115.5, w.SweptArea, 1e-9, "cm²")
	assert.InDelta(t, 2.31, w.Used, 1e-9)
	require.Len(t, w.Changes, 2)
	assert.Equal(t, 3, w.Changes[0].Before)
	assert.InDelta(t, 9.9, w.Changes[0].Metres, 1e-9, "m")
	assert.Equal(t, 6, w.Changes[1].Before)
	assert.True(t, list.Has("life-exceeded"))
	assert.True(t, list.Blocks(), "to be confirmed")

	w, list = shop.CutterWear(passes, 23.1, 0)
	assert.Empty(t, list, "exactly the life")
	assert.Empty(t, w.Changes)
	w, _ = shop.CutterWear(passes, 23.1, 0.01)
	assert.Len(t, w.Changes, 1, "a centimetre cut before")
	w, list = shop.CutterWear(passes, 0, 0)
	assert.Empty(t, list, "an unknown life changes nothing")
	assert.Zero(t, w.Used)
	_, list = shop.CutterWear(passes, 3, 0)
	assert.True(t, list.Has("life-pass"))
	w, _ = shop.CutterWear([]shop.Pass{{Name: "air", Length: 3300}}, 3, 0)
	assert.Zero(t, w.PassMetres, "air wears nothing")
	assert.InDelta(t, 3.3, w.PathMetres, 1e-9)
	for _, bad := range []float64{-1, math.NaN(), math.Inf(1)} {
		_, list = shop.CutterWear(passes, bad, 0)
		assert.True(t, list.Has("number-bad"))
		_, list = shop.CutterWear([]shop.Pass{{Length: bad, Depth: 1}}, 1, 0)
		assert.True(t, list.Has("number-bad"))
	}
	w, list = shop.CutterWear(nil, 10, 0)
	assert.Empty(t, list)
	assert.Zero(t, w.PassMetres)
}

func ExampleData() {
	lib := shop.Embedded()
	machine, _ := lib.Machine("small-router-metric")
	cutter, _ := lib.Cutter("carbide-2")
	skin, _ := lib.Material("glass-balsa-glass-1.8")
	d, findings := shop.Data(machine, cutter, skin, shop.Engagement{Slot: true, Depth: 2, Tolerance: 0.2})
	fmt.Printf("%.0f rpm, %.0f mm/min, %d passes of %.2f mm\n", d.RPM, d.FeedXY, d.Passes, d.Step)
	fmt.Println(findings.Worst(), findings[0].Code)
	// Output:
	// 17900 rpm, 1070 mm/min, 2 passes of 1.00 mm
	// warn runout-high
}

func BenchmarkData(b *testing.B) {
	m, c, mat, e := bench()
	for b.Loop() {
		shop.Data(m, c, mat, e)
	}
}
