package shop_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/shop"
)

func TestFitsHaveTheClearanceOfTheirClasses(t *testing.T) {
	// Differences of the deviations in ISO 286-2, as printed in JIS B 0401:1999.
	for _, tc := range []struct {
		nominal     float64
		hole, shaft string
		least, most float64 // µm
	}{
		{6, "H7", "g6", 4, 24},
		{6, "H7", "h6", 0, 20},
		{6, "H7", "p6", -20, 0},
		{20, "H7", "k6", -15, 19},
		{40, "H8", "f7", 25, 89},
	} {
		least, most, f := shop.Fit(tc.hole, tc.shaft, tc.nominal)
		require.Nil(t, f)
		assert.InDelta(t, tc.least, least*1000, 1e-9, "%g %s/%s, µm", tc.nominal, tc.hole, tc.shaft)
		assert.InDelta(t, tc.most, most*1000, 1e-9, "%g %s/%s, µm", tc.nominal, tc.hole, tc.shaft)
	}
}

// Every printed pair of deviations, µm: ISO 286-2 as in JIS B 0401:1999 (holes F to
// H and shafts), metric hole tolerances J6 to R7 (JS, K, N, R); rows up to 3 mm of
// F7 and G7 and all of P7 from memory.
func TestDeviationsAsPrinted(t *testing.T) {
	sizes := []float64{2, 5, 8, 14, 24, 40} // one of each range: up to 3, 6, 10, 18, 30, 50 mm
	for class, rows := range map[string][6][2]float64{
		"F7":  {{16, 6}, {22, 10}, {28, 13}, {34, 16}, {41, 20}, {50, 25}},
		"G7":  {{12, 2}, {16, 4}, {20, 5}, {24, 6}, {28, 7}, {34, 9}},
		"H7":  {{10, 0}, {12, 0}, {15, 0}, {18, 0}, {21, 0}, {25, 0}},
		"H8":  {{14, 0}, {18, 0}, {22, 0}, {27, 0}, {33, 0}, {39, 0}},
		"H9":  {{25, 0}, {30, 0}, {36, 0}, {43, 0}, {52, 0}, {62, 0}},
		"H11": {{60, 0}, {75, 0}, {90, 0}, {110, 0}, {130, 0}, {160, 0}},
		"JS7": {{5, -5}, {6, -6}, {7.5, -7.5}, {9, -9}, {10.5, -10.5}, {12.5, -12.5}},
		"K7":  {{0, -10}, {3, -9}, {5, -10}, {6, -12}, {6, -15}, {7, -18}},
		"N7":  {{-4, -14}, {-4, -16}, {-4, -19}, {-5, -23}, {-7, -28}, {-8, -33}},
		"P7":  {{-6, -16}, {-8, -20}, {-9, -24}, {-11, -29}, {-14, -35}, {-17, -42}},
		"R7":  {{-10, -20}, {-11, -23}, {-13, -28}, {-16, -34}, {-20, -41}, {-25, -50}},
		"f7":  {{-6, -16}, {-10, -22}, {-13, -28}, {-16, -34}, {-20, -41}, {-25, -50}},
		"g6":  {{-2, -8}, {-4, -12}, {-5, -14}, {-6, -17}, {-7, -20}, {-9, -25}},
		"h6":  {{0, -6}, {0, -8}, {0, -9}, {0, -11}, {0, -13}, {0, -16}},
		"h7":  {{0, -10}, {0, -12}, {0, -15}, {0, -18}, {0, -21}, {0, -25}},
		"js6": {{3, -3}, {4, -4}, {4.5, -4.5}, {5.5, -5.5}, {6.5, -6.5}, {8, -8}},
		"k6":  {{6, 0}, {9, 1}, {10, 1}, {12, 1}, {15, 2}, {18, 2}},
		"n6":  {{10, 4}, {16, 8}, {19, 10}, {23, 12}, {28, 15}, {33, 17}},
		"p6":  {{12, 6}, {20, 12}, {24, 15}, {29, 18}, {35, 22}, {42, 26}},
		"s6":  {{20, 14}, {27, 19}, {32, 23}, {39, 28}, {48, 35}, {59, 43}},
		// ISO 286-1:2010, table 1, by the rule for H and h
		"H12": {{100, 0}, {120, 0}, {150, 0}, {180, 0}, {210, 0}, {250, 0}},
		"h13": {{0, -140}, {0, -180}, {0, -220}, {0, -270}, {0, -330}, {0, -390}},
		"h11": {{0, -60}, {0, -75}, {0, -90}, {0, -110}, {0, -130}, {0, -160}},
	} {
		for i, d := range sizes {
			u, l, f := shop.Deviations(class, d)
			require.Nil(t, f, class)
			assert.InDelta(t, rows[i][0], u*1000, 1e-9, "%s at %g mm, upper, µm", class, d)
			assert.InDelta(t, rows[i][1], l*1000, 1e-9, "%s at %g mm, lower, µm", class, d)
		}
	}
	for _, bad := range []string{"H5", "H15", "H07", "H", "JS", "Hh7", "h", "7", ""} {
		_, _, f := shop.Deviations(bad, 8)
		assert.NotNil(t, f, bad)
	}
}

