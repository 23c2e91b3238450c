package drawing

import (
	"math"

	"sparclear/pkg/geom"
)

// boxTree finds things by their boxes. It keeps one box, rounded outward to
// single precision, for every eight things and again for every eight of those.
// Neighbours in number should lie near each other.
type boxTree struct {
	n      int
	origin geom.Point   // near the things, so that little is lost to rounding
	levels [][]smallBox // leaves first
}

type smallBox struct{ x0, y0, x1, y1 float32 }

const treeFan = 8

// newBoxTree makes the tree of n things with the boxes given.
func newBoxTree(n int, box func(i int32) geom.Box) boxTree {
	t := boxTree{n: n}
	if n > 0 {
		t.origin = box(0).Min
	}
	leaves := make([]smallBox, 0, (n+treeFan-1)/treeFan)
	for k := 0; k < n; k += treeFan {
		b := geom.EmptyBox()
		for i := k; i < min(k+treeFan, n); i++ {
			b = joined(b, box(int32(i)))
		}
		leaves = append(leaves, t.small(b))
	}
	t.levels = levelsOver(leaves)
	return t
}

// levelsOver builds the levels of a tree over its leaves.
func levelsOver(leaves []smallBox) [][]smallBox {
	levels := [][]smallBox{leaves}
	for len(leaves) > 1 {
		above := make([]smallBox, 0, (len(leaves)+treeFan-1)/treeFan)
		for i, b := range leaves {
			if i%treeFan == 0 {
				above = append(above, b)
			} else {
				above[len(above)-1].join(b)
			}
		}
		levels = append(levels, above)
		leaves = above
	}
	return levels
}

func (b *smallBox) join(c smallBox) {
	b.x0, b.y0 = min(b.x0, c.x0), min(b.y0, c.y0)
	b.x1, b.y1 = max(b.x1, c.x1), max(b.y1, c.y1)
}

func (b *smallBox) meets(c *smallBox) bool {
	return b.x0 <= c.x1 && c.x0 <= b.x1 && b.y0 <= c.y1 && c.y0 <= b.y1
}

func (b *smallBox) holds(c *smallBox) bool {
	return b.x0 <= c.x0 && c.x1 <= b.x1 && b.y0 <= c.y0 && c.y1 <= b.y1
}

// small rounds a box outward.
func (t *boxTree) small(b geom.Box) smallBox {
	down := func(v float64) float32 {
		f := float32(v)
		if float64(f) > v {
			f = math.Nextafter32(f, float32(math.Inf(-1)))
		}
		return f
	}
	up := func(v float64) float32 { return -down(-v) }
	o := t.origin
	return smallBox{down(b.Min.X - o.X), down(b.Min.Y - o.Y), up(b.Max.X - o.X), up(b.Max.Y - o.Y)}
}

// each calls f for the things whose eight have a box that meets b, until f
// returns false. It is called for more things than meet b themselves.
func (t *boxTree) each(b geom.Box, f func(i int32) bool) {
	if t.n > 0 {
		c := t.small(b)
		t.below(len(t.levels)-1, 0, &c, f)
	}
}

// leaves calls f for every two leaves i ≤ k whose boxes meet, until f returns
// false. Both sides are walked down together, so that things far apart are told
// apart in large numbers at once.
func (t *boxTree) leaves(f func(i, k int) bool) {
	if t.n > 0 {
		t.bothBelow(len(t.levels)-1, 0, 0, f)
	}
}

func (t *boxTree) bothBelow(level, i, k int, f func(i, k int) bool) bool {
	if level == 0 {
		return f(i, k)
	}
	below := t.levels[level-1]
	for ci := i * treeFan; ci < min((i+1)*treeFan, len(below)); ci++ {
		from := k * treeFan
		if i == k {
			from = ci
		}
		for ck := from; ck < min((k+1)*treeFan, len(below)); ck++ {
			if below[ci].meets(&below[ck]) && !t.bothBelow(level-1, ci, ck, f) {
				return false
			}
		}
	}
	return true
}

func (t *boxTree) below(level, k int, b *smallBox, f func(i int32) bool) bool {
	if !t.levels[level][k].meets(b) {
		return true
	}
	end := (k + 1) * treeFan
	if level == 0 {
		for i := k * treeFan; i < min(end, t.n); i++ {
			if !f(int32(i)) {
				return false
			}
		}
		return true
	}
	for m := k * treeFan; m < min(end, len(t.levels[level-1])); m++ {
		if !t.below(level-1, m, b, f) {
			return false
		}
	}
	return true
}
