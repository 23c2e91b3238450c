package nest

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestCopiesThatTheSearchLaidWrongAreLaidAgain(t *testing.T) {
	// Report: a good job was refused since the search had laid one part over another,
	// which the last look found. It is taken up and laid again.
	for _, tc := range []struct {
		fact       string
		width      float64
		over       bool
		used, lost int
	}{
		{"beside it", 200, false, 1, 0},
		{"on another piece", 90, false, 2, 0},
		{"nowhere when the time is over", 200, true, 1, 1},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			parts := []Part{{Name: "disc", Region: disc(15), Quantity: 2}, {Name: "small", Region: disc(10), Quantity: 1}}
			s := board(tc.width, 60)
			s.Quantity = 2
			o := Options{Spacing: 5, Seed: 1, Budget: 1000}
			ctx, cancel := context.WithCancel(context.Background())
			defer cancel()
			n := newNesting(ctx, parts, []Sheet{s}, o)
			n.lay()
			require.Empty(t, n.homeless)
			l := n.piles[0]
			if len(l.x) == 2 { // the third lies on the other piece: over the first with it
				l.add(place{x: n.piles[1].x[0], y: n.piles[1].y[0], v: n.piles[1].v[0]})
				n.held[0], n.held[1], n.piles[1] = append(n.held[0], n.held[1]...), nil, nil
			}
			l.x[2], l.y[2] = l.x[0]+1, l.y[0]
			require.NotEmpty(t, Verify(parts, []Sheet{s}, n.layout(), o))
			if tc.over {
				cancel()
			}
			got := n.mended()
			assert.Empty(t, Verify(parts, []Sheet{s}, got, o))
			assert.Len(t, got.Used, tc.used)
			assert.Len(t, got.Placements, 3-tc.lost)
			assert.Equal(t, []int{0, tc.lost}, got.Unplaced, "the smaller of two is taken up")
		})
	}
}
