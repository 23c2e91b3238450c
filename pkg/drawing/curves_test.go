package drawing

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/geom"
)

// deviation returns how far the segments stray from the curve and the curve
// from the segments, looked at densely: the plain, slow judge.
func deviation(c smooth, t0, t1 float64, segs []geom.Seg, n int) float64 {
	worst := 0.0
	pts := make([]geom.Point, n+1)
	x := geom.NewSegIndex(segs...)
	for i := range pts {
		pts[i], _ = c.at(t0 + (t1-t0)*float64(i)/float64(n))
		worst = math.Max(worst, x.Dist(pts[i]))
	}
	lines := make([]geom.Seg, n)
	for i := range lines {
		lines[i] = geom.Line(pts[i], pts[i+1])
	}
	y := geom.NewSegIndex(lines...)
	for _, s := range segs {
		for k := 0; k <= 8; k++ {
			worst = math.Max(worst, y.Dist(s.At(float64(k)/8)))
		}
	}
	return worst
}

// kink returns the largest turn between one segment and the next, rad.
func kink(segs []geom.Seg) float64 {
	worst := 0.0
	for i := 1; i < len(segs); i++ {
		a, b := segs[i-1].TangentB(), segs[i].TangentA()
		worst = math.Max(worst, math.Abs(math.Atan2(a.Cross(b), a.Dot(b))))
	}
	return worst
}

// The NURBS Book, 2nd edition, example 4.1, page 122, and the same curve
// evaluated at other parameters (closed form).
func TestRationalCurveHasThePointsOfTheNURBSBook(t *testing.T) {
	c := nurbs{2, []float64{0, 0, 0, 1, 2, 3, 3, 3},
		[]geom.Point{{X: 0, Y: 0}, {X: 1, Y: 1}, {X: 3, Y: 2}, {X: 4, Y: 1}, {X: 5, Y: -1}}, []float64{1, 4, 1, 1, 1}}
	for _, tc := range []struct {
		u    float64
		want geom.Point
	}{
		{1, geom.Pt(7.0/5, 6.0/5)},
		{0.5, geom.Pt(1, 22.0/23)},
		{1.5, geom.Pt(2.363636364, 1.545454545)},
		{2.5, geom.Pt(4.125, 0.625)},
		{3, geom.Pt(5, -1)},
	} {
		got, _ := c.at(tc.u)
		assert.InDelta(t, 0, got.Dist(tc.want), 1e-9, "C(%g) = %v, want %v", tc.u, got, tc.want)
	}
}

// The NURBS Book, example 4.2: quarter circle of weights 1, 1, 2: C'(0) = (0, 2).
func TestRationalDerivativeIsThatOfTheNURBSBook(t *testing.T) {
	c := nurbs{2, []float64{0, 0, 0, 1, 1, 1}, []geom.Point{{X: 1}, {X: 1, Y: 1}, {Y: 1}}, []float64{1, 1, 2}}
	_, d := c.at(0)
	assert.InDelta(t, 0, d.Dist(geom.Pt(0, 2)), 1e-12, "got %v", d)
	for u := 0.0; u <= 1; u += 0.125 {
		p, _ := c.at(u)
		assert.InDelta(t, 1, p.Len(), 1e-14, "on the unit circle at %g", u)
	}
}

func TestAnEllipseBecomesFewArcsWithinTolerance(t *testing.T) {
	for _, tc := range []struct {
		a, b, length float64 // mm; lengths by the arithmetic-geometric mean (closed form)
	}{
		{1, 0.5, 4.844224110273838}, {2, 1, 9.688448220547675}, {3, 2, 15.86543958929059},
		{5, 3, 25.526998863398127}, {10, 1, 40.639741801008945}, {200, 100, 968.8448220547675},
	} {
		e := ellipseCurve{u: geom.Pt(tc.a, 0), v: geom.Pt(0, tc.b)}
		segs := e.segments(0, 2*math.Pi, 0.002)
		got := 0.0
		for _, s := range segs {
			got += s.Length()
		}
		assert.InDelta(t, tc.length, got, 0.004, "mm around %g × %g", tc.a, tc.b)
		assert.LessOrEqual(t, deviation(e, 0, 2*math.Pi, segs, 20000), 0.002, "mm off %g × %g", tc.a, tc.b)
		assert.Less(t, kink(segs), 1e-6, "rad between arcs of %g × %g", tc.a, tc.b)
		chords := chordsFor(e, 0.002)
		t.Logf("ellipse %g × %g: %d arcs, %d chords of the same tolerance", tc.a, tc.b, len(segs), chords)
		assert.Less(t, len(segs), chords*3/4, "arcs of %g × %g", tc.a, tc.b)
	}
}

