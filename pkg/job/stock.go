package job

import (
	"cmp"
	"context"
	"slices"

	"sparclear/pkg/nest"
)

const (
	mostStocks   = 8      // sets of pieces that are nested to see whether they do
	mostCounted  = 20_000 // sets that are looked at
	mostOfAKind  = 50     // pieces of one sheet in a set
	manyCopies   = 1000   // from which on one set alone is nested, since it takes long
	neverSoTight = 0.97   // share of the stock that parts may need, by area
)

// cheaperStock looks for pieces that take everything at less cost than those that a
// layout uses, and for less and less as long as that works; where costs are not known,
// for a single piece instead of several.
func (s *state) cheaperStock(ctx context.Context, q question, found *nest.Layout) (*nest.Layout, question) {
	known, sum, area := true, 0.0, 0.0
	for _, u := range found.Used {
		c := s.blanks[q.of[u.Sheet]].cost
		known = known && c != nil
		if c != nil {
			sum += *c
		}
		area += u.PartArea
	}
	var kinds []stockKind
	for k, sh := range q.sheets {
		kind := stockKind{cost: sh.Cost, area: sh.Region.Area(), most: sh.Quantity}
		switch c := s.blanks[q.of[k]].cost; {
		case known && c == nil:
			kind.most = 0
		case sh.Quantity == nest.Unlimited:
			kind.most = mostOfAKind
		}
		kinds = append(kinds, kind)
	}
	sets := singles(kinds, area)
	if known {
		sets = cheaperSets(kinds, area/neverSoTight, sum)
	}
	var best *nest.Layout
	var of question
	tries, most := 0, mostStocks
	if len(found.Placements) > manyCopies {
		most = 1
	}
	var failed [][]int
	if u := found.Used; u[0].Sheet == u[len(u)-1].Sheet { // fewer of one kind were tried by nesting itself
		failed = append(failed, make([]int, len(kinds)))
		failed[0][u[0].Sheet] = len(u)
	}
	for _, set := range sets {
		if tries == most || ctx.Err() != nil || known && set.cost >= sum-1e-9 || slices.ContainsFunc(failed, func(f []int) bool { return noMoreThan(set.counts, f) }) {
			continue
		}
		tries++
		some := q
		some.sheets, some.of = nil, nil
		for k, n := range set.counts {
			if n > 0 {
				sh := q.sheets[k]
				sh.Quantity = n
				some.sheets, some.of = append(some.sheets, sh), append(some.of, q.of[k])
			}
		}
		layout, l := nest.Nest(ctx, some.parts, some.sheets, q.o)
		if layout == nil || l.Blocks() {
			failed = append(failed, set.counts)
			continue
		}
		best, of = layout, some
		if !known {
			break
		}
		sum = 0
		for _, u := range layout.Used {
			sum += u.Cost
		}
	}
	return best, of
}

// noMoreThan tells whether no piece of a set is missing in another.
func noMoreThan(set, other []int) bool {
	for k, n := range set {
		if n > other[k] {
			return false
		}
	}
	return true
}

// stockSet says how many pieces of each kind are taken.
type stockSet struct {
	counts     []int
	cost, area float64
}

// stockKind is a sheet of which several pieces may be had.
type stockKind struct {
	cost, area float64 // of one piece
	most       int
}

// singles lists the single pieces of at least the area, the cheapest first.
func singles(kinds []stockKind, area float64) (sets []stockSet) {
	for k, kind := range kinds {
		if kind.most > 0 && kind.area >= area {
			set := stockSet{make([]int, len(kinds)), kind.cost, kind.area}
			set.counts[k] = 1
			sets = append(sets, set)
		}
	}
	slices.SortStableFunc(sets, func(a, b stockSet) int { return cmp.Compare(a.cost, b.cost) })
	return sets
}

// cheaperSets lists what has together at least the area and costs less than below: the
// largest first, which is the likeliest to do, of equals the cheapest.
func cheaperSets(kinds []stockKind, area, below float64) (sets []stockSet) {
	looked := 0
	counts := make([]int, len(kinds))
	var add func(k int, cost, room float64)
	add = func(k int, cost, room float64) {
		if looked++; looked > mostCounted {
			return
		}
		if k == len(kinds) {
			if room >= area {
				sets = append(sets, stockSet{slices.Clone(counts), cost, room})
			}
			return
		}
		for n := range kinds[k].most + 1 {
			c := cost + float64(kinds[k].cost*float64(n))
			if c >= below-1e-9 {
				break
			}
			counts[k] = n
			add(k+1, c, room+float64(kinds[k].area*float64(n)))
		}
		counts[k] = 0
	}
	add(0, 0, 0)
	slices.SortStableFunc(sets, func(a, b stockSet) int {
		return cmp.Or(cmp.Compare(b.area, a.area), cmp.Compare(a.cost, b.cost))
	})
	return sets
}
