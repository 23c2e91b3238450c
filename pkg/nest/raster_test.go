package nest

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/geom"
)

// onGrid are outlines with whole corners: notches, points, sides along and across.
func onGrid() []geom.Region {
	pts := func(xy ...float64) geom.Region {
		var p []geom.Point
		for i := 0; i < len(xy); i += 2 {
			p = append(p, geom.Pt(xy[i], xy[i+1]))
		}
		return geom.NewRegion(geom.Polygon(p...))
	}
	return []geom.Region{
		pts(0, 0, 2, 0, 2, 3, 6, 3, 6, 0, 8, 0, 8, 5, 0, 5), // a bracket
		pts(0, 3, 3, 0, 6, 3, 3, 6),                         // on its point
		pts(2, 0, 4, 0, 4, 2, 6, 2, 6, 4, 4, 4, 4, 6, 2, 6, 2, 4, 0, 4, 0, 2, 2, 2),
		pts(0, 0, 5, 0, 0, 5),
		geom.NewRegion(geom.Rect(0, 0, 8, 8), geom.Rect(2, 2, 6, 6)),
	}
}

func TestTouchingIsToldFromOverlapping(t *testing.T) {
	list := onGrid()
	rapid.Check(t, func(t *rapid.T) {
		turn := func(k int) float64 { return []float64{0, math.Pi / 2, math.Pi, 3 * math.Pi / 2}[k] }
		a := rapid.SampledFrom(list).Draw(t, "a").Transform(geom.Rigid{Turn: turn(rapid.IntRange(0, 3).Draw(t, "turn a"))})
		b := rapid.SampledFrom(list).Draw(t, "b").Transform(geom.Rigid{Turn: turn(rapid.IntRange(0, 3).Draw(t, "turn b")),
			Shift: geom.Pt(float64(rapid.IntRange(-16, 16).Draw(t, "x")), float64(rapid.IntRange(-16, 16).Draw(t, "y")))})
		both, err := geom.Intersect([]geom.Region{a}, []geom.Region{b})
		require.NoError(t, err)
		area := 0.0
		for _, g := range both {
			area += g.Area()
		}
		assert.Equal(t, area < 1e-9, touchOnly(newBody(a), newBody(b)), "%v mm² in common", area)
		assert.Equal(t, area < 1e-9, touchOnly(newBody(b), newBody(a)), "the other way round")
	})
}

func TestTouchingByAHairTooMuchIsOverlapping(t *testing.T) {
	sq := geom.NewRegion(geom.Rect(0, 0, 10, 10))
	at := func(x float64) *body { return newBody(sq.Transform(geom.Rigid{Shift: geom.Pt(x, 3)})) }
	assert.True(t, touchOnly(newBody(sq), at(10)))
	assert.False(t, touchOnly(newBody(sq), at(math.Nextafter(10, 0))), "2e-15 mm")
	assert.False(t, touchOnly(newBody(sq), newBody(sq)), "one over the other")
	assert.False(t, touchOnly(newBody(disc(5)), newBody(disc(5).Transform(geom.Rigid{Shift: geom.Pt(10, 0)}))), "arcs are not decided")
}

func TestLayoutOfTouchingPartsHolds(t *testing.T) {
	sq := Part{Name: "sq", Region: geom.NewRegion(geom.Rect(0, 0, 10, 10)), Quantity: 2}
	lay := func(x float64) *Layout {
		return &Layout{Used: []Used{{}}, Placements: []Placement{{Frame: geom.Rigid{Shift: geom.Pt(20, 20)}}, {Copy: 1, Frame: geom.Rigid{Shift: geom.Pt(x, 20)}}}}
	}
	sheets := []Sheet{board(100, 100)}
	assert.Empty(t, Verify([]Part{sq}, sheets, lay(30), Options{}))
	assert.True(t, Verify([]Part{sq}, sheets, lay(30-1e-9), Options{}).Has("parts-near"))
	assert.True(t, Verify([]Part{sq}, sheets, lay(30), Options{Spacing: 0.001}).Has("parts-near"))
}

