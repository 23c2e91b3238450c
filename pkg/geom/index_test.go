package geom

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// randomSeg is a line or an arc of up to nearly a full turn.
func randomSeg(r *rand.Rand) Seg {
	s := Seg{A: Pt(10*r.Float64(), 10*r.Float64()), B: Pt(10*r.Float64(), 10*r.Float64())}
	switch r.Intn(5) {
	case 0, 1:
		s.Bulge = 2 * (r.Float64() - 0.5)
	case 2:
		s.Bulge = 6 * (r.Float64() - 0.5)
	case 3: // flat
		s.Bulge = 1e-7 * (r.Float64() - 0.5)
	}
	return s
}

func TestIndexAgreesWithAPlainLoop(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		var segs []Seg
		for range r.Intn(60) {
			segs = append(segs, randomSeg(r))
		}
		x := NewSegIndex(segs...)
		require.Equal(t, len(segs), x.Len())
		for range 20 {
			p := Pt(14*r.Float64()-2, 14*r.Float64()-2)
			want := math.Inf(1)
			for _, s := range segs {
				want = math.Min(want, s.Dist(p))
			}
			if len(segs) == 0 {
				assert.Equal(t, want, x.Dist(p))
				continue
			}
			assert.InDelta(t, want, x.Dist(p), 1e-9, "distance of %v, mm", p)
			q, i, d := x.Nearest(p)
			assert.InDelta(t, want, d, 1e-9)
			assert.InDelta(t, want, q.Dist(p), 1e-9, "nearest point")
			assert.Equal(t, segs[i], x.Seg(i))
			assert.InDelta(t, 0, x.Seg(i).Dist(q), 1e-9, "nearest point lies on its segment")
			assert.InDelta(t, math.Min(want, 1), x.DistWithin(p, 1), 1e-9)

			b := Box{p, p}.Grow(2 * r.Float64())
			seen := map[int]int{}
			x.Each(b, func(i int) bool { seen[i]++; return true })
			for i, s := range segs {
				assert.LessOrEqual(t, seen[i], 1, "segment %d", i)
				for k := range 101 {
					if b.Contains(s.At(float64(k) / 100)) {
						assert.Equal(t, 1, seen[i], "segment %d in %v", i, b)
						break
					}
				}
			}
		}
		s := randomSeg(r)
		want := math.Inf(1)
		for _, o := range segs {
			want = math.Min(want, o.DistSeg(s))
		}
		assert.Equal(t, want, x.DistSeg(s), "distance between segments, mm")
	})
}

func TestSegmentsLieInTheirBounds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		s := randomSeg(r)
		if r.Intn(3) == 0 { // half turns and quarter turns along the axes
			a := float64(r.Intn(8)) * math.Pi / 4
			s = Seg{Polar(Point{}, 5, a), Polar(Point{}, 5, a+math.Pi/2*float64(1+r.Intn(2))), 0}
			s = ArcThrough(s.A, s.B, Point{}, r.Intn(2) == 0)
		}
		b, got := s.Bounds(), EmptyBox()
		for k := range 1001 {
			got = got.Extend(s.At(float64(k) / 1000))
		}
		tol := 1e-4 * (s.Length() + 1)
		require.InDelta(t, 0, b.Min.Dist(got.Min), tol, "%v", s)
		require.InDelta(t, 0, b.Max.Dist(got.Max), tol, "%v", s)
		g := b.Grow(1e-9)
		require.True(t, g.Contains(got.Min) && g.Contains(got.Max), "%v: %v holds %v", s, b, got)
	})
}

func TestWindingAgreesWithAPlainLoop(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		g := anyRegion(r)
		x := NewIndex(g.Contours()...)
		ps := []Point{}
		for range 30 {
			ps = append(ps, Pt(24*r.Float64()-12, 24*r.Float64()-12))
		}
		for _, c := range g.Contours() { // heights and places of vertices
			for _, v := range c {
				ps = append(ps, Pt(v.X-5, v.Y), Pt(v.X+5, v.Y))
			}
		}
		for _, p := range ps {
			if g.Dist(p) > 1e-9 {
				assert.Equal(t, g.ContainsInterior(p), x.Winding(p) > 0, "%v", p)
				assert.InDelta(t, g.SignedDist(p), x.SignedDist(p), 1e-9, "mm")
			}
		}
	})
}

