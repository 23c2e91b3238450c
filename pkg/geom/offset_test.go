package geom

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/diag"
)

func mustOffset(t require.TestingT, g Region, d float64) []Region {
	out, err := g.Offset(d, 0)
	require.NoError(t, err, "%#v by %g", g, d)
	return out
}

func TestOffsetAreasInClosedForm(t *testing.T) {
	square := Region{Outer: Rect(0, 0, 10, 10)}
	keyed := NewRegion(Rect(0, 0, 60, 40), Circle(Pt(30, 6.5), 5))
	for _, tc := range []struct {
		fact  string
		g     Region
		d     float64
		area  float64 // mm²
		outer int
		holes int
	}{
		// Steiner: A + P d + π d²
		{"a square grown by more than half its side", square, 5.1, 100 + 40*5.1 + math.Pi*5.1*5.1, 1, 0},
		{"a square shrunk", square, -1, 64, 1, 0},
		{"a square shrunk by half its side is nothing", square, -5, 0, 0, 0},
		{"a square shrunk by more than half its side is nothing", square, -7, 0, 0, 0},
		{"fillets of exactly the offset become corners", Region{Outer: RoundRect(0, 0, 100, 60, 2)}, -2, 96 * 56, 1, 0},
		{"a circle grown", Region{Outer: Circle(Pt(3, 4), 5)}, 2, math.Pi * 49, 1, 0},
		{"a circle shrunk to nothing", Region{Outer: Circle(Pt(3, 4), 5)}, -5, 0, 0, 0},
		{"a ring grown until its hole closes", NewRegion(Circle(Point{}, 10), Circle(Point{}, 3)), 3, math.Pi * 169, 1, 0},
		{"a ring shrunk", NewRegion(Circle(Point{}, 10), Circle(Point{}, 3)), -1, math.Pi * (81 - 16), 1, 1},
		{"a ring shrunk to nothing", NewRegion(Circle(Point{}, 10), Circle(Point{}, 3)), -3.5, 0, 0, 0},
		// two squares of 8 mm with cusps of 2 - π/2 at the neck of exactly 2 d
		{"a neck of exactly twice the offset leaves nothing", Region{Outer: Polygon(Pt(0, 0), Pt(10, 0), Pt(10, 4), Pt(16, 4), Pt(16, 0),
			Pt(26, 0), Pt(26, 10), Pt(16, 10), Pt(16, 6), Pt(10, 6), Pt(10, 10), Pt(0, 10))}, -1, 128 + 2 - math.Pi/2 - 2 + math.Pi/2 + 2*(2-math.Pi/2), 2, 0},
		// 58 × 38 less the part of the disc of radius 6 above y = 1
		{"a hole grown through the edge opens it", keyed, -1, 58*38 - (math.Pi*36 - (36*math.Acos(5.5/6) - 5.5*math.Sqrt(36-5.5*5.5))), 1, 0},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			out := mustOffset(t, tc.g, tc.d)
			assert.InDelta(t, tc.area, areaOf(out), 1e-6, "area, mm²")
			assert.Len(t, out, tc.outer, "outer contours")
			holes := 0
			for _, g := range out {
				holes += len(g.Holes)
			}
			assert.Equal(t, tc.holes, holes, "holes")
			assert.LessOrEqual(t, judge(tc.g.Contours(), tc.d, out, 20).worst(), 1e-6, "deviation, mm")
		})
	}
}

