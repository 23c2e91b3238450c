package nest

import (
	"context"
	"math"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/geom"
)

// star draws a polygon that does not cross itself: radii at rising angles.
func star(t *rapid.T, label string) geom.Region {
	n := rapid.IntRange(3, 9).Draw(t, label)
	var p []geom.Point
	for i := 0; i < n; i++ {
		r := rapid.Float64Range(5, 40).Draw(t, label)
		p = append(p, geom.Polar(geom.Pt(3, -7), r, 2*math.Pi*(float64(i)+0.1)/float64(n)))
	}
	return geom.NewRegion(geom.Polygon(p...))
}

func TestCollisionAgreesWithExactDistance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, h := star(t, "g"), star(t, "h")
		spacing := rapid.SampledFrom([]float64{0, 4}).Draw(t, "spacing")
		a := ready(g, spacing/2, maxPoles).shape(0, 0, geom.Rigid{})
		b := ready(h, spacing/2, maxPoles).shape(1, 0, geom.Rigid{})
		dx, dy := rapid.Float64Range(-90, 90).Draw(t, "dx"), rapid.Float64Range(-90, 90).Draw(t, "dy")
		f := b.frame
		f.Shift = f.Shift.Add(geom.Pt(dx, dy))
		d := g.Transform(a.frame).DistRegion(h.Transform(f))
		hit := collide(a, b, dx, dy)
		if d < spacing || d == 0 {
			assert.True(t, hit, "distance %v mm, spacing %v mm", d, spacing)
		}
		// Grown corners jut out by less than 4 % of the growth on either side.
		if d > spacing*1.04+1e-3 {
			assert.False(t, hit, "distance %v mm, spacing %v mm", d, spacing)
		}
		assert.Equal(t, hit, collide(b, a, -dx, -dy), "the other way round")
	})
}

func TestSideOnTheEdgeOfTheBoxIsSeenAtEveryOffset(t *testing.T) {
	// Report: the window for sides, moved from one shape to the other, lost the upright
	// side of a triangle by rounding, at one offset in three, and a part lay over another.
	wedge := ready(geom.NewRegion(geom.Polygon(geom.Pt(0, 0), geom.Pt(50, -3), geom.Pt(50, 3))), 0, maxPoles).shape(0, 0, geom.Rigid{})
	upright := ready(geom.NewRegion(geom.Polygon(geom.Pt(0, 0), geom.Pt(0, 47), geom.Pt(-14.3, 8))), 0.27, maxPoles).shape(1, 0, geom.Rigid{})
	for k := 0; k < 1000; k++ { // the tip of the wedge stands in the triangle
		dx := -wedge.hw - upright.hw + 1 + float64(k)*0.003
		assert.True(t, collide(wedge, upright, dx, 0.1), "%v mm", dx)
		assert.True(t, collide(upright, wedge, -dx, -0.1), "%v mm", -dx)
	}
}

func TestTableAgreesWithTheExactTest(t *testing.T) {
	turns := []float64{0, math.Pi / 2, math.Pi, 3 * math.Pi / 2}
	rapid.Check(t, func(t *rapid.T) {
		g, h := star(t, "g"), star(t, "h")
		var shapes []*shape
		for i, r := range []geom.Region{g, h} {
			shapes = append(shapes, shapesOf(i, Part{Turns: turns, Mirror: true}, ready(r, 1, maxPoles), 0, 0)...)
		}
		c := newCatalog(shapes, nil)
		for k := 0; k < 20; k++ {
			va, vb := int32(rapid.IntRange(0, 15).Draw(t, "va")), int32(rapid.IntRange(0, 15).Draw(t, "vb"))
			a, b := shapes[va], shapes[vb]
			dx := rapid.Float64Range(-1, 1).Draw(t, "dx") * (a.hw + b.hw) * 0.999
			dy := rapid.Float64Range(-1, 1).Draw(t, "dy") * (a.hh + b.hh) * 0.999
			hit := collide(a, b, dx, dy)
			assert.Equal(t, hit, c.hits(va, vb, dx, dy))
			q := c.at(va, vb, dx, dy)
			assert.Equal(t, hit, q > 0)
			if hit { // interpolated, so that only the size must agree
				assert.InEpsilon(t, severity(a, b, dx, dy), q, 0.5)
			}
		}
	})
}

