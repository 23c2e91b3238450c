package nest

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
)

// cutUp cuts a square of the given side into pieces by straight cuts through two
// of their sides, and moves each piece to the origin.
func cutUp(rnd *rand.Rand, side float64, cuts int) []geom.Region {
	pieces := []ring{{geom.Pt(0, 0), geom.Pt(side, 0), geom.Pt(side, side), geom.Pt(0, side)}}
	for range cuts {
		at := 0
		for i := range pieces {
			if pieces[i].area() > pieces[at].area() {
				at = i
			}
		}
		p := pieces[at]
		n := len(p)
		i := rnd.IntN(n - 1)
		j := (i + 1 + rnd.IntN(n-1)) % n
		i, j = min(i, j), max(i, j)
		a := p[i].Lerp(p[i+1], 0.2+0.6*rnd.Float64())
		b := p[j].Lerp(p[(j+1)%n], 0.2+0.6*rnd.Float64())
		one := append(append(ring{a}, p[i+1:j+1]...), b)
		two := append(append(ring{b}, p[j+1:]...), append(append(ring{}, p[:i+1]...), a)...)
		pieces[at] = one
		pieces = append(pieces, two)
	}
	var out []geom.Region
	for _, p := range pieces {
		out = append(out, geom.NewRegion(geom.Polygon(p...)).Transform(geom.Rigid{Shift: p[0].Mul(-1)}))
	}
	return out
}

func TestSquareCutUpIsPutTogetherAgain(t *testing.T) {
	for seed := range uint64(12) {
		rnd := rand.New(rand.NewPCG(seed, 1))
		var parts []Part
		for range 2 {
			for _, g := range cutUp(rnd, 1000, 7) {
				parts = append(parts, Part{Name: "p", Region: g, Quantity: 1, Turns: []float64{0, math.Pi}})
			}
		}
		// A ten-thousandth wider than what was cut, so that gaps can open.
		s := Sheet{Name: "s", Region: geom.Region{Outer: geom.Rect(0, 0, 1000.1, 1000.1)}, Quantity: 3}
		l, fs := Nest(context.Background(), parts, []Sheet{s}, Options{Budget: 400_000})
		require.Empty(t, fs)
		assert.Len(t, l.Used, 2, "every piece of stock is full, seed %d", seed)
	}
}

func TestTilingNeedsStockWithoutWaste(t *testing.T) {
	square := Part{Name: "sq", Region: geom.Region{Outer: geom.Rect(0, 0, 100, 100)}, Quantity: 4}
	for _, tc := range []struct {
		fact string
		side float64
		want bool
	}{
		{"four squares fill a sheet of twice their side and a hair", 200.01, true},
		{"but not one that is too small", 199.99, false},
		{"nor one with room to spare", 201, false},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			s := Sheet{Name: "s", Region: geom.Region{Outer: geom.Rect(0, 0, tc.side, tc.side)}, Quantity: 2}
			n := newNesting(context.Background(), []Part{square}, []Sheet{s}, Options{Budget: 10_000})
			assert.Equal(t, tc.want, n.tile())
		})
	}
}

func TestStripWithoutWasteIsFound(t *testing.T) {
	for seed := range uint64(12) {
		var parts []Part
		for _, g := range cutUp(rand.New(rand.NewPCG(seed, 2)), 100, 9) {
			parts = append(parts, Part{Name: "p", Region: g, Quantity: 1})
		}
		l, fs := Strip(context.Background(), parts, 100, Options{Budget: 2_000_000})
		require.Empty(t, fs)
		assert.InDelta(t, 100, l.Length, 1e-5, "mm, seed %d", seed)
	}
}

func TestTilingEndsWhenTheTimeIsUp(t *testing.T) {
	// Bars of 8 to 12 mm that never fill a row of 101 mm: some 10^9 ways to begin one.
	rnd := rand.New(rand.NewPCG(3, 3))
	var parts []Part
	for range 30 {
		parts = append(parts, Part{Name: "p", Region: geom.Region{Outer: geom.Rect(0, 0, 8+4*rnd.Float64(), 8+4*rnd.Float64())}, Quantity: 1})
	}
	n := newNesting(context.Background(), parts, []Sheet{board(200, 200)}, Options{Budget: 1000})
	calls := 0
	ok, tried := newTiling(n.cat, n.items, 0, 101, 101, 1).run(1, 4_000_000, func() bool { calls++; return calls > 1 })
	assert.False(t, ok)
	assert.Less(t, tried, 10_000, "places tried")
}
