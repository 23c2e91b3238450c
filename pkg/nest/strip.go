package nest

import (
	"math"
	"sort"
)

// strip is the search for the shortest strip: the right edge of the last bin is
// free, and everything may be placed on the other bins too.
type strip struct {
	*search
	last   int // the bin whose right edge moves
	report func(phase string, length float64)
	best   solution
	// touching holds a layout on a grid in which parts touch, nil when there is none.
	touching *rasterSearch
}

func (t *strip) length() float64 { b := &t.bins[t.last]; return b.x1 - b.x0 }

// setLength moves the right edge. Parts to the right of a cut are shifted along;
// the rest stay. Parts that do not fit are pushed inside, turned, or put on
// another bin; false when one has no room at all, or when the bin holds nothing
// any more, which cannot be shortened further.
func (t *strip) setLength(l, cut float64) bool {
	b := &t.bins[t.last]
	by := l - (b.x1 - b.x0)
	b.x1 = b.x0 + l
	held := false
	for i := range t.items {
		if int(t.cur.bin[i]) != t.last {
			continue
		}
		held = true
		c := t.cur.get(i)
		if c.x > b.x0+cut {
			c.x += by
		}
		if !t.fit(i, &c) && !t.elsewhere(i, &c) {
			return false
		}
		t.cur.set(t.problem, i, c)
	}
	return held
}

// elsewhere draws a place on any other bin that is open.
func (p *search) elsewhere(i int, c *place) bool {
	w := p.workers[0]
	from := c.bin
	for try := 0; try < 200; try++ {
		c.bin = int32(w.rnd.IntN(len(p.bins)))
		b := &p.bins[c.bin]
		if b.shut || c.bin == from {
			continue
		}
		c.x = b.x0 + float64(w.rnd.Float64()*(b.x1-b.x0))
		c.y = b.y0 + float64(w.rnd.Float64()*(b.y1-b.y0))
		if p.fit(i, c) {
			return true
		}
	}
	return false
}

// widest is the least length in which every part that must lie on the last bin
// finds room in some turn.
func (t *problem) widest(last int) float64 {
	b := &t.bins[last]
	most := 0.0
	for i := range t.items {
		least := math.Inf(1)
		for _, v := range t.items[i].choices[b.fibre] {
			if sh := t.cat.shapes[v]; 2*sh.hh <= b.y1-b.y0 {
				least = math.Min(least, float64(2*sh.hw))
			}
		}
		if !math.IsInf(least, 1) {
			most = math.Max(most, least)
		}
	}
	return most
}

// solution is a feasible state and its length.
type solution struct {
	state *state
	len   float64
}

func (t *strip) solution() solution { return solution{t.cur.clone(), t.length()} }

func (t *strip) restore(s solution) {
	t.cur.copyFrom(s.state)
	b := &t.bins[t.last]
	b.x1 = b.x0 + s.len
}

// shorten explores and then compresses the present state until such shares of the
// budget are spent, and leaves the shortest strip found.
func (t *strip) shorten(exploreUntil, until float64) {
	t.best = t.solution()
	from := t.done()
	if from < exploreUntil {
		t.explore(exploreUntil)
		from = exploreUntil
	}
	t.compress(from, until)
	t.restore(t.best)
}

// explore shortens as long as the budget allows; after a failure it disturbs one
// of the failed states by a swap of two large parts (Gardeyn et al. 2025,
// algorithms 11 and 12).
func (t *strip) explore(until float64) {
	const least = 0.001
	most := 0.02 // falls with every failure of a longer step
	ratio := most / 2
	type failed struct {
		sum   float64
		state *state
	}
	t.told = func() { t.report("explore", t.best.len) }
	var pool []failed
	w := t.workers[0]
	for t.done() < until {
		if len(pool) == 0 {
			t.restore(t.best)
			if !t.shrink(float64(t.best.len * (1 - ratio))) {
				break
			}
		}
		strikes, patience := 3, 200
		if ratio > least { // a long step must come easily
			strikes, patience = 1, 50
		}
		if t.separate(strikes, patience, until) {
			t.best = t.solution()
			t.report("explore", t.best.len)
			pool = pool[:0]
			ratio = math.Min(most, float64(ratio*1.2))
			continue
		}
		if t.done() >= until {
			break
		}
		if ratio > least { // too greedy: a smaller step from the best
			most = math.Max(least, ratio/2)
			ratio = math.Max(least, ratio/4)
			pool = pool[:0]
			continue
		}
		var sum float64
		t.list, sum = t.overlaps(t.cur, t.list)
		pool = append(pool, failed{sum, t.cur.clone()})
		sort.SliceStable(pool, func(i, j int) bool { return pool[i].sum < pool[j].sum })
		if len(pool) > 40 {
			pool = pool[:40]
		}
		t.sweeps++
		w.src.Seed(t.seed, t.sweeps<<8|255)
		at := int(math.Min(0.999, math.Abs(float64(w.rnd.NormFloat64()*0.25))) * float64(len(pool)))
		t.cur.copyFrom(pool[at].state)
		t.swap()
	}
}

// shrink shortens the strip with a cut at a random place; false when a part has
// no room on it then.
func (t *strip) shrink(l float64) bool {
	w := t.workers[0]
	t.sweeps++
	t.tried++ // so that steps without overlaps come to an end too
	w.src.Seed(t.seed, t.sweeps<<8|254)
	return t.setLength(l, float64(w.rnd.Float64()*t.length()))
}

// swap exchanges the places of two large parts.
func (t *search) swap() {
	n := len(t.items)
	if n < 2 {
		return
	}
	order := make([]int, n)
	total := 0.0
	for i := range order {
		order[i] = i
		total += t.items[i].size
	}
	sort.SliceStable(order, func(a, b int) bool { return t.items[order[a]].size > t.items[order[b]].size })
	large, sum := 0, 0.0
	for large < n && (sum < 0.75*total || large < 2) {
		sum += t.items[order[large]].size
		large++
	}
	w := t.workers[0]
	for try := 0; try < 20; try++ {
		i, j := order[w.rnd.IntN(large)], order[w.rnd.IntN(large)]
		if t.items[i].part == t.items[j].part {
			continue
		}
		a, b := t.cur.get(i), t.cur.get(j)
		a.x, a.y, a.bin, b.x, b.y, b.bin = b.x, b.y, b.bin, a.x, a.y, a.bin
		if t.fit(i, &a) && t.fit(j, &b) {
			t.cur.set(t.problem, i, a)
			t.cur.set(t.problem, j, b)
			return
		}
	}
}

// fit gives the candidate a turn that its bin allows and moves it inside.
func (p *problem) fit(i int, c *place) bool {
	b := &p.bins[c.bin]
	if p.cat.shapes[c.v].fibre == b.fibre && p.clamp(c) {
		return true
	}
	for _, v := range p.items[i].choices[b.fibre] {
		if c.v = v; p.clamp(c) {
			return true
		}
	}
	return false
}

// compress shortens by ever smaller steps, always from the best.
func (t *strip) compress(from, until float64) {
	const first, last = 0.0005, 0.00001
	t.told = func() { t.report("compress", t.best.len) }
	for {
		d := t.done()
		if d >= until {
			break
		}
		ratio := first + (last-first)*(d-from)/(until-from)
		t.restore(t.best)
		if !t.shrink(float64(t.best.len * (1 - ratio))) {
			break
		}
		if t.separate(5, 100, until) {
			t.best = t.solution()
			t.report("compress", t.best.len)
		}
	}
}
