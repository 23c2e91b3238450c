package drawing

import (
	"math/bits"
	"slices"

	"sparclear/pkg/geom"
)

// Joining turns loose lines and arcs into contours. An end is numbered 2·piece
// for the start of a piece and 2·piece+1 for its end; mate[e] is the end that
// continues it, or free.
const (
	free     = -1
	branched = -2
)

// sameEnd is how near two ends must be to be the same corner, mm: far above
// the rounding of a writer with 8 digits, far below any gap that matters.
const sameEnd = 1e-6

// crowd is how many ends may lie within one tolerance before the place is
// refused without looking closer.
const crowd = 64

type joiner struct {
	b      *builder
	segs   []geom.Seg // pieces, those of a curve one after the other
	curves []curve    // those of a layer one after the other
	owner  []int32    // curve of a piece
	gone   []bool     // piece removed: drawn twice, lies on another
	done   []bool     // piece is part of a strand
	mate   []int32
	node   map[int32]int32 // branch node of an end, for ends marked branched
	nodes  []geom.Point    // where the branch nodes are
	same   float64         // sameEnd, or what doubles hold out there
	room   []numbered      // used again for each grid, and for its sorting
	spare  []numbered
}

func (j *joiner) seg(p int32) geom.Seg { return j.segs[p] }

func (j *joiner) end(e int32) geom.Point {
	s := &j.segs[e>>1]
	if e&1 == 0 {
		return s.A
	}
	return s.B
}

// weld ties two pieces of a polyline together as they are drawn.
func (j *joiner) weld(p, q int32) {
	if j.end(2*p+1).Dist(j.end(2*q)) <= j.same {
		j.tie(2*p+1, 2*q)
	}
}

func (j *joiner) tie(a, b int32) { j.mate[a], j.mate[b] = b, a }

// grid is points sorted into square cells, row by row. The key of a point is
// the number of its cell; the one to the right has the next number.
type grid struct {
	s     []numbered
	above uint64 // from a cell to the one above it
}

// newGrid sorts n points into cells of at least the given size; at gives the
// number of the i-th thing and where it lies. The grid is good until the next one.
func (j *joiner) newGrid(n int, cell float64, at func(i int) (int32, geom.Point)) grid {
	box := geom.EmptyBox()
	for i := range n {
		_, p := at(i)
		box = joined(box, geom.Box{Min: p, Max: p})
	}
	size := box.Size()
	// A hair more than asked for: dividing must not put two points that are just
	// near enough two cells apart.
	cell = max(cell, max(size.X, size.Y)/(1<<30)) * (1 + 1e-9)
	width := uint(bits.Len(uint(max(size.X, 0)/cell) + 1)) // room for one empty cell right of the last
	if len(j.room) < n {
		j.room, j.spare = make([]numbered, n), make([]numbered, n)
	}
	g := grid{j.room[:n], 1 << width}
	for i := range n {
		k, p := at(i)
		g.s[i] = numbered{uint64((p.Y-box.Min.Y)/cell)<<width | uint64((p.X-box.Min.X)/cell), k}
	}
	sortWith(g.s, j.spare)
	return g
}

// ends sorts ends into cells.
func (j *joiner) ends(ends []int32, cell float64) grid {
	return j.newGrid(len(ends), cell, func(i int) (int32, geom.Point) { return ends[i], j.end(ends[i]) })
}

// pairs calls near for every two things that may lie within one cell size of
// each other, by their places in the list. Cells with a crowd are reported once
// and skipped.
func (g grid) pairs(near func(i, k int), crowded func(from, to int)) {
	s := g.s
	cellEnd := func(i int) int {
		k := i + 1
		for k < len(s) && s[k].key == s[i].key {
			k++
		}
		return k
	}
	up := 0 // first of the row above that may be near
	for i := 0; i < len(s); {
		key := s[i].key
		stop := cellEnd(i)
		if stop-i > crowd {
			crowded(i, stop)
			i = stop
			continue
		}
		for a := i; a < stop; a++ {
			for c := a + 1; c < stop; c++ {
				near(a, c)
			}
		}
		if stop < len(s) && s[stop].key == key+1 {
			cross(i, stop, stop, cellEnd(stop), near)
		}
		for up < len(s) && s[up].key < key+g.above-1 {
			up++
		}
		for k := up; k < len(s) && s[k].key <= key+g.above+1; {
			m := cellEnd(k)
			cross(i, stop, k, m, near)
			k = m
		}
		i = stop
	}
}

func cross(a0, a1, b0, b1 int, near func(i, k int)) {
	if b1-b0 > crowd {
		return
	}
	for a := a0; a < a1; a++ {
		for b := b0; b < b1; b++ {
			near(a, b)
		}
	}
}

