package nest

import (
	"math"

	"sparclear/pkg/geom"
)

// edge is a straight piece of an outline; the material lies to the left.
type edge struct{ ax, ay, bx, by float64 }

// pole is a circle inside the material.
type pole struct{ x, y, r float64 }

// shape is one part in one turn (or a piece of forbidden ground), grown by half
// the spacing and flattened, about the middle of its box.
type shape struct {
	part   int // index of the part, -1 for forbidden ground
	fibre  int // index of the fibre direction that it belongs to
	frame  geom.Rigid
	hw, hh float64    // half width and height of the box, mm
	low    geom.Point // lower left corner of the box before the frame was completed
	edges  []edge     // grown; those of the outer contour come first
	core   []edge     // not grown, for telling inside from outside
	band   float64    // growth of forbidden ground, which may differ from that of parts, mm
	poles  []pole
	lambda float64 // square root of the hull area
	diam   float64 // diameter: diagonal of the box
}

// ring is a closed polygon.
type ring []geom.Point

// chords replaces the arcs of a contour by chords that stay within tol mm.
func chords(c geom.Contour, tol float64) ring {
	var out ring
	for i := range c {
		s := c.Seg(i)
		out = append(out, s.A)
		if s.IsLine() {
			continue
		}
		r := s.Radius()
		n := 1
		if r > tol {
			n = int(math.Ceil(math.Abs(s.Sweep()) / (2 * math.Acos(1-tol/r))))
		} else if math.Abs(s.Sweep()) > math.Pi/2 {
			n = 2
		}
		n = min(n, 720) // a full turn in half degrees
		for k := 1; k < n; k++ {
			out = append(out, s.At(float64(k)/float64(n)))
		}
	}
	return out
}

// thinned drops vertices of a closed polygon while the rest stays within tol mm
// of it (D. Douglas, T. Peucker, 1973).
func thinned(r ring, tol float64) ring {
	if len(r) < 4 || tol <= 0 {
		return r
	}
	far, d := 0, 0.0
	for i, p := range r {
		if e := p.Dist(r[0]); e > d {
			far, d = i, e
		}
	}
	if far == 0 {
		return r
	}
	keep := make([]bool, len(r)+1)
	keep[0], keep[far], keep[len(r)] = true, true, true
	closed := append(append(ring{}, r...), r[0])
	type span struct{ a, b int }
	todo := []span{{0, far}, {far, len(r)}}
	for len(todo) > 0 {
		s := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		at, worst := 0, tol
		chord := geom.Line(closed[s.a], closed[s.b])
		for i := s.a + 1; i < s.b; i++ {
			if e := chord.Dist(closed[i]); e > worst {
				at, worst = i, e
			}
		}
		if at > 0 {
			keep[at] = true
			todo = append(todo, span{s.a, at}, span{at, s.b})
		}
	}
	var out ring
	for i, p := range r {
		if keep[i] {
			out = append(out, p)
		}
	}
	if len(out) < 3 {
		return r
	}
	return out
}

// hull returns the convex hull, counter-clockwise (A. M. Andrew, 1979).
func hull(pts ring) ring {
	p := append(ring{}, pts...)
	sortPoints(p)
	var h ring
	for pass := 0; pass < 2; pass++ {
		base := len(h)
		for _, q := range p {
			for len(h) >= base+2 && h[len(h)-1].Sub(h[len(h)-2]).Cross(q.Sub(h[len(h)-1])) <= 0 {
				h = h[:len(h)-1]
			}
			h = append(h, q)
		}
		h = h[:len(h)-1]
		for i, j := 0, len(p)-1; i < j; i, j = i+1, j-1 {
			p[i], p[j] = p[j], p[i]
		}
	}
	return h
}

// area returns the signed area of the polygon.
func (r ring) area() float64 {
	a := 0.0
	for i, p := range r {
		a += p.Cross(r[(i+1)%len(r)])
	}
	return a / 2
}

// newShape builds a shape from polygons in sheet orientation, the outer one
// first, grown by so many mm. The frame given is completed so that it carries the
// part's region to where the shape's middle lies at the origin.
func newShape(part, fibre int, rings []ring, by float64, frame geom.Rigid) *shape {
	b := geom.EmptyBox()
	outer := rings[0].grow(by)
	for _, p := range outer {
		b = b.Extend(p)
	}
	c := b.Center()
	s := &shape{part: part, fibre: fibre, frame: frame}
	s.frame.Shift = frame.Shift.Sub(c)
	s.low = b.Min
	for _, r := range rings {
		s.edges = appendEdges(s.edges, r.grow(by), c)
	}
	for _, e := range s.edges { // from the edges themselves, so that none lies outside by rounding
		s.hw = math.Max(s.hw, math.Max(math.Abs(e.ax), math.Abs(e.bx)))
		s.hh = math.Max(s.hh, math.Max(math.Abs(e.ay), math.Abs(e.by)))
	}
	s.core = s.edges
	if by > 0 {
		s.core = nil
		for _, r := range rings {
			s.core = appendEdges(s.core, r, c)
		}
	}
	s.lambda = math.Sqrt(math.Abs(hull(outer).area()))
	s.diam = b.Size().Len()
	return s
}

func appendEdges(to []edge, r ring, c geom.Point) []edge {
	for i, p := range r {
		p, q := p.Sub(c), r[(i+1)%len(r)].Sub(c)
		if p != q {
			to = append(to, edge{p.X, p.Y, q.X, q.Y})
		}
	}
	return to
}

// turned returns the rings moved by a turn and reflection about the origin.
// Quarter turns are exact.
func turned(rings []ring, t geom.Rigid) []ring {
	sn, cs := sincos(t.Turn)
	out := make([]ring, len(rings))
	for k, r := range rings {
		m := make(ring, len(r))
		for i, p := range r {
			if t.Mirror {
				p.Y = -p.Y
			}
			q := geom.Pt(float64(p.X*cs)-float64(p.Y*sn), float64(p.X*sn)+float64(p.Y*cs))
			if t.Mirror { // keep the sense of the ring
				m[len(r)-1-i] = q
			} else {
				m[i] = q
			}
		}
		out[k] = m
	}
	return out
}

// turnedPoles returns the poles moved by a turn and reflection about the origin
// and then by the shift.
func turnedPoles(ps []pole, t geom.Rigid, shift geom.Point) []pole {
	sn, cs := sincos(t.Turn)
	out := make([]pole, len(ps))
	for i, p := range ps {
		if t.Mirror {
			p.y = -p.y
		}
		out[i] = pole{float64(p.x*cs) - float64(p.y*sn) + shift.X, float64(p.x*sn) + float64(p.y*cs) + shift.Y, p.r}
	}
	return out
}

// sincos is exact at quarter turns.
func sincos(a float64) (sn, cs float64) {
	sn, cs = math.Sincos(a)
	for _, v := range [3]float64{-1, 0, 1} {
		if math.Abs(sn-v) < 1e-12 {
			sn = v
		}
		if math.Abs(cs-v) < 1e-12 {
			cs = v
		}
	}
	return sn, cs
}
