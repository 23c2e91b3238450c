package locate_test

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
	"sparclear/pkg/locate"
)

func TestErrorAwayFromTheDatums(t *testing.T) {
	// TRE² = FLE²/N (1 + d²/(2f²)): Fitzpatrick, West, Maurer, IEEE Trans. Med.
	// Imaging 17(5), 1998, 694-702, in two dimensions; FLE is both axes together,
	// hence 0.1/√2 along each.
	for _, tc := range []struct {
		fact   string
		drawn  []geom.Point
		target geom.Point
		want   float64
	}{
		{"two datums, 300 mm out", []geom.Point{{X: -100}, {X: 100}}, geom.Pt(300, 0), 0.165831},
		{"three datums", triangle, geom.Pt(100, 300), 0.084552},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			r, _ := locate.Fit(pairsOf(geom.Rigid{}, tc.drawn), nil, locate.Options{})
			u := r.Uncertainty(0.1/math.Sqrt2, 0.02)
			assert.InDelta(t, tc.want, u.At(tc.target), 1e-6, "mm")
			assert.InDelta(t, 2*tc.want+0.02, u.Bound(tc.target), 1e-5, "mm")
		})
	}
}

// drawsOf fits noisy touches n times and returns the root mean square of the
// error at the target and of the residuals, mm.
func drawsOf(t *testing.T, drawn []geom.Point, lines []locate.LinePair, target geom.Point, u float64, n int) (tre, fre float64) {
	r := rand.New(rand.NewSource(7))
	pose := geom.Rigid{Turn: 0.4, Shift: geom.Pt(100, 50)}
	noise := func() geom.Point { return geom.Pt(u*r.NormFloat64(), u*r.NormFloat64()) }
	var sum, res float64
	for range n {
		pairs := pairsOf(pose, drawn)
		for i := range pairs {
			pairs[i].Touched = pairs[i].Touched.Add(noise())
		}
		ls := append([]locate.LinePair(nil), lines...)
		for i := range ls {
			ls[i].Touched = pose.Apply(ls[i].Touched).Add(noise())
		}
		fit, found := locate.Fit(pairs, ls, locate.Options{HandSaid: true, Turn: 0.4})
		require.False(t, found.Has("datum-degenerate"), "%v", found)
		d := fit.Frame.Apply(target).Dist(pose.Apply(target))
		sum += d * d
		res += fit.RMS * fit.RMS
	}
	return math.Sqrt(sum / float64(n)), math.Sqrt(res / float64(n))
}

func TestErrorAwayFromTheDatumsByDraws(t *testing.T) {
	// 20 000 seeded draws know the root mean square to about 0.5 %.
	const u = 0.1 / math.Sqrt2
	for _, tc := range []struct {
		fact     string
		drawn    []geom.Point
		target   geom.Point
		tre, fre float64
	}{
		// FRE² = (1 − 3/(2N)) FLE², closed form
		{"two datums, 300 mm out", []geom.Point{{X: -100}, {X: 100}}, geom.Pt(300, 0), 0.165831, 0.05},
		{"three datums", triangle, geom.Pt(100, 300), 0.084552, 0.070711},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			tre, fre := drawsOf(t, tc.drawn, nil, tc.target, u, 20_000)
			assert.InEpsilon(t, tc.tre, tre, 0.015)
			assert.InEpsilon(t, tc.fre, fre, 0.015)
		})
	}
	t.Run("one datum and two touches on a line", func(t *testing.T) {
		// No published figure: the covariance of the fit against draws.
		a, b := geom.Pt(-50, 80), geom.Pt(450, 60)
		lines := []locate.LinePair{{Name: "hinge", A: a, B: b, Touched: a.Lerp(b, 0.1)}, {Name: "hinge", A: a, B: b, Touched: a.Lerp(b, 0.9)}}
		target := geom.Pt(300, 10)
		tre, _ := drawsOf(t, triangle[:1], lines, target, u, 600)
		exact := append([]locate.LinePair(nil), lines...)
		r, _ := locate.Fit(pairsOf(geom.Rigid{}, triangle[:1]), exact, locate.Options{HandSaid: true})
		assert.InEpsilon(t, r.Uncertainty(u, 0).At(target), tre, 0.09)
	})
}

func TestResidualsAreBelievedWhenTheySayWorse(t *testing.T) {
	pairs := pairsOf(geom.Rigid{}, triangle, geom.Pt(0, 0.2), geom.Pt(0, -0.2), geom.Pt(0.1, 0.2))
	r, _ := locate.Fit(pairs, nil, locate.Options{})
	// s² = Σ residual² / (2N − 3); closed form
	var sum float64
	for _, res := range r.Residuals {
		sum += res.Distance * res.Distance
	}
	s := math.Sqrt(sum / 3)
	assert.InDelta(t, s*math.Sqrt(2.0/3), r.Uncertainty(0.01, 0).Base, 1e-12)
	assert.InDelta(t, 0.5*math.Sqrt(2.0/3), r.Uncertainty(0.5, 0).Base, 1e-12)
}

func TestOneDatumTurnsAsFarAsItIsKnown(t *testing.T) {
	r, _ := locate.Fit(pairsOf(geom.Rigid{}, triangle[:1]), nil, locate.Options{Turn: 0.1, TurnU: 0.002, DatumU: 0.05})
	assert.Equal(t, 0.1, r.Turn)
	u := r.Uncertainty(0.05, 0)
	// √(2·0.05² + (0.002·500)²); closed form
	assert.InDelta(t, math.Hypot(0.05*math.Sqrt2, 1), u.At(geom.Pt(500, 0)), 1e-9)
}

func TestWeightsMoveTheCentroid(t *testing.T) {
	pairs := pairsOf(geom.Rigid{}, []geom.Point{{X: 0}, {X: 100}})
	pairs[1].Weight = 3
	r, _ := locate.Fit(pairs, nil, locate.Options{})
	u := r.Uncertainty(0.1, 0)
	assert.InDelta(t, 75, u.Centroid.X, 1e-9, "mm")
	assert.InDelta(t, 0.1*math.Sqrt(2.0/4), u.Base, 1e-12)
}

func TestTheZeroUncertaintyIsExact(t *testing.T) {
	assert.Zero(t, locate.Uncertainty{}.Bound(geom.Pt(1000, 1000)))
}
