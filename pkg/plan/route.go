package plan

import (
	"math"

	"sparclear/pkg/geom"
)

// route puts the operations of one load in order, from where the cutter is: the
// nearest one that may come next, again and again, then improved.
func route(ops []op, pre [][]int32, load []int, from geom.Point) []int {
	pos := map[int]int{}
	for k, i := range load {
		pos[i] = k
	}
	n := len(load)
	wait := make([]int, n)
	next := make([][]int32, n)
	for k, i := range load {
		for _, b := range pre[i] {
			if q, ok := pos[int(b)]; ok {
				wait[k]++
				next[q] = append(next[q], int32(k))
			}
		}
	}
	done := make([]bool, n)
	out := make([]int, 0, n)
	for len(out) < n {
		best, dist := -1, math.Inf(1)
		for k := range n {
			if done[k] || wait[k] > 0 {
				continue
			}
			if d := ops[load[k]].start().Dist(from); d < dist {
				best, dist = k, d
			}
		}
		done[best] = true
		out = append(out, load[best])
		from = ops[load[best]].end()
		for _, q := range next[best] {
			wait[q]--
		}
	}
	return out
}
