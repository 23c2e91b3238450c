package nest

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
)

func ell() geom.Region {
	return geom.Region{Outer: geom.Polygon(geom.Pt(0, 0), geom.Pt(60, 0), geom.Pt(60, 20), geom.Pt(20, 20), geom.Pt(20, 80), geom.Pt(0, 80))}
}

func disc(r float64) geom.Region { return geom.Region{Outer: geom.Circle(geom.Pt(0, 0), r)} }

func board(w, h float64) Sheet {
	return Sheet{Name: "board", Region: geom.Region{Outer: geom.Rect(0, 0, w, h)}, Margin: 10, Quantity: 1}
}

var halfTurns = []float64{0, math.Pi}

func TestPartsLieApartAndInside(t *testing.T) {
	parts := []Part{
		{Name: "ell", Region: ell(), Quantity: 6, Turns: halfTurns},
		{Name: "disc", Region: disc(15), Quantity: 8},
		{Name: "ring", Region: geom.NewRegion(geom.Circle(geom.Pt(0, 0), 50), geom.Circle(geom.Pt(0, 0), 40)), Quantity: 1},
	}
	o := Options{Spacing: 5, Seed: 1, Budget: 300_000}
	l, fs := Nest(context.Background(), parts, []Sheet{board(400, 250)}, o)
	require.Empty(t, fs)
	require.Len(t, l.Placements, 15)
	assert.Empty(t, Verify(parts, []Sheet{board(400, 250)}, l, o))
	require.Len(t, l.Used, 1)
	assert.InDelta(t, (6*2400+8*math.Pi*225+math.Pi*(2500-1600))/100000, l.Used[0].Share, 1e-9)
}

func TestSameSeedSameLayout(t *testing.T) {
	parts := []Part{{Name: "ell", Region: ell(), Quantity: 10, Turns: halfTurns, Mirror: true}}
	sheets := []Sheet{board(200, 200)}
	sheets[0].Quantity = 3
	o := Options{Spacing: 4, Seed: 7, Budget: 200_000}
	a, fs := Nest(context.Background(), parts, sheets, o)
	require.Empty(t, fs)
	b, fs := Nest(context.Background(), parts, sheets, o)
	require.Empty(t, fs)
	assert.Equal(t, a, b)
}