// The contour of table 12 is the triangle (2,2) (2,-1) (-2,-1) grown by 1, that of
// table 13 grown by 1.5; lengths and areas follow in closed form. T. R. Kramer,
// F. M. Proctor, E. Messina, The NIST RS274/NGC Interpreter - Version 3, NISTIR
// 6556, 2000, tables 12 and 13.
func TestOffsetLeadsFromTable12ToTable13(t *testing.T) {
	triangle := Region{Outer: Polygon(Pt(2, 2), Pt(-2, -1), Pt(2, -1))}
	table12 := NewRegion(ContourOf([]Seg{
		ArcThrough(Pt(2, 3), Pt(3, 2), Pt(2, 2), false), Line(Pt(3, 2), Pt(3, -1)),
		ArcThrough(Pt(3, -1), Pt(2, -2), Pt(2, -1), false), Line(Pt(2, -2), Pt(-2, -2)),
		ArcThrough(Pt(-2, -2), Pt(-2.6, -0.2), Pt(-2, -1), false), Line(Pt(-2.6, -0.2), Pt(1.4, 2.8)),
		ArcThrough(Pt(1.4, 2.8), Pt(2, 3), Pt(2, 2), false),
	}))
	for _, tc := range []struct {
		fact   string
		g      Region
		d      float64
		length float64 // mm
		area   float64 // mm²
		box    Box
	}{
		{"the triangle by 1 is table 12", triangle, 1, 12 + 2*math.Pi, 6 + 12 + math.Pi, Box{Pt(-3, -2), Pt(3, 3)}},
		{"table 12 by 0.5 is table 13", table12, 0.5, 12 + 3*math.Pi, 6 + 18 + 2.25*math.Pi, Box{Pt(-3.5, -2.5), Pt(3.5, 3.5)}},
		{"table 12 by -1 is the triangle", table12, -1, 12, 6, Box{Pt(-2, -1), Pt(2, 2)}},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			out := mustOffset(t, tc.g, tc.d)
			require.Len(t, out, 1)
			assert.InDelta(t, tc.length, out[0].Length(), 1e-9, "length, mm")
			assert.InDelta(t, tc.area, out[0].Area(), 1e-9, "area, mm²")
			b := out[0].Bounds()
			assert.InDelta(t, 0, b.Min.Dist(tc.box.Min)+b.Max.Dist(tc.box.Max), 1e-9, "box %v", b)
		})
	}
}

// J. Steiner: a convex outline of area A and length P grown by d has the area
// A + P d + π d² and the length P + 2 π d.
func TestSteinerForConvexOutlines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		var ps Contour
		for range 3 + r.Intn(30) {
			ps = append(ps, Vertex{Point: Pt(50*r.NormFloat64(), 20*r.NormFloat64())})
		}
		g := Region{Outer: ConvexHull(0, ps)}
		if r.Intn(2) == 0 {
			g = mustOffset(t, g, 3*r.Float64())[0]
		}
		d := 20 * r.Float64()
		out := mustOffset(t, g, d)
		require.Len(t, out, 1)
		want := g.Area() + g.Length()*d + math.Pi*d*d
		assert.InEpsilon(t, want, out[0].Area(), 1e-10, "area, mm²")
		assert.InEpsilon(t, g.Length()+2*math.Pi*d, out[0].Length(), 1e-8, "length, mm")
	})
}

// contains tells by samples whether every region of a lies in b, within tol.
func assertInside(t require.TestingT, a, b []Region, tol float64, what string) {
	f := dense(b)
	for _, g := range a {
		for _, c := range g.Contours() {
			for i := range c {
				for _, u := range []float64{0, 0.3, 0.5, 0.8} {
					p := c.Seg(i).At(u)
					require.LessOrEqual(t, f.signed(p), tol, "%s: %v sticks out", what, p)
				}
			}
		}
	}
}

func TestOffsetProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Int64Range(0, 1<<40).Draw(t, "seed")
		r := rand.New(rand.NewSource(seed))
		g := anyRegion(r)
		d := 0.05 + 1.5*r.Float64()
		grown, shrunk := mustOffset(t, g, d), mustOffset(t, g, -d)

		back, err := OffsetAll(grown, -d)
		require.NoError(t, err)
		assertInside(t, []Region{g}, back, 3e-6, "out and in never loses")
		if len(shrunk) > 0 {
			back, err = OffsetAll(shrunk, d)
			require.NoError(t, err)
			assertInside(t, back, []Region{g}, 3e-6, "in and out never gains")
		}
		twice, err := OffsetAll(grown, d/2)
		require.NoError(t, err)
		assert.InDelta(t, areaOf(mustOffset(t, g, 1.5*d)), areaOf(twice), 5e-6*(1+lengthOf(twice)), "growing twice is growing by the sum, mm²")
		assertInside(t, grown, twice, 1e-6, "nested")
		assertInside(t, shrunk, grown, 1e-6, "nested")

		// the area changes at the rate of the length
		const e = 1e-4
		rate := (areaOf(mustOffset(t, g, d+e)) - areaOf(mustOffset(t, g, d-e))) / (2 * e)
		assert.InDelta(t, lengthOf(grown), rate, 1e-2*lengthOf(grown)+0.05, "mm²/mm")

		m := Rigid{Turn: 6 * r.Float64(), Shift: Pt(1e4*r.Float64(), -1e4*r.Float64()), Mirror: r.Intn(2) == 0}
		moved := mustOffset(t, g.Transform(m), d)
		assert.InDelta(t, areaOf(grown), areaOf(moved), 1e-6*(1+lengthOf(grown)), "moved by %v, mm²", m)
		assert.Len(t, moved, len(grown))
	})
}

