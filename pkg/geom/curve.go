package geom

import "math"

// curve is a segment prepared for many questions: a line, or an arc of at most
// half a turn. It fills one cache line.
//
// The centre of an arc is kept relative to its start: the distance to a circle
// is then (|q|² - 2 q·C) / (|q-C| + R), which keeps all digits for flat arcs
// whose centre is kilometres away.
type curve struct {
	A, B Point
	C    Point   // line: unit direction; arc: centre - A
	R    float64 // 0 for a line; radius of an arc, negative when clockwise
	L    float64 // length of a line; chord of an arc
}

// flatSagitta is the height over the chord, mm, under which an arc is a line.
const flatSagitta = 1e-10

// lineCurve prepares the straight line a-b.
func lineCurve(a, b Point) curve {
	d := b.Sub(a)
	l := d.Len()
	c := curve{A: a, B: b, L: l}
	if l > 0 {
		c.C = Point{d.X / l, d.Y / l}
	}
	return c
}

// newCurve prepares a segment of at most half a turn.
func newCurve(s Seg) curve {
	d := s.B.Sub(s.A)
	l := d.Len()
	if math.Abs(s.Bulge)*l < 2*flatSagitta {
		return lineCurve(s.A, s.B)
	}
	b := s.Bulge
	k := (1 - float64(b*b)) / (4 * b)
	c := curve{A: s.A, B: s.B, L: l}
	c.C = Point{d.X/2 - float64(k*d.Y), d.Y/2 + float64(k*d.X)}
	c.R = math.Copysign(l*(1+float64(b*b))/(4*math.Abs(b)), b)
	return c
}

// appendCurves prepares a segment of any turn: more than half is cut in two.
func appendCurves(cs []curve, s Seg) []curve {
	if math.Abs(s.Bulge) <= 1+1e-12 {
		return append(cs, newCurve(s))
	}
	m := s.Mid()
	b := s.Bulge / (1 + math.Sqrt(1+float64(s.Bulge*s.Bulge))) // tangent of half the angle
	return append(cs, newCurve(Seg{s.A, m, b}), newCurve(Seg{m, s.B, b}))
}

// bulge returns the bulge of the part of the curve's support from p to q, where
// q comes after p by at most half a turn.
func (c *curve) bulge(p, q Point) float64 {
	if c.R == 0 {
		return 0
	}
	// tan(θ/4) = half chord / (R + distance of the chord from the centre); the
	// sign of the distance is that of cos(θ/2). Good from no turn to a half.
	d := q.Sub(p)
	m := Point{p.X + d.X/2 - c.A.X - c.C.X, p.Y + d.Y/2 - c.A.Y - c.C.Y}
	h := m.Len()
	if out := d.Cross(m); (c.R > 0) == (out > 0) { // centre on the arc's side
		h = -h
	}
	r := math.Abs(c.R)
	if h <= -0.9*r { // no piece is longer than half a turn: q lies a hair before p
		h = r
	}
	b := d.Len() / 2 / (r + h)
	if c.R < 0 {
		return -b
	}
	return b
}

// seg returns the curve as a segment.
func (c *curve) seg() Seg { return Seg{c.A, c.B, c.bulge(c.A, c.B)} }

// mid returns the point halfway along.
func (c *curve) mid() Point {
	if c.R == 0 {
		return c.A.Lerp(c.B, 0.5)
	}
	return c.seg().Mid()
}

// length returns the length along the curve.
func (c *curve) length() float64 {
	if c.R == 0 {
		return c.L
	}
	return c.seg().Length()
}

// part returns the curve between two of its points.
func (c *curve) part(p, q Point) curve {
	out := *c
	out.A, out.B = p, q
	d := q.Sub(p)
	out.L = d.Len()
	if c.R != 0 {
		out.C = c.A.Sub(p).Add(c.C)
	} else if out.L < 1e-3 {
		return out // the direction of the whole is the better one
	} else {
		out.C = Point{d.X / out.L, d.Y / out.L}
	}
	return out
}

// holds tells whether the direction of p from the centre lies in the wedge of
// the arc.
func (c *curve) holds(p Point) bool {
	q := p.Sub(c.A)
	e := c.A.Sub(c.B).Add(c.C)
	s, t := c.C.Cross(q), e.Cross(p.Sub(c.B))
	if c.R > 0 {
		return s <= 0 && t >= 0
	}
	return s >= 0 && t <= 0
}

// dist2 returns the squared distance from p.
func (c *curve) dist2(p Point) float64 {
	qx, qy := p.X-c.A.X, p.Y-c.A.Y
	if c.R == 0 {
		t := float64(qx*c.C.X) + float64(qy*c.C.Y)
		if t <= 0 {
			return float64(qx*qx) + float64(qy*qy)
		}
		if t >= c.L {
			qx, qy = p.X-c.B.X, p.Y-c.B.Y
			return float64(qx*qx) + float64(qy*qy)
		}
		x := float64(qx*c.C.Y) - float64(qy*c.C.X)
		return x * x
	}
	bx, by := p.X-c.B.X, p.Y-c.B.Y
	ex, ey := c.C.X+(c.A.X-c.B.X), c.C.Y+(c.A.Y-c.B.Y)
	s := float64(c.C.X*qy) - float64(c.C.Y*qx)
	t := float64(ex*by) - float64(ey*bx)
	r := c.R
	if r < 0 {
		s, t, r = -s, -t, -r
	}
	if s <= 0 && t >= 0 {
		vx, vy := qx-c.C.X, qy-c.C.Y
		n := float64(qx*(qx-2*c.C.X)) + float64(qy*(qy-2*c.C.Y))
		d := n / (math.Sqrt(float64(vx*vx)+float64(vy*vy)) + r)
		return d * d
	}
	return math.Min(float64(qx*qx)+float64(qy*qy), float64(bx*bx)+float64(by*by))
}

