// Package geom is the geometry of outlines made of straight lines and circular
// arcs: points, segments, contours, regions, rigid transforms, exact measures,
// distances, offsets (cutter compensation) and booleans. Everything is in mm and
// rad. It knows nothing of machines, layers or materials.
//
// The convention, stated once: a region's outer contour runs counter-clockwise,
// its holes clockwise, so that the region lies on the left of every edge; a full
// circle is two half-circle segments. Every constructor restores it.
//
//	sq := geom.Rect(0, 0, 40, 20)
//	grown, err := geom.Region{Outer: sq}.Offset(1, 0.001)
package geom

import "math"

// Vertex is a corner of a contour or chain; Bulge belongs to the edge that
// leaves it (see Seg).
type Vertex struct {
	Point
	Bulge float64
}

// Contour is a closed chain of edges; the last vertex joins the first.
type Contour []Vertex

// Chain is an open chain of edges; the bulge of its last vertex means nothing.
type Chain []Vertex

// Seg returns edge i, from vertex i to the next one around.
func (c Contour) Seg(i int) Seg {
	j := i + 1
	if j == len(c) {
		j = 0
	}
	return Seg{c[i].Point, c[j].Point, c[i].Bulge}
}

// Seg returns edge i of the chain, 0 ≤ i < len(c)-1.
func (c Chain) Seg(i int) Seg { return Seg{c[i].Point, c[i+1].Point, c[i].Bulge} }

// Segs returns all edges in order.
func (c Contour) Segs() []Seg {
	out := make([]Seg, len(c))
	for i := range c {
		out[i] = c.Seg(i)
	}
	return out
}

// Segs returns all edges in order.
func (c Chain) Segs() []Seg {
	if len(c) < 2 {
		return nil
	}
	out := make([]Seg, len(c)-1)
	for i := range out {
		out[i] = c.Seg(i)
	}
	return out
}

// ContourOf joins segments end to start into a contour; the end points are
// taken from the starts of the segments.
func ContourOf(segs []Seg) Contour {
	out := make(Contour, len(segs))
	for i, s := range segs {
		out[i] = Vertex{s.A, s.Bulge}
	}
	return out
}

// Polygon returns the straight-sided contour through the points.
func Polygon(p ...Point) Contour {
	out := make(Contour, len(p))
	for i := range p {
		out[i].Point = p[i]
	}
	return out
}

// Rect returns the counter-clockwise rectangle with the given corners.
func Rect(x0, y0, x1, y1 float64) Contour {
	x0, x1 = math.Min(x0, x1), math.Max(x0, x1)
	y0, y1 = math.Min(y0, y1), math.Max(y0, y1)
	return Polygon(Pt(x0, y0), Pt(x1, y0), Pt(x1, y1), Pt(x0, y1))
}

// Circle returns the counter-clockwise circle as two half-circle segments.
func Circle(c Point, r float64) Contour {
	return Contour{{Pt(c.X+r, c.Y), 1}, {Pt(c.X-r, c.Y), 1}}
}

// RoundRect returns the counter-clockwise rectangle with corner radius r, at
// most half of the shorter side.
func RoundRect(x0, y0, x1, y1, r float64) Contour {
	x0, x1 = math.Min(x0, x1), math.Max(x0, x1)
	y0, y1 = math.Min(y0, y1), math.Max(y0, y1)
	r = math.Min(r, math.Min(x1-x0, y1-y0)/2)
	if r <= 0 {
		return Rect(x0, y0, x1, y1)
	}
	q := math.Tan(math.Pi / 8)
	v := Contour{
		{Pt(x0+r, y0), 0}, {Pt(x1-r, y0), q}, {Pt(x1, y0+r), 0}, {Pt(x1, y1-r), q},
		{Pt(x1-r, y1), 0}, {Pt(x0+r, y1), q}, {Pt(x0, y1-r), 0}, {Pt(x0, y0+r), q},
	}
	out := v[:0]
	for i := range v { // sides of no length go
		if v[i].Bulge == 0 && v[i].Point == v[(i+1)%len(v)].Point {
			continue
		}
		out = append(out, v[i])
	}
	return out
}

// AsCircle returns centre and radius when the contour is one full circle within
// tol mm, run either way.
func (c Contour) AsCircle(tol float64) (center Point, r float64, ok bool) {
	if len(c) < 2 || c[0].Bulge == 0 {
		return Point{}, 0, false
	}
	center, r = c.Seg(0).Center(), c.Seg(0).Radius()
	turn := 0.0
	for i := range c {
		s := c.Seg(i)
		if s.IsLine() || s.Center().Dist(center) > tol || math.Abs(s.Radius()-r) > tol {
			return Point{}, 0, false
		}
		turn += s.Sweep()
	}
	return center, r, math.Abs(math.Abs(turn)-2*math.Pi) < 1e-6
}

