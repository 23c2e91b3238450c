package nest

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
)

func TestTurnsBetweenThoseListedAreFound(t *testing.T) {
	// A bar of 110 × 10 mm on a strip of 100 mm stands upright but for a lean φ with
	// 110 cos φ + 10 sin φ ≤ 100, so that φ ≥ 30.3° and the strip is at least
	// 110 sin φ + 10 cos φ = 64.1 mm long; closed form. The ends of the tolerance alone
	// give 60°: 100.3 mm.
	bar := Part{Name: "bar", Region: geom.Region{Outer: geom.Rect(0, 0, 110, 10)}, Quantity: 1}
	for _, tc := range []struct {
		fact string
		part func(p *Part)
		most float64 // mm
	}{
		{"within a tolerance", func(p *Part) { p.Turns, p.TurnTol = []float64{math.Pi / 2}, math.Pi/3 }, 72},
		{"in any direction", func(p *Part) { p.Free = true }, 66},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			p := bar
			tc.part(&p)
			l, fs := Strip(context.Background(), []Part{p}, 100, Options{Budget: 100_000})
			require.Empty(t, fs)
			assert.LessOrEqual(t, l.Length, tc.most, "mm")
			assert.GreaterOrEqual(t, l.Length, 64.0, "mm")

			s := Sheet{Name: "s", Region: geom.Region{Outer: geom.Rect(0, 0, 300, 100.01)}, Quantity: 1}
			n, fs := Nest(context.Background(), []Part{p}, []Sheet{s}, Options{Budget: 100_000})
			require.Empty(t, fs)
			assert.LessOrEqual(t, p.Region.Transform(n.Placements[0].Frame).Bounds().Size().X, tc.most, "mm")
		})
	}
}

func TestFinerTurnsAreRepeatable(t *testing.T) {
	parts := []Part{
		{Name: "ell", Region: ell(), Quantity: 5, Turns: halfTurns, TurnTol: 0.2},
		{Name: "disc", Region: disc(12), Quantity: 4},
	}
	o := Options{Budget: 150_000, Seed: 5, Spacing: 3}
	a, fs := Strip(context.Background(), parts, 120, o)
	require.Empty(t, fs)
	b, fs := Strip(context.Background(), parts, 120, o)
	require.Empty(t, fs)
	assert.Equal(t, a, b)
}
