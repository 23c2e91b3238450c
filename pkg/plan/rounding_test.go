package plan

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

func TestCornerRounding(t *testing.T) {
	// closed form, square corner: √2·v²/(8·a)
	for _, v := range [][3]float64{{600, 300, 0.0589}, {1000, 300, 0.1637}, {1000, 1000, 0.0491}, {2000, 500, 0.3928}} {
		assert.InDelta(t, v[2], CornerRounding(math.Pi/2, v[0], v[1]), 1e-4)
	}
	assert.Less(t, CornerRounding(0.5, 1000, 300), CornerRounding(1, 1000, 300), "a gentler corner is rounded less")
	assert.Zero(t, CornerRounding(1, 1000, 0))
}

func TestMachineThatRoundsCornersIsWarnedOf(t *testing.T) {
	for _, tc := range []struct {
		mode shop.PathMode
		tol  float64 // of blending
		warn bool
	}{
		{shop.PathBlend, 0.2, true},
		{shop.PathBlend, 0.04, false}, // below half of the tolerance of the edge
		{shop.PathUnstated, 0, true},
		{shop.PathExact, 0, false},
		{shop.PathExactStop, 0, false},
	} {
		c := through("x", work.Opening, region(geom.Rect(0, 0, 40, 20)))
		c.Feed = 1000
		w := sheet([]shop.Cutter{endmill2()}, c)
		w.Machine = bench()
		w.Machine.Controller.PathMode, w.Machine.Controller.BlendTol = tc.mode, tc.tol
		_, l := Plan(context.Background(), w)
		assert.Equal(t, tc.warn, l.Has("corner-rounded"), "%s %g", tc.mode, tc.tol)
	}
	c := through("x", work.Opening, region(geom.RoundRect(0, 0, 40, 20, 4))) // no corner to round
	c.Feed = 1000
	w := sheet([]shop.Cutter{endmill2()}, c)
	w.Machine = bench()
	w.Machine.Controller.PathMode = shop.PathUnstated
	_, l := Plan(context.Background(), w)
	assert.False(t, l.Has("corner-rounded"))
}
