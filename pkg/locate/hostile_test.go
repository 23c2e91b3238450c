package locate_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/locate"
)

// TestHostileDatumsGiveAFitOrAReason feeds what no one would touch: all on one
// spot, far away, weights out of bounds, lines without length, no numbers.
func TestHostileDatumsGiveAFitOrAReason(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coord := rapid.OneOf(rapid.Float64Range(-500, 500), rapid.SampledFrom([]float64{0, 0, 1, 1e-9, 1e6, -1e6, 100}))
		wild := rapid.OneOf(coord, coord, coord, coord, coord, coord, coord, rapid.Float64())
		point := rapid.Custom(func(t *rapid.T) geom.Point { return geom.Pt(wild.Draw(t, "x"), coord.Draw(t, "y")) })
		weight := rapid.SampledFrom([]float64{0, 0, 0, 1, 0.25, 1e6, 1e-6, -1, math.NaN()})
		pairs := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) locate.Pair {
			return locate.Pair{Drawn: point.Draw(t, "drawn"), Touched: point.Draw(t, "touched"), Weight: weight.Draw(t, "weight")}
		}), 0, 4).Draw(t, "pairs")
		lines := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) locate.LinePair {
			return locate.LinePair{A: point.Draw(t, "a"), B: point.Draw(t, "b"), Touched: point.Draw(t, "touched"), Offset: coord.Draw(t, "offset"), Weight: weight.Draw(t, "weight")}
		}), 0, 3).Draw(t, "lines")
		r, found := locate.Fit(pairs, lines, locate.Options{Mirrored: rapid.Bool().Draw(t, "mirrored")})
		if len(found) > 0 && found.Worst() == diag.Stop {
			return
		}
		u := r.Uncertainty(0.05, 0.02)
		p := r.Frame.Apply(geom.Pt(100, 100))
		assert.True(t, p.Finite() && !math.IsNaN(r.RMS) && !math.IsNaN(u.At(p)) && !math.IsInf(u.At(p), 0), "%+v %+v", r, u)
		assert.Greater(t, u.At(p), 0.0)
		assert.GreaterOrEqual(t, r.Worst, 0.0)
	})
}
