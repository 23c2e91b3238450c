package nest

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
)

// Least width of a convex polygon, closed form: a square of 10 has 10, an
// equilateral triangle of side 10 its height 10·√3/2, and the side is its length.
func TestExtents(t *testing.T) {
	w, l := extents(hull(chords(geom.Rect(0, 0, 10, 10), flatTol)))
	assert.InDelta(t, 10, w, 1e-12)
	assert.InDelta(t, 10*math.Sqrt2, l, 1e-12)
	w, l = extents(ring{geom.Pt(0, 0), geom.Pt(10, 0), geom.Pt(5, 5*math.Sqrt(3))})
	assert.InDelta(t, 5*math.Sqrt(3), w, 1e-12)
	assert.InDelta(t, 10, l, 1e-12)
}

func TestHolesThatTakeInNothingAreNotSearched(t *testing.T) {
	plate := func(hole float64) Part {
		return Part{Name: "plate", Quantity: 1, Region: geom.NewRegion(geom.Rect(0, 0, 60, 60), geom.Circle(geom.Pt(30, 30), hole/2))}
	}
	disc := Part{Name: "disc", Quantity: 1, Region: geom.NewRegion(geom.Circle(geom.Pt(0, 0), 10))}
	for hole, want := range map[float64]int{30.2: 1, 29.5: 0} { // 20 and 5 to each side
		parts := []Part{plate(hole), disc}
		assert.Lenf(t, roomsOf(parts, 5).with(parts[0].Region).Holes, want, "hole of %g mm", hole)
	}
	// the disc goes into the hole where it fits with hardly any play
	parts := []Part{plate(30.2), disc}
	l, fs := Nest(context.Background(), parts, []Sheet{board(81, 81)}, Options{Spacing: 5, Budget: 200_000})
	require.NotNil(t, l, "%v", fs)
	assert.Zero(t, l.Unplaced[1], "%v", fs)
}
