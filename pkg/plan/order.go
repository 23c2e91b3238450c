package plan

import (
	"fmt"
	"sort"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// before lists, for each operation, those that must come first. Operations far
// from each other are free. Where two touch, holes come before ledges, ledges
// before slots, slots before openings, openings before outlines; of two of the
// same rank the inner one comes before the outer. The order of (rank, size,
// index) agrees with every pair, so there is never a circle.
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
func precedes(a, b *op) bool {
	if a.rank != b.rank {
		return a.rank < b.rank && touches(a, b)
	}
	return (a.rank == rankOpening || a.rank == rankPart) && a.size < b.size && touches(a, b)
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
		for _, i := range route(ops, pre, load, at) {
			out = append(out, ops[i])
			at = ops[i].end()
		}
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
		return x.size < y.size
	})
	now := map[int]bool{}
	for _, i := range mine {
		ok := true
		for _, k := range pre[i] {
			ok = ok && (done[k] || now[int(k)])
		}
		if ok {
			now[i] = true
			can = append(can, i)
		}
	}
	return can, len(can) == len(mine)
}