// dist returns the distance from p.
func (c *curve) dist(p Point) float64 { return math.Sqrt(c.dist2(p)) }

// nearest returns the point of the curve that is nearest to p.
func (c *curve) nearest(p Point) Point {
	q := p.Sub(c.A)
	if c.R == 0 {
		t := q.Dot(c.C)
		switch {
		case t <= 0:
			return c.A
		case t >= c.L:
			return c.B
		}
		return Point{c.A.X + float64(t*c.C.X), c.A.Y + float64(t*c.C.Y)}
	}
	if c.holds(p) {
		v := q.Sub(c.C)
		l := v.Len()
		if l == 0 {
			return c.A
		}
		// p moved along the radius by its distance from the circle: no digits
		// are lost to a far centre
		d := (q.Dot(q) - 2*q.Dot(c.C)) / (l + math.Abs(c.R))
		k := d / l
		return Point{p.X - float64(k*v.X), p.Y - float64(k*v.Y)}
	}
	if q.Dot(q) <= p.Sub(c.B).Dot(p.Sub(c.B)) {
		return c.A
	}
	return c.B
}

// key orders points of the curve along it; it is no length.
func (c *curve) key(p Point) float64 {
	q := p.Sub(c.A)
	if c.R == 0 {
		return q.Dot(c.C)
	}
	// a pseudo-angle from the start radius, 0 to 2 over half a turn
	v := q.Sub(c.C)
	x, y := -c.C.Dot(v), -c.C.Cross(v)
	if c.R < 0 {
		y = -y
	}
	if x >= 0 {
		return y / (x + math.Abs(y))
	}
	return 1 - x/(y-x)
}

// tangentA and tangentB return the unit directions of travel at the ends.
func (c *curve) tangentA() Point {
	if c.R == 0 {
		return c.C
	}
	return Point{c.C.Y / c.R, -c.C.X / c.R}
}

func (c *curve) tangentB() Point {
	if c.R == 0 {
		return c.C
	}
	e := c.A.Sub(c.B).Add(c.C)
	return Point{e.Y / c.R, -e.X / c.R}
}

// bounds returns the smallest box that holds the curve.
func (c *curve) bounds() Box {
	b := Box{c.A, c.A}
	if c.B.X < b.Min.X {
		b.Min.X = c.B.X
	} else {
		b.Max.X = c.B.X
	}
	if c.B.Y < b.Min.Y {
		b.Min.Y = c.B.Y
	} else {
		b.Max.Y = c.B.Y
	}
	if c.R == 0 {
		return b
	}
	// An extreme of the circle belongs to the arc where the direction of travel
	// turns through the axis: compare the signs of the end tangents.
	ta, tb := c.tangentA(), c.tangentB()
	if c.R < 0 {
		ta, tb = Point{-tb.X, -tb.Y}, Point{-ta.X, -ta.Y} // run it counter-clockwise
	}
	r, ce := math.Abs(c.R), c.A.Add(c.C)
	half := ta.Dot(tb) < -1+1e-9 // about half a turn: signs may lie
	if half {
		return b.Union(Box{ce, ce}.Grow(r).cut(c))
	}
	if ta.X > 0 && tb.X <= 0 { // travelling +Y there
		b.Max.X = math.Max(b.Max.X, ce.X+r)
	}
	if ta.X < 0 && tb.X >= 0 {
		b.Min.X = math.Min(b.Min.X, ce.X-r)
	}
	if ta.Y > 0 && tb.Y <= 0 {
		b.Max.Y = math.Max(b.Max.Y, ce.Y+r)
	}
	if ta.Y < 0 && tb.Y >= 0 {
		b.Min.Y = math.Min(b.Min.Y, ce.Y-r)
	}
	return b
}

// cut keeps of the box of a circle what a half turn arc may reach: the sides on
// which the arc's middle lies, and the ends.
func (b Box) cut(c *curve) Box {
	out := Box{c.A, c.A}.Extend(c.B)
	m := c.mid()
	ce := c.A.Add(c.C)
	r := math.Abs(c.R)
	d := m.Sub(ce) // the arc holds every direction u with u·d >= 0, and a hair more
	e := 1e-6 * r
	if d.X >= -e {
		out.Max.X = math.Max(out.Max.X, b.Max.X)
	}
	if d.X <= e {
		out.Min.X = math.Min(out.Min.X, b.Min.X)
	}
	if d.Y >= -e {
		out.Max.Y = math.Max(out.Max.Y, b.Max.Y)
	}
	if d.Y <= e {
		out.Min.Y = math.Min(out.Min.Y, b.Min.Y)
	}
	return out
}

// moved returns the raw offset of the curve: every point moved by d along its
// right normal. ok is false when an arc vanishes.
func (c *curve) moved(d float64) (o curve, ok bool) {
	o = *c
	if c.R == 0 {
		n := Point{float64(d * c.C.Y), float64(-d * c.C.X)}
		o.A, o.B = c.A.Add(n), c.B.Add(n)
		return o, true
	}
	if c.R < 0 {
		d = -d
	}
	r := math.Abs(c.R)
	nr := r + d
	if nr <= 1e-12 {
		return o, false
	}
	k := d / r
	e := c.A.Sub(c.B).Add(c.C)
	o.A = Point{c.A.X - float64(k*c.C.X), c.A.Y - float64(k*c.C.Y)}
	o.B = Point{c.B.X - float64(k*e.X), c.B.Y - float64(k*e.Y)}
	o.C = c.C.Mul(nr / r)
	o.R = math.Copysign(nr, c.R)
	o.L = o.A.Dist(o.B)
	return o, true
}
