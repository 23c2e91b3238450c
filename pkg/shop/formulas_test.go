package shop_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"sparclear/pkg/shop"
)

// rel holds got against a printed value: within 1e-4 of it, and never looser than
// half of its last printed digit allows.
func rel(t *testing.T, want, got float64, what string) {
	t.Helper()
	assert.InDelta(t, want, got, 1e-4*math.Max(math.Abs(want), 1e-3), what)
}

const deg = math.Pi / 180

// Every value here is closed form, worked by hand with the formula in the doc
// comment, unless a source stands beside it.
func TestShopFormulasGiveTheHandbookValues(t *testing.T) {
	for _, tc := range []struct {
		fact      string
		got, want float64
	}{
		{"spindle speed, 120 m/min at 2 mm", shop.SpindleSpeed(120, 2), 19098.59},
		{"spindle speed, 150 m/min at 1/8 in", shop.SpindleSpeed(150, 3.175), 15038.26},
		{"spindle speed, 200 m/min at 6 mm", shop.SpindleSpeed(200, 6), 10610.33},
		{"spindle speed, 100 m/min at 1 mm", shop.SpindleSpeed(100, 1), 31830.99},
		{"cutting speed, 2 mm at 24000 rpm", shop.CuttingSpeed(2, 24000), 150.796},
		{"cutting speed, 1/8 in at 24000 rpm", shop.CuttingSpeed(3.175, 24000), 239.389},
		{"cutting speed, 1 mm at 10000 rpm", shop.CuttingSpeed(1, 10000), 31.416},
		{"feed speed", shop.FeedSpeed(18000, 2, 0.03), 1080},
		{"largest chip at a twentieth", shop.ChipMax(1, 0.05, 1), 0.43589},
		{"largest chip at a tenth", shop.ChipMax(1, 0.10, 1), 0.6},
		{"largest chip at a fifth", shop.ChipMax(1, 0.20, 1), 0.8},
		{"largest chip at a quarter", shop.ChipMax(1, 0.25, 1), 0.86603},
		{"largest chip at half", shop.ChipMax(1, 0.5, 1), 1},
		{"largest chip in a slot", shop.ChipMax(1, 1, 1), 1},
		{"feed factor at a twentieth", shop.ChipFactor(0.05, 1), 2.29416},
		{"feed factor at a tenth", shop.ChipFactor(0.10, 1), 1.66667},
		{"feed factor at a fifth", shop.ChipFactor(0.20, 1), 1.25},
		{"feed factor at a quarter", shop.ChipFactor(0.25, 1), 1.15470},
		{"feed factor from half on", shop.ChipFactor(0.5, 1), 1},
		{"engagement at a twentieth", shop.EngagementAngle(0.05, 1) / deg, 25.842},
		{"engagement at a tenth", shop.EngagementAngle(0.1, 1) / deg, 36.870},
		{"engagement at a quarter", shop.EngagementAngle(0.25, 1) / deg, 60},
		{"engagement at half", shop.EngagementAngle(0.5, 1) / deg, 90},
		{"engagement in a slot", shop.EngagementAngle(1, 1) / deg, 180},
		{"mean chip at a twentieth", shop.ChipMean(1, 0.05, 1), 0.22172},
		{"mean chip at a tenth", shop.ChipMean(1, 0.1, 1), 0.31080},
		{"mean chip at a quarter", shop.ChipMean(1, 0.25, 1), 0.47746},
		{"mean chip at half", shop.ChipMean(1, 0.5, 1), 0.63662},
		{"mean chip in a slot", shop.ChipMean(1, 1, 1), 0.63662},
		{"removal rate", shop.RemovalRate(1, 2, 600), 1.2},
		{"removal rate, large", shop.RemovalRate(3, 6, 1200), 21.6},
		{"power", shop.CuttingPower(1, 2, 600, 800), 0.016},
		{"power, large", shop.CuttingPower(3, 6, 1200, 800), 0.288},
		{"torque", shop.SpindleTorque(0.016, 19098.593), 0.008},
		{"torque, large", shop.SpindleTorque(0.288, 10610.33), 0.2592},
		{"force", shop.TangentialForce(0.016, 120), 8},
		{"force, large", shop.TangentialForce(0.288, 200), 86.4},
		{"Kienzle at 0.03 mm", shop.Kienzle(700, 0.25, 0.03), 1681.97},
		{"Kienzle at 0.1 mm", shop.Kienzle(700, 0.25, 0.1), 1244.80},
		// Coefficients of 7075-T6: Chinese J. Mech. Eng. 34 (2021), table 5.
		{"edge force of 7075 at 0.03 mm", shop.EdgeForce(767.01, 27.7, 0.03), 1690.34},
		{"second moment of the core of 2 mm", shop.SecondMoment(1.6), 0.32170},
		{"bend 10 N, 10 mm, 2 mm", shop.ToolBend(10, 10, 2, 0.8, 600000), 0.017269},
		{"bend 20 N, 15 mm, 1/8 in", shop.ToolBend(20, 15, 3.175, 0.8, 600000), 0.018354},
		{"bend 50 N, 25 mm, 6 mm", shop.ToolBend(50, 25, 6, 0.8, 600000), 0.016656},
		{"bend 10 N, 15 mm, 2 mm", shop.ToolBend(10, 15, 2, 0.8, 600000), 0.058284},
		{"bend with the full diameter", shop.ToolBend(10, 10, 2, 1, 600000), 0.0070736},
		{"bend of a stepped cutter", shop.SteppedBend(10, 6, 15, shop.SecondMoment(1.6), shop.SecondMoment(3.175), 600000), 0.0072485},
		{"root stress 10 N", shop.RootStress(10, 10, 1.6), 248.68},
		{"root stress 5 N", shop.RootStress(5, 5, 0.8), 497.36},
		{"runout on two teeth", shop.RunoutChip(0, 1, 2), 1},
		{"runout on three teeth", shop.RunoutChip(0, 1, 3), 0.86603},
		{"runout on four teeth", shop.RunoutChip(0, 1, 4), 0.70711},
		{"runout on one tooth", shop.RunoutChip(0.02, 1, 1), 0.02},
		{"tabs", shop.TabLoad(4, 3, 0.6, 60), 432},
		{"ply of 200 g/m² carbon", shop.PlyThickness(200, 1.8, 0.5), 0.22222},
		{"ply of 49 g/m² glass", shop.PlyThickness(49, 2.55, 0.45), 0.04270},
		{"ply of 61 g/m² aramid", shop.PlyThickness(61, 1.44, 0.45), 0.09414},
		{"ply of 160 g/m² carbon", shop.PlyThickness(160, 1.8, 0.5), 0.17778},
		{"stiffness of a sandwich", shop.SandwichStiffness(18000, 0.1, 1.5), 2304},
		{"sag of a skin", shop.SkinSag(5, 30, 2304), 0.03886},
		{"sagitta", shop.Sagitta(40, 625), 0.320},
		{"radius of a skin", shop.SkinRadius(200, 8), 625},
		{"helix of a 6 mm hole", shop.HelixPitch(6, 2, 3*deg), 0.65858},
		{"helix of half a millimetre radius", shop.HelixPitch(3, 2, 3*deg), 0.16464},
		{"feed inside", shop.InsideFeed(600, 6, 2), 400},
		{"feed outside", shop.OutsideFeed(600, 20, 2), 660},
		{"ramp of 1 mm at 3°", shop.RampLength(1, 3*deg), 19.0811},
		{"ramp of half a millimetre at 2°", shop.RampLength(0.5, 2*deg), 14.3181},
		{"point of a 2.5 mm drill, 118°", shop.DrillPoint(2.5, 118*deg), 0.75108},
		{"point of a 2.5 mm drill, 140°", shop.DrillPoint(2.5, 140*deg), 0.45496},
		{"point of a 2 mm drill, 118°", shop.DrillPoint(2, 118*deg), 0.60086},
		{"point of a 3.2 mm drill, 118°", shop.DrillPoint(3.2, 118*deg), 0.96138},
		{"point of a 3 mm drill, 130°", shop.DrillPoint(3, 130*deg), 0.69946},
		{"corner past a radius of 1", shop.CornerClearance(1), 0.29289},
		{"corner past a radius of 3", shop.CornerClearance(3), 0.87868},
		{"slot of an arm", shop.ArmSlot(12, 45*deg, 4, 1), 22.9706},
		{"corner rounding, 600 at 300", shop.CornerRounding(600, 300), 0.05893},
		{"corner rounding, 1000 at 300", shop.CornerRounding(1000, 300), 0.16368},
		{"corner rounding, 1000 at 1000", shop.CornerRounding(1000, 1000), 0.04910},
		{"corner rounding, 2000 at 500", shop.CornerRounding(2000, 500), 0.39284},
		{"block of 100 mm", shop.BlockTime(100, 1000, 300), 6.05556},
		{"block of half a millimetre", shop.BlockTime(0.5, 1000, 300), 0.081650},
		{"block of 100 mm, fast", shop.BlockTime(100, 3000, 200), 2.25},
		{"block of 10 mm, too short", shop.BlockTime(10, 3000, 200), 0.447214},
		{"block of exactly the run-up", shop.BlockTime(1, 600, 500), 0.12},
		{"feed on half a millimetre", shop.AchievedFeed(0.5, 1000, 300), 734.85},
		{"feed on 10 mm", shop.AchievedFeed(10, 3000, 200), 2683.28},
		{"feed on a long block", shop.AchievedFeed(100, 1000, 300), 1000},
		// M = kc·f·d²/8: 800·0.05·6.25/8 N·mm
		{"torque of a drill", shop.DrillTorque(800, 0.05, 2.5), 0.03125},
		{"power of a torque", shop.PowerOfTorque(0.2592, 10610.33), 0.288},
	} {
		t.Run(tc.fact, func(t *testing.T) { rel(t, tc.want, tc.got, tc.fact) })
	}
}

