package nest

import "math"

// The shares of the budget at which the phases of improve end.
const (
	saveUntil    = 0.5
	exploreUntil = 0.85
)

// improve runs the guided search over the pieces in use: copies that found no
// room are squeezed in, then whole pieces are emptied, then what is on the last
// piece is pressed to the left, so that its free end can be used again.
func (n *nesting) improve() {
	group, items := n.group()
	if len(group) == 0 || n.over() {
		return
	}
	p := &problem{cat: n.cat}
	for _, i := range items {
		p.items = append(p.items, n.items[i])
	}
	for _, k := range group {
		p.bins = append(p.bins, *n.piles[k].bin)
	}
	s := newSearch(p, n.o.Seed, n.o.Workers, n.clock)
	s.tried = n.tried
	at := 0
	for b, k := range group {
		l := n.piles[k]
		for j := range n.held[k] {
			s.cur.set(p, at, place{x: l.x[j], y: l.y[j], v: l.v[j], bin: int32(b)})
			at++
		}
	}
	placed := at
	g := &rounds{search: s, n: n, group: group}
	if placed < len(items) {
		if g.squeeze(placed) {
			n.homeless = nil
		} else {
			p.items = p.items[:placed]
			g.search = s.firstOnly(placed)
		}
	}
	g.save()
	g.press()
	g.slide()
	n.tried = g.tried
	n.stopped = n.stopped || g.stopped
	g.back(items)
}

// group returns the last pieces in use that together hold no more than the
// guided search can take, and their items: those on the pieces in order, then
// those that found no room.
func (n *nesting) group() (group, items []int) {
	count := len(n.homeless)
	if count > mostGuided/2 {
		count = 0
	}
	for k := len(n.piles) - 1; k >= 0; k-- {
		if n.piles[k] == nil {
			continue
		}
		if count += len(n.held[k]); count > mostGuided {
			break
		}
		group = append([]int{k}, group...)
	}
	for _, k := range group {
		items = append(items, n.held[k]...)
	}
	if len(n.homeless) <= mostGuided/2 {
		items = append(items, n.homeless...)
	}
	return group, items
}

// rounds drives the search over several bins.
type rounds struct {
	*search
	n     *nesting
	group []int // the piece of every bin
}

func (g *rounds) report(phase string) {
	if g.n.o.Progress == nil {
		return
	}
	used, area, room := 0, 0.0, 0.0
	for b := range g.bins {
		if !g.bins[b].shut {
			used++
			room += float64((g.bins[b].x1 - g.bins[b].x0) * (g.bins[b].y1 - g.bins[b].y0))
		}
	}
	for _, it := range g.items {
		area += g.n.parts[it.part].Region.Area()
	}
	g.n.o.Progress(Progress{Phase: phase, Done: g.done(), Sheets: used, Use: area / room, Tried: g.tried})
}

// scatter puts an item on any open bin; false when none has room for it.
func (g *rounds) scatter(i int) bool {
	c := place{v: g.items[i].choices[0][0], bin: -1}
	if !g.elsewhere(i, &c) {
		return false
	}
	g.cur.set(g.problem, i, c)
	return true
}

// attempt separates the present state, with swaps of large parts after a
// failure, until the share of the budget is spent.
func (g *rounds) attempt(until float64) bool {
	for g.done() < until {
		if g.separate(3, 100, until) {
			return true
		}
		g.sweeps++
		w := g.workers[0]
		w.src.Seed(g.seed, g.sweeps<<8|252)
		g.swap()
	}
	return false
}

// squeeze finds room for the items from placed on; it leaves the state as it was
// when it fails.
func (g *rounds) squeeze(placed int) bool {
	before := g.cur.clone()
	g.workers[0].src.Seed(g.seed, 251)
	for i := placed; i < len(g.items); i++ {
		if !g.scatter(i) {
			g.cur.copyFrom(before)
			return false
		}
	}
	if g.attempt(saveUntil) {
		return true
	}
	g.cur.copyFrom(before)
	return false
}

// firstOnly returns a search over the first items, where they lie.
func (s *search) firstOnly(n int) *search {
	t := newSearch(s.problem, s.seed, len(s.workers), s.clock)
	t.tried, t.sweeps = s.tried, s.sweeps
	for i := 0; i < n; i++ {
		t.cur.set(s.problem, i, s.cur.get(i))
	}
	return t
}

// area returns the grown area of the items by their outer contours, and that of
// the open bins.
func (g *rounds) areas() (items, bins float64) {
	for _, it := range g.items {
		items += g.n.parts[it.part].Region.Area()
	}
	for b := range g.bins {
		if !g.bins[b].shut {
			bins += float64((g.bins[b].x1 - g.bins[b].x0) * (g.bins[b].y1 - g.bins[b].y0))
		}
	}
	return items, bins
}

// save empties pieces from the dearest on, as long as that works.
func (g *rounds) save() {
	g.told = func() { g.report("save") }
	for {
		victim := -1
		open := 0
		for b := range g.bins {
			if !g.bins[b].shut {
				open++
				victim = b
			}
		}
		if open < 2 || len(g.n.locked[g.n.pieces[g.group[victim]]]) > 0 {
			return
		}
		before := g.cur.clone()
		g.bins[victim].shut = true
		if items, bins := g.areas(); items > bins {
			g.bins[victim].shut = false
			return
		}
		g.workers[0].src.Seed(g.seed, g.sweeps<<8|249)
		ok := true
		for i := range g.items {
			if int(g.cur.bin[i]) == victim {
				ok = ok && g.scatter(i)
			}
		}
		if !ok || !g.attempt(saveUntil) {
			g.bins[victim].shut = false
			g.cur.copyFrom(before)
			return
		}
		g.report("save")
	}
}

// press shortens what is used of the last open bin.
func (g *rounds) press() {
	last := -1
	for b := range g.bins {
		if !g.bins[b].shut {
			last = b
		}
	}
	t := &strip{search: g.search, last: last}
	t.report = func(phase string, _ float64) {
		g.search = t.search
		g.report(phase)
	}
	b := &g.bins[last]
	full := b.x1
	right := b.x0
	for i := range g.items {
		if int(g.cur.bin[i]) == last {
			right = math.Max(right, g.cur.x[i]+g.cur.hw[i])
		}
	}
	if right == b.x0 {
		return
	}
	b.x1 = math.Min(full, right)
	if g.n.turns.wanted(g.items) {
		t.shorten(exploreUntil*finerFrom, finerFrom)
		t.refine(g.n.turns)
		g.search = t.search
		g.n.use(t.cat)
	} else {
		t.shorten(exploreUntil, 1)
	}
	g.bins[last].x1 = full
}

// use takes a catalog that holds more shapes behind those there are.
func (n *nesting) use(c *catalog) {
	n.cat = c
	for _, l := range n.piles {
		if l != nil {
			l.cat = c
		}
	}
}

// back writes the state into the piles.
func (g *rounds) back(items []int) {
	for b, k := range g.group {
		l := g.n.piles[k]
		l.clear()
		g.n.held[k] = nil
		for i := range g.items {
			if int(g.cur.bin[i]) == b {
				l.add(g.cur.get(i))
				g.n.held[k] = append(g.n.held[k], items[i])
			}
		}
		if len(l.x) == 0 && len(g.n.locked[g.n.pieces[k]]) == 0 {
			g.n.piles[k] = nil
		}
	}
}
