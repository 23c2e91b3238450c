package plan

import (
	"math"

	"sparclear/pkg/geom"
)

// nearness answers how far a point lies from contours, by boxes of neighbouring
// segments, so that an outline of n segments costs about n·√n.
type nearness struct {
	segs []geom.Seg
	box  []geom.Box // of each run of segments
	run  int
}

func newNearness(cs []geom.Contour) *nearness {
	var n nearness
	var segs []geom.Seg
	for _, c := range cs {
		segs = append(segs, c.Segs()...)
	}
	n.fill(segs)
	return &n
}

// fill takes the segments, neighbours beside each other.
func (n *nearness) fill(segs []geom.Seg) {
	n.segs = segs
	n.run = max(4, int(math.Sqrt(float64(len(n.segs)))))
	for i := 0; i < len(n.segs); i += n.run {
		b := geom.EmptyBox()
		for _, s := range n.segs[i:min(i+n.run, len(n.segs))] {
			b = b.Union(s.Bounds())
		}
		n.box = append(n.box, b)
	}
}

// beyond returns the distance of q when it is more than lim, otherwise 0.
func (n *nearness) beyond(q geom.Point, lim float64) float64 {
	best := math.Inf(1)
	for k, b := range n.box {
		if b.Dist(q) >= best {
			continue
		}
		for i := k * n.run; i < min((k+1)*n.run, len(n.segs)); i++ {
			if d := n.segs[i].Dist(q); d < best {
				if best = d; best <= lim {
					return 0
				}
			}
		}
	}
	return best
}

// dist returns the distance of q.
func (n *nearness) dist(q geom.Point) float64 { return n.beyond(q, -1) }
