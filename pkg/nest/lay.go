package nest

import (
	"math"
	"sort"
)

// over tells that time or the context ended the search.
func (n *nesting) over() bool {
	if n.clock.ctx.Err() != nil || n.clock.limit > 0 && n.clock.elapsed() >= n.clock.limit {
		n.stopped = true
	}
	return n.stopped
}

// report tells how many copies have their place, as a share of those known.
func (n *nesting) report(phase string, placed int) {
	if n.o.Progress == nil {
		return
	}
	p := Progress{Phase: phase, Tried: n.tried, Done: float64(placed) / math.Max(1, float64(len(n.items)))}
	area, room := 0.0, 0.0
	for k, l := range n.piles {
		if l == nil {
			continue
		}
		p.Sheets++
		room += n.sheets[n.pieces[k].sheet].Region.Area()
		for _, i := range n.held[k] {
			area += n.parts[n.items[i].part].Region.Area()
		}
	}
	if room > 0 {
		p.Use = area / room
	}
	n.o.Progress(p)
}

// drawsFirst and drawsAgain are how many positions are drawn for a copy on one
// piece before it is tried on the next.
const (
	drawsFirst = 200
	drawsAgain = 1000
)

// lay makes the first layout: large parts first, each on the cheapest piece that
// has room.
func (n *nesting) lay() {
	rest := make([]int, len(n.items))
	for i := range rest {
		rest[i] = i
	}
	sort.SliceStable(rest, func(a, b int) bool { return n.items[rest[a]].size > n.items[rest[b]].size })
	idle := -1 // sheet on which the rest found no room even on an empty piece
	for k, pc := range n.pieces {
		if len(rest) == 0 && len(n.locked[pc]) == 0 {
			continue
		}
		if pc.sheet == idle && len(n.locked[pc]) == 0 {
			continue
		}
		n.report("place", len(n.items)-len(rest))
		var l *pile
		l, rest = n.layBest(k, rest)
		if len(l.x) > 0 || len(n.locked[pc]) > 0 {
			n.piles[k] = l
		} else {
			idle = pc.sheet
		}
	}
	n.homeless = rest
}

// fewForLattice is the number of equal copies from which a regular pattern is
// tried beside the free one.
const fewForLattice = 6

// layBest fills a piece with what it can take of the items. When all of them are
// copies of one part, a regular pattern is tried as well, and the fuller or else
// the shorter of both is kept.
func (n *nesting) layBest(k int, rest []int) (*pile, []int) {
	l := n.newPile(k)
	held, left := n.layOn(l, rest)
	if t, ok := n.lattice(l.bin.fibre, rest); ok && !n.over() {
		m := n.newPile(k)
		for _, c := range m.layLattice(t, len(rest)) {
			m.add(c)
		}
		laid := len(m.x)
		more, less := n.layOn(m, rest[laid:])
		if len(less) < len(left) || len(less) == len(left) && m.right < l.right {
			l, held, left = m, append(append([]int{}, rest[:laid]...), more...), less
		}
	}
	n.held[k] = held
	return l, left
}

// lattice returns the densest pattern when all items are copies of one part.
func (n *nesting) lattice(fibre int, items []int) (lattice, bool) {
	if len(items) < fewForLattice {
		return lattice{}, false
	}
	for _, i := range items {
		if n.items[i].part != n.items[items[0]].part {
			return lattice{}, false
		}
	}
	return n.pattern(n.items[items[0]].part, fibre)
}

// pattern returns the densest pattern of a part, found once.
func (n *nesting) pattern(part, fibre int) (lattice, bool) {
	k := [2]int{part, fibre}
	t, known := n.patterns[k]
	if !known {
		t, _ = densestLattice(n.cat, n.choices[part][fibre], &n.tried)
		n.patterns[k] = t
	}
	return t, len(t.cell) > 0
}

// layOn adds items one by one and returns those that it added and the rest.
func (n *nesting) layOn(l *pile, rest []int) (held, left []int) {
	full := map[int]bool{} // parts that found no room here
	for _, i := range rest {
		it := &n.items[i]
		if full[it.part] || n.over() {
			left = append(left, i)
			continue
		}
		choices := it.choices[l.bin.fibre]
		c, ok := l.insert(choices, drawsFirst)
		if !ok {
			c, ok = l.insert(choices, drawsAgain)
		}
		if !ok {
			full[it.part] = true
			left = append(left, i)
			continue
		}
		l.add(c)
		held = append(held, i)
	}
	return held, left
}
