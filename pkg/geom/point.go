package geom

import "math"

// Point is a place or a vector in the plane, mm.
type Point struct{ X, Y float64 }

// Pt is short for Point{x, y}.
func Pt(x, y float64) Point { return Point{x, y} }

// Add returns p + q.
func (p Point) Add(q Point) Point { return Point{p.X + q.X, p.Y + q.Y} }

// Sub returns p - q.
func (p Point) Sub(q Point) Point { return Point{p.X - q.X, p.Y - q.Y} }

// Mul returns p scaled by k.
func (p Point) Mul(k float64) Point { return Point{float64(p.X * k), float64(p.Y * k)} }

// Dot returns the scalar product. Products are rounded before they are added,
// so that every processor gives the same bits.
func (p Point) Dot(q Point) float64 { return float64(p.X*q.X) + float64(p.Y*q.Y) }

// Cross returns the z component of p × q: positive when q is to the left of p.
func (p Point) Cross(q Point) float64 { return float64(p.X*q.Y) - float64(p.Y*q.X) }

// Len returns the length of p.
func (p Point) Len() float64 { return math.Sqrt(p.Dot(p)) }

// Dist returns the distance from p to q.
func (p Point) Dist(q Point) float64 { return p.Sub(q).Len() }

// Unit returns p with length 1, or the zero vector when p has no length.
func (p Point) Unit() Point {
	l := p.Len()
	if l == 0 {
		return Point{}
	}
	return Point{p.X / l, p.Y / l}
}

// Left returns p turned by +90°.
func (p Point) Left() Point { return Point{-p.Y, p.X} }

// Right returns p turned by -90°.
func (p Point) Right() Point { return Point{p.Y, -p.X} }

// Angle returns the direction of p in (-π, π].
func (p Point) Angle() float64 { return math.Atan2(p.Y, p.X) }

// Lerp returns p + t (q - p).
func (p Point) Lerp(q Point, t float64) Point {
	return Point{p.X + float64(t*(q.X-p.X)), p.Y + float64(t*(q.Y-p.Y))}
}

// Finite tells whether both coordinates are finite.
func (p Point) Finite() bool {
	return !math.IsNaN(p.X) && !math.IsInf(p.X, 0) && !math.IsNaN(p.Y) && !math.IsInf(p.Y, 0)
}

// Polar returns the point at the given angle (rad) and distance (mm) from c.
func Polar(c Point, r, angle float64) Point {
	s, k := math.Sincos(angle)
	return Point{c.X + float64(r*k), c.Y + float64(r*s)}
}

// Box is an axis-parallel rectangle; it is empty when Min exceeds Max.
type Box struct{ Min, Max Point }

// EmptyBox holds nothing; it is the start for Extend.
func EmptyBox() Box {
	inf := math.Inf(1)
	return Box{Point{inf, inf}, Point{-inf, -inf}}
}

// Empty tells whether the box holds no point.
func (b Box) Empty() bool { return !(b.Min.X <= b.Max.X && b.Min.Y <= b.Max.Y) }

// Extend returns the box grown to hold p.
func (b Box) Extend(p Point) Box {
	return Box{
		Point{math.Min(b.Min.X, p.X), math.Min(b.Min.Y, p.Y)},
		Point{math.Max(b.Max.X, p.X), math.Max(b.Max.Y, p.Y)},
	}
}

// Union returns the smallest box that holds both.
func (b Box) Union(c Box) Box {
	if c.Empty() {
		return b
	}
	return b.Extend(c.Min).Extend(c.Max)
}

// Grow returns the box with every side moved out by d mm.
func (b Box) Grow(d float64) Box {
	return Box{Point{b.Min.X - d, b.Min.Y - d}, Point{b.Max.X + d, b.Max.Y + d}}
}

// Size returns width and height.
func (b Box) Size() Point { return b.Max.Sub(b.Min) }

// Center returns the middle of the box.
func (b Box) Center() Point { return b.Min.Lerp(b.Max, 0.5) }

// Overlaps tells whether the closed boxes share a point.
func (b Box) Overlaps(c Box) bool {
	return b.Min.X <= c.Max.X && c.Min.X <= b.Max.X && b.Min.Y <= c.Max.Y && c.Min.Y <= b.Max.Y
}

// Contains tells whether p lies in the closed box.
func (b Box) Contains(p Point) bool {
	return b.Min.X <= p.X && p.X <= b.Max.X && b.Min.Y <= p.Y && p.Y <= b.Max.Y
}

// Dist returns the distance from p to the box, 0 inside.
func (b Box) Dist(p Point) float64 {
	dx := math.Max(0, math.Max(b.Min.X-p.X, p.X-b.Max.X))
	dy := math.Max(0, math.Max(b.Min.Y-p.Y, p.Y-b.Max.Y))
	return math.Sqrt(float64(dx*dx) + float64(dy*dy))
}
