package geom

import "math"

// touching is how near curves must come to meet, mm: rounding, not judgement.
const touching = 1e-9

// Meet returns the points at which two segments meet: ends of one on the other,
// crossings, and the point of touch where they come within 1e-9 mm. Of segments
// that run along one line or circle it returns the ends of the common part. No
// order is promised.
func (s Seg) Meet(t Seg) []Point {
	var out []Point
	var h hits
	for _, a := range appendCurves(nil, s) {
		for _, b := range appendCurves(nil, t) {
			meet(&a, &b, touching, touching, &h)
		next:
			for _, x := range h.h[:h.n] {
				for _, p := range out {
					if near(p, x.p, touching) {
						continue next
					}
				}
				out = append(out, x.p)
			}
		}
	}
	return out
}

// DistSeg returns the distance between two segments, lines or arcs, mm: 0 where
// they meet. Closed form, no sampling.
func (s Seg) DistSeg(t Seg) float64 {
	best := math.Inf(1)
	for _, a := range appendCurves(nil, s) {
		for _, b := range appendCurves(nil, t) {
			best = math.Min(best, distCurves(&a, &b))
		}
	}
	return best
}

// distCurves returns the distance between two curves. The least distance is 0 at
// a crossing, or is reached at an end of one of them, or along a normal of both;
// normals of both run through the centres. Any point of one curve measured
// against the other bounds the distance from above, so candidates may be added
// freely.
func distCurves(a, b *curve) float64 {
	best := math.Min(math.Min(a.dist(b.A), a.dist(b.B)), math.Min(b.dist(a.A), b.dist(a.B)))
	if best == 0 {
		return 0
	}
	var h hits
	if meet(a, b, 0, 0, &h); h.n > 0 {
		return 0
	}
	switch {
	case a.R == 0 && b.R == 0:
		return best
	case a.R == 0:
		return math.Min(best, normalsLineArc(a, b))
	case b.R == 0:
		return math.Min(best, normalsLineArc(b, a))
	}
	d := b.A.Sub(a.A).Add(b.C).Sub(a.C)
	l := d.Len()
	if l == 0 {
		return best // one centre: the ends tell all
	}
	for _, sign := range [2]float64{1, -1} {
		best = math.Min(best, normalAt(a, d, sign/l, b))
		best = math.Min(best, normalAt(b, d, sign/l, a))
	}
	return best
}

// normalAt returns the distance from the point of arc a in direction k·d to b,
// +Inf when the arc does not reach there.
func normalAt(a *curve, d Point, k float64, b *curve) float64 {
	r := math.Abs(a.R) * k
	p := Point{a.A.X + a.C.X + float64(r*d.X), a.A.Y + a.C.Y + float64(r*d.Y)}
	if !a.holds(p) {
		return math.Inf(1)
	}
	return b.dist(p)
}

func normalsLineArc(l, c *curve) float64 {
	best := math.Inf(1)
	cen := c.A.Add(c.C)
	t := cen.Sub(l.A).Dot(l.C)
	if t > 0 && t < l.L {
		best = c.dist(Point{l.A.X + float64(t*l.C.X), l.A.Y + float64(t*l.C.Y)})
	}
	n := l.C.Left()
	for _, sign := range [2]float64{1, -1} {
		best = math.Min(best, normalAt(c, n, sign, l))
	}
	return best
}

// DistRegion returns the distance between two regions, mm: 0 where they touch,
// overlap or one holds the other, +Inf when one is empty. O((n + m) log) on
// ordinary outlines.
func (g Region) DistRegion(h Region) float64 {
	a, b := newField(curvesOf(g.Contours())), newField(curvesOf(h.Contours()))
	if len(a.cs) == 0 || len(b.cs) == 0 {
		return math.Inf(1)
	}
	if a.winding(b.cs[0].A) > 0 || b.winding(a.cs[0].A) > 0 {
		return 0
	}
	if len(a.cs) > len(b.cs) {
		a, b = b, a
	}
	best := math.Inf(1)
	for i := range a.cs {
		if best = b.distCurve(&a.cs[i], best); best == 0 {
			return 0
		}
	}
	return best
}
