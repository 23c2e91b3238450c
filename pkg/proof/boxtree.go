package proof

import (
	"cmp"
	"math"
	"slices"

	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
)

// boxTree finds which of many boxes meet a box. Boxes that are not finite are
// always found.
type boxTree struct {
	wide  []int // not finite
	nodes []boxNode
	items []int
	boxes []geom.Box
}

type boxNode struct {
	box         geom.Box
	lo, hi      int
	left, right int
}

func newBoxTree(boxes []geom.Box) boxTree {
	t := boxTree{boxes: boxes}
	for i, b := range boxes {
		switch {
		case b.Empty():
		case math.IsInf(b.Min.X, 0) || math.IsInf(b.Max.X, 0) || math.IsInf(b.Min.Y, 0) || math.IsInf(b.Max.Y, 0):
			t.wide = append(t.wide, i)
		default:
			t.items = append(t.items, i)
		}
	}
	if len(t.items) > 0 {
		t.nodes = append(t.nodes, boxNode{})
		t.split(0, 0, len(t.items))
	}
	return t
}

func (t *boxTree) split(n, lo, hi int) {
	b := geom.EmptyBox()
	for _, i := range t.items[lo:hi] {
		b = b.Union(t.boxes[i])
	}
	t.nodes[n] = boxNode{box: b, lo: lo, hi: hi}
	if hi-lo <= 4 {
		return
	}
	part := t.items[lo:hi]
	wide := b.Size().X >= b.Size().Y
	slices.SortFunc(part, func(i, j int) int {
		p, q := t.boxes[i].Center(), t.boxes[j].Center()
		if !wide {
			p.X, q.X = p.Y, q.Y
		}
		return cmp.Or(cmp.Compare(p.X, q.X), i-j)
	})
	l := len(t.nodes)
	t.nodes = append(t.nodes, boxNode{}, boxNode{})
	t.nodes[n].left, t.nodes[n].right = l, l+1
	m := (lo + hi) / 2
	t.split(l, lo, m)
	t.split(l+1, m, hi)
}

// visit calls f with the index of every box that meets b, in a fixed order.
func (t *boxTree) visit(b geom.Box, f func(int)) {
	for _, i := range t.wide {
		f(i)
	}
	if len(t.nodes) > 0 {
		t.walk(0, b, f)
	}
}

func (t *boxTree) walk(n int, b geom.Box, f func(int)) {
	k := &t.nodes[n]
	if keepout.BoxDist(k.box, b) > 0 {
		return
	}
	if k.left == 0 {
		for _, i := range t.items[k.lo:k.hi] {
			if keepout.BoxDist(t.boxes[i], b) <= 0 {
				f(i)
			}
		}
		return
	}
	t.walk(k.left, b, f)
	t.walk(k.right, b, f)
}
