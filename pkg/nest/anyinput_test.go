package nest

import (
	"context"
	"encoding/binary"
	"flag"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/geom"
)

// fewerChecks halves the inputs that a dear property draws in the quick set; who names
// a number gets that, and SPARCLEAR_LONG four times the usual one.
func fewerChecks(t *testing.T) {
	const usual = "100"
	f := flag.Lookup("rapid.checks")
	if f == nil || f.Value.String() != usual {
		return
	}
	n := "50"
	if os.Getenv("SPARCLEAR_LONG") == "1" {
		n = "400"
	}
	require.NoError(t, f.Value.Set(n))
	t.Cleanup(func() { require.NoError(t, f.Value.Set(usual)) })
}

func TestEveryLayoutHoldsTheRules(t *testing.T) {
	fewerChecks(t)
	rapid.Check(t, func(t *rapid.T) {
		var parts []Part
		for k := rapid.IntRange(1, 3).Draw(t, "parts"); k > 0; k-- {
			p := Part{Name: "p", Region: star(t, "part"), Quantity: rapid.SampledFrom([]int{0, 1, 2, 2, 3, 4, 5, Fill}).Draw(t, "quantity"),
				Mirror: rapid.Bool().Draw(t, "mirror"), TurnTol: rapid.SampledFrom([]float64{0, 0.1}).Draw(t, "tol")}
			if rapid.IntRange(0, 4).Draw(t, "free") == 0 {
				p.Free = true
			} else {
				p.Turns = rapid.SampledFrom([][]float64{nil, halfTurns, {0.3, 2}}).Draw(t, "turns")
			}
			if rapid.IntRange(0, 3).Draw(t, "locked") == 0 && p.Quantity != 0 {
				p.Locked = []Lock{{Frame: geom.Rigid{Shift: geom.Pt(75, 60)}}}
			}
			parts = append(parts, p)
		}
		var sheets []Sheet
		for k := rapid.IntRange(1, 2).Draw(t, "sheets"); k > 0; k-- {
			s := board(160, 130)
			if rapid.Bool().Draw(t, "odd") {
				s.Region = star(t, "sheet").Transform(geom.Rigid{Shift: geom.Pt(60, 50)})
				for i := range s.Region.Outer {
					s.Region.Outer[i].Point = s.Region.Outer[i].Mul(1.5)
				}
			}
			s.Margin = rapid.SampledFrom([]float64{0, 1, 10}).Draw(t, "margin")
			s.Quantity = rapid.IntRange(-1, 2).Draw(t, "pieces")
			s.Fibre = rapid.SampledFrom([]float64{0, 0.5}).Draw(t, "fibre")
			s.Cost = float64(k)
			if rapid.Bool().Draw(t, "zone") {
				s.Zones = []geom.Region{star(t, "zone").Transform(geom.Rigid{Shift: geom.Pt(60, 60)})}
			}
			sheets = append(sheets, s)
		}
		o := Options{Spacing: rapid.SampledFrom([]float64{0, 0.5, 5}).Draw(t, "spacing"), Budget: 3000, Seed: 4}
		l, fs := Nest(context.Background(), parts, sheets, o)
		if l == nil {
			require.True(t, fs.Blocks())
			for _, f := range fs { // nothing but what was given may be at fault
				assert.True(t, f.Input || !f.Blocks(), "%v", f)
			}
			return
		}
		assert.Empty(t, Verify(parts, sheets, l, o))
		placed := make([]int, len(parts))
		for _, p := range l.Placements {
			placed[p.Part]++
		}
		for i, p := range parts {
			if p.Quantity >= 0 {
				assert.Equal(t, p.Quantity, placed[i]+l.Unplaced[i])
			}
		}
	})
}

// FuzzNest reads outlines from bytes: whatever they are, Nest returns a verified
// layout or a finding that blocks.
func FuzzNest(f *testing.F) {
	square := []byte{0, 0, 0, 0, 40, 0, 0, 0, 40, 0, 40, 0, 0, 0, 40, 0}
	f.Add(square, uint8(3), uint8(10))
	f.Add([]byte{0, 0, 0, 0, 200, 0, 200, 0, 200, 0, 0, 0, 0, 0, 200, 0}, uint8(1), uint8(0)) // crosses itself
	f.Add([]byte{0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0}, uint8(200), uint8(0))
	f.Fuzz(func(t *testing.T, raw []byte, quantity, bulge uint8) {
		if len(raw) > 160 {
			return
		}
		var c geom.Contour
		for i := 0; i+4 <= len(raw); i += 4 {
			x, y := int16(binary.LittleEndian.Uint16(raw[i:])), int16(binary.LittleEndian.Uint16(raw[i+2:]))
			c = append(c, geom.Vertex{Point: geom.Pt(float64(x), float64(y)), Bulge: float64(bulge) / 100})
		}
		parts := []Part{{Name: "p", Region: geom.Region{Outer: c}, Quantity: int(quantity) - 1, Turns: []float64{0, math.Pi / 2}}}
		o := Options{Spacing: 3, Budget: 2000}
		l, fs := Nest(context.Background(), parts, []Sheet{board(400, 300)}, o)
		if l == nil {
			require.True(t, fs.Blocks())
			return
		}
		require.Empty(t, Verify(parts, []Sheet{board(400, 300)}, l, o))
	})
}
