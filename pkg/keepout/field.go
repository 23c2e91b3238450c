package keepout

import (
	"cmp"
	"math"
	"slices"

	"sparclear/pkg/geom"
)

// Slack is taken off every distance that a Field returns, mm: the answers are
// lower bounds in spite of rounding, for coordinates up to 100 m.
const Slack = 1e-8

// Field answers how far a point, a segment or a box lies from a footprint, by a
// tree of boxes over its edges. It is immutable and safe for concurrent use.
// Distances are to the closed material: 0 inside and on the edge. An empty
// footprint is infinitely far away.
type Field struct {
	regions []slabs
	rows    [][]int32 // of many regions: which of them meet each of equal strips of the box, from below
	edges   []geom.Seg
	boxes   []geom.Box // of the edges
	nodes   []fieldNode
	box     geom.Box
}

type fieldNode struct {
	box         geom.Box
	lo, hi      int32 // edges of a leaf
	left, right int32 // children, 0 none
}

// NewField prepares the footprint. O(n log n).
func NewField(regions []geom.Region) *Field {
	f := &Field{box: geom.EmptyBox()}
	for _, g := range regions {
		f.regions = append(f.regions, newSlabs(g))
		for _, c := range g.Contours() {
			for _, s := range c.Segs() {
				f.edges = append(f.edges, straighten(s))
			}
		}
	}
	f.build()
	f.sortRows()
	return f
}

// sortRows sorts many regions into rows, so that a point is held against the few
// beside it only.
func (f *Field) sortRows() {
	n := min(len(f.regions)/4, 1024)
	if n < 2 || !(f.box.Size().Y > 0) || math.IsInf(f.box.Size().Y, 1) {
		return
	}
	f.rows = make([][]int32, n)
	for i := range f.regions {
		b := &f.regions[i].box
		for k := f.row(b.Min.Y); k <= f.row(b.Max.Y); k++ {
			f.rows[k] = append(f.rows[k], int32(i))
		}
	}
}

// row returns the strip that holds a height.
func (f *Field) row(y float64) int {
	n := len(f.rows)
	return max(0, min(n-1, int((y-f.box.Min.Y)/f.box.Size().Y*float64(n))))
}

// NewEdges prepares loose segments, which have no inside.
func NewEdges(segs []geom.Seg) *Field {
	f := &Field{box: geom.EmptyBox()}
	for _, s := range segs {
		f.edges = append(f.edges, straighten(s))
	}
	f.build()
	return f
}

func (f *Field) build() {
	n := len(f.edges)
	if n == 0 {
		return
	}
	idx := make([]int, n)
	all := make([]geom.Box, n)
	for i, s := range f.edges {
		idx[i], all[i] = i, s.Bounds()
		f.box = f.box.Union(all[i])
	}
	f.nodes = make([]fieldNode, 1, 2*n)
	f.split(0, idx, all, 0)
	edges := make([]geom.Seg, n)
	f.boxes = make([]geom.Box, n)
	for i, k := range idx {
		edges[i], f.boxes[i] = f.edges[k], all[k]
	}
	f.edges = edges
}

func (f *Field) split(node int, idx []int, all []geom.Box, base int) {
	b := geom.EmptyBox()
	for _, k := range idx {
		b = b.Union(all[k])
	}
	f.nodes[node].box = b
	if len(idx) <= 3 {
		f.nodes[node].lo, f.nodes[node].hi = int32(base), int32(base+len(idx))
		return
	}
	size := b.Size()
	wide := size.X >= size.Y
	slices.SortFunc(idx, func(i, j int) int {
		p, q := all[i].Center(), all[j].Center()
		if !wide {
			p.X, q.X = p.Y, q.Y
		}
		return cmp.Or(cmp.Compare(p.X, q.X), i-j)
	})
	m := len(idx) / 2
	l := len(f.nodes)
	f.nodes = append(f.nodes, fieldNode{}, fieldNode{})
	f.nodes[node].left, f.nodes[node].right = int32(l), int32(l+1)
	f.split(l, idx[:m], all, base)
	f.split(l+1, idx[m:], all, base+m)
}

// Bounds returns the box of the footprint, empty when there is none.
func (f *Field) Bounds() geom.Box { return f.box }

