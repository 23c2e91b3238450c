package drawing

import (
	"math"

	"sparclear/pkg/geom"
)

// smooth is a curve with a direction at every parameter. Between two of its
// breaks it has no corner.
type smooth interface {
	// at returns the point and the derivative at t.
	at(t float64) (geom.Point, geom.Point)
}

// biarc returns two arcs that leave a along ta and reach b along tb (unit
// directions), and meet tangent to each other. Of the one-parameter family it
// takes the one with equal tangent lengths, whose greatest distance from a
// curve with these ends goes to |k'| h³/324 on a span of length h.
//
// Source: D. S. Meek, D. J. Walton, "Approximating smooth planar curves by arc
// splines", Journal of Computational and Applied Mathematics 59 (1995) 221-231.
func biarc(a, ta, b, tb geom.Point) (geom.Seg, geom.Seg, bool) {
	v := b.Sub(a)
	l := v.Len()
	if l == 0 {
		return geom.Seg{}, geom.Seg{}, false
	}
	// |v - d(ta+tb)| = 2d makes the two control polygons meet in line.
	s := v.Dot(ta.Add(tb))
	k := 2 * (1 - ta.Dot(tb))
	var d float64
	if q := float64(s*s) + float64(k*l*l); k < 1e-12 {
		if s <= 0 {
			return geom.Seg{}, geom.Seg{}, false
		}
		d = l * l / (2 * s)
	} else if d = l * l / (s + math.Sqrt(q)); s < 0 {
		d = (math.Sqrt(q) - s) / k
	}
	if !(d > 0) || d > 1e6*l {
		return geom.Seg{}, geom.Seg{}, false
	}
	j := a.Add(ta.Mul(d)).Add(b.Sub(tb.Mul(d))).Mul(0.5)
	one := geom.Seg{A: a, B: j, Bulge: tangentBulge(ta, j.Sub(a))}
	two := geom.Seg{A: j, B: b, Bulge: tangentBulge(b.Sub(j), tb)}
	return one, two, true
}

// tangentBulge returns the bulge of the arc whose tangent and chord point along
// u and w: the angle between them is half the sweep.
func tangentBulge(u, w geom.Point) float64 {
	return math.Tan(math.Atan2(u.Cross(w), u.Dot(w)) / 2)
}

// stray returns the greatest distance of the curve between t0 and t1 from the
// segments. It looks in n places, and in more where the curve runs far or turns
// fast from one to the next. It is infinite when the curve turns 90° or more
// away from the chord, as it does at a cusp.
func stray(c smooth, t0, t1 float64, one, two geom.Seg, n int) float64 {
	k := strayer{c: c, one: one, two: two, chord: two.B.Sub(one.A)}
	k.far = k.chord.Len() * 4 / float64(n)
	if t1 < t0 {
		k.chord = k.chord.Mul(-1)
	}
	a := place{t: t0}
	a.p, a.d = c.at(t0)
	for i := 1; i <= n && !math.IsInf(k.worst, 1); i++ {
		b := place{t: t0 + (t1-t0)*float64(i)/float64(n)}
		b.p, b.d = c.at(b.t)
		if i < n {
			k.look(b)
			k.between(a, b, 0)
		} else {
			k.between(a, place{t: t1, p: two.B, d: b.d}, 0)
		}
		a = b
	}
	return k.worst
}

type place struct {
	t    float64
	p, d geom.Point
}

type strayer struct {
	c        smooth
	one, two geom.Seg
	chord    geom.Point
	far      float64
	worst    float64
}

func (k *strayer) look(a place) {
	if k.chord.Dot(a.d) < 0 {
		k.worst = math.Inf(1)
		return
	}
	k.worst = math.Max(k.worst, math.Min(k.one.Dist(a.p), k.two.Dist(a.p)))
}

// between looks between two places as long as they are far apart or point more
// than 20° apart.
func (k *strayer) between(a, b place, depth int) {
	turn := a.d.Dot(b.d)
	if a.p.Dist(b.p) <= k.far && turn >= 0 && turn*turn >= 0.88*a.d.Dot(a.d)*b.d.Dot(b.d) {
		return
	}
	if depth == 8 {
		if turn < 0 {
			k.worst = math.Inf(1)
		}
		return
	}
	m := place{t: a.t + (b.t-a.t)/2}
	m.p, m.d = k.c.at(m.t)
	if k.look(m); math.IsInf(k.worst, 1) {
		return
	}
	k.between(a, m, depth+1)
	k.between(m, b, depth+1)
}

// maxArcs bounds what one curve may become.
const maxArcs = 20_000

// arcsAlong stands arcs for the curve from t0 to t1, tangent to each other and
// to the curve, within tol of it. Each step goes as far as the tolerance lets it:
// the error of a biarc grows with the third power of its span. unit is the length
// of parameter in which the curve does nothing sudden (a knot span, a quarter of
// an ellipse) and is looked at in probe places.
func arcsAlong(c smooth, t0, t1, unit, tol float64, probe int) []geom.Seg {
	var out []geom.Seg
	f := fitter{c: c, end: t1, unit: unit, probe: probe, aim: tol * 0.92} // the places between those looked at
	step := math.Copysign(unit, t1-t0)
	for t := t0; t != t1; {
		if len(out) >= maxArcs {
			p, _ := c.at(t)
			q, _ := c.at(t1)
			return append(out, geom.Line(p, q))
		}
		one, two, next := f.longest(t, step)
		out = append(out, one, two)
		step = next - t
		if math.Abs(t1-next) < 1e-12*math.Abs(t1-t0) {
			next = t1
		}
		t = next
	}
	return mergeArcs(out)
}