// meet ties ends that are the same corner. Three or more in one place are a
// branch.
func (j *joiner) meet(ends []int32) {
	g := j.ends(ends, max(j.same, 1e-4))
	s := g.s
	up := make([]int32, len(s))
	for i := range up {
		up[i] = int32(i)
	}
	root := func(i int32) int32 {
		for up[i] != i {
			up[i] = up[up[i]]
			i = up[i]
		}
		return i
	}
	union := func(i, k int) {
		a, b := root(int32(i)), root(int32(k))
		if a > b {
			a, b = b, a
		}
		up[b] = a
	}
	g.pairs(func(i, k int) {
		if j.end(s[i].at).Dist(j.end(s[k].at)) <= j.same {
			union(i, k)
		}
	}, func(from, to int) {
		for k := from + 1; k < to; k++ {
			union(from, k)
		}
	})
	size := make([]int32, len(s))
	for i := range s {
		size[root(int32(i))]++
	}
	nodeOf := make(map[int32]int32)
	for i := range s {
		r := root(int32(i))
		switch n := size[r]; {
		case n == 2: // the first of the two waits
			size[r] = -1 - s[i].at
		case n < 0:
			j.tie(-1-n, s[i].at)
		case n > 2:
			id, ok := nodeOf[r]
			if !ok {
				id = int32(len(j.nodes))
				nodeOf[r] = id
				j.nodes = append(j.nodes, j.end(s[i].at))
			}
			j.mate[s[i].at] = branched
			j.node[s[i].at] = id
		}
	}
}

// gap is a pair of free ends near each other.
type gap struct {
	a, b int32
	d    float64
}

// bridge closes gaps up to the tolerance: the shortest first, and only where
// no third end competes.
func (j *joiner) bridge(ends []int32) {
	tol := j.b.o.JoinTol
	grid := j.ends(ends, tol)
	s := grid.s
	var gaps []gap
	near := make(map[int32][]gap)
	grid.pairs(func(i, k int) {
		a, b := s[i].at, s[k].at
		d := j.end(a).Dist(j.end(b))
		if d > tol || a>>1 == b>>1 && j.seg(a>>1).Length() <= 4*tol {
			return
		}
		g := gap{a, b, d}
		gaps = append(gaps, g)
		near[a] = append(near[a], g)
		near[b] = append(near[b], gap{b, a, d})
	}, func(from, to int) { j.refuse(s, from, to) })
	slices.SortFunc(gaps, func(x, y gap) int { return j.compareGaps(x, y) })
	for _, l := range near {
		slices.SortFunc(l, func(x, y gap) int { return j.compareGaps(x, y) })
	}
	// rival tells whether another free end competes for a: not much further
	// away than d, and with nothing nearer of its own.
	rival := func(a, b int32, d float64) bool {
		for _, g := range near[a] {
			if g.b == b || j.mate[g.b] != free || g.d >= 2*d {
				continue
			}
			own := true
			for _, h := range near[g.b] {
				if h.b != a && j.mate[h.b] == free && h.d < g.d {
					own = false
					break
				}
			}
			if own {
				return true
			}
		}
		return false
	}
	for _, g := range gaps {
		if j.mate[g.a] != free || j.mate[g.b] != free {
			continue
		}
		if rival(g.a, g.b, g.d) || rival(g.b, g.a, g.d) {
			id := int32(len(j.nodes))
			j.nodes = append(j.nodes, j.end(g.a))
			for _, l := range [][]gap{near[g.a], near[g.b]} {
				for _, h := range l {
					for _, e := range []int32{h.a, h.b} {
						if j.mate[e] == free {
							j.mate[e], j.node[e] = branched, id
						}
					}
				}
			}
			continue
		}
		j.tie(g.a, g.b)
	}
}

// compareGaps orders gaps by width, then by place, never by the order in the file.
func (j *joiner) compareGaps(x, y gap) int {
	if x.d != y.d {
		if x.d < y.d {
			return -1
		}
		return 1
	}
	low := func(g gap) (geom.Point, geom.Point) {
		a, b := j.end(g.a), j.end(g.b)
		if lessPoint(b, a) {
			a, b = b, a
		}
		return a, b
	}
	xa, xb := low(x)
	ya, yb := low(y)
	switch {
	case lessPoint(xa, ya), xa == ya && lessPoint(xb, yb):
		return -1
	case xa == ya && xb == yb:
		return 0
	}
	return 1
}

// refuse makes a branch of a crowd of ends.
func (j *joiner) refuse(s []numbered, from, to int) {
	id := int32(len(j.nodes))
	j.nodes = append(j.nodes, j.end(s[from].at))
	for k := from; k < to; k++ {
		j.mate[s[k].at], j.node[s[k].at] = branched, id
	}
}