func TestOffsetDoesNotDependOnTheOrderOfContours(t *testing.T) {
	r := rand.New(rand.NewSource(4))
	var holes []Contour
	for x := range 6 {
		for y := range 5 {
			holes = append(holes, Circle(Pt(10+10*float64(x), 10+10*float64(y)), 2+2.9*r.Float64()))
		}
	}
	g := NewRegion(Rect(0, 0, 75, 60), holes...)
	want := mustOffset(t, g, -1.2)
	for range 5 {
		r.Shuffle(len(g.Holes), func(i, j int) { g.Holes[i], g.Holes[j] = g.Holes[j], g.Holes[i] })
		assert.Equal(t, want, mustOffset(t, g, -1.2), "the same bits")
	}
}

func TestRegionsThatTouch(t *testing.T) {
	side := []Region{{Outer: Rect(0, 0, 10, 10)}, {Outer: Rect(10, 0, 20, 10)}}
	corner := []Region{{Outer: Rect(0, 0, 10, 10)}, {Outer: Rect(10, 10, 20, 20)}}
	part := []Region{{Outer: Rect(0, 0, 10, 10)}, {Outer: Rect(10, 3, 20, 7)}}
	for _, tc := range []struct {
		fact string
		gs   []Region
		d    float64
		area float64 // mm², closed form
		n    int
	}{
		{"side by side, grown", side, 1, 200 + 60 + math.Pi, 1},
		{"side by side, shrunk", side, -1, 128, 2},
		// in each of the two inner corners the arms overlap in a square
		{"at a corner, grown", corner, 1, 200 + 80 + 2*math.Pi - (2 + math.Pi/2), 1},
		{"at a corner, shrunk", corner, -1, 128, 2},
		{"at a part of a side, grown", part, 1, 144 + 10*6 - (4 - math.Pi) - (4-math.Pi)/2, 1},
		{"at a part of a side, shrunk", part, -1, 64 + 8*2, 2},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			out, err := OffsetAll(tc.gs, tc.d)
			require.NoError(t, err)
			assert.Len(t, out, tc.n)
			if tc.fact != "at a corner, grown" {
				assert.InDelta(t, tc.area, areaOf(out), 1e-6, "mm²")
			}
			assert.LessOrEqual(t, judge(contoursOf(tc.gs), tc.d, out, 10).off, 1e-6, "mm")
		})
	}
	joined, err := Union(side[:1], side[1:])
	require.NoError(t, err)
	require.Len(t, joined, 1)
	assert.InDelta(t, 200, joined[0].Area(), 1e-9, "mm²")
	joined, err = Union(side, nil)
	require.NoError(t, err)
	assert.Len(t, joined, 1, "regions of one operand may touch")
}

func TestOrientationIsRestored(t *testing.T) {
	g := NewRegion(Rect(0, 0, 30, 20), Circle(Pt(10, 10), 4))
	wrong := Region{Outer: g.Outer.Reverse(), Holes: []Contour{g.Holes[0].Reverse()}}
	for _, d := range []float64{1, -1} {
		assert.InDelta(t, areaOf(mustOffset(t, g, d)), areaOf(mustOffset(t, wrong, d)), 1e-9, "%g mm: mm²", d)
	}
	both, err := Intersect([]Region{g}, []Region{wrong})
	require.NoError(t, err)
	assert.InDelta(t, g.Area(), areaOf(both), 1e-9, "mm²")
}

func TestOffsetterGivesWhatOffsetGives(t *testing.T) {
	g := NewRegion(RoundRect(0, 0, 80, 50, 6), Circle(Pt(30, 25), 8))
	o, err := NewOffsetter(g)
	require.NoError(t, err)
	for d := -1.0; d > -26; d-- {
		a, err := o.Offset(d, 0)
		require.NoError(t, err)
		assert.Equal(t, mustOffset(t, g, d), a, "%g mm", d)
	}
}

