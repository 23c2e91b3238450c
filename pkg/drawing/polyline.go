package drawing

import (
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// lwpolyline reads an LWPOLYLINE. The bulge that follows a coordinate pair
// belongs to the segment that starts there; closed is a bit, not a value.
func (b *builder) lwpolyline(r *record) {
	h := b.newHead()
	s := shape{kind: polyShape, line: int32(r.line)}
	width := 0.0
	var starts, ends []float64 // widths, only when some are drawn
	count, counted := -1, false
	n := 0
	for i := range r.tags {
		if c := r.tags[i].code; c == 10 {
			n++
		} else if c == 90 {
			count, counted = r.integer(i, -1), true
		}
	}
	s.poly = make([]geom.Vertex, 0, n)
	bad := false
	for i := range r.tags {
		k := len(s.poly) - 1
		switch r.tags[i].code {
		case 10:
			s.poly = append(s.poly, geom.Vertex{Point: geom.Pt(r.num(i), math.NaN())})
		case 20:
			if k >= 0 {
				s.poly[k].Y = r.num(i)
			}
		case 42:
			if k >= 0 {
				s.poly[k].Bulge = r.num(i)
			}
		case 40:
			starts = setWidth(starts, k, r.num(i))
		case 41:
			ends = setWidth(ends, k, r.num(i))
		case 43:
			width = r.num(i)
		case 70:
			s.closed = r.integer(i, 0)&1 != 0
		default:
			b.common(r, i, &h)
		}
	}
	s.head, s.face = h, b.faces()
	if !b.asked(&h, r.kind) {
		return
	}
	for _, v := range s.poly {
		bad = bad || !finite(v.Point) || !(math.Abs(v.Bulge) <= 1e6)
	}
	if r.cut && count > len(s.poly) {
		b.cut = r.kind
		return
	}
	if bad || len(s.poly) == 0 {
		if r.cut {
			b.cut = r.kind
		}
		b.broken(h, r, "a vertex is missing or no number")
		return
	}
	if counted && count != len(s.poly) {
		b.broken(h, r, "it says another number of vertices than it has")
		return
	}
	if s.face == facesAslant {
		b.aslant(h, r, whyTilted)
		return
	}
	b.keepPoly(s, r, width, starts, ends)
}

func setWidth(w []float64, k int, v float64) []float64 {
	if k < 0 || !(v > 0) {
		return w
	}
	for len(w) <= k {
		w = append(w, 0)
	}
	w[k] = v
	return w
}

// keepPoly keeps a polyline, and says when the drawing shows it as a band.
func (b *builder) keepPoly(s shape, r *record, width float64, starts, ends []float64) {
	widest := math.Max(width, 0)
	even := true
	for i := range s.poly {
		a, e := width, width
		if i < len(starts) {
			a = starts[i]
		} else if len(starts) > 0 {
			a = 0
		}
		if i < len(ends) {
			e = ends[i]
		} else if len(ends) > 0 {
			e = 0
		}
		last := !s.closed && i == len(s.poly)-1
		if !last {
			even = even && a == e && (widest == 0 || a == widest)
			widest = math.Max(widest, math.Max(a, e))
		}
	}
	if widest > 0 && widest <= far {
		b.wide(s, r, widest, even)
		return
	}
	b.keep(s)
}

// wide keeps a band as its outline when that was asked for and the band has one
// width; else its centre line, with a finding.
func (b *builder) wide(s shape, r *record, width float64, even bool) {
	at := s.poly[0].Point
	if s.face == facesDown {
		at.X = -at.X
	}
	if b.o.WideOutlines && even {
		if bands, ok := band(s, width); ok {
			for _, k := range bands {
				b.keep(k)
			}
			return
		}
	}
	why := "has a width; its centre line is read"
	if b.o.WideOutlines {
		why = "its width varies or exceeds its curves; its centre line is read"
	}
	b.remark("polyline-wide", diag.Warn, s.head, r.kind, r.line, &at, why,
		"ask for the outline of wide polylines if the edges of the band are meant")
	b.keep(s)
}

// band returns the outline of a polyline of even width: two closed polylines
// for a closed one, one with flat ends for an open one. Corners are mitred. It
// fails where an arc is tighter than half the width or a corner turns back.
func band(s shape, width float64) ([]shape, bool) {
	left, okL := beside(s.poly, s.closed, width/2)
	right, okR := beside(s.poly, s.closed, -width/2)
	if !okL || !okR {
		return nil, false
	}
	one, two := s, s
	if s.closed {
		one.poly, two.poly = left, right
		return []shape{one, two}, true
	}
	back := geom.Chain(right).Reverse()
	left[len(left)-1].Bulge = 0
	one.closed = true
	one.poly = append(left, back...)
	one.poly[len(one.poly)-1].Bulge = 0
	return []shape{one}, true
}

// beside moves a polyline to its left by d. Each vertex goes along the bisector
// of its two edges.
func beside(v []geom.Vertex, closed bool, d float64) ([]geom.Vertex, bool) {
	n := len(v)
	edges := n - 1
	if closed {
		edges = n
	}
	if edges < 1 {
		return nil, false
	}
	seg := func(i int) geom.Seg { return geom.Seg{A: v[i].Point, B: v[(i+1)%n].Point, Bulge: v[i].Bulge} }
	out := make([]geom.Vertex, n)
	for i := range v {
		var in, leave geom.Point
		hasIn, hasOut := closed || i > 0, closed || i < n-1
		if hasIn {
			in = seg((i + n - 1) % n).TangentB()
		}
		if hasOut {
			s := seg(i)
			leave = s.TangentA()
			if s.Bulge != 0 {
				r := s.Radius()
				if s.Bulge > 0 && d >= r || s.Bulge < 0 && -d >= r {
					return nil, false
				}
			}
		}
		if !hasIn {
			in = leave
		}
		if !hasOut {
			leave = in
		}
		k := 1 + in.Dot(leave)
		if k < 0.02 || in == (geom.Point{}) || leave == (geom.Point{}) {
			return nil, false
		}
		m := in.Left().Add(leave.Left()).Mul(d / k)
		out[i] = geom.Vertex{Point: v[i].Add(m), Bulge: v[i].Bulge}
	}
	// Arcs keep their centre: a mitre at an arc's end changes its sweep, which is
	// right only where the neighbours are tangent.
	for i := range edges {
		s := seg(i)
		if s.Bulge == 0 {
			continue
		}
		c := s.Center()
		a, e := out[i].Point, out[(i+1)%n].Point
		r := s.Radius() - math.Copysign(d, s.Bulge)
		if math.Abs(a.Dist(c)-r) > 1e-6*r+1e-9 || math.Abs(e.Dist(c)-r) > 1e-6*r+1e-9 {
			return nil, false
		}
	}
	return out, true
}

// heavy is an old-style POLYLINE while its vertices come.
type heavy struct {
	shape
	flags  int
	width  [2]float64
	starts []float64
	ends   []float64
	z0, z1 float64
	bad    bool
	kindly record // what a finding needs: type and line
}

func (b *builder) polylineHead(r *record) *heavy {
	p := &b.heavy // its vertices are handed on, all else is used again
	*p = heavy{z0: math.Inf(1), z1: math.Inf(-1)}
	p.kindly.kind, p.kindly.line = "POLYLINE", r.line
	h := b.newHead()
	for i := range r.tags {
		switch r.tags[i].code {
		case 70:
			p.flags = r.integer(i, 0)
		case 40:
			p.width[0] = r.num(i)
		case 41:
			p.width[1] = r.num(i)
		default:
			b.common(r, i, &h)
		}
	}
	p.shape = shape{kind: polyShape, head: h, face: b.faces(), line: int32(r.line), closed: p.flags&1 != 0}
	return p
}

// polylineVertex adds a vertex. Points of the spline frame are no points of the
// curve; the faces of meshes are no vertices at all.
func (b *builder) polylineVertex(p *heavy, r *record) {
	var v geom.Vertex
	var z float64
	flags, have := 0, 0
	start, end := -1.0, -1.0
	for i := range r.tags {
		switch r.tags[i].code {
		case 10:
			v.X = r.num(i)
			have |= 1
		case 20:
			v.Y = r.num(i)
			have |= 2
		case 30:
			z = r.num(i)
		case 40:
			start = r.num(i)
		case 41:
			end = r.num(i)
		case 42:
			v.Bulge = r.num(i)
		case 70:
			flags = r.integer(i, 0)
		}
	}
	if flags&16 != 0 || p.flags&(16|64) != 0 {
		return
	}
	if have != 3 || !finite(v.Point) || !(math.Abs(v.Bulge) <= 1e6) || math.IsNaN(z) {
		p.bad = true
		return
	}
	if p.flags&8 != 0 {
		v.Bulge = 0
		p.z0, p.z1 = math.Min(p.z0, z), math.Max(p.z1, z)
	}
	k := len(p.poly)
	p.poly = append(p.poly, v)
	if start < 0 {
		start = p.width[0]
	}
	if end < 0 {
		end = p.width[1]
	}
	p.starts = setWidth(p.starts, k, start)
	p.ends = setWidth(p.ends, k, end)
}

func (b *builder) polylineEnd(p *heavy) {
	if b.inBlock == nil {
		tallied(b.kinds, "POLYLINE")
	}
	r := &p.kindly
	if !b.asked(&p.head, r.kind) {
		return
	}
	switch {
	case p.flags&(16|64) != 0:
		b.aslant(p.head, r, "is a mesh and is not read")
		return
	case p.bad || len(p.poly) == 0:
		b.broken(p.head, r, "a vertex is missing or no number")
		return
	case p.flags&8 != 0:
		p.face = facesUp // 3D polylines are stored in drawing coordinates
		if p.z1-p.z0 > flatTol {
			b.aslant(p.head, r, whyHeight)
			return
		}
	case p.face == facesAslant:
		b.aslant(p.head, r, whyTilted)
		return
	}
	b.keepPoly(p.shape, r, 0, p.starts, p.ends)
}
