package geom

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestMomentsInClosedForm(t *testing.T) {
	const r = 7.0
	// half disc: area πr²/2, centroid 4r/3π off the diameter, second moment about
	// the axis of symmetry πr⁴/8, about the diameter the same; closed form
	halfDisc := Region{Outer: Contour{{Pt(3+r, 5), 1}, {Pt(3-r, 5), 0}}}
	e := 4 * r / (3 * math.Pi)
	for _, tc := range []struct {
		fact string
		g    Region
		want Moments
	}{
		{"a rectangle", Region{Outer: Rect(10, 20, 16, 24)}, Moments{24, Pt(13, 22), 4 * 216 / 12.0, 6 * 64 / 12.0, 0}},
		{"a disc", Region{Outer: Circle(Pt(100, -50), r)}, Moments{math.Pi * r * r, Pt(100, -50), math.Pi * math.Pow(r, 4) / 4, math.Pi * math.Pow(r, 4) / 4, 0}},
		{"a half disc", halfDisc, Moments{math.Pi * r * r / 2, Pt(3, 5+e), math.Pi * math.Pow(r, 4) / 8, math.Pi*math.Pow(r, 4)/8 - math.Pi*r*r/2*e*e, 0}},
		{"a ring", NewRegion(Circle(Pt(1, 1), 5), Circle(Pt(1, 1), 3)), Moments{16 * math.Pi, Pt(1, 1), math.Pi * (625 - 81) / 4, math.Pi * (625 - 81) / 4, 0}},
		// right triangle b × h: ∫xy about the centroid = -b²h²/72; closed form
		{"a right triangle", Region{Outer: Polygon(Pt(0, 0), Pt(6, 0), Pt(0, 3))}, Moments{9, Pt(2, 1), 216 * 3 / 36.0, 6 * 27 / 36.0, -36 * 9 / 72.0}},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			m := tc.g.Moments()
			assert.InDelta(t, tc.want.Area, m.Area, 1e-9, "area, mm²")
			assert.InDelta(t, tc.g.Area(), m.Area, 1e-9, "area, mm²")
			assert.InDelta(t, 0, tc.want.Center.Dist(m.Center), 1e-9, "centre %v, mm", m.Center)
			assert.InDelta(t, tc.want.XX, m.XX, 1e-8, "∫x², mm⁴")
			assert.InDelta(t, tc.want.YY, m.YY, 1e-8, "∫y², mm⁴")
			assert.InDelta(t, tc.want.XY, m.XY, 1e-8, "∫xy, mm⁴")
		})
	}
	assert.Equal(t, Moments{}, Region{}.Moments(), "nothing has no moments")
}

func TestSmallestInsideRadius(t *testing.T) {
	fine := mustOffset(t, Region{Outer: Rect(0, 0, 20, 20)}, 0)[0]
	for _, tc := range []struct {
		fact string
		g    Region
		want float64 // mm
	}{
		{"rounded corners", Region{Outer: RoundRect(0, 0, 40, 20, 3)}, 3},
		{"a sharp corner", fine, 0},
		{"a round well", Region{Outer: Circle(Point{}, 12)}, 12},
		{"around a round island nothing turns inwards but the edge", NewRegion(Circle(Point{}, 12), Circle(Point{}, 2)), 12},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			r, _ := tc.g.SmallestInsideRadius(0.05)
			assert.InDelta(t, tc.want, r, 1e-9, "mm")
		})
	}
	var ps []Point
	for k := range 200 {
		ps = append(ps, Polar(Point{}, 10, float64(k)*math.Pi/100))
	}
	r, _ := Region{Outer: Polygon(ps...)}.SmallestInsideRadius(0.05)
	assert.True(t, math.IsInf(r, 1), "a circle in 200 short lines has no sharp corner")
}

func TestInscribedCircleAndNeck(t *testing.T) {
	dumbbell := Region{Outer: Polygon(Pt(0, 0), Pt(10, 0), Pt(10, 4), Pt(16, 4), Pt(16, 0), Pt(26, 0), Pt(26, 10),
		Pt(16, 10), Pt(16, 6.5), Pt(10, 6.5), Pt(10, 10), Pt(0, 10))}
	for _, tc := range []struct {
		fact    string
		g       Region
		r, neck float64 // mm, closed form
	}{
		{"a square", Region{Outer: Rect(0, 0, 10, 10)}, 5, 10},
		{"a disc", Region{Outer: Circle(Pt(3, 4), 6)}, 6, 12},
		{"a long strip", Region{Outer: Rect(0, 0, 100, 3)}, 1.5, 3},
		{"two blocks and a bridge of 2.5", dumbbell, 5, 2.5},
		{"a ring that is thin on one side", NewRegion(Circle(Point{}, 10), Circle(Pt(3, 0), 5)), 4, 2},
		// 3-4-5 triangle: inradius (a + b - c)/2
		{"a triangle", Region{Outer: Polygon(Pt(0, 0), Pt(4, 0), Pt(0, 3))}, 1, 2},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			c, r := tc.g.InscribedCircle()
			assert.InDelta(t, tc.r, r, 1e-5, "radius, mm")
			assert.InDelta(t, -tc.r, tc.g.SignedDist(c), 2e-3, "centre %v", c)
			w, p, q := tc.g.Neck()
			assert.InDelta(t, tc.neck, w, 2e-5, "neck between %v and %v, mm", p, q)
		})
	}
}