// What look shows is what counting finds: arcs against lines of the same tolerance.
func TestArcsAreCountedAgainstThePolylineOfTheSameTolerance(t *testing.T) {
	d, found := readText(dxfOf("0 ELLIPSE 8 A 10 0 20 0 11 50 21 0 40 0.4", "0 LINE 8 A 10 0 20 0 11 1 21 0",
		"0 SPLINE 8 A 71 1 40 0 40 0 40 1 40 2 40 2 10 0 20 0 10 5 20 9 10 9 20 0"), Options{})
	require.False(t, found.Blocks(), "%v", found)
	chords := chordsFor(ellipseCurve{u: geom.Pt(50, 0), v: geom.Pt(0, 20)}, 0.002)
	assert.Equal(t, 1, d.Curves.Curves, "a spline of degree 1 is lines")
	assert.InEpsilon(t, chords, d.Curves.Lines, 0.03)
	assert.Less(t, d.Curves.Arcs, chords/3)
	assert.InDelta(t, 0.002, d.Curves.Tol, 0, "mm")
	d, _ = readText(dxfOf("0 CIRCLE 8 A 10 0 20 0 40 5"), Options{CurveTol: 0.01})
	assert.Equal(t, CurveReport{Tol: 0.01}, d.Curves)
}

// chordsFor counts the chords that stay within tol of the ellipse: each step as
// long as its sagitta lets it, from the curvature at its middle.
func chordsFor(e ellipseCurve, tol float64) int {
	n := 0
	for t := 0.0; t < 2*math.Pi; n++ {
		h := 0.5
		for {
			p, _ := e.at(t)
			q, _ := e.at(t + h)
			m, _ := e.at(t + h/2)
			if geom.Line(p, q).Dist(m) <= tol {
				break
			}
			h *= 0.98
		}
		t += h
	}
	return n
}

// The greatest distance of an equal-tangent biarc from a curve on a span of
// length h goes to |k'| h³/324 (D. S. Meek, D. J. Walton, Journal of
// Computational and Applied Mathematics 59 (1995) 221-231). On the cubic
// (x, x³/6), whose curvature grows by 1 per mm at 0, halving the span cuts the
// error by 8 and the factor comes out.
func TestTheErrorOfABiarcGoesToThePublishedBound(t *testing.T) {
	e := cubicCurve{}
	last := 0.0
	for i, h := range []float64{0.4, 0.2, 0.1, 0.05} { // mm
		t0, t1 := -h/2, h/2
		p, dp := e.at(t0)
		q, dq := e.at(t1)
		one, two, ok := biarc(p, dp.Unit(), q, dq.Unit())
		require.True(t, ok)
		err := stray(e, t0, t1, one, two, 4000)
		assert.InDelta(t, 324, h*h*h/err, 3, "factor at h = %g mm", h)
		if i > 0 {
			assert.InDelta(t, 8, last/err, 0.1, "error from h = %g mm to half of it", 2*h)
		}
		last = err
	}
}

type cubicCurve struct{}

func (cubicCurve) at(t float64) (geom.Point, geom.Point) {
	return geom.Pt(t, t*t*t/6), geom.Pt(1, t*t/2)
}

func TestAnySplineStaysWithinTolerance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		degree := rapid.IntRange(2, 5).Draw(t, "degree")
		n := rapid.IntRange(degree+1, degree+8).Draw(t, "points")
		c := nurbs{degree: degree}
		for range n {
			c.control = append(c.control, geom.Pt(rapid.Float64Range(-100, 100).Draw(t, "x"), rapid.Float64Range(-100, 100).Draw(t, "y")))
		}
		k := 0.0
		for i := range n + degree + 1 {
			if i > degree && i <= n {
				k += rapid.SampledFrom([]float64{1, 1, 0.01, 800}).Draw(t, "knot")
			}
			c.knots = append(c.knots, k)
		}
		if rapid.Bool().Draw(t, "rational") {
			for range n {
				c.weights = append(c.weights, rapid.Float64Range(0.2, 5).Draw(t, "weight"))
			}
		}
		tol := rapid.SampledFrom([]float64{0.002, 0.02, 0.5}).Draw(t, "tolerance")
		segs := nurbsSegments(c, tol)
		if len(segs) == 0 { // all control points in one place
			for _, p := range c.control {
				require.Equal(t, c.control[0], p)
			}
			return
		}
		for i := 1; i < len(segs); i++ {
			if segs[i-1].B != segs[i].A {
				t.Fatalf("a gap before segment %d", i)
			}
		}
		x := geom.NewSegIndex(segs...)
		b := c.breaks()
		for i := 0; i+1 < len(b); i++ {
			for m := range 400 {
				p, _ := c.at(b[i] + (b[i+1]-b[i])*float64(m)/400)
				if d := x.Dist(p); d > tol {
					t.Fatalf("%.6f mm off at span %d + %d/400, tolerance %g, %d segments", d, i, m, tol, len(segs))
				}
			}
		}
	})
}