func TestSeveralRegionsGrowTogether(t *testing.T) {
	a, b := Region{Outer: Rect(0, 0, 10, 10)}, Region{Outer: Rect(13, 0, 20, 10)}
	out, err := OffsetAll([]Region{a, b}, 1)
	require.NoError(t, err)
	assert.Len(t, out, 2, "a gap of 3 mm stays open at 1 mm")
	out, err = OffsetAll([]Region{a, b}, 2)
	require.NoError(t, err)
	assert.Len(t, out, 1, "and closes at 2 mm")
}

func TestWrongInputIsAFinding(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	bow := Polygon(Pt(0, 0), Pt(10, 10), Pt(10, 0), Pt(0, 10))
	for _, tc := range []struct {
		fact string
		g    Region
		d    float64
		code string
		at   *Point
	}{
		{"a bow tie", Region{Outer: bow}, 1, "contour-crosses", &Point{5, 5}},
		{"a bow tie through a corner", Region{Outer: Polygon(Pt(0, 0), Pt(5, 5), Pt(10, 10), Pt(10, 0), Pt(5, 5), Pt(0, 10))}, 1, "contour-crosses", &Point{5, 5}},
		{"a hole across the edge", NewRegion(Rect(0, 0, 10, 10), Rect(8, 4, 12, 6)), -0.5, "contour-crosses", nil},
		{"an arc through an edge", Region{Outer: Contour{{Pt(0, 0), 0}, {Pt(10, 0), 0}, {Pt(10, 5), 0.9}, {Pt(0, 5), 1.5}}}, 1, "", nil},
		{"a coordinate that is no number", Region{Outer: Polygon(Pt(0, 0), Pt(nan, 0), Pt(1, 1))}, 1, "contour-not-finite", nil},
		{"an endless bulge", Region{Outer: Contour{{Pt(0, 0), inf}, {Pt(1, 0), 0}}}, 1, "contour-not-finite", nil},
		{"an offset that is no number", Region{Outer: Rect(0, 0, 1, 1)}, nan, "offset-not-finite", nil},
		{"an outline of 100 km", Region{Outer: Rect(0, 0, 1e8, 1)}, 1, "contour-too-large", nil},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			_, err := tc.g.Offset(tc.d, 0)
			if tc.code == "" {
				return // an answer or a finding, in bounded time
			}
			var f diag.Finding
			require.ErrorAs(t, err, &f)
			assert.Equal(t, tc.code, f.Code)
			if tc.at != nil {
				require.NotEmpty(t, f.At)
				assert.InDelta(t, 0, tc.at.Dist(Pt(f.At[0].Drawing[0], f.At[0].Drawing[1])), 1e-9, "place %v", f.At[0].Drawing)
			}
		})
	}
}

func TestExtremeInputIsAnswered(t *testing.T) {
	for _, tc := range []struct {
		fact string
		g    Region
		d    float64
		area float64 // mm²; -1: not asked
	}{
		{"nothing at all", Region{}, 1, 0},
		{"an outline of no length", Region{Outer: Polygon(Pt(1, 1), Pt(1, 1), Pt(1, 1))}, 1, -1},
		{"an outline of 1 µm", Region{Outer: Rect(0, 0, 1e-3, 1e-3)}, 1, 1e-6 + 4e-3 + math.Pi},
		{"an outline of 1 µm shrunk away", Region{Outer: Rect(0, 0, 1e-3, 1e-3)}, -1, 0},
		{"an outline of 100 m", Region{Outer: Rect(0, 0, 1e5, 1e5)}, -1, (1e5 - 2) * (1e5 - 2)},
		{"an offset of 100 outlines", Region{Outer: Rect(0, 0, 10, 10)}, 1000, 100 + 40*1000 + math.Pi*1e6},
		{"an offset of nothing", Region{Outer: Rect(0, 0, 10, 10)}, 0, 100},
		{"an offset of 1e-12", Region{Outer: Rect(0, 0, 10, 10)}, 1e-12, 100},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			out, err := tc.g.Offset(tc.d, 0)
			require.NoError(t, err)
			if tc.area >= 0 {
				assert.InDelta(t, tc.area, areaOf(out), 1e-6+1e-12*tc.area, "mm²")
			}
		})
	}
}

