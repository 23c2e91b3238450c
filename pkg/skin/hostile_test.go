package skin_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"sparclear/pkg/geom"
	"sparclear/pkg/skin"
)

func finite(v ...float64) bool {
	for _, x := range v {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}

// TestHostileTouchesGiveAModelOrAReason feeds what no one would touch: places
// almost on one another or on one line, heights of a kilometre, numbers that are
// none.
func TestHostileTouchesGiveAModelOrAReason(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coord := rapid.OneOf(rapid.Float64Range(-1, 1), rapid.Float64Range(-500, 500), rapid.SampledFrom([]float64{0, 1, 1.11, 100, 100.2, 1e6, -1e6}),
			rapid.Map(rapid.IntRange(0, 4), func(i int) float64 { return 15 * float64(i) }))
		wild := rapid.OneOf(coord, coord, coord, coord, coord, rapid.Float64())
		touches := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) skin.Touch {
			return skin.Tch(wild.Draw(t, "x"), coord.Draw(t, "y"), coord.Draw(t, "z"))
		}), 0, 14).Draw(t, "touches")
		surface, found := skin.Points(touches, skin.Options{})
		flat, also := skin.Plane(touches, 0)
		for k, m := range []skin.Model{surface, flat} {
			reasons := found
			if k == 1 {
				reasons = also
			}
			if m == nil {
				assert.Equal(t, 2, reasons.ExitCode(), "a nil model comes with a stop of the input")
				continue
			}
			assert.NotEqual(t, 2, reasons.ExitCode())
			for range 4 {
				p := geom.Pt(coord.Draw(t, "px"), coord.Draw(t, "py"))
				b := geom.Box{Min: p, Max: p}.Grow(rapid.Float64Range(0, 30).Draw(t, "grow"))
				z := m.Height(p)
				lo, hi := m.Range(b)
				u, e := m.Error(b)
				assert.True(t, finite(z, lo, hi, u, e, m.Slope(b), m.Bend(b)), "%v %v %v %v %v", z, lo, hi, u, e)
				assert.True(t, lo <= z && z <= hi, "%v in %v … %v", z, lo, hi)
				assert.True(t, u > 0 && e >= 0)
			}
		}
	})
}

func TestBoxesWithoutEnd(t *testing.T) {
	inf := math.Inf(1)
	for name, m := range models(t) {
		if name == "plane" || name == "flat" {
			continue
		}
		for _, b := range []geom.Box{{Min: geom.Pt(-inf, -inf), Max: geom.Pt(inf, inf)}, {Min: geom.Pt(0, -inf), Max: geom.Pt(0, inf)}} {
			lo, hi := m.Range(b)
			assert.True(t, finite(lo, hi, m.Slope(b), m.Bend(b)), name)
			assert.Less(t, lo, hi)
		}
		lo, hi := m.Range(geom.EmptyBox())
		assert.True(t, math.IsInf(lo, -1) && math.IsInf(hi, 1), "nothing is known of an empty box")
		lo, hi = m.Range(geom.Box{Min: geom.Pt(math.NaN(), 0), Max: geom.Pt(1, 1)})
		assert.True(t, math.IsInf(lo, -1) && math.IsInf(hi, 1), "nor of one without a place")
		assert.False(t, skin.Covered(m, geom.Pt(math.NaN(), 0), 5))
	}
}