func TestPolesLieInTheMaterial(t *testing.T) {
	ring := geom.NewRegion(geom.Circle(geom.Pt(0, 0), 50), geom.Circle(geom.Pt(10, 0), 30))
	for _, g := range []geom.Region{ell(), ring, disc(20)} {
		o := ready(g, 0, maxPoles)
		require.NotEmpty(t, o.poles)
		for _, p := range o.poles {
			assert.LessOrEqual(t, g.SignedDist(geom.Pt(p.x, p.y))+p.r, o.by+flatTol, "mm outside")
		}
	}
	// The largest circle in an L of two arms 20 mm wide touches both outer sides
	// and the inner corner: r(1 + 1/√2) = 20/√2 · √2 … r = 20·√2/(1+√2), closed form.
	assert.InDelta(t, 20*math.Sqrt2/(1+math.Sqrt2), ready(ell(), 0, 1).poles[0].r, 0.6, "mm")
}

func TestStripOfSquaresIsFull(t *testing.T) {
	// Twelve squares on a strip that is a hair higher than three of them: four
	// columns; closed form.
	sq := Part{Name: "sq", Region: geom.Region{Outer: geom.Rect(0, 0, 10, 10)}, Quantity: 12}
	l, fs := Strip(context.Background(), []Part{sq}, 30.01, Options{Budget: 200_000, Seed: 2})
	require.Empty(t, fs)
	assert.InDelta(t, 40, l.Length, 0.02, "mm")
}

func TestSameStripWhateverTheCores(t *testing.T) {
	parts := []Part{
		{Name: "ell", Region: ell(), Quantity: 6, Turns: halfTurns},
		{Name: "disc", Region: disc(12), Quantity: 6},
	}
	o := Options{Budget: 150_000, Seed: 5, Workers: 3, Spacing: 3}
	a, fs := Strip(context.Background(), parts, 120, o)
	require.Empty(t, fs)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	b, fs := Strip(context.Background(), parts, 120, o)
	require.Empty(t, fs)
	assert.Equal(t, a, b)
}

func TestStripRefusesWhatDoesNotFit(t *testing.T) {
	_, fs := Strip(context.Background(), []Part{{Name: "p", Region: disc(30), Quantity: 1}}, 59.9, Options{})
	assert.True(t, fs.Has("part-too-large"))
	_, fs = Strip(context.Background(), []Part{{Name: "p", Region: disc(3), Quantity: Fill}}, 59.9, Options{})
	assert.True(t, fs.Has("strip-rule"))
	_, fs = Strip(context.Background(), []Part{{Name: "p", Region: disc(3)}}, 59.9, Options{})
	assert.True(t, fs.Has("no-parts"))
}

func TestTurnListHasNoDoubles(t *testing.T) {
	assert.Len(t, turnList(Part{}, 4, 0), 1)
	assert.Len(t, turnList(Part{Turns: []float64{0, 2 * math.Pi, math.Pi, -math.Pi}}, 4, 0), 2)
	assert.Len(t, turnList(Part{Turns: halfTurns, TurnTol: 0.05}, 4, 0), 6)
	assert.Len(t, turnList(Part{Free: true}, 4, 0.1), freeTurns)
	assert.Len(t, turnList(Part{Free: true}, 20_000, 0.1), freeTurns/4, "of a very fine outline")
}

func TestTouchingDrawsLieAlongAPart(t *testing.T) {
	// Two squares of 10 mm: of the places where sides run against each other with two
	// corners together, all are free, and the materials a millionth of 5 mm apart.
	sq := Part{Name: "sq", Region: geom.Region{Outer: geom.Rect(0, 0, 10, 10)}, Quantity: 2}
	cat := newCatalog(shapesOf(0, sq, ready(sq.Region, 0, maxPoles), 0, 0), nil)
	it := item{choices: [][]int32{{0}}}
	p := &problem{cat: cat, items: []item{it, it}, bins: []bin{{x1: 100, y1: 100}}}
	s := newSearch(p, 1, 1, clock{})
	w := s.workers[0]
	w.state.set(p, 0, place{x: 50, y: 50})
	w.state.set(p, 1, place{x: 50, y: 50})
	seen := 0
	for range 200 {
		c, ok := w.touching(1)
		if !ok {
			continue
		}
		seen++
		assert.Zero(t, w.cost(1, &c, math.Inf(1)))
		assert.InDelta(t, 10, math.Max(math.Abs(c.x-50), math.Abs(c.y-50)), 1e-4, "mm from middle to middle")
	}
	assert.Greater(t, seen, 50)
}
