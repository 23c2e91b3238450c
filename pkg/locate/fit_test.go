package locate_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/locate"
)

// pairsOf places drawn points by t and moves the touches by noise.
func pairsOf(t geom.Rigid, drawn []geom.Point, noise ...geom.Point) []locate.Pair {
	names := []string{"root pin", "tip pin", "hinge pin", "fourth pin", "fifth pin", "sixth pin"}
	out := make([]locate.Pair, len(drawn))
	for i, d := range drawn {
		out[i] = locate.Pair{Name: names[i%len(names)], Drawn: d, Touched: t.Apply(d)}
		if i < len(noise) {
			out[i].Touched = out[i].Touched.Add(noise[i])
		}
	}
	return out
}

var triangle = []geom.Point{{X: 0, Y: 0}, {X: 400, Y: 0}, {X: 200, Y: 150}}

func TestUmeyamaExampleWithoutScale(t *testing.T) {
	// S. Umeyama, IEEE Trans. PAMI 13(4), 1991, 376-380, example: the data are a
	// mirror image, so a fit that does not hold the determinant at +1 gives a
	// reflection. Rigid answer (c = 1): closed form from the published turn.
	pairs := []locate.Pair{
		{Name: "a", Drawn: geom.Pt(0, 0), Touched: geom.Pt(0, 0)},
		{Name: "b", Drawn: geom.Pt(1, 0), Touched: geom.Pt(-1, 0)},
		{Name: "c", Drawn: geom.Pt(0, 2), Touched: geom.Pt(0, 2)},
	}
	r, found := locate.Fit(pairs, nil, locate.Options{Stop: 10, Warn: 10, Scale: 10, DatumU: 1e-6})
	assert.InDelta(t, -33.690067526*math.Pi/180, r.Turn, 1e-9, "rad")
	assert.InDelta(t, -0.980483562, r.Frame.Shift.X, 1e-9)
	assert.InDelta(t, 0.296866536, r.Frame.Shift.Y, 1e-9)
	assert.InDelta(t, 0.787245190, r.RMS, 1e-9)
	assert.InDelta(t, 0.721110255, r.Scale, 1e-9, "c of the paper")
	assert.InDelta(t, 0, r.MirroredRMS, 1e-9, "the mirror image fits exactly")
	assert.False(t, r.Frame.Mirror)
	assert.True(t, found.Has("datum-mirrored"), "%v", found)
}

func TestFitFindsAnyPose(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pose := geom.Rigid{
			Turn:   rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "turn"),
			Shift:  geom.Pt(rapid.Float64Range(-900, 900).Draw(t, "x"), rapid.Float64Range(-900, 900).Draw(t, "y")),
			Mirror: rapid.Bool().Draw(t, "mirror"),
		}
		r, found := locate.Fit(pairsOf(pose, triangle), nil, locate.Options{Mirrored: pose.Mirror})
		require.Empty(t, found)
		for _, p := range []geom.Point{{X: 0, Y: 0}, {X: 1000, Y: -300}} {
			assert.InDelta(t, 0, r.Frame.Apply(p).Dist(pose.Apply(p)), 1e-9, "mm")
		}
		assert.InDelta(t, 1, r.Scale, 1e-12)
		assert.InDelta(t, 0, r.Worst, 1e-9)
	})
}

func TestOneDatumAndAnEdge(t *testing.T) {
	// A root pin, and a hinge line touched at two places with a probe of radius 2.
	rapid.Check(t, func(t *rapid.T) {
		pose := geom.Rigid{
			Turn:   rapid.Float64Range(-3, 3).Draw(t, "turn"),
			Shift:  geom.Pt(rapid.Float64Range(-900, 900).Draw(t, "x"), rapid.Float64Range(-900, 900).Draw(t, "y")),
			Mirror: rapid.Bool().Draw(t, "mirror"),
		}
		a, b := geom.Pt(0, 60), geom.Pt(500, 20)
		left := b.Sub(a).Unit().Left()
		touch := func(k float64) geom.Point { return pose.Apply(a.Lerp(b, k).Add(left.Mul(2))) }
		lines := []locate.LinePair{
			{Name: "hinge line", A: a, B: b, Touched: touch(0.2), Offset: 2},
			{Name: "hinge line", A: a, B: b, Touched: touch(0.9), Offset: 2},
		}
		r, found := locate.Fit(pairsOf(pose, triangle[:1]), lines, locate.Options{Mirrored: pose.Mirror, HandSaid: true, Turn: pose.Turn})
		require.Empty(t, found)
		for _, p := range []geom.Point{{X: 0, Y: 0}, {X: 1000, Y: -300}} {
			assert.InDelta(t, 0, r.Frame.Apply(p).Dist(pose.Apply(p)), 1e-6, "mm")
		}
	})
}

func TestFindingsOfAFit(t *testing.T) {
	pose := geom.Rigid{Turn: 0.02, Shift: geom.Pt(112.43, 58.07)}
	two := triangle[:2]
	for _, tc := range []struct {
		fact  string
		pairs []locate.Pair
		o     locate.Options
		code  string
		sev   diag.Severity
	}{
		{"no datum", nil, locate.Options{}, "datum-missing", diag.Stop},
		{"one datum", pairsOf(pose, triangle[:1]), locate.Options{HandSaid: true}, "datum-single", diag.Confirm},
		{"two datums cannot tell the panel", pairsOf(pose, two), locate.Options{}, "handedness-unknown", diag.Confirm},
		{"two datums, somebody looked", pairsOf(pose, two), locate.Options{HandSaid: true}, "", 0},
		{"three datums in a row cannot tell either", pairsOf(pose, []geom.Point{{X: 0}, {X: 200}, {X: 400}}), locate.Options{}, "handedness-unknown", diag.Confirm},
		{"the other panel", pairsOf(geom.Rigid{Turn: 0.02, Mirror: true}, triangle), locate.Options{}, "datum-mirrored", diag.Stop},
		{"the drawing is of the other panel, the touches are not", pairsOf(pose, triangle), locate.Options{Mirrored: true}, "datum-mirrored", diag.Stop},
		{"inches for millimetres", []locate.Pair{{Name: "a", Touched: geom.Pt(0, 0)}, {Name: "b", Drawn: geom.Pt(10, 0), Touched: geom.Pt(254, 0)},
			{Name: "c", Drawn: geom.Pt(0, 10), Touched: geom.Pt(0, 254)}}, locate.Options{}, "datum-scale", diag.Stop},
		{"datums on one spot", pairsOf(pose, []geom.Point{{X: 5, Y: 5}, {X: 5, Y: 5}}), locate.Options{}, "datum-degenerate", diag.Stop},
		{"a coordinate that is no number", []locate.Pair{{Name: "a", Drawn: geom.Pt(math.NaN(), 0)}}, locate.Options{}, "datum-invalid", diag.Stop},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			_, found := locate.Fit(tc.pairs, nil, tc.o)
			if tc.code == "" {
				assert.Empty(t, found)
				return
			}
			require.Len(t, found, 1, "%v", found)
			assert.Equal(t, tc.code, found[0].Code)
			assert.Equal(t, tc.sev, found[0].Severity)
			assert.NotEmpty(t, found[0].Help)
		})
	}
}
