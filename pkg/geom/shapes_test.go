package geom

import (
	"math"
	"math/rand"
	"os"
	"testing"
)

// long tells whether the gates that take minutes run too.
func long() bool { return os.Getenv("SPARCLEAR_LONG") != "" }

// runs returns few, or many when the long gates run.
func runs(few, many int) int {
	if long() {
		return many
	}
	return few
}

// starContour is a star-shaped outline of n corners with straight and bulged
// edges that crosses nothing.
func starContour(r *rand.Rand, n int) Contour {
	for {
		c := make(Contour, n)
		for i := range c {
			a := 2 * math.Pi * (float64(i) + 0.6*r.Float64()) / float64(n)
			c[i].Point = Polar(Point{}, 3+9*r.Float64(), a)
			if r.Intn(2) == 0 {
				c[i].Bulge = (r.Float64() - 0.5) * 1.2
			}
		}
		if in, err := prepare([]Contour{c}); err == nil && in != nil && c.Area() > 0 {
			return c
		}
	}
}

// blockContour is a rectangle of whole numbers, some of its corners rounded.
func blockContour(r *rand.Rand) Contour {
	x, y := float64(r.Intn(8)), float64(r.Intn(8))
	w, h := float64(2+r.Intn(8)), float64(2+r.Intn(8))
	if r.Intn(2) == 0 {
		return Rect(x, y, x+w, y+h)
	}
	return RoundRect(x, y, x+w, y+h, []float64{0.5, 1, 2}[r.Intn(3)])
}

// anyRegion is a region with arcs, sometimes with a round hole.
func anyRegion(r *rand.Rand) Region {
	switch r.Intn(3) {
	case 0:
		return NewRegion(starContour(r, 3+r.Intn(20)))
	case 1:
		c := blockContour(r)
		b := c.Bounds()
		s := b.Size()
		return NewRegion(c, Circle(b.Center(), math.Min(s.X, s.Y)/2*(0.2+0.6*r.Float64())))
	}
	return NewRegion(blockContour(r))
}

// dense prepares regions for questions of membership.
func dense(gs []Region) *field { return newField(curvesOf(contoursOf(gs))) }

func areaOf(gs []Region) float64 {
	a := 0.0
	for _, g := range gs {
		a += g.Area()
	}
	return a
}

func lengthOf(gs []Region) float64 {
	a := 0.0
	for _, g := range gs {
		a += g.Length()
	}
	return a
}

func boundsOfAll(gs ...Region) Box {
	b := EmptyBox()
	for _, g := range gs {
		b = b.Union(g.Bounds())
	}
	return b
}

// fatal prints the regions so that a failure can be run again.
func show(t *testing.T, gs ...Region) {
	t.Helper()
	for i, g := range gs {
		t.Logf("region %d: %#v", i, g)
	}
}
