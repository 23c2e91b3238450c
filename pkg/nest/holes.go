package nest

import (
	"math"

	"sparclear/pkg/geom"
)

// rooms tells which holes of parts are worth searching: those that could take in
// some part with the spacing all around. The others count as material in the
// search, where a plate with dozens of screw holes is then as simple as its outer
// edge; what is verified in the end are the parts as drawn.
type rooms struct {
	area, width, length float64 // least of any part, spacing included
}

// roomsOf measures the parts that are to be placed.
func roomsOf(parts []Part, spacing float64) rooms {
	r := rooms{math.Inf(1), math.Inf(1), math.Inf(1)}
	for _, p := range parts {
		if p.Quantity == 0 {
			continue
		}
		h := hull(chords(p.Region.Outer, flatTol))
		w, l := extents(h)
		r.area = math.Min(r.area, math.Abs(chords(p.Region.Outer, flatTol).area()))
		r.width = math.Min(r.width, w+2*spacing)
		r.length = math.Min(r.length, l+2*spacing)
	}
	return r
}

// with returns the region less the holes that take in nothing.
func (r rooms) with(g geom.Region) geom.Region {
	out := geom.Region{Outer: g.Outer}
	for _, h := range g.Holes {
		if r.takes(h) {
			out.Holes = append(out.Holes, h)
		}
	}
	return out
}

// takes tells whether any part could lie in the hole. What lies in it with the
// spacing around has no more area, and its hull is nowhere wider or longer.
func (r rooms) takes(hole geom.Contour) bool {
	flat := chords(hole, flatTol)
	if math.Abs(flat.area()) < r.area*(1-roomSlack) {
		return false
	}
	w, l := extents(hull(flat))
	return w >= r.width*(1-roomSlack) && l >= r.length*(1-roomSlack)
}

// roomSlack makes up for the chords: rather a hole too many is searched.
const roomSlack = 0.01

// extents returns the least distance between two parallel lines that hold the
// convex polygon, and the greatest distance of two of its corners.
func extents(h ring) (width, length float64) {
	width = math.Inf(1)
	for i, p := range h {
		along := h[(i+1)%len(h)].Sub(p).Unit()
		far := 0.0
		for _, q := range h {
			far = math.Max(far, math.Abs(along.Cross(q.Sub(p))))
			length = math.Max(length, q.Sub(p).Len())
		}
		width = math.Min(width, far)
	}
	return width, length
}
