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
	boxTree
	row   []geom.Vertex
	owner []int32 // loop of an edge
	first []int32 // first edge of a loop, and after the last the number of edges
}

// newEdgeTree makes the tree of loops whose vertices are row, one loop after
// the other.
func newEdgeTree(row []geom.Vertex, loops []loop) *edgeTree {
	t := &edgeTree{row: row, owner: make([]int32, 0, len(row)), first: make([]int32, 0, len(loops)+1)}
	for i, l := range loops {
		t.first = append(t.first, int32(len(t.owner)))
		for range l.c {
			t.owner = append(t.owner, int32(i))
		}
	}
	t.first = append(t.first, int32(len(t.owner)))
	t.boxTree = newBoxTree(len(row), func(s int32) geom.Box { return edgeBox(t.seg(s)).Grow(sameEnd) })
	return t
}

func (t *edgeTree) seg(s int32) geom.Seg {
	v := &t.row[s]
	next := s + 1
	if o := t.owner[s]; next == t.first[o+1] {
		next = t.first[o]
	}
	return geom.Seg{A: v.Point, B: t.row[next].Point, Bulge: v.Bulge}
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
// until f returns false. It returns false when it stopped
// because more boxes lie over each other than it looks at.
func (t *edgeTree) pairs(f func(s, k int32, a, b geom.Seg) bool) bool {
	w := pairWalk{edgeTree: t, f: f, leaf: -1, looks: 20*t.n + 1_000_000}
	t.leaves(w.between)
	return w.looks >= 0
}

type pairWalk struct {
	*edgeTree
	f      func(s, k int32, a, b geom.Seg) bool
	looks  int // pairs of leaves that may still be looked at
	leaf   int // whose edges stand in edges
	edges  [treeFan]pairEdge
	around geom.Box // of those
}

// pairEdge is an edge with what tells it apart from others.
type pairEdge struct {
	geom.Seg
	box    geom.Box
	grown  geom.Box   // box, grown by sameEnd
	circle geom.Point // centre of an arc
	r      float64    // its radius, 0 for a line and for an arc as flat as one
}

func (w *pairWalk) edge(s geom.Seg) pairEdge {
	e := pairEdge{Seg: s}
	if math.Abs(s.Bulge) > 1e-3 {
		e.circle, e.r = s.Center(), s.Radius()
		e.box = arcBox(s, e.circle, e.r)
	} else {
		e.box = edgeBox(s)
	}
	return e
}

// apart tells for sure that two arcs lie on circles of which one is around the
// other: rings around each other have boxes that all overlap.
func (e *pairEdge) apart(o *pairEdge) bool {
	if e.r == 0 || o.r == 0 {
		return false
	}
	d := e.circle.Sub(o.circle)
	free := math.Abs(e.r-o.r) - 1e-3
	return free > 0 && d.Dot(d) < free*free
}

func (w *pairWalk) between(i, k int) bool {
	if w.looks--; w.looks < 0 {
		return false
	}
	first := i * treeFan
	n := min(treeFan, w.n-first)
	if w.leaf != i {
		w.leaf = i
		w.around = geom.EmptyBox()
		for m := range n {
			e := &w.edges[m]
			*e = w.edge(w.seg(int32(first + m)))
			e.grown = e.box.Grow(sameEnd)
			w.around = joined(w.around, e.grown)
		}
	}
	if i == k {
		for s := 1; s < n; s++ {
			if !w.beside(s, first+s, &w.edges[s]) {
				return false
			}
		}
		return true
	}
	for s := k * treeFan; s < min((k+1)*treeFan, w.n); s++ {
		g := w.seg(int32(s))
		if g.Bulge == 0 && !w.around.Overlaps(edgeBox(g)) {
			continue
		}
		if b := w.edge(g); !w.beside(n, s, &b) {
			return false
		}
	}
	return true
}

// beside holds an edge against the first n of those kept.
func (w *pairWalk) beside(n, s int, b *pairEdge) bool {
	for m := range n {
		a := &w.edges[m]
		if a.grown.Overlaps(b.box) && !a.apart(b) && !w.f(int32(w.leaf*treeFan+m), int32(s), a.Seg, b.Seg) {
			return false
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
	return arcBox(s, s.Center(), s.Radius())
}

// arcBox is the box of an arc whose centre and radius are known.
func arcBox(s geom.Seg, c geom.Point, r float64) geom.Box {
	b := geom.Box{Min: geom.Point{X: min(s.A.X, s.B.X), Y: min(s.A.Y, s.B.Y)},
		Max: geom.Point{X: max(s.A.X, s.B.X), Y: max(s.A.Y, s.B.Y)}}
	d := s.B.Sub(s.A)
	for _, e := range [4]geom.Point{{X: c.X - r, Y: c.Y}, {X: c.X, Y: c.Y - r}, {X: c.X + r, Y: c.Y}, {X: c.X, Y: c.Y + r}} {
		if side := d.Cross(e.Sub(s.A)); side != 0 && (side < 0) == (s.Bulge > 0) {
			b = joined(b, geom.Box{Min: e, Max: e})
		}
	}
	return b
}
