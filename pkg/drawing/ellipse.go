package drawing

import (
	"math"

	"sparclear/pkg/diag"

	"sparclear/pkg/geom"
)

// ellipseCurve is c + u cos t + v sin t, with u and v any two conjugate radii.
type ellipseCurve struct{ c, u, v geom.Point }

func (e ellipseCurve) at(t float64) (geom.Point, geom.Point) {
	s, k := math.Sincos(t)
	return geom.Point{
			X: e.c.X + float64(e.u.X*k) + float64(e.v.X*s),
			Y: e.c.Y + float64(e.u.Y*k) + float64(e.v.Y*s),
		}, geom.Point{
			X: float64(e.v.X*k) - float64(e.u.X*s),
			Y: float64(e.v.Y*k) - float64(e.u.Y*s),
		}
}

// principal returns the same ellipse with u and v at right angles, and by how
// much the parameter has moved: at(t) of e is at(t-shift) of the result.
func (e ellipseCurve) principal() (ellipseCurve, float64) {
	shift := math.Atan2(2*e.u.Dot(e.v), e.u.Dot(e.u)-e.v.Dot(e.v)) / 2
	if math.Abs(e.u.Dot(e.v)) <= 1e-15*e.u.Len()*e.v.Len() {
		return e, 0
	}
	s, k := math.Sincos(shift)
	return ellipseCurve{e.c, e.u.Mul(k).Add(e.v.Mul(s)), e.v.Mul(k).Sub(e.u.Mul(s))}, shift
}

// segments stands arcs for the curve from t0 to t1 (rad, either way), within
// tol. It breaks at the ends of the axes, so that the widest points are met.
func (e ellipseCurve) segments(t0, t1, tol float64) []geom.Seg {
	e, shift := e.principal()
	t0, t1 = t0-shift, t1-shift
	a, b := e.u.Len(), e.v.Len()
	if math.Min(a, b) <= tol*1e-3 { // no more than a line there and back
		p, _ := e.at(t0)
		q, _ := e.at(t1)
		return []geom.Seg{geom.Line(p, q)}
	}
	breaks := []float64{t0}
	q := math.Pi / 2
	if t1 > t0 {
		for k := math.Floor(t0/q) + 1; k*q < t1-1e-9; k++ {
			if k*q > t0+1e-9 {
				breaks = append(breaks, k*q)
			}
		}
	} else {
		for k := math.Ceil(t0/q) - 1; k*q > t1+1e-9; k-- {
			if k*q < t0-1e-9 {
				breaks = append(breaks, k*q)
			}
		}
	}
	breaks = append(breaks, t1)
	if len(breaks) > 8 { // never more than one turn
		breaks = breaks[:8]
	}
	var out []geom.Seg
	for i := 0; i+1 < len(breaks); i++ {
		out = append(out, arcsAlong(e, breaks[i], breaks[i+1], q, tol, 24)...)
	}
	return mergeArcs(out)
}

// ellipseEntity reads an ELLIPSE: centre and major axis in drawing coordinates,
// the parameters in rad. The minor axis is extrusion × major axis.
func (b *builder) ellipseEntity(r *record) (shape, bool) {
	h := b.newHead()
	s := shape{kind: ellipseShape, line: int32(r.line), a0: 0, a1: 2 * math.Pi}
	have := 0
	for i := range r.tags {
		switch r.tags[i].code {
		case 10:
			s.p.X = r.num(i)
			have |= 1
		case 20:
			s.p.Y = r.num(i)
			have |= 2
		case 11:
			s.q.X = r.num(i)
			have |= 4
		case 21:
			s.q.Y = r.num(i)
			have |= 8
		case 31:
			if z := r.num(i); !(math.Abs(z) <= flatTol) {
				have |= 1 << 8
			}
		case 40:
			s.r = r.num(i)
			have |= 16
		case 41:
			s.a0 = r.num(i)
		case 42:
			s.a1 = r.num(i)
		default:
			b.common(r, i, &h)
		}
	}
	s.head = h
	if !b.asked(&h, r.kind) {
		return s, false
	}
	if have&31 != 31 || !finite(s.p) || !finite(s.q) || !finite(geom.Pt(s.a0, s.a1)) ||
		!(s.r > 0 && s.r <= 1e6) || s.q == (geom.Point{}) {
		if r.cut {
			b.cut = r.kind
		}
		b.broken(h, r, "an axis or a ratio is missing or makes no ellipse")
		return s, false
	}
	if b.faces() == facesAslant || have&(1<<8) != 0 {
		b.aslant(h, r, whyTilted)
		return s, false
	}
	if b.faces() == facesDown {
		s.r = -s.r // turns the minor axis, and with it the sense
	}
	if math.Abs(s.a1-s.a0) < 1e-9 {
		b.tally.zero++
		b.remark("arc-without-sweep", diag.Warn, h, r.kind, r.line, &s.p,
			"start and end are the same, so there is nothing to cut", "draw a full ellipse if one is meant")
		return s, false
	}
	return s, true
}

func (b *builder) putEllipse(s *shape, m affine, layer int32) {
	sweep := s.a1 - s.a0
	full := math.Abs(math.Abs(sweep)-2*math.Pi) < 1e-9
	if full {
		sweep = 2 * math.Pi
	} else if sweep = math.Mod(sweep, 2*math.Pi); sweep < 0 {
		sweep += 2 * math.Pi
	}
	minor := s.q.Left().Mul(s.r)
	e := ellipseCurve{m.apply(s.p), m.vector(s.q), m.vector(minor)}
	b.begin(s, layer)
	if u, v := e.u, e.v; math.Abs(u.Dot(u)-v.Dot(v)) <= 2e-12*u.Dot(u) && math.Abs(u.Dot(v)) <= 1e-12*u.Dot(u) {
		b.roundEllipse(e, s.a0, sweep, full)
	} else {
		segs := e.segments(s.a0, s.a0+sweep, b.curveTol())
		if n := len(segs); full && n > 1 {
			segs[n-1].B = segs[0].A
		}
		b.fit(segs)
	}
	b.end(full)
}

// roundEllipse draws an ellipse that is a circle, exactly.
func (b *builder) roundEllipse(e ellipseCurve, t0, sweep float64, full bool) {
	n := 2
	bulge := math.Tan(sweep / 8)
	if full {
		bulge = 1
	}
	if e.u.Cross(e.v) < 0 {
		bulge = -bulge
	}
	first, _ := e.at(t0)
	a := first
	for i := 1; i <= n; i++ {
		p, _ := e.at(t0 + sweep*float64(i)/float64(n))
		if full && i == n {
			p = first
		}
		b.piece(geom.Seg{A: a, B: p, Bulge: bulge})
		a = p
	}
}