// IT grades of ISO 286-1:2010, table 1, µm.
func TestGradesAsPrinted(t *testing.T) {
	for i, d := range []float64{3, 6, 10, 18, 30, 50} { // each range up to and including its end
		for it, row := range map[int][6]float64{
			6: {6, 8, 9, 11, 13, 16}, 7: {10, 12, 15, 18, 21, 25}, 8: {14, 18, 22, 27, 33, 39}, 9: {25, 30, 36, 43, 52, 62},
			10: {40, 48, 58, 70, 84, 100}, 11: {60, 75, 90, 110, 130, 160}, 12: {100, 120, 150, 180, 210, 250},
			13: {140, 180, 220, 270, 330, 390}, 14: {250, 300, 360, 430, 520, 620},
		} {
			w, ok := shop.Grade(it, d)
			require.True(t, ok)
			assert.InDelta(t, row[i], w*1000, 1e-9, "IT%d at %g mm, µm", it, d)
		}
	}
}

func TestWhatIsHeldIsSaidInItsParts(t *testing.T) {
	m := shop.Machine{Reversal: 0.05, Runout: 0.02}
	h := m.HeldWith(shop.Cutter{DiameterTol: 0.01}, 0.012)
	assert.InDelta(t, 0.05+0.02+2*0.01+2*0.012, h.Width(), 1e-12, "mm; closed form")
	l := shop.JudgeSize(h, "H11", 8) // 90 µm against 114
	require.True(t, l.Has("fit-too-fine"))
	assert.Contains(t, l[0].Message, "lost motion 50, runout 20, cutter 20, bend 24 µm")
	assert.Contains(t, l[0].Message, "about IT12")
	assert.Contains(t, l[0].Help, "0.12 mm undersize")
	assert.Contains(t, shop.JudgeSize(h, "h11", 8)[0].Help, "leave 0.12 mm and sand")
	assert.Empty(t, shop.JudgeSize(h, "H12", 8), "150 µm allowed")
}

func TestAnUpperEndOfARangeBelongsToIt(t *testing.T) {
	u, _, f := shop.Deviations("H7", 6) // ISO 286-1: over 3 up to and including 6
	require.Nil(t, f)
	assert.InDelta(t, 0.012, u, 1e-12, "mm")
	u, _, f = shop.Deviations("H7", math.Nextafter(6, 7))
	require.Nil(t, f)
	assert.InDelta(t, 0.015, u, 1e-12, "mm")
}

func TestEveryClassIsAsWideAsItsGrade(t *testing.T) {
	for _, class := range shop.Classes() {
		for _, d := range []float64{2, 5, 8, 15, 25, 40} {
			u, l, f := shop.Deviations(class, d)
			require.Nil(t, f)
			it := int(class[len(class)-1] - '0')
			if n := len(class); class[n-2] == '1' {
				it += 10
			}
			width, ok := shop.Grade(it, d)
			require.True(t, ok)
			assert.InDelta(t, width, u-l, 1e-9, "%s at %g mm", class, d)
		}
	}
}