func gridProblem(turns []float64, quantity int) *problem {
	p := &problem{}
	var shapes []*shape
	for i, g := range onGrid()[:4] {
		var of []int32
		for _, s := range shapesOf(i, Part{Turns: turns}, ready(g, 0, maxPoles), 0, 0) {
			of = append(of, int32(len(shapes)))
			shapes = append(shapes, s)
		}
		for k := range quantity {
			p.items = append(p.items, item{part: i, copy: k, choices: [][]int32{of}})
		}
	}
	p.cat = newCatalog(shapes, nil)
	return p
}

func TestTablesOfTheGridAgreeWithTheOutlines(t *testing.T) {
	g, ok := newRaster(gridProblem([]float64{0, math.Pi / 2}, 1), 20, rasterRoom)
	require.True(t, ok)
	assert.InDelta(t, 1, g.step, 1e-9, "mm")
	require.Len(t, g.forms, 8)
	for a := range g.forms {
		for b := range g.forms {
			tab := &g.tables[a*len(g.forms)+b]
			body := func(f *rasterForm, x, y int) *body {
				return newBody(geom.NewRegion(geom.Polygon(f.outer.pts...)).Transform(geom.Rigid{Shift: geom.Pt(f.outer.hw+float64(x), f.outer.hh+float64(y))}))
			}
			for iy := 0; iy < tab.h; iy += 2 {
				for ix := 0; ix < tab.w; ix += 3 {
					free := touchOnly(body(&g.forms[a], ix-tab.ox, iy-tab.oy), body(&g.forms[b], 0, 0))
					require.Equal(t, free, tab.depth[iy*tab.w+ix] == 0, "forms %d and %d at %d %d", a, b, ix-tab.ox, iy-tab.oy)
				}
			}
		}
	}
	// A square is one cell of the largest grid that it lies on.
	sq := &problem{}
	shapes := shapesOf(0, Part{}, ready(geom.NewRegion(geom.Rect(0, 0, 3, 3)), 0, maxPoles), 0, 0)
	sq.cat, sq.items = newCatalog(shapes, nil), []item{{choices: [][]int32{{0}}}}
	g, ok = newRaster(sq, 20, rasterRoom)
	require.True(t, ok)
	assert.InDelta(t, 3, g.step, 1e-9, "the largest step, mm")
	assert.Equal(t, []float32{1}, g.tables[0].depth)
}

func TestNoGridWhereCornersLieOnNone(t *testing.T) {
	p := &problem{items: []item{{choices: [][]int32{{0}}}}}
	p.cat = newCatalog(shapesOf(0, Part{}, ready(geom.NewRegion(geom.Polygon(geom.Pt(0, 0), geom.Pt(10, 0), geom.Pt(math.Sqrt2, math.Pi))), 0, maxPoles), 0, 0), nil)
	_, ok := newRaster(p, 20, rasterRoom)
	assert.False(t, ok)
	p.cat = newCatalog(shapesOf(0, Part{}, ready(disc(10), 0, maxPoles), 0, 0), nil)
	_, ok = newRaster(p, 20, rasterRoom)
	assert.False(t, ok, "chords of an arc")
	_, ok = newRaster(gridProblem(nil, 1), 20, 10)
	assert.False(t, ok, "no room for tables")
}

func TestPartsOnAGridEndTouching(t *testing.T) {
	// A layout off the grid is a hair longer than a whole number of cells.
	var parts []Part
	for i, g := range onGrid()[:4] {
		parts = append(parts, Part{Name: string(rune('a' + i)), Region: g, Quantity: 3, Turns: halfTurns})
	}
	l, fs := Strip(context.Background(), parts, 16, Options{Budget: 400_000, Seed: 3})
	require.Empty(t, fs)
	assert.Equal(t, math.Round(l.Length), l.Length, "whole cells")
	again, fs := Strip(context.Background(), parts, 16, Options{Budget: 400_000, Seed: 3})
	require.Empty(t, fs)
	assert.Equal(t, l, again)
}