// Edges returns the edges of the footprint; the caller must not change them.
func (f *Field) Edges() []geom.Seg { return f.edges }

// Inside tells whether p lies in the material of any region; on an edge the
// answer may be either, so ask EdgeDist where edges matter.
func (f *Field) Inside(p geom.Point) bool {
	if !f.box.Contains(p) {
		return false
	}
	if f.rows != nil {
		for _, i := range f.rows[f.row(p.Y)] {
			if f.regions[i].inside(p) {
				return true
			}
		}
		return false
	}
	for i := range f.regions {
		if f.regions[i].inside(p) {
			return true
		}
	}
	return false
}

// walk visits edges in order of promise and returns the smallest of dist, given
// far, a lower bound of dist for everything in a box.
func (f *Field) walk(limit float64, far func(geom.Box) float64, dist func(geom.Seg) float64) float64 {
	if len(f.nodes) == 0 {
		return math.Inf(1)
	}
	best := limit
	var stack [64]struct {
		n int32
		d float64
	}
	stack[0].d = far(f.nodes[0].box)
	for top := 1; top > 0; {
		top--
		if stack[top].d >= best {
			continue
		}
		n := &f.nodes[stack[top].n]
		if n.left == 0 {
			for i := n.lo; i < n.hi; i++ {
				if far(f.boxes[i]) < best {
					best = math.Min(best, dist(f.edges[i]))
				}
			}
			continue
		}
		dl, dr := far(f.nodes[n.left].box), far(f.nodes[n.right].box)
		l, r := n.left, n.right
		if dl < dr { // the nearer one last, so that it is taken first
			l, r, dl, dr = r, l, dr, dl
		}
		stack[top].n, stack[top].d = l, dl
		stack[top+1].n, stack[top+1].d = r, dr
		top += 2
	}
	return best
}

// EdgeDist returns a lower bound of the distance from p to the nearest edge, tight to Slack, mm.
func (f *Field) EdgeDist(p geom.Point) float64 {
	d := f.walk(math.Inf(1), func(b geom.Box) float64 { return b.Dist(p) }, func(s geom.Seg) float64 { return pointDist(s, p) })
	return math.Max(0, d-Slack)
}

// Nearest returns the point of the edges that is nearest to p, and its edge;
// false when there is no edge.
func (f *Field) Nearest(p geom.Point) (geom.Point, geom.Seg, bool) {
	best, at, edge := math.Inf(1), p, geom.Seg{}
	f.walk(math.Inf(1), func(b geom.Box) float64 { return b.Dist(p) }, func(s geom.Seg) float64 {
		q := s.Nearest(p)
		d := q.Dist(p)
		if d < best {
			best, at, edge = d, q, s
		}
		return d
	})
	return at, edge, !math.IsInf(best, 1)
}

// Dist returns a lower bound of the distance from p to the footprint, 0 inside, mm.
func (f *Field) Dist(p geom.Point) float64 {
	if f.Inside(p) {
		return 0
	}
	return f.EdgeDist(p)
}

// EdgeDistSeg returns a lower bound of the distance from s to the nearest edge, mm.
func (f *Field) EdgeDistSeg(s geom.Seg) float64 {
	s = straighten(s)
	if s.A == s.B {
		return f.EdgeDist(s.A)
	}
	box := s.Bounds()
	d := f.walk(math.Inf(1), func(b geom.Box) float64 { return BoxDist(b, box) }, func(e geom.Seg) float64 { return segDist(e, s) })
	return math.Max(0, d-Slack)
}

// DistSeg returns a lower bound of the distance from s to the footprint, 0 when
// any part of s lies in it, mm.
func (f *Field) DistSeg(s geom.Seg) float64 {
	if f.Inside(s.A) {
		return 0
	}
	return f.EdgeDistSeg(s)
}

// DistBox returns a lower bound of the distance from the closed box to the
// footprint, 0 when they meet, mm.
func (f *Field) DistBox(box geom.Box) float64 {
	if f.Inside(box.Min) {
		return 0
	}
	d := f.walk(math.Inf(1), func(b geom.Box) float64 { return BoxDist(b, box) }, func(e geom.Seg) float64 { return boxSegDist(box, e) })
	return math.Max(0, d-Slack)
}
