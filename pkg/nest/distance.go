package nest

import (
	"math"
	"sort"

	"sparclear/pkg/geom"
)

// segDist returns the distance between two segments, mm, 0 when they meet. It is
// the least over the ends, the points where lines or arcs can meet, and the feet
// of the common normals.
func segDist(s, t geom.Seg) float64 {
	d := math.Min(math.Min(s.Dist(t.A), s.Dist(t.B)), math.Min(t.Dist(s.A), t.Dist(s.B)))
	switch {
	case s.IsLine() && t.IsLine():
		e, f := edge{s.A.X, s.A.Y, s.B.X, s.B.Y}, edge{t.A.X, t.A.Y, t.B.X, t.B.Y}
		if crosses(&e, &f) {
			return 0
		}
	case s.IsLine():
		for _, p := range lineArc(s, t) {
			d = math.Min(d, t.Dist(s.Nearest(p)))
		}
	case t.IsLine():
		for _, p := range lineArc(t, s) {
			d = math.Min(d, s.Dist(t.Nearest(p)))
		}
	default:
		for _, p := range arcArc(s, t) {
			d = math.Min(d, t.Dist(s.Nearest(p)))
		}
	}
	return d
}

// lineArc returns the points of the carrying line where it meets the carrying
// circle of the arc, and the foot of its centre.
func lineArc(l, a geom.Seg) []geom.Point {
	c, r := a.Center(), a.Radius()
	u := l.B.Sub(l.A).Unit()
	foot := l.A.Add(u.Mul(c.Sub(l.A).Dot(u)))
	out := []geom.Point{foot}
	if h := float64(r*r) - c.Sub(foot).Dot(c.Sub(foot)); h > 0 {
		w := math.Sqrt(h)
		out = append(out, foot.Add(u.Mul(w)), foot.Sub(u.Mul(w)))
	}
	return out
}

// arcArc returns the points of the carrying circle of s where it meets that of t
// and where both have a common normal.
func arcArc(s, t geom.Seg) []geom.Point {
	c, r, k, q := s.Center(), s.Radius(), t.Center(), t.Radius()
	v := k.Sub(c)
	l := v.Len()
	if l < 1e-12 {
		return nil // concentric: an end of one is as near as anything
	}
	u := v.Mul(1 / l)
	out := []geom.Point{c.Add(u.Mul(r)), c.Sub(u.Mul(r))}
	a := (float64(l*l) + float64(r*r) - float64(q*q)) / (2 * l)
	if h := float64(r*r) - float64(a*a); h > 0 {
		w := u.Left().Mul(math.Sqrt(h))
		out = append(out, c.Add(u.Mul(a)).Add(w), c.Add(u.Mul(a)).Sub(w))
	}
	return out
}

// body is a region where it lies, with its boundary as segments.
type body struct {
	region geom.Region
	segs   []geom.Seg
	boxes  []geom.Box
	box    geom.Box
}

func newBody(g geom.Region) *body {
	b := &body{region: g, box: g.Bounds()}
	for _, c := range g.Contours() {
		b.segs = append(b.segs, c.Segs()...)
	}
	for _, s := range b.segs {
		b.boxes = append(b.boxes, s.Bounds())
	}
	return b
}

// boundaryDist returns the distance between the boundaries, or limit when it is
// not less than that, and the place on a where it is least.
func boundaryDist(a, b *body, limit float64) (float64, geom.Point) {
	var at geom.Point
	// Touching boxes must be looked at even for a limit of 0.
	window := b.box.Grow(limit)
	near := make([]int, 0, len(b.segs))
	mine := a.box.Grow(limit)
	for j := range b.segs {
		if b.boxes[j].Overlaps(mine) {
			near = append(near, j)
		}
	}
	for i := range a.segs {
		if !a.boxes[i].Overlaps(window) {
			continue
		}
		wide := a.boxes[i].Grow(limit)
		for _, j := range near {
			if !b.boxes[j].Overlaps(wide) {
				continue
			}
			if d := segDist(a.segs[i], b.segs[j]); d < limit {
				limit, at = d, a.segs[i].Mid()
				wide = a.boxes[i].Grow(limit)
			}
		}
	}
	return limit, at
}

// inside tells whether a boundary that does not meet b's lies in b's material
// with its outer contour.
func (b *body) inside(a *body) bool {
	p := a.region.Outer[0].Point
	return b.box.Contains(p) && b.region.ContainsInterior(p)
}

// materialDist returns the distance between the materials, 0 when they share a
// point, or limit when it is not less than that.
func materialDist(a, b *body, limit float64) (float64, geom.Point) {
	if !a.box.Grow(limit).Overlaps(b.box) {
		return limit, geom.Point{}
	}
	d, at := boundaryDist(a, b, limit)
	if d > 0 && (b.inside(a) || a.inside(b)) {
		return 0, a.region.Outer[0].Point
	}
	return d, at
}

// pairsNear calls f for every pair of boxes that come within gap of each other,
// in order of the left edge.
func pairsNear(boxes []geom.Box, gap float64, f func(i, j int)) {
	order := make([]int, len(boxes))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return boxes[order[a]].Min.X < boxes[order[b]].Min.X })
	for k, i := range order {
		reach := boxes[i].Max.X + gap
		for _, j := range order[k+1:] {
			if boxes[j].Min.X > reach {
				break
			}
			if boxes[j].Min.Y <= boxes[i].Max.Y+gap && boxes[j].Max.Y >= boxes[i].Min.Y-gap {
				f(min(i, j), max(i, j))
			}
		}
	}
}