func TestVacuumHolds(t *testing.T) {
	n, s := shop.VacuumHold(50, 100, 0.2) // closed form
	assert.InDelta(t, 500, n, 1e-9, "N")
	assert.InDelta(t, 100, s, 1e-9, "N")
}

func TestPassesAreEqualAndNoDeeperThanAllowed(t *testing.T) {
	for _, tc := range []struct {
		depth, ap float64
		n         int
		step      float64
	}{
		{3.3, 0.5, 7, 0.471429}, // closed form
		{2.2, 0.4, 6, 0.366667}, // closed form
		{3, 1, 3, 1},
		{3.0000001, 1, 4, 0.75},
		{0.3, 0.1, 3, 0.1}, // 0.3/0.1 is a hair under 3 in binary, 0.6/0.2 a hair over
		{0.6, 0.2, 3, 0.2},
		{0.2, 5, 1, 0.2},
	} {
		n, step := shop.Passes(tc.depth, tc.ap)
		assert.Equal(t, tc.n, n, "%g mm by %g mm", tc.depth, tc.ap)
		assert.InDelta(t, tc.step, step, 1e-6, "mm")
	}
	for _, bad := range [][2]float64{{0, 1}, {-1, 1}, {1, 0}, {1, -1}, {math.NaN(), 1}, {1, math.NaN()}, {math.Inf(1), 1}, {1e6, 1e-6}} {
		n, _ := shop.Passes(bad[0], bad[1])
		assert.Zero(t, n, "%v", bad)
	}
}

