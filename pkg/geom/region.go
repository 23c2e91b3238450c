package geom

import "math"

// Region is the material inside Outer and outside every hole. Outer runs
// counter-clockwise, holes clockwise.
type Region struct {
	Outer Contour
	Holes []Contour
}

// NewRegion returns a region with the orientation of its contours restored.
func NewRegion(outer Contour, holes ...Contour) Region {
	r := Region{Outer: outer}
	if outer.Area() < 0 {
		r.Outer = outer.Reverse()
	}
	for _, h := range holes {
		if h.Area() > 0 {
			h = h.Reverse()
		}
		r.Holes = append(r.Holes, h)
	}
	return r
}

// Contours returns the outer contour and the holes.
func (g Region) Contours() []Contour {
	return append([]Contour{g.Outer}, g.Holes...)
}

// Area returns the area of the material, mm².
func (g Region) Area() float64 {
	a := g.Outer.Area()
	for _, h := range g.Holes {
		a += h.Area()
	}
	return a
}

// Bounds returns the box of the outer contour.
func (g Region) Bounds() Box { return g.Outer.Bounds() }

// Length returns the length of all contours, mm.
func (g Region) Length() float64 {
	l := 0.0
	for _, c := range g.Contours() {
		l += c.Length()
	}
	return l
}

// ContainsInterior tells whether p lies inside the material. The answer for a
// point on an edge follows Contour.Winding; ask Dist when edges matter.
func (g Region) ContainsInterior(p Point) bool {
	w := 0
	for _, c := range g.Contours() {
		w += c.Winding(p)
	}
	return w > 0
}

// Dist returns the distance from p to the boundary of the region, mm.
func (g Region) Dist(p Point) float64 {
	d := math.Inf(1)
	for _, c := range g.Contours() {
		d = math.Min(d, c.Dist(p))
	}
	return d
}

// SignedDist returns the distance from p to the boundary, negative inside, mm.
func (g Region) SignedDist(p Point) float64 {
	if g.ContainsInterior(p) {
		return -g.Dist(p)
	}
	return g.Dist(p)
}

// Transform returns the region moved by t, orientation kept.
func (g Region) Transform(t Rigid) Region {
	out := Region{Outer: g.Outer.Transform(t)}
	for _, h := range g.Holes {
		out.Holes = append(out.Holes, h.Transform(t))
	}
	return out
}
