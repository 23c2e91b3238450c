package drawing

import (
	"math"

	"sparclear/pkg/geom"
)

// segTree finds the edges of loops near a box. It keeps one small box for every
// eight edges, rounded outward to single precision, and takes the edges from the
// loops themselves: a few bytes per edge, where a drawing may hold millions.
// Loops must come in an order in which neighbours in the list lie near each other.
type segTree struct {
	loops  []loop
	owner  []int32 // loop of an edge
	first  []int32 // first edge of a loop
	origin geom.Point
	levels [][]smallBox // leaves first
}

type smallBox struct{ x0, y0, x1, y1 float32 }

const treeFan = 8

func newSegTree(loops []loop) *segTree {
	t := &segTree{loops: loops, first: make([]int32, len(loops))}
	total := 0
	for _, l := range loops {
		total += len(l.c)
	}
	t.owner = make([]int32, 0, total)
	if len(loops) > 0 {
		t.origin = loops[0].c[0].Point // near the geometry, so that little is lost to rounding
	}
	leaves := make([]smallBox, 0, (total+treeFan-1)/treeFan)
	for i, l := range loops {
		t.first[i] = int32(len(t.owner))
		for k := range l.c {
			b := t.small(l.c.Seg(k).Bounds())
			if len(t.owner)%treeFan == 0 {
				leaves = append(leaves, b)
			} else {
				leaves[len(leaves)-1].join(b)
			}
			t.owner = append(t.owner, int32(i))
		}
	}
	t.levels = [][]smallBox{leaves}
	for len(leaves) > 1 {
		above := make([]smallBox, 0, (len(leaves)+treeFan-1)/treeFan)
		for i, b := range leaves {
			if i%treeFan == 0 {
				above = append(above, b)
			} else {
				above[len(above)-1].join(b)
			}
		}
		t.levels = append(t.levels, above)
		leaves = above
	}
	return t
}

func (b *smallBox) join(c smallBox) {
	b.x0, b.y0 = min(b.x0, c.x0), min(b.y0, c.y0)
	b.x1, b.y1 = max(b.x1, c.x1), max(b.y1, c.y1)
}

func (b *smallBox) meets(c smallBox) bool {
	return b.x0 <= c.x1 && c.x0 <= b.x1 && b.y0 <= c.y1 && c.y0 <= b.y1
}

// small rounds a box outward.
func (t *segTree) small(b geom.Box) smallBox {
	down := func(v float64) float32 {
		f := float32(v)
		if float64(f) > v {
			f = math.Nextafter32(f, float32(math.Inf(-1)))
		}
		return f
	}
	up := func(v float64) float32 { return -down(-v) }
	return smallBox{down(b.Min.X - t.origin.X), down(b.Min.Y - t.origin.Y), up(b.Max.X - t.origin.X), up(b.Max.Y - t.origin.Y)}
}

func (t *segTree) seg(s int32) geom.Seg {
	i := t.owner[s]
	return t.loops[i].c.Seg(int(s - t.first[i]))
}

// each calls f for the edges whose eight have a box that meets b, until f
// returns false. It is called for more edges than meet b themselves.
func (t *segTree) each(b geom.Box, f func(s int32) bool) {
	if len(t.owner) > 0 {
		t.below(len(t.levels)-1, 0, t.small(b), f)
	}
}

func (t *segTree) below(level, k int, b smallBox, f func(s int32) bool) bool {
	if !t.levels[level][k].meets(b) {
		return true
	}
	end := (k + 1) * treeFan
	if level == 0 {
		for s := k * treeFan; s < min(end, len(t.owner)); s++ {
			if !f(int32(s)) {
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
