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
