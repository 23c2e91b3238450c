package drawing

import (
	"math"

	"sparclear/pkg/geom"
)

// affine maps block coordinates to the drawing: x' = a·x + c·y + e,
// y' = b·x + d·y + f.
type affine struct{ a, b, c, d, e, f float64 }

var (
	// same changes nothing. It is read only.
	same = affine{a: 1, d: 1}
	// flipX takes object coordinates of an entity that faces down to the drawing
	// (arbitrary axis algorithm of the DXF reference for the normal (0,0,-1)).
	flipX = affine{a: -1, d: 1}
)

func (m affine) apply(p geom.Point) geom.Point {
	return geom.Point{
		X: float64(m.a*p.X) + float64(m.c*p.Y) + m.e,
		Y: float64(m.b*p.X) + float64(m.d*p.Y) + m.f,
	}
}

func (m affine) vector(p geom.Point) geom.Point {
	return geom.Point{
		X: float64(m.a*p.X) + float64(m.c*p.Y),
		Y: float64(m.b*p.X) + float64(m.d*p.Y),
	}
}

// after returns the map that applies n first and m second.
func (m affine) after(n affine) affine {
	o := m.apply(geom.Point{X: n.e, Y: n.f})
	x := m.vector(geom.Point{X: n.a, Y: n.b})
	y := m.vector(geom.Point{X: n.c, Y: n.d})
	return affine{x.X, x.Y, y.X, y.Y, o.X, o.Y}
}

func (m affine) det() float64 { return float64(m.a*m.d) - float64(m.b*m.c) }

func (m affine) finite() bool {
	return finite(geom.Pt(m.a, m.b)) && finite(geom.Pt(m.c, m.d)) && finite(geom.Pt(m.e, m.f))
}

// similar tells whether circles stay circles under m: both axes keep their
// right angle and scale alike, to 1e-12, which moves no point of a 10 m part by
// more than 1e-8 mm.
func (m affine) similar() bool {
	x, y := geom.Pt(m.a, m.b), geom.Pt(m.c, m.d)
	lx, ly := x.Dot(x), y.Dot(y)
	return math.Abs(lx-ly) <= 2e-12*(lx+ly) && math.Abs(x.Dot(y)) <= 1e-12*(lx+ly)
}

// scale returns the size of m: the square root of how it changes areas.
func (m affine) scale() float64 { return math.Sqrt(math.Abs(m.det())) }

func scaling(x, y float64) affine { return affine{a: x, d: y} }

func shifting(p geom.Point) affine { return affine{a: 1, d: 1, e: p.X, f: p.Y} }

// turning turns by degrees, quarter turns exactly.
func turning(deg float64) affine {
	switch math.Mod(math.Mod(deg, 360)+360, 360) {
	case 0:
		return same
	case 90:
		return affine{b: 1, c: -1}
	case 180:
		return affine{a: -1, d: -1}
	case 270:
		return affine{b: -1, c: 1}
	}
	s, c := math.Sincos(deg * math.Pi / 180)
	return affine{c, s, -s, c, 0, 0}
}
