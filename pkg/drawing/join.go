package drawing

import (
	"math"
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
	b     *builder
	owner []int32 // curve of a piece
	gone  []bool  // piece removed: drawn twice, lies on another
	done  []bool  // piece is part of a strand
	mate  []int32
	node  map[int32]int32 // branch node of an end, for ends marked branched
	nodes []geom.Point    // where the branch nodes are
	same  float64         // sameEnd, or what doubles hold out there
}

func (j *joiner) seg(p int32) geom.Seg { return *j.b.pieces.at(int(p)) }

func (j *joiner) end(e int32) geom.Point {
	s := j.b.pieces.at(int(e >> 1))
	if e&1 == 0 {
		return s.A
	}
	return s.B
}

func newJoiner(b *builder) *joiner {
	n := b.pieces.n
	j := &joiner{b: b, owner: make([]int32, n), gone: make([]bool, n), done: make([]bool, n), mate: make([]int32, 2*n),
		node: map[int32]int32{}, same: sameEnd}
	for i := range j.owner {
		j.owner[i] = -1
	}
	reach := 0.0
	for k, c := range b.curves {
		for p := c.first; p < c.first+c.n; p++ {
			j.owner[p] = int32(k)
			s := b.pieces.at(int(p))
			reach = max(reach, math.Abs(s.A.X), math.Abs(s.A.Y), math.Abs(s.B.X), math.Abs(s.B.Y))
		}
	}
	j.same = max(sameEnd, reach*1e-14)
	for e := range j.mate {
		j.mate[e] = free
	}
	return j
}

// weld ties two pieces of a polyline together as they are drawn.
func (j *joiner) weld(p, q int32) {
	if j.end(2*p+1).Dist(j.end(2*q)) <= j.same {
		j.tie(2*p+1, 2*q)
	}
}

func (j *joiner) tie(a, b int32) { j.mate[a], j.mate[b] = b, a }

// spot is an end with the cell of the grid that it lies in.
type spot struct {
	row, col uint32
	e        int32
}

// spots sorts the ends into cells of at least the given size.
func (j *joiner) spots(ends []int32, cell float64) []spot {
	box := geom.EmptyBox()
	for _, e := range ends {
		box = box.Extend(j.end(e))
	}
	size := box.Size()
	cell = max(cell, max(size.X, size.Y)/(1<<31))
	out := make([]spot, len(ends))
	for i, e := range ends {
		p := j.end(e).Sub(box.Min)
		out[i] = spot{uint32(p.Y / cell), uint32(p.X / cell), e}
	}
	sortSpots(out)
	return out
}

func sortSpots(s []spot) {
	slices.SortFunc(s, func(a, b spot) int {
		ka, kb := uint64(a.row)<<32|uint64(a.col), uint64(b.row)<<32|uint64(b.col)
		switch {
		case ka < kb:
			return -1
		case ka > kb:
			return 1
		}
		return int(a.e) - int(b.e)
	})
}

// pairs calls near for every two spots that may lie within one cell size of
// each other, by their places in the list. Cells with a crowd are reported once
// and skipped.
func pairs(s []spot, near func(i, k int), crowded func(from, to int)) {
	cellEnd := func(i int) int {
		k := i
		for k < len(s) && s[k].row == s[i].row && s[k].col == s[i].col {
			k++
		}
		return k
	}
	below := 0 // first spot of the next row that may be near
	for i := 0; i < len(s); {
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
		if stop < len(s) && s[stop].row == s[i].row && s[stop].col == s[i].col+1 {
			cross(i, stop, stop, cellEnd(stop), near)
		}
		for below < len(s) && (s[below].row < s[i].row+1 ||
			s[below].row == s[i].row+1 && uint64(s[below].col)+1 < uint64(s[i].col)) {
			below++
		}
		k := below
		for k < len(s) && s[k].row == s[i].row+1 && uint64(s[k].col) <= uint64(s[i].col)+1 {
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
	s := j.spots(ends, max(j.same, 1e-4))
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
	pairs(s, func(i, k int) {
		if j.end(s[i].e).Dist(j.end(s[k].e)) <= j.same {
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
	partner := make(map[int32]int32)
	nodeOf := make(map[int32]int32)
	for i := range s {
		r := root(int32(i))
		switch {
		case size[r] == 2:
			if first, ok := partner[r]; ok {
				j.tie(first, s[i].e)
				delete(partner, r)
			} else {
				partner[r] = s[i].e
			}
		case size[r] > 2:
			id, ok := nodeOf[r]
			if !ok {
				id = int32(len(j.nodes))
				nodeOf[r] = id
				j.nodes = append(j.nodes, j.end(s[i].e))
			}
			j.mate[s[i].e] = branched
			j.node[s[i].e] = id
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
	s := j.spots(ends, tol)
	var gaps []gap
	near := make(map[int32][]gap)
	pairs(s, func(i, k int) {
		a, b := s[i].e, s[k].e
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
func (j *joiner) refuse(s []spot, from, to int) {
	id := int32(len(j.nodes))
	j.nodes = append(j.nodes, j.end(s[from].e))
	for k := from; k < to; k++ {
		j.mate[s[k].e], j.node[s[k].e] = branched, id
	}
}