func TestDistancesBetweenSegments(t *testing.T) {
	half := Seg{Pt(5, 0), Pt(-5, 0), 1} // upper half circle about the origin
	for _, tc := range []struct {
		fact string
		a, b Seg
		want float64 // mm, closed form
	}{
		{"parallel lines", Line(Pt(0, 0), Pt(10, 0)), Line(Pt(5, 3), Pt(20, 3)), 3},
		{"lines that cross", Line(Pt(0, 0), Pt(10, 10)), Line(Pt(0, 10), Pt(10, 0)), 0},
		{"lines end to side", Line(Pt(0, 0), Pt(10, 0)), Line(Pt(4, 2), Pt(4, 9)), 2},
		{"one line after another", Line(Pt(0, 0), Pt(1, 0)), Line(Pt(4, 4), Pt(9, 4)), 5},
		{"a line above an arc", half, Line(Pt(-9, 7), Pt(9, 7)), 2},
		{"a line through an arc", half, Line(Pt(0, 0), Pt(0, 9)), 0},
		{"a line inside of an arc, its end nearest", half, Line(Pt(0, 0), Pt(0, 2)), 3},
		{"a line under the ends of an arc", half, Line(Pt(-9, -4), Pt(9, -4)), 4},
		{"concentric arcs", half, Seg{Pt(8, 0), Pt(-8, 0), 1}, 3},
		{"arcs that face each other", half, Seg{Pt(-5, 14), Pt(5, 14), 1}, 4},
		{"arcs back to back", half, Seg{Pt(-5, -3), Pt(5, -3), 1}, 3},
		{"a touch", half, Line(Pt(-9, 5), Pt(9, 5)), 0},
		{"an arc of more than half a turn", Seg{Pt(0, -5), Pt(0, 5), 1.5}, Line(Pt(0, 1), Pt(0, -1)), 4},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			assert.InDelta(t, tc.want, tc.a.DistSeg(tc.b), 1e-9, "mm")
			assert.InDelta(t, tc.want, tc.b.DistSeg(tc.a), 1e-9, "mm, the other way")
		})
	}
}

func TestDistancesBetweenSegmentsAgreeWithSamples(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		a, b := randomSeg(r), randomSeg(r)
		got := a.DistSeg(b)
		best, n := math.Inf(1), 4000
		for k := range n + 1 {
			best = math.Min(best, b.Dist(a.At(float64(k)/float64(n))))
		}
		require.LessOrEqual(t, got, best+1e-9, "%v and %v", a, b)
		require.GreaterOrEqual(t, got, best-a.Length()/float64(n), "%v and %v", a, b)
		if got == 0 {
			require.NotEmpty(t, a.Meet(b), "%v and %v", a, b)
		}
		for _, p := range a.Meet(b) {
			require.Less(t, a.Dist(p), 2e-9, "%v is on %v", p, a)
			require.Less(t, b.Dist(p), 2e-9, "%v is on %v", p, b)
		}
		require.Equal(t, len(a.Meet(b)), len(b.Meet(a)))
	})
}

func TestMeetings(t *testing.T) {
	half := Seg{Pt(5, 0), Pt(-5, 0), 1}
	for _, tc := range []struct {
		fact string
		a, b Seg
		want []Point
	}{
		{"lines that cross", Line(Pt(0, 0), Pt(10, 10)), Line(Pt(0, 10), Pt(10, 0)), []Point{{5, 5}}},
		{"lines that miss", Line(Pt(0, 0), Pt(10, 0)), Line(Pt(0, 1), Pt(10, 1)), nil},
		{"end on side", Line(Pt(0, 0), Pt(10, 0)), Line(Pt(5, 0), Pt(5, 5)), []Point{{5, 0}}},
		{"lines that overlap", Line(Pt(0, 0), Pt(10, 0)), Line(Pt(4, 0), Pt(20, 0)), []Point{{10, 0}, {4, 0}}},
		{"a line through a half circle", half, Line(Pt(-9, 3), Pt(9, 3)), []Point{{-4, 3}, {4, 3}}},
		{"a tangent", half, Line(Pt(-9, 5), Pt(9, 5)), []Point{{0, 5}}},
		{"arcs that cross", half, Seg{Pt(3, 4), Pt(11, 4), -1}, []Point{{3, 4}}},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			got := tc.a.Meet(tc.b)
			require.Len(t, got, len(tc.want), "%v", got)
			for _, w := range tc.want {
				near := math.Inf(1)
				for _, p := range got {
					near = math.Min(near, p.Dist(w))
				}
				assert.Less(t, near, 1e-9, "%v among %v", w, got)
			}
		})
	}
}

func TestDistancesBetweenRegions(t *testing.T) {
	ring := NewRegion(Circle(Point{}, 20), Circle(Point{}, 10))
	for _, tc := range []struct {
		fact string
		a, b Region
		want float64 // mm, closed form
	}{
		{"two plates", Region{Outer: Rect(0, 0, 10, 10)}, Region{Outer: Rect(13, 14, 20, 20)}, 5},
		{"a disc in a ring", ring, Region{Outer: Circle(Pt(2, 0), 3)}, 5},
		{"a disc in the material", ring, Region{Outer: Circle(Pt(15, 0), 1)}, 0},
		{"a disc across the edge", ring, Region{Outer: Circle(Pt(20, 0), 1)}, 0},
		{"a plate and itself", ring, ring, 0},
		{"nothing", ring, Region{}, math.Inf(1)},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			if math.IsInf(tc.want, 1) {
				assert.Equal(t, tc.want, tc.a.DistRegion(tc.b))
				return
			}
			assert.InDelta(t, tc.want, tc.a.DistRegion(tc.b), 1e-9, "mm")
			assert.InDelta(t, tc.want, tc.b.DistRegion(tc.a), 1e-9, "mm, the other way")
		})
	}
}