// Area returns the signed area, positive counter-clockwise, arcs exact, mm².
func (c Contour) Area() float64 {
	if len(c) == 0 {
		return 0
	}
	o := c[0].Point // a near origin keeps the digits of far-away outlines
	a := 0.0
	for i := range c {
		s := c.Seg(i)
		a += s.A.Sub(o).Cross(s.B.Sub(o))/2 + s.sliver()
	}
	return a
}

// Length returns the length of the contour, mm.
func (c Contour) Length() float64 {
	l := 0.0
	for i := range c {
		l += c.Seg(i).Length()
	}
	return l
}

// Length returns the length of the chain, mm.
func (c Chain) Length() float64 {
	l := 0.0
	for _, s := range c.Segs() {
		l += s.Length()
	}
	return l
}

// Bounds returns the smallest box that holds the contour, arcs exact.
func (c Contour) Bounds() Box {
	b := EmptyBox()
	for i := range c {
		b = b.Union(c.Seg(i).Bounds())
	}
	return b
}

// Bounds returns the smallest box that holds the chain, arcs exact.
func (c Chain) Bounds() Box {
	b := EmptyBox()
	for _, s := range c.Segs() {
		b = b.Union(s.Bounds())
	}
	return b
}

// Reverse returns the contour run the other way.
func (c Contour) Reverse() Contour {
	n := len(c)
	out := make(Contour, n)
	for i := range c {
		s := c.Seg(n - 1 - i).Reverse()
		out[i] = Vertex{s.A, s.Bulge}
	}
	return out
}

// Reverse returns the chain run the other way.
func (c Chain) Reverse() Chain {
	n := len(c)
	out := make(Chain, n)
	for i := range c {
		out[i].Point = c[n-1-i].Point
		if i < n-1 {
			out[i].Bulge = -c[n-2-i].Bulge
		}
	}
	return out
}

// Dist returns the distance from p to the contour itself, mm; +Inf when empty.
func (c Contour) Dist(p Point) float64 {
	d := math.Inf(1)
	for i := range c {
		d = math.Min(d, c.Seg(i).Dist(p))
	}
	return d
}

// Winding returns how often the contour runs counter-clockwise around p. On the
// contour itself the answer is that of a point a hair up and to the right.
func (c Contour) Winding(p Point) int {
	w := 0
	for i := range c {
		w += c.Seg(i).crossings(p)
	}
	return w
}

// crossings counts signed crossings of the ray from p towards +X. A crossing at
// exactly the height of p counts as just below it, for arcs and lines alike, so
// that neighbouring edges agree.
func (s Seg) crossings(p Point) int {
	if s.Bulge == 0 {
		return lineCrossing(s.A, s.B, p)
	}
	c, r := s.Center(), s.Radius()
	w := lineCrossing(s.A, s.B, p)
	// The arc differs from its chord only for points in the segment between
	// the two; inside it the winding number changes by the sense of the arc.
	v := p.Sub(c)
	if v.Dot(v) >= r*r {
		return w
	}
	side := s.B.Sub(s.A).Cross(p.Sub(s.A))
	right := side < 0 || side == 0 && chordTie(s.A, s.B)
	if s.Bulge > 0 && right {
		return w + 1
	}
	if s.Bulge < 0 && !right {
		return w - 1
	}
	return w
}

// chordTie decides the side of a point on the chord a-b by the shift of Winding:
// a hair right and, much less, up. It reports "right of the chord".
func chordTie(a, b Point) bool {
	d := b.Sub(a)
	if d.Y != 0 {
		return d.Y > 0
	}
	return d.X < 0
}

func lineCrossing(a, b, p Point) int {
	if (a.Y <= p.Y) == (b.Y <= p.Y) {
		return 0
	}
	side := b.Sub(a).Cross(p.Sub(a))
	if a.Y <= p.Y { // upwards: crosses the ray if p lies left
		if side > 0 {
			return 1
		}
		return 0
	}
	if side < 0 {
		return -1
	}
	return 0
}

// Transform returns the contour moved by t. A reflection turns the sense of the
// edges round, so that counter-clockwise stays counter-clockwise.
func (c Contour) Transform(t Rigid) Contour {
	out := make(Contour, len(c))
	for i, v := range c {
		out[i] = Vertex{t.Apply(v.Point), v.Bulge}
		if t.Mirror {
			out[i].Bulge = -v.Bulge
		}
	}
	if t.Mirror {
		return out.Reverse()
	}
	return out
}

// Transform returns the chain moved by t, run in the same direction.
func (c Chain) Transform(t Rigid) Chain {
	out := make(Chain, len(c))
	for i, v := range c {
		out[i] = Vertex{t.Apply(v.Point), v.Bulge}
		if t.Mirror {
			out[i].Bulge = -v.Bulge
		}
	}
	return out
}
