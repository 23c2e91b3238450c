package drawing

import (
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// spline is a SPLINE as stored: control points with knots and perhaps weights,
// or points that the curve passes.
type spline struct {
	degree  int
	knots   []float64
	control []geom.Point
	weights []float64 // nil when all are 1
	fit     []geom.Point
	startT  geom.Point // direction at the ends of a curve through fit points
	endT    geom.Point
	closed  bool
}

// splineEntity reads a SPLINE. Knots, weights and control points count as they
// stand; the closed flag only says that the ends meet.
func (b *builder) splineEntity(r *record) (shape, bool) {
	h := b.newHead()
	sp := &spline{degree: 3}
	s := shape{kind: splineShape, line: int32(r.line), spline: sp}
	z0, z1 := math.Inf(1), math.Inf(-1)
	counts := [3]int{-1, -1, -1} // of knots, control and fit points, where the file gives them
	for i := range r.tags {
		switch c := r.tags[i].code; c {
		case 72, 73, 74:
			counts[c-72] = r.integer(i, -1)
		case 70:
			sp.closed = r.integer(i, 0)&1 != 0
		case 71:
			sp.degree = r.integer(i, -1)
		case 40:
			sp.knots = append(sp.knots, r.num(i))
		case 41:
			sp.weights = append(sp.weights, r.num(i))
		case 10:
			sp.control = append(sp.control, geom.Pt(r.num(i), math.NaN()))
		case 20:
			setY(sp.control, r.num(i))
		case 11:
			sp.fit = append(sp.fit, geom.Pt(r.num(i), math.NaN()))
		case 21:
			setY(sp.fit, r.num(i))
		case 30, 31:
			z := r.num(i)
			z0, z1 = math.Min(z0, z), math.Max(z1, z)
		case 12:
			sp.startT.X = r.num(i)
		case 22:
			sp.startT.Y = r.num(i)
		case 13:
			sp.endT.X = r.num(i)
		case 23:
			sp.endT.Y = r.num(i)
		case 210, 220, 230: // the normal of a flat curve; its points stay where they are
		default:
			b.common(r, i, &h)
		}
	}
	s.head = h
	if !b.asked(&h, r.kind) {
		return s, false
	}
	if z1-z0 > flatTol || math.IsNaN(z0) {
		b.aslant(h, r, whyHeight)
		return s, false
	}
	why := sp.fault()
	for i, n := range [3]int{len(sp.knots), len(sp.control), len(sp.fit)} {
		if why == "" && counts[i] >= 0 && counts[i] != n {
			why = "it says another number of knots or points than it has"
		}
	}
	if why != "" {
		if r.cut {
			b.cut = r.kind
		}
		b.broken(h, r, why)
		return s, false
	}
	if len(sp.control) == 0 {
		at := sp.fit[0]
		b.remark("spline-by-points", diag.Warn, h, r.kind, r.line, &at,
			"is given only by the points that it passes; a cubic curve through them is read",
			"look whether its shape is the one meant")
	}
	return s, true
}

func setY(p []geom.Point, y float64) {
	if n := len(p); n > 0 {
		p[n-1].Y = y
	}
}

// fault says what makes a spline no curve, "" when nothing does.
func (s *spline) fault() string {
	for _, p := range append(s.control[:len(s.control):len(s.control)], s.fit...) {
		if !finite(p) {
			return "a point is no number"
		}
	}
	if len(s.control) == 0 {
		if len(s.fit) < 2 {
			return "it has neither control points nor points to pass"
		}
		if !finite(s.startT) || !finite(s.endT) {
			return "an end direction is no number"
		}
		return ""
	}
	n, p := len(s.control), s.degree
	switch {
	case p < 1 || p > 25 || n < p+1:
		return "its degree does not fit its number of control points"
	case len(s.knots) != n+p+1:
		return "its number of knots is not control points + degree + 1"
	case len(s.weights) != 0 && len(s.weights) != n:
		return "its number of weights is not that of its control points"
	}
	for i, k := range s.knots {
		if !(math.Abs(k) <= far) || i > 0 && k < s.knots[i-1] {
			return "its knots do not rise"
		}
	}
	for _, w := range s.weights {
		if !(w > 0 && w <= far) {
			return "a weight is not above zero"
		}
	}
	if !(s.knots[n] > s.knots[p]) {
		return "its knots span nothing"
	}
	return ""
}

func (b *builder) putSpline(s *shape, m affine, layer int32) {
	sp := s.spline
	b.begin(s, layer)
	var segs []geom.Seg
	if len(sp.control) == 0 {
		segs = through(sp, m, b.curveTol())
	} else {
		control := make([]geom.Point, len(sp.control))
		for i := range control {
			control[i] = m.apply(sp.control[i])
		}
		segs = nurbsSegments(nurbs{sp.degree, sp.knots, control, sp.weights}, b.curveTol())
	}
	n := len(segs)
	closed := n > 1 && segs[0].A.Dist(segs[n-1].B) <= 1e-6/b.scale
	if closed {
		segs[n-1].B = segs[0].A
	}
	b.fit(segs)
	b.end(closed)
}
