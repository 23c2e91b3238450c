package geom

import "math"

// Seg is a straight line or a circular arc from A to B. Bulge is the tangent of
// a quarter of the included angle, positive counter-clockwise, 0 for a line
// (DXF reference, LWPOLYLINE group 42). |Bulge| may exceed 1 (more than half a
// turn); a full circle needs two segments.
type Seg struct {
	A, B  Point
	Bulge float64
}

// Line returns the straight segment a-b.
func Line(a, b Point) Seg { return Seg{A: a, B: b} }

// ArcThrough returns the arc about c from a to b, counter-clockwise or not. The
// radius follows from a and b; c only tells the sweep. Equal ends give a
// segment of no length, never a full circle.
func ArcThrough(a, b, c Point, ccw bool) Seg {
	sweep := b.Sub(c).Angle() - a.Sub(c).Angle()
	if ccw && sweep < 0 {
		sweep += 2 * math.Pi
	}
	if !ccw && sweep > 0 {
		sweep -= 2 * math.Pi
	}
	return Seg{a, b, math.Tan(sweep / 4)}
}

// IsLine tells whether the segment is straight.
func (s Seg) IsLine() bool { return s.Bulge == 0 }

// Reverse returns the segment run the other way.
func (s Seg) Reverse() Seg { return Seg{s.B, s.A, -s.Bulge} }

// Sweep returns the signed turn of an arc in rad, 0 for a line.
func (s Seg) Sweep() float64 { return 4 * math.Atan(s.Bulge) }

// Radius returns the radius of an arc in mm, +Inf for a line: c(1+b²)/(4|b|).
func (s Seg) Radius() float64 {
	if s.Bulge == 0 {
		return math.Inf(1)
	}
	b := math.Abs(s.Bulge)
	return s.A.Dist(s.B) * (1 + float64(b*b)) / (4 * b)
}

// Center returns the centre of an arc; for a line it is not finite.
func (s Seg) Center() Point {
	b := s.Bulge
	m := s.A.Lerp(s.B, 0.5)
	k := (1 - float64(b*b)) / (4 * b)
	d := s.B.Sub(s.A)
	return Point{m.X - float64(k*d.Y), m.Y + float64(k*d.X)}
}

// Length returns the length in mm.
func (s Seg) Length() float64 {
	c := s.A.Dist(s.B)
	if s.Bulge == 0 {
		return c
	}
	b := math.Abs(s.Bulge)
	if b < 1e-4 { // atan(b)(1+b²)/b to fourth order, free of cancellation
		return c * (1 + float64(b*b)*2/3)
	}
	return c * (1 + float64(b*b)) / b * math.Atan(b)
}

// At returns the point at parameter t, even in length, 0 at A and 1 at B.
func (s Seg) At(t float64) Point {
	if t == 1 {
		return s.B
	}
	if s.Bulge == 0 {
		return s.A.Lerp(s.B, t)
	}
	// Rotating the chord keeps full precision for flat arcs, where the centre
	// is far away: the point at turn φ from A lies along the chord turned by
	// -(sweep-φ)/2, at the distance 2R sin(φ/2).
	sw := s.Sweep()
	half := sw / 2
	phi := t * sw / 2
	d := s.B.Sub(s.A)
	k := math.Sin(phi) / math.Sin(half)
	sn, cs := math.Sincos(phi - half)
	return Point{
		s.A.X + float64(k*(float64(d.X*cs)-float64(d.Y*sn))),
		s.A.Y + float64(k*(float64(d.X*sn)+float64(d.Y*cs))),
	}
}

// Mid returns the point halfway along the segment.
func (s Seg) Mid() Point {
	m := s.A.Lerp(s.B, 0.5)
	d := s.B.Sub(s.A)
	h := s.Bulge / 2
	return Point{m.X + float64(h*d.Y), m.Y - float64(h*d.X)}
}

// TangentA returns the unit direction of travel at A.
func (s Seg) TangentA() Point { return rotate(s.B.Sub(s.A).Unit(), -s.Sweep()/2) }

// TangentB returns the unit direction of travel at B.
func (s Seg) TangentB() Point { return rotate(s.B.Sub(s.A).Unit(), s.Sweep()/2) }

func rotate(p Point, a float64) Point {
	if a == 0 {
		return p
	}
	s, c := math.Sincos(a)
	return Point{float64(p.X*c) - float64(p.Y*s), float64(p.X*s) + float64(p.Y*c)}
}

// Bounds returns the smallest box that holds the segment.
func (s Seg) Bounds() Box {
	var buf [2]curve
	cs := appendCurves(buf[:0], s)
	b := cs[0].bounds()
	if len(cs) > 1 {
		b = b.Union(cs[1].bounds())
	}
	return b
}

// Nearest returns the point of the segment that is nearest to p; A for the
// centre of an arc, from which all are.
func (s Seg) Nearest(p Point) Point {
	var buf [2]curve
	cs := appendCurves(buf[:0], s)
	q := cs[0].nearest(p)
	if len(cs) > 1 {
		if r := cs[1].nearest(p); r.Dist(p) < q.Dist(p) {
			q = r
		}
	}
	return q
}

// Dist returns the distance from p to the segment, mm.
func (s Seg) Dist(p Point) float64 {
	var buf [2]curve
	cs := appendCurves(buf[:0], s)
	d := cs[0].dist2(p)
	if len(cs) > 1 {
		d = math.Min(d, cs[1].dist2(p))
	}
	return math.Sqrt(d)
}

// Segment area between arc and chord: r²(θ - sin θ)/2, signed like the bulge.
func (s Seg) sliver() float64 {
	if s.Bulge == 0 {
		return 0
	}
	b := s.Bulge
	c2 := s.B.Sub(s.A)
	chord2 := c2.Dot(c2)
	ab := math.Abs(b)
	if ab < 1e-3 { // series of the formula below; relative error under 1e-12
		return chord2 * b / 3 * (1 + float64(b*b)/5)
	}
	th := 4 * math.Atan(ab)
	r := math.Sqrt(chord2) * (1 + float64(ab*ab)) / (4 * ab)
	a := r * r * (th - math.Sin(th)) / 2
	if b < 0 {
		return -a
	}
	return a
}