// fitter finds how far one biarc reaches.
type fitter struct {
	c     smooth
	end   float64
	unit  float64
	aim   float64
	probe int
}

// try fits one biarc from t over h.
func (f *fitter) try(t, h float64, p, dp geom.Point) (geom.Seg, geom.Seg, float64) {
	to := t + h
	q, dq := f.c.at(to)
	one, two, ok := biarc(p, travel(f.c, t, t, to, dp), q, travel(f.c, to, t, to, dq))
	if !ok || math.Abs(one.Bulge) > 0.42 || math.Abs(two.Bulge) > 0.42 {
		return one, two, math.Inf(1)
	}
	n := max(f.probe, int(math.Ceil(float64(f.probe)*math.Abs(h)/f.unit)))
	err := stray(f.c, t, to, one, two, n)
	if err <= f.aim { // it seems to fit: look closer
		err = stray(f.c, t, to, one, two, 4*n)
	}
	return one, two, err
}

// speck returns a straight line for a stretch that stays within half the
// tolerance of its start.
func (f *fitter) speck(t, h float64, p geom.Point) (geom.Seg, float64, bool) {
	var q geom.Point
	for i := 1; i <= f.probe; i++ {
		q, _ = f.c.at(t + h*float64(i)/float64(f.probe))
		if q.Dist(p) > f.aim/2 {
			return geom.Seg{}, 0, false
		}
	}
	if h == f.end-t {
		return geom.Line(p, q), f.end, true
	}
	return geom.Line(p, q), t + h, true
}

// longest returns the biarc from t that reaches furthest, and to where: about
// the last step or half as far again.
func (f *fitter) longest(t, step float64) (geom.Seg, geom.Seg, float64) {
	p, dp := f.c.at(t)
	rest := f.end - t
	h := rest
	if math.Abs(step*1.5) < math.Abs(h) {
		h = step * 1.5
	}
	one, two, err := f.try(t, h, p, dp)
	for range 60 {
		if err <= f.aim {
			break
		}
		if line, to, ok := f.speck(t, h, p); ok { // a cusp or a hairpin smaller than the tolerance
			return line, geom.Line(line.B, line.B), to
		}
		k := 0.5
		if !math.IsInf(err, 1) {
			k = math.Max(0.3, math.Min(0.95, 0.98*math.Cbrt(f.aim/err)))
		}
		h *= k
		one, two, err = f.try(t, h, p, dp)
	}
	if math.IsInf(err, 1) { // a cusp: nothing but a straight line is left
		q, _ := f.c.at(t + h)
		return geom.Line(p, q), geom.Line(q, q), t + h
	}
	for range 3 {
		if h == rest || err > f.aim*0.7 {
			break
		}
		g := h * math.Min(1.6, 0.98*math.Cbrt(f.aim/math.Max(err, f.aim*0.05)))
		if math.Abs(g) > math.Abs(rest) {
			g = rest
		}
		o, w, e := f.try(t, g, p, dp)
		if e > f.aim {
			break
		}
		one, two, err, h = o, w, e, g
	}
	if h == rest {
		return one, two, f.end
	}
	return one, two, t + h
}

// travel returns the unit direction in which the curve is run at t, one end of
// the span from-to; d is its derivative there. Where the derivative vanishes
// (control points that coincide) a point close by tells.
func travel(c smooth, t, from, to float64, d geom.Point) geom.Point {
	if to < from {
		d = d.Mul(-1)
	}
	if d.Len() > 1e-12 {
		return d.Unit()
	}
	p, _ := c.at(t)
	other, sign := to, 1.0
	if t == to {
		other, sign = from, -1
	}
	for k := 1e-6; k < 1; k *= 4 {
		if q, _ := c.at(t + (other-t)*k); q.Dist(p) > 1e-12 {
			return q.Sub(p).Unit().Mul(sign)
		}
	}
	return geom.Point{}
}

// mergeArcs joins neighbours that lie on one circle or one line but for rounding.
func mergeArcs(in []geom.Seg) []geom.Seg {
	var out []geom.Seg
	const tol = 1e-9
	for _, s := range in {
		if n := len(out); n > 0 {
			s.A = out[n-1].B // two polynomials of one curve meet but for rounding
		}
		if s.A == s.B {
			continue
		}
		if math.Abs(s.Bulge)*s.A.Dist(s.B)/2 < 1e-10 { // flatter than any number written
			s.Bulge = 0
		}
		n := len(out)
		if n == 0 {
			out = append(out, s)
			continue
		}
		if m, ok := merged(out[n-1], s, tol); ok {
			out[n-1] = m
			continue
		}
		out = append(out, s)
	}
	return out
}

func merged(a, b geom.Seg, tol float64) (geom.Seg, bool) {
	if a.B != b.A || a.Bulge*b.Bulge < 0 || (a.Bulge == 0) != (b.Bulge == 0) {
		return a, false
	}
	if a.Bulge == 0 {
		m := geom.Line(a.A, b.B)
		return m, m.Dist(a.B) <= tol && a.B.Sub(a.A).Dot(b.B.Sub(b.A)) > 0
	}
	sweep := a.Sweep() + b.Sweep()
	if math.Abs(sweep) > math.Pi {
		return a, false
	}
	m := geom.Seg{A: a.A, B: b.B, Bulge: math.Tan(sweep / 4)}
	return m, m.Dist(a.B) <= tol && m.Dist(a.Mid()) <= tol && m.Dist(b.Mid()) <= tol
}