func TestGradesOutsideTheTableAreRefused(t *testing.T) {
	for _, q := range []struct {
		it int
		d  float64
	}{{5, 10}, {15, 10}, {7, 0}, {7, -1}, {7, 50.01}, {7, math.NaN()}} {
		_, ok := shop.Grade(q.it, q.d)
		assert.False(t, ok, "IT%d at %g mm", q.it, q.d)
	}
	_, _, f := shop.Deviations("H77", 10)
	require.NotNil(t, f)
	assert.Equal(t, "fit-unknown", f.Code)
	assert.Contains(t, f.Help, "did you mean H7?")
	_, _, f = shop.Deviations("H7", 60)
	require.NotNil(t, f)
	_, _, f = shop.Fit("h7", "H7", 10)
	require.NotNil(t, f, "hole and shaft swapped")
	_, _, f = shop.Fit("H7", "x9", 10)
	require.NotNil(t, f)
}

func TestARouterIsHonestAboutTheClassItHolds(t *testing.T) {
	// Common practice: a reversal value of 0.05 to 0.15 mm holds IT11 to IT13.
	for _, tc := range []struct {
		reversal, nominal float64
		it                int
	}{{0.05, 8, 11}, {0.05, 20, 11}, {0.15, 8, 13}, {0.15, 16, 13}, {0.15, 20, 12}} {
		m := shop.Machine{Reversal: tc.reversal, Runout: 0.02}
		it, ok := shop.GradeHeld(m.Holds(), tc.nominal)
		require.True(t, ok)
		assert.Equal(t, tc.it, it, "reversal %g mm at %g mm", tc.reversal, tc.nominal)
	}
	m := shop.Machine{Reversal: 0.05, Runout: 0.02}
	l := shop.JudgeClass(m, "H7", 8)
	require.True(t, l.Has("fit-too-fine"))
	assert.Contains(t, l[0].Message, "IT11")
	assert.Contains(t, l[0].Help, "0.09 mm undersize")
	assert.Empty(t, shop.JudgeClass(m, "H11", 8), "90 µm allowed, 90 µm held")
	m.Runout = 0.021
	assert.True(t, shop.JudgeClass(m, "H11", 8).Has("fit-too-fine"), "90 µm allowed, 91 µm held")
	m.Reversal = 5
	assert.Contains(t, shop.JudgeClass(m, "H7", 6)[0].Message, "coarser than IT14")
	assert.True(t, shop.JudgeClass(m, "Q9", 6).Blocks())
}

func TestAPressFitInALaminateIsAsked(t *testing.T) {
	m := shop.Machine{}
	cfrp, alu := shop.Material{Family: "cfrp"}, shop.Material{Family: "aluminium"}
	assert.True(t, shop.JudgeFit(m, cfrp, "H7", "p6", 6).Blocks())
	assert.False(t, shop.JudgeFit(m, cfrp, "H7", "h6", 6).Blocks(), "clearance 0 is no press fit")
	assert.False(t, shop.JudgeFit(m, alu, "H7", "p6", 6).Blocks())
	assert.True(t, shop.JudgeFit(m, cfrp, "H7", "q6", 6).Blocks())
}

