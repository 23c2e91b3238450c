package plan

import (
	"sparclear/pkg/geom"
)

// route puts the operations of one load in order, from where the cutter is.
// Free operations follow a short tour. Where some must come before others, two
// plans are compared: rank by rank over the whole work, and group by group (a
// part with all that lies in it); the shorter one is improved by moving
// operations to places where the way is shorter and nothing is out of turn.
func route(ops []op, pre [][]int32, load []int, from geom.Point) []int {
	r := newRouting(ops, pre, load, from)
	all := make([]int32, len(load))
	for i := range all {
		all[i] = int32(i)
	}
	var best []int32
	if !r.bound() {
		best = r.path(all, from)
	} else {
		best = r.byLevel()
		if g := r.byGroup(); r.length(g) < r.length(best) {
			best = g
		}
	}
	best = r.improve(best)
	out := make([]int, len(best))
	for i, k := range best {
		out[i] = load[k]
	}
	return out
}

// routing is one load with its precedences, numbered from 0.
type routing struct {
	from       geom.Point
	start, end []geom.Point
	before     [][]int32 // what must come before
	after      [][]int32
}

func newRouting(ops []op, pre [][]int32, load []int, from geom.Point) *routing {
	r := &routing{from: from}
	number := make(map[int32]int32, len(load))
	for k, i := range load {
		number[int32(i)] = int32(k)
		r.start = append(r.start, ops[i].start())
		r.end = append(r.end, ops[i].end())
	}
	r.before = make([][]int32, len(load))
	r.after = make([][]int32, len(load))
	for k, i := range load {
		for _, b := range pre[i] {
			if q, ok := number[b]; ok {
				r.before[k] = append(r.before[k], q)
				r.after[q] = append(r.after[q], int32(k))
			}
		}
	}
	return r
}

func (r *routing) bound() bool {
	for _, b := range r.before {
		if len(b) > 0 {
			return true
		}
	}
	return false
}

// length is the way through the air.
func (r *routing) length(seq []int32) float64 {
	l, at := 0.0, r.from
	for _, k := range seq {
		l += at.Dist(r.start[k])
		at = r.end[k]
	}
	return l
}

// path orders free operations: a tour through their places and the place where
// the way begins, opened there at its longer side.
func (r *routing) path(ks []int32, from geom.Point) []int32 {
	if len(ks) < 2 {
		return ks
	}
	pts := make([]geom.Point, 0, len(ks)+1)
	pts = append(pts, from)
	for _, k := range ks {
		pts = append(pts, r.start[k].Lerp(r.end[k], 0.5))
	}
	order := quickTour(pts)
	at := 0
	for i, k := range order {
		if k == 0 {
			at = i
		}
	}
	n := len(order)
	step := 1
	if pts[order[(at+1)%n]].Dist(from) > pts[order[(at+n-1)%n]].Dist(from) {
		step = n - 1
	}
	out := make([]int32, 0, len(ks))
	for i := (at + step) % n; i != at; i = (i + step) % n {
		out = append(out, ks[order[i]-1])
	}
	return out
}

// levels tells for each operation the length of the longest chain before it.
func (r *routing) levels(ks []int32) [][]int32 {
	level := make([]int, len(r.start))
	wait := make([]int, len(r.start))
	mine := make([]bool, len(r.start))
	for _, k := range ks {
		mine[k] = true
	}
	var now []int32
	for _, k := range ks {
		for _, b := range r.before[k] {
			if mine[b] {
				wait[k]++
			}
		}
		if wait[k] == 0 {
			now = append(now, k)
		}
	}
	var out [][]int32
	for i := 0; i < len(now); i++ {
		k := now[i]
		for len(out) <= level[k] {
			out = append(out, nil)
		}
		out[level[k]] = append(out[level[k]], k)
		for _, a := range r.after[k] {
			if !mine[a] {
				continue
			}
			level[a] = max(level[a], level[k]+1)
			if wait[a]--; wait[a] == 0 {
				now = append(now, a)
			}
		}
	}
	return out
}

func (r *routing) byLevel() []int32 {
	all := make([]int32, len(r.start))
	for i := range all {
		all[i] = int32(i)
	}
	return r.levelled(all, r.from)
}

func (r *routing) levelled(ks []int32, from geom.Point) []int32 {
	var out []int32
	for _, l := range r.levels(ks) {
		out = append(out, r.path(l, from)...)
		from = r.end[out[len(out)-1]]
	}
	return out
}

