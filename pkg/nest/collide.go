package nest

import (
	"math"
	"math/bits"
)

// holds tells whether a point lies in the material (even-odd over all contours).
func (s *shape) holds(x, y float64) bool {
	in := false
	for i := range s.core {
		e := &s.core[i]
		if (e.ay > y) != (e.by > y) {
			t := (y - e.ay) / (e.by - e.ay)
			if x < e.ax+float64(t*(e.bx-e.ax)) {
				in = !in
			}
		}
	}
	return in
}

// collide tells whether a and b, the latter shifted by (dx, dy), share a point.
// Touching counts.
func collide(a, b *shape, dx, dy float64) bool {
	x0, x1 := math.Max(-a.hw, dx-b.hw), math.Min(a.hw, dx+b.hw)
	y0, y1 := math.Max(-a.hh, dy-b.hh), math.Min(a.hh, dy+b.hh)
	if x0 > x1 || y0 > y1 {
		return false
	}
	// A side on the edge of the box would fall out of the window by rounding when
	// the window is moved to the other shape.
	wx, wy := float64(windowSlack*(a.hw+b.hw)), float64(windowSlack*(a.hh+b.hh))
	x0, y0, x1, y1 = x0-wx, y0-wy, x1+wx, y1+wy
	if len(b.edges) > 64 {
		if crossAny(a, b, dx, dy, x0, y0, x1, y1) {
			return true
		}
	} else {
		var near uint64 // edges of b in the window
		bx0, by0, bx1, by1 := x0-dx, y0-dy, x1-dx, y1-dy
		for i := range b.edges {
			if !b.edges[i].misses(bx0, by0, bx1, by1) {
				near |= 1 << uint(i)
			}
		}
		for i := range a.edges {
			e := a.edges[i]
			if e.misses(x0, y0, x1, y1) {
				continue
			}
			e.ax -= dx
			e.bx -= dx
			e.ay -= dy
			e.by -= dy
			for rest := near; rest != 0; rest &= rest - 1 {
				if crosses(&e, &b.edges[bits.TrailingZeros64(rest)&63]) {
					return true
				}
			}
		}
	}
	// No edges meet: apart, or the outer contour of one lies in the other.
	if a.band == 0 && b.band == 0 { // then its box does as well
		ax, ay := math.Abs(dx), math.Abs(dy)
		return ax+a.hw <= b.hw && ay+a.hh <= b.hh && b.holds(a.core[0].ax-dx, a.core[0].ay-dy) ||
			ax+b.hw <= a.hw && ay+b.hh <= a.hh && a.holds(b.core[0].ax+dx, b.core[0].ay+dy)
	}
	return b.covers(a.core[0].ax-dx, a.core[0].ay-dy) || a.covers(b.core[0].ax+dx, b.core[0].ay+dy)
}

// windowSlack is how much wider than the boxes' overlap the window for edges is, as a
// share of the shapes; thousands of times what rounding does.
const windowSlack = 1e-12

// crossAny tells whether any edge of a meets one of the shifted b in the window.
func crossAny(a, b *shape, dx, dy, x0, y0, x1, y1 float64) bool {
	var near []edge
	for i := range b.edges {
		e := b.edges[i]
		e.ax += dx
		e.bx += dx
		e.ay += dy
		e.by += dy
		if !e.misses(x0, y0, x1, y1) {
			near = append(near, e)
		}
	}
	for i := range a.edges {
		e := &a.edges[i]
		if e.misses(x0, y0, x1, y1) {
			continue
		}
		for j := range near {
			if crosses(e, &near[j]) {
				return true
			}
		}
	}
	return false
}

// covers tells whether a point of the other shape's material is too near to this
// one's. Where both are grown alike, one that lies within the growth is met by the
// edges; ground that is grown by more must be asked for the distance.
func (s *shape) covers(x, y float64) bool {
	if s.holds(x, y) {
		return true
	}
	if s.band == 0 {
		return false
	}
	band2 := float64(s.band * s.band)
	for i := range s.core {
		if s.core[i].dist2(x, y) < band2 {
			return true
		}
	}
	return false
}

// misses tells that the box of the edge lies beside the window.
func (e *edge) misses(x0, y0, x1, y1 float64) bool {
	return e.ax < x0 && e.bx < x0 || e.ax > x1 && e.bx > x1 ||
		e.ay < y0 && e.by < y0 || e.ay > y1 && e.by > y1
}

// crosses tells whether two closed edges share a point.
func crosses(e, f *edge) bool {
	if f.ax < e.ax && f.ax < e.bx && f.bx < e.ax && f.bx < e.bx ||
		f.ax > e.ax && f.ax > e.bx && f.bx > e.ax && f.bx > e.bx ||
		f.ay < e.ay && f.ay < e.by && f.by < e.ay && f.by < e.by ||
		f.ay > e.ay && f.ay > e.by && f.by > e.ay && f.by > e.by {
		return false
	}
	ux, uy := e.bx-e.ax, e.by-e.ay
	o1 := float64(ux*(f.ay-e.ay)) - float64(uy*(f.ax-e.ax))
	o2 := float64(ux*(f.by-e.ay)) - float64(uy*(f.bx-e.ax))
	if o1 > 0 && o2 > 0 || o1 < 0 && o2 < 0 {
		return false
	}
	vx, vy := f.bx-f.ax, f.by-f.ay
	o3 := float64(vx*(e.ay-f.ay)) - float64(vy*(e.ax-f.ax))
	o4 := float64(vx*(e.by-f.ay)) - float64(vy*(e.bx-f.ax))
	return !(o3 > 0 && o4 > 0 || o3 < 0 && o4 < 0)
}

// gapExceeds tells whether a and the shifted b, known not to collide, are more
// than h apart.
func gapExceeds(a, b *shape, dx, dy, h float64) bool {
	h2 := float64(h * h)
	for i := range a.edges {
		e := a.edges[i]
		if e.misses(dx-b.hw-h, dy-b.hh-h, dx+b.hw+h, dy+b.hh+h) {
			continue
		}
		for j := range b.edges {
			f := b.edges[j]
			f.ax += dx
			f.bx += dx
			f.ay += dy
			f.by += dy
			if e.dist2(f.ax, f.ay) <= h2 || e.dist2(f.bx, f.by) <= h2 ||
				f.dist2(e.ax, e.ay) <= h2 || f.dist2(e.bx, e.by) <= h2 {
				return false
			}
		}
	}
	return true
}

// deepHit tells that a and the shifted b collide however b is moved by up to h:
// two poles overlap by h, or a corner of one lies h deep in the other. False
// means only that this is not known.
func deepHit(a, b *shape, dx, dy, h float64) bool {
	for _, p := range a.poles {
		for _, q := range b.poles {
			vx, vy, r := q.x+dx-p.x, q.y+dy-p.y, p.r+q.r-h
			if r > 0 && float64(vx*vx)+float64(vy*vy) < r*r {
				return true
			}
		}
	}
	for i := range b.edges {
		if x, y := b.edges[i].ax+dx, b.edges[i].ay+dy; math.Abs(x) < a.hw-h && math.Abs(y) < a.hh-h && a.depth(x, y) > h {
			return true
		}
	}
	for i := range a.edges {
		if x, y := a.edges[i].ax-dx, a.edges[i].ay-dy; math.Abs(x) < b.hw-h && math.Abs(y) < b.hh-h && b.depth(x, y) > h {
			return true
		}
	}
	return false
}