func TestGeneralTolerances(t *testing.T) {
	for _, tc := range []struct {
		class     string
		size, tol float64 // ISO 2768-1:1989, table 1
	}{
		{"f", 0.5, 0.05}, {"m", 3, 0.1}, {"c", 3, 0.2}, {"c", 3.01, 0.3}, {"c", 6, 0.3}, {"m", 6.01, 0.2},
		{"m", 30, 0.2}, {"m", 120, 0.3}, {"m", 400, 0.5}, {"m", 1000, 0.8}, {"m", 2000, 1.2}, {"v", 4000, 8}, {"v", 3.01, 0.5},
	} {
		got, ok := shop.GeneralLinear(tc.class, tc.size)
		require.True(t, ok)
		assert.Equal(t, tc.tol, got, "%s at %g mm", tc.class, tc.size)
	}
	for _, q := range []struct {
		class string
		size  float64
	}{{"m", 0.49}, {"v", 3}, {"f", 2000.1}, {"m", 4000.1}, {"x", 10}, {"m", math.NaN()}} {
		_, ok := shop.GeneralLinear(q.class, q.size)
		assert.False(t, ok, "%s at %g mm", q.class, q.size)
	}
	for _, tc := range []struct {
		class     string
		size, tol float64 // table 2
	}{{"f", 3, 0.2}, {"m", 6, 0.5}, {"m", 6.1, 1}, {"c", 3, 0.4}, {"v", 6, 1}, {"c", 100, 2}} {
		got, ok := shop.GeneralRadius(tc.class, tc.size)
		require.True(t, ok)
		assert.Equal(t, tc.tol, got)
	}
	_, ok := shop.GeneralRadius("m", 0.4)
	assert.False(t, ok)
	_, ok = shop.GeneralRadius("x", 1)
	assert.False(t, ok)
	for _, tc := range []struct {
		class    string
		leg, min float64 // table 3, minutes of arc
	}{{"m", 10, 60}, {"m", 10.1, 30}, {"f", 120, 20}, {"c", 10, 90}, {"c", 400, 15}, {"v", 401, 20}} {
		got, ok := shop.GeneralAngle(tc.class, tc.leg)
		require.True(t, ok)
		assert.InDelta(t, tc.min/60*deg, got, 1e-12)
	}
	_, ok = shop.GeneralAngle("m", 0)
	assert.False(t, ok)
}

func TestMinorDiameters(t *testing.T) {
	want := map[string]float64{"M2": 1.567, "M2.5": 2.013, "M3": 2.459, "M4": 3.242, "M5": 4.134, "M6": 4.917} // ISO 724
	for _, s := range shop.Screws() {
		assert.InDelta(t, want[s.Thread], s.Minor(), 6e-4, s.Thread)
		assert.True(t, s.Minor() < s.Tap && s.Tap < s.Nominal && s.Nominal < s.Fine && s.Fine < s.Medium && s.Medium < s.Coarse, s.Thread)
	}
}

func TestHolesAreNamed(t *testing.T) {
	for _, tc := range []struct {
		d         float64
		name      string
		ambiguous bool
	}{
		{3.4, "M3 medium clearance", false}, // ISO 273
		{3.45, "M3 medium clearance", false},
		{3.451, "", false},
		{3.349, "M4 tap drill", false}, // 3.3
		{3.151, "M3 fine clearance", false},
		{3.149, "M2.5 coarse clearance", false}, // 3.1
		{3.7, "", false},
		{3.2, "M3 fine clearance", false},
		{4.5, "M4 medium clearance", false},
		{1.6, "M2 tap drill", false}, // ISO 2306
		{2, "M2 nominal size", true},
		{3, "M3 nominal size", true},
		{2.5, "M2.5 nominal size or M3 tap drill", true},
		{2.45, "M2 medium clearance or M2.5 nominal size or M3 tap drill", true},
		{2.42, "M2 medium clearance", false},
		{3.25, "M3 fine clearance or M4 tap drill", true},
		{5, "M5 nominal size or M6 tap drill", true},
		{12, "", false}, {0, "", false}, {-3, "", false}, {math.NaN(), "", false}, {math.Inf(1), "", false},
	} {
		name, ambiguous := shop.NameHole(tc.d)
		assert.Equal(t, tc.name, name, "%g mm", tc.d)
		assert.Equal(t, tc.ambiguous, ambiguous, "%g mm", tc.d)
	}
	assert.Equal(t, "hole of 3.4 mm: M3 medium clearance", shop.DescribeHole(3.4))
	assert.Equal(t, "hole of 3 mm: M3 nominal size, or just that size", shop.DescribeHole(3))
	assert.Empty(t, shop.DescribeHole(12))
}