// byGroup orders the groups that hang together by precedence along a tour.
func (r *routing) byGroup() []int32 {
	n := len(r.start)
	group := make([]int32, n)
	for i := range group {
		group[i] = -1
	}
	var groups [][]int32
	for i := range n {
		if group[i] >= 0 {
			continue
		}
		g := int32(len(groups))
		todo := []int32{int32(i)}
		group[i] = g
		var mine []int32
		for len(todo) > 0 {
			k := todo[len(todo)-1]
			todo = todo[:len(todo)-1]
			mine = append(mine, k)
			for _, side := range [...][]int32{r.before[k], r.after[k]} {
				for _, q := range side {
					if group[q] < 0 {
						group[q] = g
						todo = append(todo, q)
					}
				}
			}
		}
		groups = append(groups, mine)
	}
	// one place stands for a group: the middle of its starts
	mid := &routing{from: r.from}
	for _, g := range groups {
		sum := geom.Point{}
		for _, k := range g {
			sum = sum.Add(r.start[k])
		}
		c := sum.Mul(1 / float64(len(g)))
		mid.start, mid.end = append(mid.start, c), append(mid.end, c)
	}
	all := make([]int32, len(groups))
	for i := range all {
		all[i] = int32(i)
	}
	var out []int32
	from := r.from
	for _, g := range mid.path(all, r.from) {
		out = append(out, r.levelled(groups[g], from)...)
		from = r.end[out[len(out)-1]]
	}
	return out
}

// improve moves single operations and short stretches after a near operation
// while that shortens the way and breaks no precedence.
func (r *routing) improve(seq []int32) []int32 {
	n := len(seq)
	if n < 3 {
		return seq
	}
	pos := make([]int32, n)
	for i, k := range seq {
		pos[k] = int32(i)
	}
	near := nearestOf(r.start, 8)
	const rounds = 8
	for range rounds {
		moved := false
		for k := range n {
			for length := 1; length <= 3; length++ {
				if r.shift(seq, pos, near[k], int(pos[k]), length) {
					moved = true
					break
				}
			}
		}
		if !moved {
			break
		}
	}
	return seq
}

// gap is the way from the operation at position i to the one at position j;
// position -1 is where the cutter stands at first, the end costs nothing.
func (r *routing) gap(seq []int32, i, j int) float64 {
	if j >= len(seq) {
		return 0
	}
	a := r.from
	if i >= 0 {
		a = r.end[seq[i]]
	}
	return a.Dist(r.start[seq[j]])
}

// shift tries to put the stretch of the given length at position i after one of
// the operations near its first.
func (r *routing) shift(seq, pos, near []int32, i, length int) bool {
	n := len(seq)
	if i+length > n {
		return false
	}
	last := i + length - 1
	out := r.gap(seq, i-1, i) + r.gap(seq, last, last+1)
	if last+1 < n {
		out -= r.gap(seq, i-1, last+1)
	}
	if out <= gainHair {
		return false
	}
	for _, q := range near {
		j := int(pos[q])
		if j >= i-1 && j <= last {
			continue
		}
		in := r.gap(seq, j, i)
		if j+1 < n {
			in += r.gap(seq, last, j+1) - r.gap(seq, j, j+1)
		}
		if out-in <= gainHair || !r.allowed(seq, pos, i, last, j) {
			continue
		}
		rotate(seq, pos, i, last, j)
		return true
	}
	return false
}

// allowed tells whether the stretch i…last may come after position j.
func (r *routing) allowed(seq, pos []int32, i, last, j int) bool {
	for _, k := range seq[i : last+1] {
		if j > last {
			for _, a := range r.after[k] {
				if p := int(pos[a]); p > last && p <= j {
					return false
				}
			}
			continue
		}
		for _, b := range r.before[k] {
			if p := int(pos[b]); p > j && p < i {
				return false
			}
		}
	}
	return true
}

// rotate moves the stretch i…last to after position j.
func rotate(seq, pos []int32, i, last, j int) {
	var hold [3]int32
	n := copy(hold[:], seq[i:last+1])
	lo, hi := i, j
	if j > last {
		copy(seq[i:], seq[last+1:j+1])
		copy(seq[j+1-n:], hold[:n])
	} else {
		copy(seq[j+1+n:last+1], seq[j+1:i])
		copy(seq[j+1:], hold[:n])
		lo, hi = j+1, last
	}
	for k := lo; k <= hi && k < len(seq); k++ {
		pos[seq[k]] = int32(k)
	}
}
