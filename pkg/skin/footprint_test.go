package skin_test

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/skin"
)

func TestRiseOfATip(t *testing.T) {
	for _, tc := range []struct {
		fact    string
		c       shop.Cutter
		d, want float64
	}{
		{"flat end at its edge", shop.Cutter{Kind: shop.Flat, Diameter: 6}, 3, 0},
		{"ball at its equator", shop.Cutter{Kind: shop.Ball, Diameter: 6}, 3, 3},
		// R − √(R² − d²); closed form
		{"ball at 0.6 of the radius", shop.Cutter{Kind: shop.Ball, Diameter: 10}, 3, 1},
		{"corner radius 1, inside the flat", shop.Cutter{Kind: shop.BullNose, Diameter: 6, CornerRadius: 1}, 2, 0},
		{"corner radius 1 at its edge", shop.Cutter{Kind: shop.BullNose, Diameter: 6, CornerRadius: 1}, 3, 1},
		// D/2 / tan(point/2): handbook formula for drill points, 2.5 mm at 118° is 0.75108 mm
		{"drill of 118°", shop.Cutter{Kind: shop.Drill, Diameter: 2.5, PointAngle: 118 * math.Pi / 180}, 1.25, 0.75108},
		{"vee of 90°", shop.Cutter{Kind: shop.Vee, Diameter: 6, PointAngle: math.Pi / 2}, 2, 2},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			assert.InDelta(t, tc.want, skin.TipOf(tc.c).Rise(tc.d), 1e-5, "mm")
		})
	}
}

func TestWindowOfAFlatEndOnASlope(t *testing.T) {
	// A slope of 10 % under a flat end of 4 mm: highest and lowest skin are 0.2 mm
	// above and below the middle. Skin 1.8 thick, 0.3 below it, limit 3: the tip may
	// stand from 0.2 − 3 to −0.2 − 2.1; closed form.
	m := plateTilted(t, 0.1)
	q := skin.Through{Thickness: 1.8, Break: 0.3, Limit: 3}
	tip := skin.Tip{Radius: 2}
	u, _ := m.Error(geom.Box{Min: geom.Pt(-2, -2), Max: geom.Pt(2, 2)})
	lo, hi, ok := skin.Window(m, geom.Pt(0, 0), tip, q)
	require.True(t, ok)
	assert.InDelta(t, -2.8+2*u, lo, 1e-6)
	assert.InDelta(t, -2.3-2*u, hi, 1e-6)
	// With a limit of 2.4 there are 0.3 mm for the rise of D·0.1 and the error.
	q.Limit = 2.4
	_, _, ok = skin.Window(m, geom.Pt(0, 0), tip, q)
	assert.False(t, ok)
	widest := skin.Widest(m, geom.Pt(0, 0), tip, q)
	assert.InDelta(t, (0.3-4*u)/0.1, widest, 0.01, "mm")
	f := skin.TooWide(m, geom.Pt(0, 0), tip, q)
	assert.Equal(t, "cutter-too-wide-for-skin", f.Code)
	assert.InDelta(t, widest, *f.Limit, 1e-9)
	assert.Contains(t, f.Message, "5.7°", "atan 0.1")
	q.Limit = 2.1
	assert.Zero(t, skin.Widest(m, geom.Pt(0, 0), tip, q), "no room at all")
	assert.Equal(t, 4.0, skin.Widest(m, geom.Pt(0, 0), tip, skin.Through{Thickness: 1, Limit: 5}))
}

func plateTilted(t require.TestingT, slope float64) skin.Model {
	m, found := skin.Plane([]skin.Touch{skin.Tch(-50, -50, -50*slope), skin.Tch(50, -50, 50*slope), skin.Tch(50, 50, 50*slope), skin.Tch(-50, 50, -50*slope), skin.Tch(0, 0, 0)}, 1e-6)
	require.Empty(t, found)
	return m
}

func TestBoundsUnderATipHold(t *testing.T) {
	m, _ := skin.Points(scattered(80, 1, saddle), skin.Options{})
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		tip := skin.Tip{Radius: 0.5 + 9*r.Float64()}
		switch rapid.IntRange(0, 3).Draw(t, "kind") {
		case 1:
			tip.Corner = tip.Radius
		case 2:
			tip.Corner = tip.Radius * r.Float64()
		case 3:
			tip.Point = 0.5 + 2*r.Float64()
		}
		c := geom.Pt(300*r.Float64(), 200*r.Float64())
		lo, hi := skin.Under(m, c, tip)
		for range 30 {
			d := tip.Radius * math.Sqrt(r.Float64())
			v := m.Height(geom.Polar(c, d, 7*r.Float64())) - tip.Rise(d)
			assert.True(t, lo <= v && v <= hi, "%g in %g … %g", v, lo, hi)
		}
	})
}

func TestRoomForAServo(t *testing.T) {
	far := skin.FarDeclared(28)
	assert.InDelta(t, 1.2, skin.Room(far, at(0, 0), 25, 1.8), 1e-12, "mm")
	assert.Less(t, skin.Room(far, at(0, 0), 27, 1.8), 0.0)
}