func TestHullAndBox(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		g := anyRegion(r)
		h := ConvexHull(1e-3, g.Contours()...)
		require.Positive(t, h.Area())
		for i := range h {
			require.GreaterOrEqual(t, h.Seg(i).TangentA().Cross(h.Seg((i+1)%len(h)).TangentA()), -1e-12, "convex")
		}
		assertInside(t, []Region{g}, []Region{{Outer: h}}, 1e-9, "hull")
		size, to := MinAreaBox(1e-3, g.Contours()...)
		b := g.Transform(to).Bounds()
		require.GreaterOrEqual(t, size.X, size.Y)
		require.GreaterOrEqual(t, b.Min.X, -1e-9)
		require.GreaterOrEqual(t, b.Min.Y, -1e-9)
		require.LessOrEqual(t, b.Max.X, size.X+1e-9)
		require.LessOrEqual(t, b.Max.Y, size.Y+1e-9)
		for range 20 { // no turn of the hull needs less
			z := h.Transform(Rigid{Turn: 7 * r.Float64()}).Bounds().Size()
			require.LessOrEqual(t, size.X*size.Y, z.X*z.Y*(1+1e-12))
		}
	})
	size, _ := MinAreaBox(0, Rect(0, 0, 30, 10).Transform(Rigid{Turn: 0.3}))
	assert.InDelta(t, 0, size.Dist(Pt(30, 10)), 1e-9, "a turned rectangle, mm")
	c := ConvexHull(1e-3, Circle(Point{}, 10))
	assert.InDelta(t, math.Pi*100, c.Area(), 2*math.Pi*10*1e-3, "a disc, mm²")
	assert.Greater(t, c.Area(), math.Pi*100, "and never less")
	assert.Empty(t, ConvexHull(0))
}

func TestArcsAreRecoveredOnTheSafeSide(t *testing.T) {
	ring := func(n int) Contour {
		var ps []Point
		for k := range n {
			ps = append(ps, Polar(Pt(5, 5), 10, 2*math.Pi*float64(k)/float64(n)))
		}
		return Polygon(ps...)
	}
	var slot []Point // a long hole of straight lines, round at its ends
	for k := range 41 {
		slot = append(slot, Polar(Pt(30, 0), 4, -math.Pi/2+math.Pi*float64(k)/40))
	}
	for k := range 41 {
		slot = append(slot, Polar(Pt(0, 0), 4, math.Pi/2+math.Pi*float64(k)/40))
	}
	wave := Polygon()
	for k := range 200 {
		x := float64(k) / 2
		wave = append(wave, Vertex{Point: Pt(x, 6*math.Sin(x/7))})
	}
	wave = append(wave, Vertex{Point: Pt(100, 40)}, Vertex{Point: Pt(0, 40)})
	for _, tc := range []struct {
		fact  string
		c     Contour
		most  int // edges
		arcs  int // at least
		exact bool
	}{
		{"a circle in 120 lines", ring(120), 3, 2, true},
		{"a hole in 120 lines", ring(120).Reverse(), 12, 2, false},
		{"a slot with round ends", Polygon(slot...), 6, 2, true},
		{"a wave", wave, 40, 8, false},
		{"a square", Rect(0, 0, 10, 10), 4, 0, true},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			const tol = 0.02
			out := RecoverArcs(tc.c, tol)
			arcs := 0
			for _, v := range out {
				if v.Bulge != 0 {
					arcs++
				}
			}
			assert.LessOrEqual(t, len(out), tc.most, "edges")
			assert.GreaterOrEqual(t, arcs, tc.arcs, "arcs")
			was, is := newField(curvesOf([]Contour{tc.c})), newField(curvesOf([]Contour{out}))
			side := math.Copysign(1, tc.c.Area())
			for i := range out {
				s := out.Seg(i)
				for k := range 200 {
					p := s.At(float64(k) / 200)
					d := was.closer(p, -1, math.Inf(1), 0)
					assert.LessOrEqual(t, d, tol+1e-9, "mm at %v", p)
					if inside := was.winding(p) != 0; d > 1e-6 && inside == (side > 0) {
						assert.LessOrEqual(t, d, 1e-4, "mm into the material at %v", p)
					}
				}
			}
			for i := range tc.c {
				assert.LessOrEqual(t, is.closer(tc.c[i].Point, -1, 1, 0), tol+1e-9, "a vertex left behind, mm")
			}
		})
	}
}
