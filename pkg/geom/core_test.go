package geom

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestSegmentsInClosedForm(t *testing.T) {
	quarter := math.Tan(math.Pi / 8)
	for _, tc := range []struct {
		fact     string
		s        Seg
		length   float64 // mm
		radius   float64 // mm
		center   Point
		mid      Point
		sliver   float64 // mm², r²/2 (θ - sin θ)
		from, to Point   // directions at the ends
	}{
		// bulge is the tangent of a quarter of the included angle: DXF reference,
		// LWPOLYLINE, group code 42; 1 is a half circle
		{"a half circle", Seg{Pt(5, 0), Pt(-5, 0), 1}, 5 * math.Pi, 5, Pt(0, 0), Pt(0, 5), 12.5 * math.Pi, Pt(0, 1), Pt(0, -1)},
		{"a half circle clockwise", Seg{Pt(-5, 0), Pt(5, 0), -1}, 5 * math.Pi, 5, Pt(0, 0), Pt(0, 5), -12.5 * math.Pi, Pt(0, 1), Pt(0, -1)},
		{"a quarter circle", Seg{Pt(3, 0), Pt(0, 3), quarter}, 1.5 * math.Pi, 3, Pt(0, 0), Pt(3/math.Sqrt2, 3/math.Sqrt2), 4.5 * (math.Pi/2 - 1), Pt(0, 1), Pt(-1, 0)},
		{"three quarters", Seg{Pt(3, 0), Pt(0, -3), math.Tan(3 * math.Pi / 8)}, 4.5 * math.Pi, 3, Pt(0, 0), Pt(-3/math.Sqrt2, 3/math.Sqrt2), 4.5 * (3*math.Pi/2 + 1), Pt(0, 1), Pt(1, 0)},
		{"a line", Seg{Pt(0, 0), Pt(3, 4), 0}, 5, math.Inf(1), Point{}, Pt(1.5, 2), 0, Pt(0.6, 0.8), Pt(0.6, 0.8)},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			assert.InDelta(t, tc.length, tc.s.Length(), 1e-12, "length, mm")
			assert.InDelta(t, tc.sliver, tc.s.sliver(), 1e-12, "sliver, mm²")
			assert.InDelta(t, 0, tc.mid.Dist(tc.s.Mid()), 1e-12, "middle %v", tc.s.Mid())
			assert.InDelta(t, 0, tc.mid.Dist(tc.s.At(0.5)), 1e-12, "at 0.5: %v", tc.s.At(0.5))
			assert.InDelta(t, 0, tc.from.Dist(tc.s.TangentA()), 1e-12, "direction at the start %v", tc.s.TangentA())
			assert.InDelta(t, 0, tc.to.Dist(tc.s.TangentB()), 1e-12, "direction at the end %v", tc.s.TangentB())
			if !tc.s.IsLine() {
				assert.InDelta(t, tc.radius, tc.s.Radius(), 1e-12, "radius, mm")
				assert.InDelta(t, 0, tc.center.Dist(tc.s.Center()), 1e-12, "centre %v", tc.s.Center())
				again := ArcThrough(tc.s.A, tc.s.B, tc.s.Center(), tc.s.Bulge > 0)
				assert.InDelta(t, tc.s.Bulge, again.Bulge, 1e-12, "bulge from the centre")
			}
			assert.Equal(t, tc.s, tc.s.Reverse().Reverse())
		})
	}
}

func TestSegmentsStayPreciseHoweverFlat(t *testing.T) {
	for _, bulge := range []float64{1e-3, 1e-5, 1e-7, 1e-9, 1e-12} {
		s := Seg{Pt(-50, 0), Pt(50, 0), bulge}
		sagitta := 100 * bulge / 2
		assert.InDelta(t, 0, s.Mid().Dist(Pt(0, -sagitta)), 1e-15)
		assert.InDelta(t, 7+sagitta, s.Dist(Pt(0, 7)), 2e-10, "bulge %g, mm", bulge)
		assert.InDelta(t, 0, s.Dist(s.At(0.3)), 2e-10, "bulge %g, mm", bulge)
		assert.InEpsilon(t, 100*sagitta*2/3, s.sliver(), 1e-5, "parabola, mm²")
	}
}

func TestPointsAlongASegmentAreEvenAndOnIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		s := randomSeg(r)
		step := 0.0
		for k := range 8 {
			p, q := s.At(float64(k)/8), s.At(float64(k+1)/8)
			require.InDelta(t, 0, s.Dist(p), 1e-9)
			if k == 0 {
				step = p.Dist(q)
			}
			require.InDelta(t, step, p.Dist(q), 1e-9, "even steps")
		}
		require.Equal(t, s.B, s.At(1))
		p := Pt(20*r.Float64()-5, 20*r.Float64()-5)
		require.InDelta(t, s.Dist(p), s.Reverse().Dist(p), 1e-9)
		require.InDelta(t, s.Nearest(p).Dist(p), s.Dist(p), 1e-9)
	})
}

