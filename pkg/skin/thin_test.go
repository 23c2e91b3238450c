package skin_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
	"sparclear/pkg/skin"
)

// A hinge line runs along the last rows of the touches: the error over its long
// thin box is that of its pieces, not that of a square as wide as it is long, which
// reaches far out of what was touched.
func TestALongThinBoxErrsNoMoreThanItsPieces(t *testing.T) {
	var ts []skin.Touch
	for x := 0.0; x <= 200; x += 20 {
		for y := 0.0; y <= 135; y += 15 {
			ts = append(ts, skin.Tch(x, y, 30-(y-70)*(y-70)/3000))
		}
	}
	m, l := skin.Points(ts, skin.Options{})
	require.False(t, l.Blocks(), "%v", l)
	for _, b := range []geom.Box{{Min: geom.Pt(20, 116), Max: geom.Pt(180, 120)}, {Min: geom.Pt(182, 20), Max: geom.Pt(186, 120)}} {
		_, whole := m.Error(b)
		worst := 0.0
		for i := range 40 {
			piece := geom.Box{Min: b.Min.Lerp(geom.Pt(b.Max.X, b.Max.Y), float64(i)/40), Max: b.Min.Lerp(b.Max, float64(i+1)/40)}
			if b.Size().X > b.Size().Y {
				piece.Min.Y, piece.Max.Y = b.Min.Y, b.Max.Y
			} else {
				piece.Min.X, piece.Max.X = b.Min.X, b.Max.X
			}
			_, e := m.Error(piece)
			worst = math.Max(worst, e)
		}
		assert.LessOrEqual(t, worst, whole, "the bound holds for the pieces")
		assert.Less(t, whole, 0.2, "mm; it was 4.4 mm before")
	}
}
