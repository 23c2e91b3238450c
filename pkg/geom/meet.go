package geom

import "math"

// hit is a place where two curves meet. ea and eb tell which end of either
// curve it is: 0 start, 1 end, -1 neither.
type hit struct {
	p      Point
	ea, eb int8
}

type hits struct {
	h [8]hit
	n int
}

// add notes a meeting unless one within tn of it is known.
func (o *hits) add(p Point, ea, eb int8, tn float64) {
	for i := range o.n {
		if near(o.h[i].p, p, tn) {
			return
		}
	}
	if o.n < len(o.h) {
		o.h[o.n] = hit{p, ea, eb}
		o.n++
	}
}

func near(p, q Point, t float64) bool {
	x, y := p.X-q.X, p.Y-q.Y
	return float64(x*x)+float64(y*y) <= t*t
}

// endAt tells which end of c lies within t of p.
func (c *curve) endAt(p Point, t float64) int8 {
	switch {
	case near(c.A, p, t):
		return 0
	case near(c.B, p, t):
		return 1
	}
	return -1
}

// meet finds where two curves meet: first ends near each other (tn), then ends
// on the other curve (tt), then crossings. The order matters: the crossing of
// two nearly parallel lines may lie outside both, while ends are well
// conditioned. Curves nearer than tt at their closest touch there, once. Of
// curves that run on one line or circle only the ends are given.
func meet(a, b *curve, tt, tn float64, o *hits) {
	o.n = 0
	if a.R != 0 && b.R != 0 && circlesApart(a, b, tn) {
		return
	}
	for ea, p := range [2]Point{a.A, a.B} {
		if eb := b.endAt(p, tn); eb >= 0 {
			o.add(p, int8(ea), eb, 0)
		}
	}
	t2 := tt * tt
	for ea, p := range [2]Point{a.A, a.B} {
		if b.dist2(p) <= t2 {
			o.add(p, int8(ea), -1, tn)
		}
	}
	for eb, p := range [2]Point{b.A, b.B} {
		if a.dist2(p) <= t2 {
			o.add(p, -1, int8(eb), tn)
		}
	}
	var x [2]Point
	n := 0
	switch {
	case a.R == 0 && b.R == 0:
		n = crossLines(a, b, &x)
	case a.R == 0:
		n = crossLineArc(a, b, tt, &x)
	case b.R == 0:
		n = crossLineArc(b, a, tt, &x)
	default:
		n = crossArcs(a, b, tt, &x)
	}
	for _, p := range x[:n] {
		if a.strides(p) && b.strides(p) {
			o.add(p, a.endAt(p, tn), b.endAt(p, tn), tn)
		}
	}
}

// strides tells whether p, on the support of the curve, lies between its ends.
func (c *curve) strides(p Point) bool {
	if c.R != 0 {
		return c.holds(p)
	}
	t := p.Sub(c.A).Dot(c.C)
	return t >= 0 && t <= c.L
}

func crossLines(a, b *curve, x *[2]Point) int {
	den := a.C.Cross(b.C)
	if math.Abs(den) < 1e-13 {
		return 0
	}
	t := b.A.Sub(a.A).Cross(b.C) / den
	if !(t >= 0 && t <= a.L) {
		return 0
	}
	x[0] = Point{a.A.X + float64(t*a.C.X), a.A.Y + float64(t*a.C.Y)}
	return 1
}

func crossLineArc(l, c *curve, tt float64, x *[2]Point) int {
	q := l.A.Sub(c.A)
	v := q.Sub(c.C)
	r := math.Abs(c.R)
	h := math.Abs(l.C.Cross(v))
	if h > r+tt {
		return 0
	}
	b := v.Dot(l.C)
	k := q.Dot(q) - 2*q.Dot(c.C)
	disc := float64(b*b) - k // R² - h²
	at := func(t float64) Point {
		return Point{l.A.X + float64(t*l.C.X), l.A.Y + float64(t*l.C.Y)}
	}
	if disc <= tt*(r+h) {
		x[0] = at(-b)
		return 1
	}
	s := math.Sqrt(disc)
	t := -b - math.Copysign(s, b)
	x[0], x[1] = at(t), at(k/t)
	return 2
}

