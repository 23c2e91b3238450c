package drawing

import (
	"math"

	"sparclear/pkg/geom"
)

// edgeTree finds the edges of loops near a box or near each other. It keeps one
// small box for every eight edges, rounded outward to single precision, and
// takes the edges from the vertices of the loops, which stand in one row: a few
// bytes per edge, where a drawing may hold millions. Neighbours in the row
// should lie near each other.
type edgeTree struct {
	row    []geom.Vertex
	owner  []int32 // loop of an edge
	first  []int32 // first edge of a loop, and after the last the number of edges
	origin geom.Point
	levels [][]smallBox // leaves first
}

type smallBox struct{ x0, y0, x1, y1 float32 }

const treeFan = 8

// newEdgeTree makes the tree of loops whose vertices are row, one loop after
// the other.
func newEdgeTree(row []geom.Vertex, loops []loop) *edgeTree {
	t := &edgeTree{row: row, owner: make([]int32, 0, len(row)), first: make([]int32, 0, len(loops)+1)}
	if len(row) > 0 {
		t.origin = row[0].Point // near the geometry, so that little is lost to rounding
	}
	for i, l := range loops {
		t.first = append(t.first, int32(len(t.owner)))
		for range l.c {
			t.owner = append(t.owner, int32(i))
		}
	}
	t.first = append(t.first, int32(len(t.owner)))
	leaves := make([]smallBox, 0, (len(row)+treeFan-1)/treeFan)
	for k := 0; k < len(row); k += treeFan {
		b := geom.EmptyBox()
		for s := k; s < min(k+treeFan, len(row)); s++ {
			b = joined(b, edgeBox(t.seg(int32(s))))
		}
		leaves = append(leaves, t.small(b.Grow(sameEnd)))
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
func (t *edgeTree) small(b geom.Box) smallBox { return smallAbout(t.origin, b) }

func smallAbout(o geom.Point, b geom.Box) smallBox {
	down := func(v float64) float32 {
		f := float32(v)
		if float64(f) > v {
			f = math.Nextafter32(f, float32(math.Inf(-1)))
		}
		return f
	}
	up := func(v float64) float32 { return -down(-v) }
	return smallBox{down(b.Min.X - o.X), down(b.Min.Y - o.Y), up(b.Max.X - o.X), up(b.Max.Y - o.Y)}
}

func (t *edgeTree) seg(s int32) geom.Seg {
	v := &t.row[s]
	next := s + 1
	if o := t.owner[s]; next == t.first[o+1] {
		next = t.first[o]
	}
	return geom.Seg{A: v.Point, B: t.row[next].Point, Bulge: v.Bulge}
}

// each calls f for the edges whose eight have a box that meets b, until f
// returns false. It is called for more edges than meet b themselves.
func (t *edgeTree) each(b geom.Box, f func(s int32) bool) {
	if len(t.owner) > 0 {
		c := t.small(b)
		t.below(len(t.levels)-1, 0, &c, f)
	}
}

func (t *edgeTree) below(level, k int, b *smallBox, f func(s int32) bool) bool {
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

// within tells whether an edge lies within d of p.
func (t *edgeTree) within(p geom.Point, d float64) bool {
	near := false
	t.each(geom.Box{Min: p, Max: p}.Grow(d), func(s int32) bool {
		g := t.seg(s)
		near = edgeBox(g).Grow(d).Contains(p) && g.Dist(p) <= d
		return !near
	})
	return near
}

// pairs calls f for every two edges s < k whose boxes, grown by sameEnd, meet,
// until f returns false. Both sides are walked down together, so that edges far
// apart are told apart in large numbers at once.
func (t *edgeTree) pairs(f func(s, k int32, a, b geom.Seg) bool) {
	if len(t.owner) > 0 {
		w := pairWalk{edgeTree: t, f: f, leaf: -1}
		w.down(len(t.levels)-1, 0, 0)
	}
}

type pairWalk struct {
	*edgeTree
	f    func(s, k int32, a, b geom.Seg) bool
	leaf int // whose edges stand in segs
	segs [treeFan]geom.Seg
	box  [treeFan]geom.Box
}

// down looks at two nodes of a level whose boxes meet.
func (w *pairWalk) down(level, i, k int) bool {
	if level == 0 {
		return w.leaves(i, k)
	}
	below := w.levels[level-1]
	for ci := i * treeFan; ci < min((i+1)*treeFan, len(below)); ci++ {
		from := k * treeFan
		if i == k {
			from = ci
		}
		for ck := from; ck < min((k+1)*treeFan, len(below)); ck++ {
			if below[ci].meets(&below[ck]) && !w.down(level-1, ci, ck) {
				return false
			}
		}
	}
	return true
}

func (w *pairWalk) leaves(i, k int) bool {
	first := i * treeFan
	n := min(treeFan, len(w.owner)-first)
	if w.leaf != i {
		w.leaf = i
		for m := range n {
			w.segs[m] = w.seg(int32(first + m))
			w.box[m] = edgeBox(w.segs[m]).Grow(sameEnd)
		}
	}
	for s := k * treeFan; s < min((k+1)*treeFan, len(w.owner)); s++ {
		b := w.seg(int32(s))
		box := edgeBox(b)
		for m := range n {
			if i == k && first+m >= s {
				break
			}
			if w.box[m].Overlaps(box) && !w.f(int32(first+m), int32(s), w.segs[m], b) {
				return false
			}
		}
	}
	return true
}

// joined is Box.Union without its look for empty boxes.
func joined(a, b geom.Box) geom.Box {
	return geom.Box{Min: geom.Point{X: min(a.Min.X, b.Min.X), Y: min(a.Min.Y, b.Min.Y)},
		Max: geom.Point{X: max(a.Max.X, b.Max.X), Y: max(a.Max.Y, b.Max.Y)}}
}

// edgeBox is Seg.Bounds without angles: an outermost point of the circle lies on
// the arc where it lies on the arc's side of the chord.
func edgeBox(s geom.Seg) geom.Box {
	b := geom.Box{Min: geom.Point{X: min(s.A.X, s.B.X), Y: min(s.A.Y, s.B.Y)},
		Max: geom.Point{X: max(s.A.X, s.B.X), Y: max(s.A.Y, s.B.Y)}}
	if s.Bulge == 0 {
		return b
	}
	if math.Abs(s.Bulge) < 1e-6 { // the centre is too far away to tell sides by
		return s.Bounds()
	}
	c, r, d := s.Center(), s.Radius(), s.B.Sub(s.A)
	for _, e := range [4]geom.Point{{X: c.X - r, Y: c.Y}, {X: c.X, Y: c.Y - r}, {X: c.X + r, Y: c.Y}, {X: c.X, Y: c.Y + r}} {
		if side := d.Cross(e.Sub(s.A)); side != 0 && (side < 0) == (s.Bulge > 0) {
			b = joined(b, geom.Box{Min: e, Max: e})
		}
	}
	return b
}
