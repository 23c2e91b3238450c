package plan

import (
	"fmt"
	"math"
	"sort"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// before lists, for each operation, those that must come first. Operations far
// from each other are free. Where two touch, holes come before ledges, ledges
// before slots, slots before openings, openings before outlines; of two of the
// same rank the inner one comes before the outer. Within a part the order of (rank,
// size, index) agrees with every pair, and of parts in each other the inner one
// always comes first, so there is never a circle.
func before(ops []op) [][]int32 {
	out := make([][]int32, len(ops))
	meeting(ops, func(i, k int) {
		switch {
		case precedes(&ops[i], &ops[k]):
			out[k] = append(out[k], int32(i))
		case precedes(&ops[k], &ops[i]):
			out[i] = append(out[i], int32(k))
		}
	})
	for i := range out {
		sort.Slice(out[i], func(a, b int) bool { return out[i][a] < out[i][b] })
	}
	return out
}

// meeting calls f for every pair of operations whose boxes overlap, by a sweep
// along X.
func meeting(ops []op, f func(i, k int)) {
	byX := make([]int, len(ops))
	for i := range byX {
		byX[i] = i
	}
	sort.SliceStable(byX, func(a, b int) bool { return ops[byX[a]].box.Min.X < ops[byX[b]].box.Min.X })
	var open []int
	for _, i := range byX {
		kept := open[:0]
		for _, k := range open {
			if ops[k].box.Max.X < ops[i].box.Min.X {
				continue
			}
			kept = append(kept, k)
			if ops[k].box.Overlaps(ops[i].box) {
				f(i, k)
			}
		}
		open = append(kept, i)
	}
}

// precedes tells whether a must be done before b, given that their boxes touch.
// What belongs to a part that lies in a hole of another one is done before that
// hole frees the slug that it is cut from.
func precedes(a, b *op) bool {
	if a.part >= 0 && b.part >= 0 && a.part != b.part {
		return within(a, b)
	}
	return a.comesBefore(b) && touches(a, b)
}

// comesBefore tells whether a is done before b where they touch: by rank, of the
// same rank the shallower first, of what frees something the smaller first, of areas
// as deep as each other the one that the job names first.
func (a *op) comesBefore(b *op) bool {
	switch {
	case a.rank != b.rank:
		return a.rank < b.rank
	case a.rank >= rankOpening:
		return a.size < b.size
	}
	if a.area && b.area && math.Abs(a.deep-b.deep) <= 1e-6 {
		return a.cut < b.cut
	}
	return a.rank >= rankRebate && a.deep < b.deep-1e-6
}

// within tells whether a lies in what b frees.
func within(a, b *op) bool {
	if len(b.around.Outer) == 0 {
		return false
	}
	at := a.start()
	if len(a.around.Outer) > 0 {
		at = a.around.Outer[0].Point
	}
	return b.around.Outer.Winding(at) != 0
}

// touches tells whether a has to do with what b frees: they belong to one part
// (or to a wing) and their boxes meet, or one lies inside the other.
func touches(a, b *op) bool {
	if len(b.around.Outer) == 0 || len(a.around.Outer) == 0 {
		return true // paths without an outline: the boxes decide
	}
	if a.part == b.part && b.around.Bounds().Overlaps(a.around.Bounds()) {
		return true
	}
	return b.around.Outer.Winding(a.around.Outer[0].Point) != 0 || a.around.Outer.Winding(b.around.Outer[0].Point) != 0
}

// sequence puts the operations in order: every cutter is loaded once where the
// precedences allow it, and the way between operations is short.
func (p *planner) sequence(ops []op) []op {
	pre := before(ops)
	loads := p.loads(ops, pre)
	out := make([]op, 0, len(ops))
	at := geom.Point{}
	for _, load := range loads {
		inner, outlines := load, []int(nil)
		if p.w.Sheet {
			inner, outlines = partLast(ops, pre, load)
		}
		for _, i := range append(route(ops, pre, inner, at), p.outwards(ops, pre, outlines)...) {
			out = append(out, ops[i])
			at = ops[i].end()
		}
	}
	return out
}

// partLast divides a load of a sheet in two: everything that lies in parts, while
// the whole sheet is stiff, and the outlines that free them. The outline of a part
// in a hole of another belongs to the former.
func partLast(ops []op, pre [][]int32, load []int) (inner, outlines []int) {
	mine, early := map[int32]bool{}, map[int32]bool{}
	for _, i := range load {
		mine[int32(i)] = true
	}
	var mark func(i int32)
	mark = func(i int32) {
		for _, k := range pre[i] {
			if mine[k] && !early[k] {
				early[k] = true
				mark(k)
			}
		}
	}
	for _, i := range load {
		if ops[i].rank < rankPart {
			early[int32(i)] = true
			mark(int32(i))
		}
	}
	for _, i := range load {
		if early[int32(i)] {
			inner = append(inner, i)
		} else {
			outlines = append(outlines, i)
		}
	}
	return inner, outlines
}

// outwards puts the outlines of parts in the order that keeps the rest of the
// sheet stiff for longest: small parts before large ones (by steps of twice the
// area), from the middle of the sheet outwards, what lies in another part before it.
func (p *planner) outwards(ops []op, pre [][]int32, load []int) []int {
	stock := geom.EmptyBox()
	for _, g := range p.w.Stock {
		stock = stock.Union(g.Bounds())
	}
	for _, i := range load {
		stock = stock.Union(ops[i].box)
	}
	type key struct {
		class int
		far   float64
	}
	keys := map[int]key{}
	for _, i := range load {
		keys[i] = key{int(math.Floor(math.Log2(math.Max(ops[i].size, 1)))), ops[i].box.Center().Dist(stock.Center())}
	}
	order := append([]int(nil), load...)
	sort.SliceStable(order, func(a, b int) bool {
		x, y := keys[order[a]], keys[order[b]]
		if x.class != y.class {
			return x.class < y.class
		}
		return x.far < y.far
	})
	done, waits := map[int]bool{}, map[int]bool{}
	for _, i := range order {
		waits[i] = true
	}
	out := make([]int, 0, len(order))
	var take func(i int)
	take = func(i int) {
		if done[i] || !waits[i] {
			return
		}
		done[i] = true
		for _, k := range pre[i] {
			take(int(k))
		}
		out = append(out, i)
	}
	for _, i := range order {
		take(i)
	}
	return out
}

// loads divides the operations into loads of one cutter each.
func (p *planner) loads(ops []op, pre [][]int32) [][]int {
	var cutters []int
	seen := map[int]bool{}
	for i := range ops {
		if !seen[ops[i].cutter] {
			seen[ops[i].cutter] = true
			cutters = append(cutters, ops[i].cutter)
		}
	}
	done := make([]bool, len(ops))
	left := len(ops)
	used := map[int]int{}
	var out [][]int
	for left > 0 {
		var best []int
		bestAll := false
		for _, c := range cutters {
			can, all := possible(ops, pre, done, c)
			if len(can) == 0 {
				continue
			}
			if best == nil || all && !bestAll || all == bestAll && !all && len(can) > len(best) {
				best, bestAll = can, all
			}
		}
		for _, i := range best {
			done[i] = true
		}
		left -= len(best)
		c := ops[best[0]].cutter
		if used[c]++; used[c] == 2 {
			p.add(diag.Finding{Code: "cutter-loaded-twice", Severity: diag.Note, Subject: p.w.Cutters[c].Name,
				Message: fmt.Sprintf("%s must be loaded more than once, since what comes first forbids another order", p.w.Cutters[c].Name),
				Help:    "use one cutter for both of the cuts that lie in each other, if that is possible"})
		}
		out = append(out, best)
	}
	return out
}

// possible lists what cutter c can do now, one after the other, and tells
// whether that is all that is left for it.
func possible(ops []op, pre [][]int32, done []bool, c int) (can []int, all bool) {
	var mine []int
	for i := range ops {
		if !done[i] && ops[i].cutter == c {
			mine = append(mine, i)
		}
	}
	sort.SliceStable(mine, func(a, b int) bool {
		x, y := &ops[mine[a]], &ops[mine[b]]
		if x.rank != y.rank {
			return x.rank < y.rank
		}
		if x.rank < rankOpening && x.deep != y.deep {
			return x.deep < y.deep
		}
		return x.size < y.size
	})
	now := map[int]bool{}
	for more := true; more; { // a part in a hole goes before what has a lower rank
		more = false
		for _, i := range mine {
			ok := !now[i]
			for _, k := range pre[i] {
				ok = ok && (done[k] || now[int(k)])
			}
			if ok {
				now[i], more = true, true
				can = append(can, i)
			}
		}
	}
	return can, len(can) == len(mine)
}
