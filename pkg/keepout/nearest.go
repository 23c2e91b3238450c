package keepout

import (
	"math"

	"sparclear/pkg/geom"
)

// flatArc is the largest rise of an arc above its chord, mm, that is treated as
// straight: the centre of a flatter arc is too far away to keep its digits. It
// is far below the slack that Field takes off every answer.
const flatArc = 1e-10

// segDist returns the distance between two segments, 0 when they meet. Smallest
// distances occur at a crossing, at an end, or on a common normal; all are
// tried. The error is that of rounding, about 1e-12 of the coordinates.
func segDist(a, b geom.Seg) float64 {
	a, b = straighten(a), straighten(b)
	d := math.Min(math.Min(pointDist(b, a.A), pointDist(b, a.B)), math.Min(pointDist(a, b.A), pointDist(a, b.B)))
	if d == 0 {
		return 0
	}
	switch {
	case a.IsLine() && b.IsLine():
		if linesCross(a, b) {
			return 0
		}
	case a.IsLine():
		return math.Min(d, lineArc(a, b))
	case b.IsLine():
		return math.Min(d, lineArc(b, a))
	default:
		return math.Min(d, arcArc(a, b))
	}
	return d
}

// pointDist is Seg.Dist with a short way for straight segments, which are most.
func pointDist(s geom.Seg, p geom.Point) float64 {
	if s.Bulge != 0 {
		return s.Dist(p)
	}
	d, v := s.B.Sub(s.A), p.Sub(s.A)
	l2, t := d.Dot(d), v.Dot(d)
	switch {
	case t <= 0 || l2 == 0:
		return v.Len()
	case t >= l2:
		return p.Dist(s.B)
	}
	return math.Abs(d.Cross(v)) / math.Sqrt(l2)
}

func straighten(s geom.Seg) geom.Seg {
	if s.Bulge != 0 && math.Abs(s.Bulge)*s.A.Dist(s.B)/2 < flatArc {
		s.Bulge = 0
	}
	return s
}

func linesCross(a, b geom.Seg) bool {
	u, v := a.B.Sub(a.A), b.B.Sub(b.A)
	s1, s2 := u.Cross(b.A.Sub(a.A)), u.Cross(b.B.Sub(a.A))
	t1, t2 := v.Cross(a.A.Sub(b.A)), v.Cross(a.B.Sub(b.A))
	return (s1 < 0) != (s2 < 0) && (t1 < 0) != (t2 < 0)
}

// lineArc returns the smallest distance of crossings and common normals.
func lineArc(l, arc geom.Seg) float64 {
	c, r := arc.Center(), arc.Radius()
	u := l.B.Sub(l.A)
	n := u.Len()
	if n == 0 {
		return math.Inf(1)
	}
	u = u.Mul(1 / n)
	s := c.Sub(l.A).Dot(u)
	foot := l.A.Add(u.Mul(s))
	d := math.Inf(1)
	if s > 0 && s < n {
		d = arc.Dist(foot)
	}
	h := c.Dist(foot)
	if h > r {
		return d
	}
	w := math.Sqrt(math.Max(0, float64(r*r)-float64(h*h)))
	for _, t := range [2]float64{s - w, s + w} {
		if t >= 0 && t <= n {
			d = math.Min(d, arc.Dist(l.A.Add(u.Mul(t))))
		}
	}
	return d
}

// arcArc returns the smallest distance of crossings and common normals.
func arcArc(a, b geom.Seg) float64 {
	ca, ra := a.Center(), a.Radius()
	cb, rb := b.Center(), b.Radius()
	u := cb.Sub(ca)
	k := u.Len()
	if k == 0 { // concentric: the ends were tried
		return math.Inf(1)
	}
	u = u.Mul(1 / k)
	d := math.Inf(1)
	try := func(p geom.Point) { // where the circles meet; the arcs may not
		if m := math.Max(a.Dist(p), b.Dist(p)); m < 1e-6 {
			d = math.Min(d, m)
		}
	}
	for _, s := range [2]float64{1, -1} {
		p := ca.Add(u.Mul(s * ra))
		if a.Dist(p) < 1e-9 {
			d = math.Min(d, b.Dist(p))
		}
	}
	if k <= ra+rb && k >= math.Abs(ra-rb) {
		x := (float64(k*k) + float64(ra*ra) - float64(rb*rb)) / (2 * k)
		y := math.Sqrt(math.Max(0, float64(ra*ra)-float64(x*x)))
		try(ca.Add(u.Mul(x)).Add(u.Left().Mul(y)))
		try(ca.Add(u.Mul(x)).Add(u.Left().Mul(-y)))
	}
	return d
}

// boxSegDist returns the distance between the closed box and a segment.
func boxSegDist(b geom.Box, s geom.Seg) float64 {
	if b.Contains(s.A) || b.Contains(s.B) {
		return 0
	}
	if b.Min == b.Max {
		return s.Dist(b.Min)
	}
	p, q := geom.Pt(b.Max.X, b.Min.Y), geom.Pt(b.Min.X, b.Max.Y)
	d := math.Inf(1)
	for _, side := range [4]geom.Seg{geom.Line(b.Min, p), geom.Line(p, b.Max), geom.Line(b.Max, q), geom.Line(q, b.Min)} {
		d = math.Min(d, segDist(side, s))
	}
	return d
}

// BoxDist returns the distance between two closed boxes, 0 when they meet.
func BoxDist(a, b geom.Box) float64 {
	dx := math.Max(0, math.Max(a.Min.X-b.Max.X, b.Min.X-a.Max.X))
	dy := math.Max(0, math.Max(a.Min.Y-b.Max.Y, b.Min.Y-a.Max.Y))
	return math.Sqrt(float64(dx*dx) + float64(dy*dy))
}

// SegBoxDist returns the distance between a segment and a closed box, mm.
func SegBoxDist(s geom.Seg, b geom.Box) float64 { return boxSegDist(b, s) }

// SegDist returns the distance between two segments, 0 when they meet, mm.
func SegDist(a, b geom.Seg) float64 { return segDist(a, b) }