// circlesApart tells whether the circles of two arcs stay more than t from each
// other.
func circlesApart(a, b *curve, t float64) bool {
	x := b.A.X - a.A.X + (b.C.X - a.C.X)
	y := b.A.Y - a.A.Y + (b.C.Y - a.C.Y)
	d := float64(x*x) + float64(y*y)
	r, s := math.Abs(a.R), math.Abs(b.R)
	// far centres cost digits: leave room for them
	digits := 1e-15 * (r + s)
	far := r + s + t + float64(digits)
	in := math.Abs(r-s) - t - float64(digits)
	return d > far*far || in > 0 && d < in*in
}

// flatRadius is the radius, mm, beyond which the centre is too far away to find
// crossings from.
const flatRadius = 1e5

func crossArcs(a, b *curve, tt float64, x *[2]Point) int {
	if math.Abs(a.R) > math.Abs(b.R) { // the nearer centre has more digits
		a, b = b, a
	}
	d := b.A.Sub(a.A).Add(b.C).Sub(a.C)
	l := d.Len()
	r, s := math.Abs(a.R), math.Abs(b.R)
	if l > r+s+tt || l < math.Abs(r-s)-tt || l <= 1e-12 {
		return 0
	}
	if l <= tt && math.Abs(r-s) <= tt {
		return 0
	}
	if r > flatRadius { // begin where the chords cross
		u, v := a.B.Sub(a.A), b.B.Sub(b.A)
		den := u.Cross(v)
		if math.Abs(den) < 1e-12*a.L*b.L {
			return 0
		}
		p, ok := polish(a.A.Lerp(a.B, b.A.Sub(a.A).Cross(v)/den), a, b)
		x[0] = p
		if !ok {
			return 0
		}
		return 1
	}
	u := Point{d.X / l, d.Y / l}
	k := (float64((r-s)*(r+s))/l + l) / 2
	c := a.A.Add(a.C)
	m := Point{c.X + float64(k*u.X), c.Y + float64(k*u.Y)}
	if l >= r+s-tt || l <= math.Abs(r-s)+tt {
		k = math.Copysign(r, k)
		x[0] = Point{c.X + float64(k*u.X), c.Y + float64(k*u.Y)}
		return 1
	}
	h := math.Sqrt(math.Max(0, float64((r-k)*(r+k))))
	n := 0
	for _, h := range [2]float64{h, -h} {
		p := Point{m.X - float64(h*u.Y), m.Y + float64(h*u.X)}
		ok := true
		if s > 1e3 {
			p, ok = polish(p, a, b)
		}
		if ok {
			x[n] = p
			n++
		}
	}
	return n
}

// polish brings back the digits that a far centre costs: Newton's method on the
// distances from both circles. ok is false when it does not end on both.
func polish(p Point, a, b *curve) (q Point, ok bool) {
	for range 6 {
		f, n := a.offCircle(p)
		g, m := b.offCircle(p)
		if math.Abs(f)+math.Abs(g) < 1e-12 {
			return p, true
		}
		den := n.Cross(m)
		if math.Abs(den) < 1e-9 {
			break
		}
		p = Point{p.X - (float64(f*m.Y)-float64(g*n.Y))/den, p.Y - (float64(g*n.X)-float64(f*m.X))/den}
	}
	f, _ := a.offCircle(p)
	g, _ := b.offCircle(p)
	return p, math.Abs(f) < touching && math.Abs(g) < touching
}

// offCircle returns the distance of p from the circle of the arc, positive
// outside, and the direction away from the centre.
func (c *curve) offCircle(p Point) (float64, Point) {
	q := p.Sub(c.A)
	v := q.Sub(c.C)
	l := v.Len()
	return (q.Dot(q) - 2*q.Dot(c.C)) / (l + math.Abs(c.R)), Point{v.X / l, v.Y / l}
}