func TestASteppedCutterOfOneThicknessIsAPlainOne(t *testing.T) {
	i := shop.SecondMoment(2)
	assert.InDelta(t, shop.Bend(7, 15, 6e5, i), shop.SteppedBend(7, 6, 15, i, i, 6e5), 1e-12, "mm")
}

func TestTheModulusOfACutterFollowsItsMaterial(t *testing.T) {
	carbide := shop.Cutter{Diameter: 2, FluteLength: 6, Shank: 3, StickOut: 15, Material: "carbide"}
	steel := carbide
	steel.Material = "hss"
	assert.InDelta(t, 600.0/210, steel.BendUnder(1)/carbide.BendUnder(1), 1e-9)
	thick := carbide
	thick.Core = 1
	assert.Less(t, thick.BendUnder(1), carbide.BendUnder(1))
	bare := carbide
	bare.Shank = 0 // no shank said: as thick as the cutter
	same := carbide
	same.Shank = 2
	assert.Equal(t, same.BendUnder(1), bare.BendUnder(1))
}

func TestStressIsWorstAtTheFlutesOrAtAThinShank(t *testing.T) {
	c := shop.Cutter{Diameter: 2, FluteLength: 10, Shank: 3.175, StickOut: 10}
	assert.InDelta(t, 248.68, c.StressUnder(10), 0.01, "closed form, N/mm²")
	c.StickOut, c.Shank = 40, 1.6
	assert.InDelta(t, 4*248.68, c.StressUnder(10), 0.05, "N/mm²")
}

func TestOnlyDrillsAndVeesHaveAPoint(t *testing.T) {
	d := shop.Cutter{Kind: shop.Drill, Diameter: 2.5, PointAngle: 118 * deg}
	assert.InDelta(t, 0.75108, d.PointLength(), 1e-4, "mm")
	assert.Zero(t, shop.Cutter{Kind: shop.Flat, Diameter: 2.5}.PointLength())
	d.PointAngle = math.Pi
	assert.Zero(t, d.PointLength())
}
