package geom

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
)

func codes(l diag.List) []string {
	var out []string
	for _, f := range l {
		out = append(out, f.Code)
	}
	return out
}

func TestCleaning(t *testing.T) {
	for _, tc := range []struct {
		fact  string
		c     Contour
		verts int
		area  float64 // mm²
		codes []string
	}{
		{"a clean square", Rect(0, 0, 10, 10), 4, 100, nil},
		{"a clean circle", Circle(Point{}, 5), 2, 25 * math.Pi, nil},
		{"repeated vertices", Polygon(Pt(0, 0), Pt(0, 0), Pt(10, 0), Pt(10, 10), Pt(10, 10+5e-7), Pt(0, 10), Pt(0, 0)), 4, 100, []string{"vertices-repeated"}},
		{"vertices 2e-6 apart stay", Polygon(Pt(0, 0), Pt(10, 0), Pt(10, 2e-6), Pt(10, 10), Pt(0, 10)), 5, 100, nil},
		{"a backtrack", Polygon(Pt(0, 0), Pt(15, 0), Pt(10, 0), Pt(10, 10), Pt(0, 10)), 4, 100, []string{"needle-removed"}},
		{"a needle", Polygon(Pt(0, 0), Pt(10, 0), Pt(10, 5), Pt(16, 5), Pt(10, 5), Pt(10, 10), Pt(0, 10)), 5, 100, []string{"needle-removed"}},
		{"a needle across the seam", Polygon(Pt(16, 5), Pt(10, 5), Pt(10, 10), Pt(0, 10), Pt(0, 0), Pt(10, 0), Pt(10, 5)), 5, 100, []string{"needle-removed"}},
		{"a needle with vertices on its way", Polygon(Pt(0, 0), Pt(10, 0), Pt(10, 5), Pt(12, 5), Pt(16, 5), Pt(13, 5), Pt(10, 5), Pt(10, 10), Pt(0, 10)), 5, 100, []string{"needle-removed"}},
		{"there and back is nothing", Polygon(Pt(0, 0), Pt(10, 0)), 0, 0, []string{"contour-empty"}},
		{"nothing", nil, 0, 0, []string{"contour-empty"}},
		{"a bow tie", Polygon(Pt(0, 0), Pt(10, 10), Pt(10, 0), Pt(0, 12)), 4, 10, []string{"contour-crosses"}},
		{"no number", Polygon(Pt(0, 0), Pt(math.NaN(), 10), Pt(10, 0)), 0, 0, []string{"contour-not-finite"}},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			out, l := Clean(tc.c)
			assert.Equal(t, tc.codes, codes(l))
			assert.Len(t, out, tc.verts)
			assert.InDelta(t, tc.area, out.Area(), 1e-4, "mm²")
			again, l := Clean(out)
			if tc.verts > 0 && tc.codes == nil {
				assert.Equal(t, out, again, "clean stays clean")
				assert.Empty(t, l)
			}
		})
	}
	_, l := Clean(Polygon(Pt(0, 0), Pt(10, 0), Pt(10, 5), Pt(12, 5), Pt(16, 5), Pt(13, 5), Pt(10, 5), Pt(10, 10), Pt(0, 10)))
	require.Len(t, l, 1)
	assert.InDelta(t, 6, *l[0].Value, 1e-9, "length of the needle, mm")
}

func TestNestingToAnyDepth(t *testing.T) {
	ring := func(r float64) Contour { return Circle(Pt(50, 50), r) }
	cs := []Contour{ring(5), ring(40).Reverse(), ring(30), Rect(0, 0, 100, 100), Rect(2, 2, 4, 4), ring(20), Rect(200, 0, 210, 10).Reverse()}
	regions, l := Nest(cs)
	require.Empty(t, l)
	// plate with a hole of 40 and a square hole; ring of 30 with a hole of 20 and
	// in it a disc of 5; a block beside
	require.Len(t, regions, 4)
	want := []struct {
		area  float64
		holes int
	}{{25 * math.Pi, 0}, {math.Pi * (900 - 400), 1}, {10000 - 1600*math.Pi - 4, 2}, {100, 0}}
	for i, g := range regions {
		assert.InDelta(t, want[i].area, g.Area(), 1e-9, "region %d, mm²", i)
		assert.Len(t, g.Holes, want[i].holes, "region %d", i)
		assert.Positive(t, g.Outer.Area())
		for _, h := range g.Holes {
			assert.Negative(t, h.Area())
		}
	}
}

func TestNestingFindings(t *testing.T) {
	regions, l := Nest([]Contour{Rect(0, 0, 10, 10), Rect(0, 0, 10, 10), Rect(2, 2, 4, 4)})
	assert.Equal(t, []string{"contour-twice"}, codes(l))
	require.Len(t, regions, 1)
	assert.InDelta(t, 96, regions[0].Area(), 1e-9, "mm²")

	_, l = Nest([]Contour{Rect(0, 0, 10, 10), Rect(5, 5, 15, 15)})
	assert.Equal(t, []string{"contour-crosses", "contour-crosses"}, codes(l))

	regions, l = Nest([]Contour{Rect(0, 0, 10, 10), Rect(10, 0, 20, 10), Rect(3, 0, 6, 2)})
	assert.Empty(t, l, "contours that touch do not cross")
	require.Len(t, regions, 2)
	assert.InDelta(t, 94, regions[0].Area(), 1e-9, "a notch that touches the edge is a hole, mm²")

	var tangle []Contour // circles that hold each other in a ring, as a fuzzed array drew them
	for _, x := range []float64{0, 0.002, 0.003, 0.004, 0.006, 0.007} {
		tangle = append(tangle, Circle(Pt(x, 0), 1), Circle(Pt(x, 0.001), 1))
	}
	regions, l = Nest(tangle)
	n := strings.Count(strings.Join(codes(l), " "), "contour-twice")
	for _, g := range regions {
		n += 1 + len(g.Holes)
	}
	assert.Contains(t, codes(l), "contour-crosses")
	assert.Equal(t, len(tangle), n, "none of the contours is lost")

	regions, l = Nest([]Contour{nil, Polygon(Pt(0, 0), Pt(1, 1)), Rect(0, 0, 1, 1)})
	assert.Equal(t, []string{"contour-empty", "contour-empty"}, codes(l))
	assert.Len(t, regions, 1)
}
