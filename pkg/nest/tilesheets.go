package nest

import (
	"math"
	"math/rand/v2"
)

// The first attempts at a layout without waste try so many places; after every
// fourth, twice as many, up to half of the budget and so many altogether.
const (
	tilePlaces = 20_000
	tileMost   = 4_000_000
)

// newTiling makes the items ready to be laid without waste on equal boxes of the
// given size; nil when that cannot be.
func newTiling(cat *catalog, items []item, fibre int, w, h float64, boxes int) *tiling {
	t := &tiling{w: w, h: h, boxes: boxes, tol: float64(tileTol * math.Max(w, h)), rest: len(items)}
	seen := map[int]bool{}
	for i := range items {
		it := &items[i]
		for len(t.left) <= it.part {
			t.left = append(t.left, 0)
		}
		t.left[it.part]++
		if seen[it.part] {
			continue
		}
		seen[it.part] = true
		for k, v := range it.choices[fibre] {
			q, ok := newTile(v, cat.shapes[v], t.tol)
			if !ok {
				return nil
			}
			q.first = k == 0
			t.tiles = append(t.tiles, q)
		}
	}
	return t
}

// run tries up to so many places; every other attempt leaves the parts as drawn. It
// returns how many were tried.
func (t *tiling) run(seed uint64, most int, over func() bool) (ok bool, tried int) {
	t.over = over
	left, rest := append([]int{}, t.left...), t.rest
	for k := 0; tried < most && !over(); k++ {
		copy(t.left, left)
		t.rest, t.done, t.box, t.first, t.area = rest, t.done[:0], 0, 0, 0
		t.rnd = rand.New(rand.NewPCG(seed, uint64(k)<<8|247))
		limit := min(most-tried, tilePlaces<<min(k/4, 10))
		t.nodes = limit
		t.drawn = k%2 == 0
		ok = t.fill()
		tried += max(1, limit-t.nodes)
		if ok {
			return true, tried
		}
		if t.nodes > 0 && !t.drawn { // all there is was tried
			return false, tried
		}
	}
	return false, tried
}

// tile lays all items without waste, if they would just fill the cheapest pieces
// of stock and these are plain boxes alike; false when it does not work out.
func (n *nesting) tile() bool {
	if len(n.items) == 0 || len(n.items) > mostGuided || len(n.locked) > 0 || len(n.pieces) == 0 {
		return false
	}
	g := &n.grounds[n.pieces[0].sheet]
	if len(g.obst) > 0 {
		return false
	}
	size, area := g.box.Size(), 0.0
	for i := range n.items {
		for _, e := range n.cat.shapes[n.items[i].choices[g.fibre][0]].edges {
			area += (float64(e.ax*e.by) - float64(e.bx*e.ay)) / 2
		}
	}
	share := area / float64(size.X*size.Y)
	boxes := int(math.Ceil(share))
	if boxes > len(n.pieces) || n.pieces[boxes-1].sheet != n.pieces[0].sheet || share < float64(boxes)*(1-tileWaste) {
		return false
	}
	loose := math.Sqrt(float64(boxes) / share) // box by what the parts fill of it
	t := newTiling(n.cat, n.items, g.fibre, size.X/loose, size.Y/loose, boxes)
	if t == nil {
		return false
	}
	places := tileMost
	if n.o.Budget > 0 {
		places = int(min(tileMost, n.o.Budget/2))
	}
	ok, tried := t.run(n.o.Seed, places, n.over)
	n.tried += int64(tried)
	return ok && n.takeTiles(t, g, boxes, loose)
}

// takeTiles puts the tiles on the pieces, spread so that they do not touch.
func (n *nesting) takeTiles(t *tiling, g *ground, boxes int, loose float64) bool {
	p := &problem{cat: n.cat}
	spare := map[int][]item{}
	for _, it := range n.items {
		spare[it.part] = append(spare[it.part], it)
	}
	held := make([][]int, boxes)
	index := map[[2]int]int{}
	for i, it := range n.items {
		index[[2]int{it.part, it.copy}] = i
	}
	for b := 0; b < boxes; b++ {
		p.bins = append(p.bins, bin{x0: g.box.Min.X, y0: g.box.Min.Y, x1: g.box.Max.X, y1: g.box.Max.Y, fibre: g.fibre})
	}
	for _, l := range t.done {
		it := spare[l.t.part][0]
		spare[l.t.part] = spare[l.t.part][1:]
		p.items = append(p.items, it)
		held[l.box] = append(held[l.box], index[[2]int{it.part, it.copy}])
	}
	s := newSearch(p, n.o.Seed, n.o.Workers, n.clock)
	s.tried = n.tried
	moved := spread(t.done, t.tol, float64((loose-1)*t.w), float64((loose-1)*t.h))
	for i, l := range t.done {
		at := g.box.Min.Add(l.at).Add(moved[i])
		c := place{x: at.X, y: at.Y, v: l.t.v, bin: int32(l.box)}
		p.clamp(&c)
		s.cur.set(p, i, c)
	}
	if !s.separate(3, 100, saveUntil) {
		return false
	}
	n.tried = s.tried
	for k := range n.piles {
		n.piles[k], n.held[k] = nil, nil
	}
	at := 0
	for b := 0; b < boxes; b++ {
		n.piles[b] = n.newPile(b)
		for range held[b] {
			n.piles[b].add(s.cur.get(at))
			at++
		}
		n.held[b] = held[b]
	}
	n.homeless = nil
	return true
}
