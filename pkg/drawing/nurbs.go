package drawing

import (
	"math"

	"sparclear/pkg/geom"
)

// nurbs is a rational B-spline curve. Its parameter runs from knots[degree] to
// knots[len(control)]; weights nil means all 1.
type nurbs struct {
	degree  int
	knots   []float64
	control []geom.Point
	weights []float64
}

// span returns the index k of the knot span that holds t: knots[k] ≤ t < knots[k+1],
// the last non-empty one at the end of the curve.
//
// Source: L. Piegl, W. Tiller, "The NURBS Book", 2nd edition, algorithm A2.1.
func (c nurbs) span(t float64) int {
	n := len(c.control)
	if t >= c.knots[n] {
		k := n - 1
		for k > c.degree && c.knots[k] >= c.knots[n] {
			k--
		}
		return k
	}
	lo, hi := c.degree, n
	for hi-lo > 1 {
		mid := (lo + hi) / 2
		if c.knots[mid] <= t {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// at evaluates the curve and its derivative by de Boor's algorithm in
// homogeneous coordinates: the last step but one holds the end points of the
// tangent.
func (c nurbs) at(t float64) (geom.Point, geom.Point) { return c.onSpan(c.span(t), t) }

// onSpan evaluates the polynomial of knot span k, which also gives the
// direction at the end of a span where the curve has a corner.
func (c nurbs) onSpan(k int, t float64) (geom.Point, geom.Point) {
	p := c.degree
	var hx, hy, hw [26]float64
	for j := 0; j <= p; j++ {
		i := k - p + j
		w := 1.0
		if c.weights != nil {
			w = c.weights[i]
		}
		hx[j], hy[j], hw[j] = c.control[i].X*w, c.control[i].Y*w, w
	}
	var dx, dy, dw float64
	for r := 1; r <= p; r++ {
		if r == p {
			s := float64(p) / (c.knots[k+1] - c.knots[k])
			dx, dy, dw = (hx[p]-hx[p-1])*s, (hy[p]-hy[p-1])*s, (hw[p]-hw[p-1])*s
		}
		for j := p; j >= r; j-- {
			i := k - p + j
			a := (t - c.knots[i]) / (c.knots[i+p-r+1] - c.knots[i])
			hx[j] = float64((1-a)*hx[j-1]) + float64(a*hx[j])
			hy[j] = float64((1-a)*hy[j-1]) + float64(a*hy[j])
			hw[j] = float64((1-a)*hw[j-1]) + float64(a*hw[j])
		}
	}
	w := hw[p]
	q := geom.Pt(hx[p]/w, hy[p]/w)
	return q, geom.Pt((dx-float64(dw*q.X))/w, (dy-float64(dw*q.Y))/w)
}

// breaks returns the parameters between which the curve is looked at: the
// knots. Spans may be 1 or 8000 long in one curve, so an even step over the
// parameter would miss half the shape.
func (c nurbs) breaks() []float64 {
	n := len(c.control)
	out := []float64{c.knots[c.degree]}
	for i := c.degree + 1; i <= n; i++ {
		if c.knots[i] > out[len(out)-1] {
			out = append(out, c.knots[i])
		}
	}
	return out
}

// nurbsSegments stands lines and arcs for the curve, within tol.
func nurbsSegments(c nurbs, tol float64) []geom.Seg {
	if straight(c.control, tol*1e-3) && c.weights == nil {
		n := len(c.control)
		return []geom.Seg{geom.Line(c.control[0], c.control[n-1])}
	}
	if c.degree == 1 {
		var out []geom.Seg
		b := c.breaks()
		p, _ := c.at(b[0])
		for _, t := range b[1:] {
			q, _ := c.at(t)
			if p != q {
				out = append(out, geom.Line(p, q))
			}
			p = q
		}
		return out
	}
	var out []geom.Seg
	for _, r := range c.runs() {
		out = append(out, arcsAlong(r, 0, float64(len(r.breaks)-1), 1, tol, 8+2*c.degree)...)
	}
	return mergeArcs(out)
}

// run is a part of a curve without corners. Its parameter counts knot spans, so
// that a span of 1 and one of 8000 are looked at alike.
type run struct {
	nurbs
	breaks []float64
}

// runs parts the curve at knots that are as many as its degree, where it may
// have a corner.
func (c nurbs) runs() []run {
	var out []run
	b := c.breaks()
	first := 0
	for i := 1; i < len(b); i++ {
		many := 0
		for _, k := range c.knots {
			if k == b[i] {
				many++
			}
		}
		if many >= c.degree || i == len(b)-1 {
			out = append(out, run{c, b[first : i+1]})
			first = i
		}
	}
	return out
}

func (r run) at(u float64) (geom.Point, geom.Point) {
	i := min(max(int(u), 0), len(r.breaks)-2)
	lo, hi := r.breaks[i], r.breaks[i+1]
	p, d := r.onSpan(r.span(lo), lo+(u-float64(i))*(hi-lo))
	return p, d.Mul(hi - lo)
}

// straight tells whether the points go along a line without turning back, so
// that the curve is that line.
func straight(p []geom.Point, tol float64) bool {
	a, b := p[0], p[len(p)-1]
	d := b.Sub(a)
	l := d.Len()
	if l == 0 {
		return false
	}
	last := 0.0
	for _, q := range p {
		v := q.Sub(a)
		along := v.Dot(d) / l
		if math.Abs(v.Cross(d))/l > tol || along < last-tol {
			return false
		}
		last = along
	}
	return true
}

// hermite is one cubic between two points with given derivatives over a
// parameter of length h.
type hermite struct {
	p, q, u, v geom.Point
	h          float64
}

func (c hermite) at(t float64) (geom.Point, geom.Point) {
	s := t / c.h
	s2, s3 := s*s, s*s*s
	a, b := 2*s3-3*s2+1, s3-2*s2+s
	d, e := 3*s2-2*s3, s3-s2
	pos := c.p.Mul(a).Add(c.u.Mul(b * c.h)).Add(c.q.Mul(d)).Add(c.v.Mul(e * c.h))
	der := c.p.Mul((6*s2 - 6*s) / c.h).Add(c.u.Mul(3*s2 - 4*s + 1)).
		Add(c.q.Mul((6*s - 6*s2) / c.h)).Add(c.v.Mul(3*s2 - 2*s))
	return pos, der
}

// through stands arcs for the cubic curve with continuous curvature through the
// points of a spline, parametrised by the chord: natural ends where no end
// direction is given, periodic when it is closed.
//
// Source: C. de Boor, "A Practical Guide to Splines", revised edition 2001, ch. IV.
func through(sp *spline, m affine, tol float64) []geom.Seg {
	var pts []geom.Point
	for _, p := range sp.fit {
		q := m.apply(p)
		if n := len(pts); n == 0 || pts[n-1].Dist(q) > tol*1e-3 {
			pts = append(pts, q)
		}
	}
	if sp.closed && len(pts) > 2 && pts[0].Dist(pts[len(pts)-1]) > tol*1e-3 {
		pts = append(pts, pts[0])
	}
	n := len(pts)
	if n < 2 {
		return nil
	}
	if n == 2 && sp.startT == (geom.Point{}) && sp.endT == (geom.Point{}) {
		return []geom.Seg{geom.Line(pts[0], pts[1])}
	}
	h := make([]float64, n-1)
	for i := range h {
		h[i] = pts[i].Dist(pts[i+1])
	}
	periodic := sp.closed && n > 3
	d := slopes(pts, h, periodic, m.vector(sp.startT).Unit(), m.vector(sp.endT).Unit())
	var out []geom.Seg
	for i := range h {
		c := hermite{pts[i], pts[i+1], d[i], d[i+1], h[i]}
		out = append(out, arcsAlong(c, 0, h[i], h[i], tol, 16)...)
	}
	return mergeArcs(out)
}

// slopes returns the derivatives of the interpolating cubic at the points.
func slopes(p []geom.Point, h []float64, periodic bool, start, end geom.Point) []geom.Point {
	n := len(p)
	if periodic { // unroll far enough that the ends no longer matter
		const turns = 24
		m := n - 1
		lead := min(turns, 4*m)
		var q []geom.Point
		var g []float64
		for i := -lead; i < m+lead; i++ {
			k := ((i % m) + m) % m
			q = append(q, p[k])
			g = append(g, h[k])
		}
		d := slopes(q, g[:len(g)-1], false, geom.Point{}, geom.Point{})
		out := append([]geom.Point(nil), d[lead:lead+m]...)
		return append(out, out[0])
	}
	// Rows of the tridiagonal system lower·d[i-1] + diag·d[i] + upper·d[i+1] = rhs.
	lower, diagonal, upper := make([]float64, n), make([]float64, n), make([]float64, n)
	rhs := make([]geom.Point, n)
	chord := func(i int) geom.Point { return p[i+1].Sub(p[i]).Mul(1 / h[i]) }
	diagonal[0], diagonal[n-1] = 1, 1
	if rhs[0] = start; start == (geom.Point{}) {
		diagonal[0], upper[0], rhs[0] = 2, 1, chord(0).Mul(3)
	}
	if rhs[n-1] = end; end == (geom.Point{}) {
		diagonal[n-1], lower[n-1], rhs[n-1] = 2, 1, chord(n-2).Mul(3)
	}
	for i := 1; i < n-1; i++ {
		lower[i], diagonal[i], upper[i] = h[i], 2*(h[i-1]+h[i]), h[i-1]
		rhs[i] = chord(i - 1).Mul(3 * h[i]).Add(chord(i).Mul(3 * h[i-1]))
	}
	for i := 1; i < n; i++ {
		w := lower[i] / diagonal[i-1]
		diagonal[i] -= float64(w * upper[i-1])
		rhs[i] = rhs[i].Sub(rhs[i-1].Mul(w))
	}
	d := make([]geom.Point, n)
	d[n-1] = rhs[n-1].Mul(1 / diagonal[n-1])
	for i := n - 2; i >= 0; i-- {
		d[i] = rhs[i].Sub(d[i+1].Mul(upper[i])).Mul(1 / diagonal[i])
	}
	return d
}
