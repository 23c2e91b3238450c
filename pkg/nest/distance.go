package nest

import (
	"sort"

	"sparclear/pkg/geom"
)

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
			if d := a.segs[i].DistSeg(b.segs[j]); d < limit {
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
