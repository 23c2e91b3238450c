package shop_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
)

func TestEdgesAlongAndAcrossTheFibreAreNotBad(t *testing.T) {
	assert.Empty(t, shop.FibreBad(geom.Rect(0, 0, 40, 20), 0))
	assert.Empty(t, shop.FibreBad(geom.Rect(0, 0, 40, 20), math.Pi/2))
	assert.Empty(t, shop.JudgeFibre(geom.Region{Outer: geom.Rect(0, 0, 40, 20)}, 0))
}

// Kept material on the left, the tooth runs along the edge: an edge at +30° over
// fibres at 0° meets them at 30°, with the grain; one at +120° against it. Closed
// form.
func TestARhombHasOnePairOfBadEdges(t *testing.T) {
	c := geom.Polygon(geom.Pt(0, 0), geom.Pt(10, 0), geom.Pt(10+10*math.Cos(2*math.Pi/3), 10*math.Sin(2*math.Pi/3)),
		geom.Pt(10*math.Cos(2*math.Pi/3), 10*math.Sin(2*math.Pi/3)))
	all := shop.FibreAngles(c, 0)
	require.Len(t, all, 4)
	for i, want := range []float64{0, 120, 0, 120} {
		assert.InDelta(t, want, all[i].Start/deg, 1e-6, "edge %d, degrees", i)
	}
	bad := shop.FibreBad(c, 0)
	require.Len(t, bad, 2)
	assert.Equal(t, []int{1, 3}, []int{bad[0].Edge, bad[1].Edge})
	mirrored := c.Transform(geom.Rigid{Mirror: true})
	for _, s := range shop.FibreAngles(mirrored, 0) {
		assert.False(t, s.Start/deg > 91, "the mirrored rhomb is cut with the fibre")
	}
}

func TestACircleIsBadOverHalfOfIt(t *testing.T) {
	// Two quarters of the turn, less the margin of half a degree at four ends.
	c := geom.Circle(geom.Pt(3, 4), 10)
	sum := 0.0
	for _, s := range shop.FibreBad(c, 0.3) {
		sum += s.Length
		assert.InDelta(t, 89*deg, math.Abs(s.End-s.Start), 1e-6+89*deg, "never more than the range")
	}
	assert.InDelta(t, 10*2*89*deg, sum, 1e-6, "mm")
	h := shop.FibreHistogram(c, 0.3, 12)
	for _, v := range h {
		assert.InDelta(t, c.Length()/12, v, 1e-6, "an even turn fills the classes evenly")
	}
	assert.Nil(t, shop.FibreHistogram(c, 0, 0))
	assert.Nil(t, shop.FibreHistogram(c, 0, 361))
}

func TestTheWarningNamesTheLengthAndThePlaces(t *testing.T) {
	r := geom.Region{Outer: geom.Circle(geom.Pt(0, 0), 10), Holes: []geom.Contour{geom.Circle(geom.Pt(0, 0), 2).Reverse()}}
	l := shop.JudgeFibre(r, 0)
	require.Len(t, l, 1)
	assert.Equal(t, "fibre-against", l[0].Code)
	assert.Len(t, l[0].At, 3)
	assert.InDelta(t, 12*2*89*deg, *l[0].Value, 1e-6, "mm")
}

func genContour(t *rapid.T) geom.Contour {
	n := rapid.IntRange(2, 8).Draw(t, "corners")
	c := make(geom.Contour, n)
	for i := range c {
		c[i].X = rapid.Float64Range(-100, 100).Draw(t, "x")
		c[i].Y = rapid.Float64Range(-100, 100).Draw(t, "y")
		c[i].Bulge = rapid.Float64Range(-3, 3).Draw(t, "bulge")
	}
	return c
}

func TestFibreStretchesCoverTheContourAndTurnWithIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, fibre := genContour(t), rapid.Float64Range(-10, 10).Draw(t, "fibre")
		sum := 0.0
		for _, s := range shop.FibreAngles(c, fibre) {
			sum += s.Length
			for _, a := range []float64{s.Start, s.End} {
				if a < -1e-6 || a > math.Pi+1e-6 {
					t.Fatalf("angle %v outside 0 to π", a)
				}
			}
		}
		if math.Abs(sum-c.Length()) > 1e-6*(1+c.Length()) {
			t.Fatalf("stretches add to %v, the contour is %v", sum, c.Length())
		}
		h, hs := shop.FibreHistogram(c, fibre, 18), 0.0
		for _, v := range h {
			hs += v
		}
		if math.Abs(hs-sum) > 1e-6*(1+sum) {
			t.Fatalf("histogram adds to %v of %v", hs, sum)
		}
		// A plain slow count of small pieces agrees with the exact division.
		bad, slow := 0.0, 0.0
		for _, s := range shop.FibreBad(c, fibre) {
			bad += s.Length
		}
		const pieces = 400
		for _, s := range c.Segs() {
			for k := range pieces {
				p, q := s.At(float64(k)/pieces), s.At(float64(k+1)/pieces)
				a := math.Mod(math.Atan2(q.Y-p.Y, q.X-p.X)-fibre, math.Pi)
				if a < 0 {
					a += math.Pi
				}
				if a > shop.FibreBadFrom+shop.FibreMargin && a < shop.FibreBadTo-shop.FibreMargin {
					slow += s.Length() / pieces
				}
			}
		}
		if math.Abs(bad-slow) > 0.02*c.Length()+1e-6 {
			t.Fatalf("bad %v, counted %v of %v", bad, slow, c.Length())
		}
	})
}

// A part with edges at 30°, 120° (rhomb): the report holds what the parts of it
// say; as a hole the other side of each edge stays, and the angles turn by half.
func TestAReportAddsUpTheEdges(t *testing.T) {
	c := geom.Polygon(geom.Pt(0, 0), geom.Pt(10, 0), geom.Pt(10+8*math.Cos(2*math.Pi/3), 8*math.Sin(2*math.Pi/3)),
		geom.Pt(8*math.Cos(2*math.Pi/3), 8*math.Sin(2*math.Pi/3)))
	g := geom.Region{Outer: c, Holes: []geom.Contour{geom.Circle(geom.Pt(3, 3), 0.5).Reverse()}}
	r := shop.ReportFibre(g, 0, false)
	ring := math.Pi
	assert.InDelta(t, 36+ring, r.Length, 1e-9, "mm")
	assert.InDelta(t, 16+ring*89/180*1, r.Against, 1e-6, "two sides of 8 mm at 120°, and half of the ring less half a degree at four ends")
	assert.InDelta(t, 20+ring/12, r.Histogram[0], 1e-6, "along the fibre, mm")
	assert.InDelta(t, 16+ring/12, r.Histogram[8], 1e-6, "120 to 135°, mm")
	sum := 0.0
	for _, v := range r.Histogram {
		sum += v
	}
	assert.InDelta(t, r.Length, sum, 1e-9)
	require.NotEmpty(t, r.Bad)
	assert.InDelta(t, 8, r.Bad[0].Length, 1e-9, "the longest first")
	hole := shop.ReportFibre(geom.Region{Outer: c}, 0, true)
	assert.InDelta(t, 16, hole.Against, 1e-9, "a straight edge meets the fibre at the same angle from either side")
	both := r.Add(hole)
	assert.InDelta(t, r.Length+36, both.Length, 1e-9)
	assert.InDelta(t, r.Against+16, both.Against, 1e-9)
	assert.LessOrEqual(t, len(both.Bad), 6)
	assert.Len(t, r.Add(both).Bad, 6)
}