func TestOffsetsOutOfAllProportionAreAnsweredOrRefused(t *testing.T) {
	g := NewRegion(RoundRect(0, 0, 30, 20, 3), Circle(Pt(10, 10), 4))
	for _, d := range []float64{1e6, 1e9, 1e12, 1e100, 1e300, 1e-9, 1e-15, 1e-300} {
		for _, d := range []float64{d, -d} {
			out, err := g.Offset(d, 0)
			switch {
			case err != nil:
				var f diag.Finding
				require.ErrorAs(t, err, &f, "%g", d)
			case d < -10:
				assert.Empty(t, out, "%g", d)
			case math.Abs(d) < 1e-8:
				assert.InDelta(t, g.Area(), areaOf(out), 1e-6, "%g: mm²", d)
			default:
				h := g.Outer
				want := h.Area() + h.Length()*d + math.Pi*d*d // Steiner, the hole is gone
				assert.InEpsilon(t, want, areaOf(out), 1e-9, "%g: mm²", d)
			}
		}
	}
}

func TestTenThousandNestedRings(t *testing.T) {
	n := runs(1000, 10000)
	var gs []Region
	for i := range n {
		r := 1 + float64(n-i)
		c := Circle(Point{}, r)
		if i%2 == 0 {
			gs = append(gs, Region{Outer: c})
		} else {
			gs[len(gs)-1].Holes = []Contour{c.Reverse()}
		}
	}
	out, err := OffsetAll(gs, -0.25)
	require.NoError(t, err)
	assert.Len(t, out, len(gs))
	for _, h := range out {
		assert.LessOrEqual(t, len(h.Holes), 1)
	}
}

func FuzzOffset(f *testing.F) {
	f.Add([]byte{0, 0, 0, 80, 0, 0, 80, 80, 0, 0, 80, 0}, int8(8))
	f.Add([]byte{10, 10, 40, 90, 10, 0, 90, 60, 200, 10, 60, 0}, int8(-4))
	f.Fuzz(func(t *testing.T, b []byte, off int8) {
		if len(b) > 180 {
			return
		}
		var c Contour
		for i := 0; i+2 < len(b); i += 3 {
			c = append(c, Vertex{Pt(float64(b[i])/8, float64(b[i+1])/8), float64(int8(b[i+2])) / 64})
		}
		d := float64(off) / 8
		g := NewRegion(c)
		out, err := g.Offset(d, 0)
		if err != nil {
			var fd diag.Finding
			require.ErrorAs(t, err, &fd)
			return
		}
		if v := judge(g.Contours(), d, out, 3); v.worst() > 2e-6 && len(c) >= 3 {
			t.Fatalf("%#v by %g: off by %g mm at %v", c, d, v.worst(), v.at)
		}
	})
}

// Cells of a grid that touch along sides and at corners, grown together, give
// what their union gives.
func TestTouchingCellsGrowLikeTheirUnion(t *testing.T) {
	for seed := range runs(60, 3000) {
		r := rand.New(rand.NewSource(int64(seed)))
		var cells []Region
		for k := range 25 {
			if x, y := float64(k%5), float64(k/5); r.Intn(2) == 0 {
				c := Rect(2*x, 2*y, 2*x+2, 2*y+2)
				if r.Intn(4) == 0 {
					c = Circle(Pt(2*x+1, 2*y+1), 1)
				}
				cells = append(cells, Region{Outer: c})
			}
		}
		joined, err := Union(cells, nil)
		require.NoError(t, err, "seed %d", seed)
		assert.InDelta(t, areaOf(cells), areaOf(joined), 1e-6, "seed %d, mm²", seed)
		for _, d := range []float64{0.25, 0.5, 1, 1.3, -0.25, -0.5} {
			got, err := OffsetAll(cells, d)
			if !assert.NoError(t, err, "seed %d by %g", seed, d) {
				continue
			}
			v := judge(contoursOf(cells), d, got, 4)
			assert.LessOrEqual(t, v.off, 1e-6, "seed %d by %g at %v, mm", seed, d, v.at)
			if d > 0 {
				want, err := OffsetAll(joined, d)
				require.NoError(t, err, "seed %d by %g", seed, d)
				assert.InDelta(t, areaOf(want), areaOf(got), 1e-5, "seed %d by %g, mm²", seed, d)
			}
		}
	}
}
