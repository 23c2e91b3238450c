package keepout

import (
	"math"

	"sparclear/pkg/geom"
)

// slabs sort the edges of one region into horizontal strips, so that a point
// is compared with the edges of its own strip only.
type slabs struct {
	box   geom.Box
	scale float64 // strips per mm
	count int     // of strips
	first []int32 // of each strip, index into edges; one more at the end
	edges []geom.Seg
}

func newSlabs(g geom.Region) slabs {
	s := slabs{box: g.Bounds()}
	var all []geom.Seg
	var boxes []geom.Box
	for _, c := range g.Contours() {
		for _, e := range c.Segs() {
			all = append(all, e)
			boxes = append(boxes, e.Bounds().Grow(Slack))
		}
	}
	n := max(1, min(len(all), 1024))
	s.count = n
	if h := s.box.Size().Y; h > 0 && !math.IsInf(h, 1) {
		s.scale = float64(n) / h
	}
	lists := make([][]geom.Seg, n)
	for i, e := range all {
		for k := s.strip(boxes[i].Min.Y); k <= s.strip(boxes[i].Max.Y); k++ {
			lists[k] = append(lists[k], e)
		}
	}
	s.first = make([]int32, 1, n+1)
	for _, l := range lists {
		s.edges = append(s.edges, l...)
		s.first = append(s.first, int32(len(s.edges)))
	}
	return s
}

func (s *slabs) strip(y float64) int {
	k := int((y - s.box.Min.Y) * s.scale)
	return max(0, min(k, s.count-1))
}

// inside tells whether the winding number about p is positive.
func (s *slabs) inside(p geom.Point) bool {
	if !s.box.Contains(p) {
		return false
	}
	k := s.strip(p.Y)
	w := 0
	for _, e := range s.edges[s.first[k]:s.first[k+1]] {
		w += crossing(e, p)
	}
	return w > 0
}

// crossing counts how the edge crosses the ray from p towards +X: +1 upwards,
// -1 downwards. An arc is its chord, and the sliver between the two.
func crossing(e geom.Seg, p geom.Point) int {
	w := 0
	side := e.B.Sub(e.A).Cross(p.Sub(e.A))
	if (e.A.Y <= p.Y) != (e.B.Y <= p.Y) {
		if up := e.A.Y <= p.Y; up && side > 0 {
			w = 1
		} else if !up && side < 0 {
			w = -1
		}
	}
	if e.Bulge == 0 {
		return w
	}
	c, r := e.Center(), e.Radius()
	v := p.Sub(c)
	if v.Dot(v) >= r*r {
		return w
	}
	right := side < 0
	if side == 0 {
		d := e.B.Sub(e.A)
		right = d.Y > 0 || d.Y == 0 && d.X < 0
	}
	if e.Bulge > 0 && right {
		w++
	}
	if e.Bulge < 0 && !right {
		w--
	}
	return w
}