func TestRigidTransforms(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		any := func() Rigid {
			m := Rigid{Turn: 8 * (r.Float64() - 0.5), Shift: Pt(100*r.Float64(), 100*r.Float64()), Mirror: r.Intn(2) == 0}
			if r.Intn(3) == 0 {
				m.Turn = math.Pi / 2 * float64(r.Intn(4)-1)
			}
			return m
		}
		a, b := any(), any()
		p, q := Pt(10*r.Float64(), 10*r.Float64()), Pt(10*r.Float64(), 10*r.Float64())
		require.InDelta(t, p.Dist(q), a.Apply(p).Dist(a.Apply(q)), 1e-12, "lengths stay")
		require.InDelta(t, 0, p.Dist(a.Inverse().Apply(a.Apply(p))), 1e-11, "the inverse undoes")
		require.InDelta(t, 0, b.Apply(a.Apply(p)).Dist(a.Then(b).Apply(p)), 1e-11, "one after the other")

		g := anyRegion(r)
		h := g.Transform(a)
		require.InDelta(t, g.Area(), h.Area(), 1e-9*(1+g.Area()), "area and orientation stay, mm²")
		require.InDelta(t, g.Length(), h.Length(), 1e-9*(1+g.Length()))
		require.InDelta(t, g.SignedDist(p), h.SignedDist(a.Apply(p)), 1e-9, "mm")
		c := chainOf(p, q, Pt(3, 3))
		c[0].Bulge = 0.4
		d := c.Transform(a)
		require.InDelta(t, 0, a.Apply(c.Seg(0).Mid()).Dist(d.Seg(0).Mid()), 1e-9, "arcs of a chain go along")
	})
	quarter := Rigid{Turn: math.Pi / 2}
	assert.Equal(t, Pt(-2, 1), quarter.Apply(Pt(1, 2)), "quarter turns are exact")
	assert.Equal(t, Pt(1, 2), Rigid{}.Apply(Pt(1, 2)), "the zero value changes nothing")
}

func TestContoursInClosedForm(t *testing.T) {
	for _, tc := range []struct {
		fact         string
		c            Contour
		area, length float64 // mm², mm
		box          Box
	}{
		{"a rectangle", Rect(10, 20, 0, 5), 150, 50, Box{Pt(0, 5), Pt(10, 20)}},
		{"a circle", Circle(Pt(1, 2), 3), 9 * math.Pi, 6 * math.Pi, Box{Pt(-2, -1), Pt(4, 5)}},
		{"a rounded rectangle", RoundRect(0, 0, 10, 6, 2), 60 - (4-math.Pi)*4, 32 - 16 + 4*math.Pi, Box{Pt(0, 0), Pt(10, 6)}},
		{"a rounded rectangle without straight sides", RoundRect(0, 0, 6, 6, 5), 9 * math.Pi, 6 * math.Pi, Box{Pt(0, 0), Pt(6, 6)}},
		{"a rounded rectangle of no radius", RoundRect(0, 0, 6, 6, 0), 36, 24, Box{Pt(0, 0), Pt(6, 6)}},
		{"a rectangle 10 m away", Rect(1e4, 1e4, 1e4+1, 1e4+1), 1, 4, Box{Pt(1e4, 1e4), Pt(1e4+1, 1e4+1)}},
		{"nothing", nil, 0, 0, EmptyBox()},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			assert.InDelta(t, tc.area, tc.c.Area(), 1e-9, "mm²")
			assert.InDelta(t, -tc.area, tc.c.Reverse().Area(), 1e-9, "run the other way, mm²")
			assert.InDelta(t, tc.length, tc.c.Length(), 1e-9, "mm")
			if len(tc.c) == 0 {
				assert.True(t, tc.c.Bounds().Empty())
				assert.True(t, math.IsInf(tc.c.Dist(Pt(0, 0)), 1))
				return
			}
			b := tc.c.Bounds()
			assert.InDelta(t, 0, b.Min.Dist(tc.box.Min)+b.Max.Dist(tc.box.Max), 1e-9, "box %v", b)
			assert.Equal(t, tc.c, ContourOf(tc.c.Segs()))
			assert.Equal(t, 1, tc.c.Winding(b.Center()), "its middle is inside")
			assert.Equal(t, -1, tc.c.Reverse().Winding(b.Center()))
			assert.Equal(t, 0, tc.c.Winding(b.Max.Add(Pt(1, 1))))
		})
	}
}

// A point on the height of vertices, on lines through them, and on chords of
// arcs must be inside or outside like its neighbours.
func TestWindingNearVerticesAndChords(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		var c Contour
		for k := range 3 + r.Intn(6) { // corners on whole numbers around a centre
			p := Polar(Point{}, 8, 2*math.Pi*float64(k)/9)
			c = append(c, Vertex{Pt(math.Round(p.X), math.Round(p.Y)), float64(r.Intn(3)-1) * 0.5})
		}
		for range 40 {
			p := Pt(float64(r.Intn(24)-12), float64(r.Intn(24)-12))
			if r.Intn(2) == 0 { // on a chord
				s := c.Seg(r.Intn(len(c)))
				p = s.A.Lerp(s.B, float64(r.Intn(5))/4)
			}
			d := c.Dist(p)
			if d < 1e-6 {
				continue
			}
			w := c.Winding(p)
			for range 4 {
				q := p.Add(Pt(d*(r.Float64()-0.5), d*(r.Float64()-0.5)))
				require.Equal(t, w, c.Winding(q), "%v and %v beside %#v", p, q, c)
			}
		}
	})
}

func TestBoxes(t *testing.T) {
	a := Box{Pt(0, 0), Pt(4, 3)}
	assert.True(t, EmptyBox().Empty())
	assert.Equal(t, a, EmptyBox().Union(a))
	assert.Equal(t, a, a.Union(EmptyBox()))
	assert.Equal(t, Pt(4, 3), a.Size())
	assert.Equal(t, Pt(2, 1.5), a.Center())
	assert.Equal(t, Box{Pt(-1, -1), Pt(5, 4)}, a.Grow(1))
	assert.True(t, a.Overlaps(Box{Pt(4, 3), Pt(9, 9)}), "boxes are closed")
	assert.False(t, a.Overlaps(Box{Pt(4.1, 0), Pt(9, 9)}))
	assert.Equal(t, 5.0, a.Dist(Pt(7, 7)))
	assert.Equal(t, 0.0, a.Dist(Pt(1, 1)))
	assert.False(t, Pt(math.NaN(), 0).Finite())
}
