package plan

import (
	"math"
	"sort"

	"sparclear/pkg/geom"
)

// Tour returns a short closed tour through all points, each index once. Empty
// for no points. It is deterministic: a greedy start is improved by 2-opt and
// or-opt moves over neighbour lists, then shaken by local double bridges with a
// fixed seed, each kept only when the tour gets no longer. O(n log n) for the
// start, a number of shakes in proportion to n after it.
//
// Methods: Bentley, Fast algorithms for geometric traveling salesman problems,
// ORSA Journal on Computing 4(4), 1992 (neighbour lists, don't-look bits); Or,
// dissertation, Northwestern University, 1976 (or-opt); Martin, Otto, Felten,
// Large-step Markov chains for the TSP, Complex Systems 5, 1991 (double bridge).
func Tour(pts []geom.Point) []int {
	return tourOf(pts, min(max(100*len(pts), 20000), 400000))
}

// quickTour is Tour with few shakes, for the planner.
func quickTour(pts []geom.Point) []int { return tourOf(pts, min(20*len(pts), 60000)) }

func tourOf(pts []geom.Point, shakes int) []int {
	if len(pts) <= fewPoints {
		return shortestTour(pts)
	}
	t := newTour(pts)
	t.settle()
	t.shake(shakes)
	out := make([]int, len(pts))
	for i, c := range t.order {
		out[i] = int(c)
	}
	return out
}

// fewPoints is up to where all tours are tried.
const fewPoints = 8

// shortestTour tries all tours.
func shortestTour(pts []geom.Point) []int {
	n := len(pts)
	cur, best := make([]int, n), make([]int, n)
	for i := range cur {
		cur[i], best[i] = i, i
	}
	least := math.Inf(1)
	var try func(k int, l float64)
	try = func(k int, l float64) {
		if k == n {
			if l += pts[cur[n-1]].Dist(pts[cur[0]]); l < least-gainHair {
				least = l
				copy(best, cur)
			}
			return
		}
		for i := k; i < n; i++ {
			cur[k], cur[i] = cur[i], cur[k]
			if m := l + pts[cur[k-1]].Dist(pts[cur[k]]); m < least {
				try(k+1, m)
			}
			cur[k], cur[i] = cur[i], cur[k]
		}
	}
	if n > 1 {
		try(1, 0)
	}
	return best
}

// neighbours is how many near places a move is looked for at.
const neighbours = 10

type tour struct {
	pts   []geom.Point
	near  [][]int32
	order []int32
	pos   []int32
	queue []int32 // places whose surroundings are to be looked at again
	in    []bool  // in the queue
	log   [][2]int32
	keep  bool // write the log
}

func newTour(pts []geom.Point) *tour {
	n := len(pts)
	t := &tour{pts: pts, near: nearestOf(pts, neighbours), pos: make([]int32, n), in: make([]bool, n)}
	t.order = greedyTour(pts, t.near)
	for i, c := range t.order {
		t.pos[c] = int32(i)
	}
	return t
}

func (t *tour) dist(a, b int32) float64 {
	p, q := t.pts[a], t.pts[b]
	dx, dy := p.X-q.X, p.Y-q.Y
	return math.Sqrt(float64(dx*dx) + float64(dy*dy))
}

func (t *tour) next(c int32) int32 {
	i := t.pos[c] + 1
	if int(i) == len(t.order) {
		i = 0
	}
	return t.order[i]
}

func (t *tour) prev(c int32) int32 {
	i := t.pos[c] - 1
	if i < 0 {
		i = int32(len(t.order) - 1)
	}
	return t.order[i]
}

func (t *tour) push(c int32) {
	if !t.in[c] {
		t.in[c] = true
		t.queue = append(t.queue, c)
	}
}

// reverse turns round the stretch from position i to j (both included, going
// up, wrapping), or the rest of the tour, whichever is shorter.
func (t *tour) reverse(i, j int32) {
	if t.keep {
		t.log = append(t.log, [2]int32{i, j})
	}
	n := int32(len(t.order))
	l := j - i
	if l < 0 {
		l += n
	}
	l++
	if 2*l > n {
		i, j = j+1, i-1
		if i >= n {
			i = 0
		}
		if j < 0 {
			j = n - 1
		}
		l = n - l
	}
	for k := l / 2; k > 0; k-- {
		a, b := t.order[i], t.order[j]
		t.order[i], t.order[j] = b, a
		t.pos[b], t.pos[a] = i, j
		if i++; i == n {
			i = 0
		}
		if j--; j < 0 {
			j = n - 1
		}
	}
}

// settle makes all improving moves there are and returns what they save.
func (t *tour) settle() float64 {
	for _, c := range t.order {
		t.push(c)
	}
	return t.run()
}

// run looks at the queued places until none improves.
func (t *tour) run() float64 {
	saved := 0.0
	for k := 0; k < len(t.queue); k++ {
		c := t.queue[k]
		t.in[c] = false
		for {
			g := t.twoOpt(c)
			if g == 0 {
				g = t.orOpt(c)
			}
			if g == 0 {
				break
			}
			saved += g
		}
		if k > 1024 && 2*k > len(t.queue) {
			t.queue = append(t.queue[:0], t.queue[k+1:]...)
			k = -1
		}
	}
	t.queue = t.queue[:0]
	return saved
}

// gainHair keeps rounding from looking like a gain.
const gainHair = 1e-9

// twoOpt joins c to a near place in place of its successor or predecessor.
func (t *tour) twoOpt(c int32) float64 {
	for dir := range 2 {
		var s int32
		if dir == 0 {
			s = t.next(c)
		} else {
			s = t.prev(c)
		}
		d0 := t.dist(c, s)
		for _, q := range t.near[c] {
			d1 := t.dist(c, q)
			if d1 >= d0 {
				break
			}
			var r int32
			if dir == 0 {
				r = t.next(q)
			} else {
				r = t.prev(q)
			}
			if q == s || r == c {
				continue
			}
			gain := d0 + t.dist(q, r) - d1 - t.dist(s, r)
			if gain <= gainHair {
				continue
			}
			if dir == 0 { // c s … q r: turn round s … q
				t.reverse(t.pos[s], t.pos[q])
			} else { // r q … s c: turn round q … s
				t.reverse(t.pos[q], t.pos[s])
			}
			t.push(c)
			t.push(s)
			t.push(q)
			t.push(r)
			return gain
		}
	}
	return 0
}

// orOpt moves a stretch of up to three places that begins at c to between a near
// place and one of its neighbours, either way round.
func (t *tour) orOpt(c int32) float64 {
	n := int32(len(t.order))
	for length := int32(1); length <= 3 && length < n-2; length++ {
		for dir := range 2 {
			// the stretch runs from c (end a) to e, away from c in one direction
			i := t.pos[c]
			var lo, hi int32 // positions
			if dir == 0 {
				lo, hi = i, wrapPos(i+length-1, n)
			} else {
				lo, hi = wrapPos(i-length+1, n), i
			}
			first, last := t.order[lo], t.order[hi]
			e := last
			if dir == 1 {
				e = first
			}
			p, s := t.order[wrapPos(lo-1, n)], t.order[wrapPos(hi+1, n)]
			out := t.dist(p, first) + t.dist(last, s) - t.dist(p, s)
			if out <= gainHair {
				continue
			}
			for _, q := range t.near[c] {
				d := t.dist(c, q)
				if d >= out {
					break
				}
				if k := wrapPos(t.pos[q]-lo, n); k < length {
					continue // inside the stretch
				}
				for side := range 2 {
					var r int32
					if side == 0 {
						r = t.next(q)
					} else {
						r = t.prev(q)
					}
					if k := wrapPos(t.pos[r]-lo, n); k < length {
						continue
					}
					gain := out - d - t.dist(e, r) + t.dist(q, r)
					if gain <= gainHair {
						continue
					}
					// c goes beside q, e beside r
					t.move(lo, length, q, r, c)
					for _, x := range [...]int32{p, s, c, e, q, r} {
						t.push(x)
					}
					return gain
				}
			}
		}
	}
	return 0
}

func wrapPos(i, n int32) int32 {
	if i < 0 {
		return i + n
	}
	if i >= n {
		return i - n
	}
	return i
}

// move takes the stretch of the given length from position lo to between q and
// r, which are neighbours, so that its end c lies beside q.
func (t *tour) move(lo, length int32, q, r, c int32) {
	n := int32(len(t.order))
	hi := wrapPos(lo+length-1, n)
	first, last := t.order[lo], t.order[hi]
	p, s := t.order[wrapPos(lo-1, n)], t.order[wrapPos(hi+1, n)]
	near, far := q, r // the nearer one going up from the stretch
	if t.next(q) != r {
		near, far = r, q
	}
	if wrapPos(t.pos[near]-hi, n) > n/2 { // go down instead: the same, mirrored
		near, far = far, near
		first, last, p, s = last, first, s, p
	}
	t.flip(p, first, near) // p near … s last … first far
	t.flip(p, near, s)     // p s … near last … first far
	if (c == first) == (q == near) {
		t.flip(near, last, first)
	}
}

// flip turns round the stretch whose end x lies beside before and whose other
// end is y.
func (t *tour) flip(before, x, y int32) {
	if x == y {
		return
	}
	if t.next(before) == x {
		t.reverse(t.pos[x], t.pos[y])
	} else {
		t.reverse(t.pos[y], t.pos[x])
	}
}

// shake makes double bridges over short stretches and keeps those that help.
func (t *tour) shake(times int) {
	n := len(t.order)
	span := min(50, n/4)
	if span < 2 {
		return
	}
	seed := uint64(0x9E3779B97F4A7C15)
	random := func(k int) int32 {
		seed ^= seed << 13
		seed ^= seed >> 7
		seed ^= seed << 17
		return int32(seed % uint64(k))
	}
	t.keep = true
	for range times {
		t.log = t.log[:0]
		i := random(n)
		l1, l2 := 1+random(span), 1+random(span)
		a, b := t.order[i], t.order[wrapPos(i+1, int32(n))]
		m1 := wrapPos(i+l1, int32(n))
		m2 := wrapPos(i+l1+l2, int32(n))
		c, d := t.order[m1], t.order[wrapPos(m1+1, int32(n))]
		e, f := t.order[m2], t.order[wrapPos(m2+1, int32(n))]
		if f == a {
			continue
		}
		// a [b … c] [d … e] f → a [d … e] [b … c] f
		loss := t.dist(a, d) + t.dist(e, b) + t.dist(c, f) - t.dist(a, b) - t.dist(c, d) - t.dist(e, f)
		t.flip(a, b, e) // a [e … d] [c … b] f
		t.flip(a, e, d)
		t.flip(e, c, b)
		for _, x := range [...]int32{a, b, c, d, e, f} {
			t.push(x)
		}
		if saved := t.run(); saved < loss-gainHair {
			for k := len(t.log) - 1; k >= 0; k-- {
				t.undo(t.log[k])
			}
		}
	}
	t.keep = false
}

func (t *tour) undo(r [2]int32) {
	t.keep = false
	t.reverse(r[0], r[1])
	t.keep = true
}

// greedyTour joins near places by the shortest links that make no early circle,
// then the pieces by their ends.
func greedyTour(pts []geom.Point, near [][]int32) []int32 {
	n := len(pts)
	type link struct {
		d    float64
		a, b int32
	}
	var links []link
	for a := range near {
		for _, b := range near[a] {
			if int32(a) < b || !has(near[b], int32(a)) {
				links = append(links, link{pts[a].Dist(pts[b]), int32(a), b})
			}
		}
	}
	sort.Slice(links, func(i, j int) bool {
		x, y := links[i], links[j]
		if x.d != y.d {
			return x.d < y.d
		}
		if x.a != y.a {
			return x.a < y.a
		}
		return x.b < y.b
	})
	adj := make([][2]int32, n)
	deg := make([]uint8, n)
	root := make([]int32, n)
	for i := range root {
		root[i] = int32(i)
	}
	find := func(i int32) int32 {
		for root[i] != i {
			root[i] = root[root[i]]
			i = root[i]
		}
		return i
	}
	for _, l := range links {
		if deg[l.a] == 2 || deg[l.b] == 2 {
			continue
		}
		if x, y := find(l.a), find(l.b); x != y {
			root[x] = y
			adj[l.a][deg[l.a]], adj[l.b][deg[l.b]] = l.b, l.a
			deg[l.a]++
			deg[l.b]++
		}
	}
	return joinPieces(pts, adj, deg)
}

func has(v []int32, x int32) bool {
	for _, y := range v {
		if x == y {
			return true
		}
	}
	return false
}

// joinPieces walks the pieces one after the other, each time to the nearest end
// of a piece not yet walked.
func joinPieces(pts []geom.Point, adj [][2]int32, deg []uint8) []int32 {
	n := len(pts)
	out := make([]int32, 0, n)
	done := make([]bool, n)
	walk := func(c int32) {
		from := int32(-1)
		for {
			out = append(out, c)
			done[c] = true
			step := int32(-1)
			for k := range deg[c] {
				if q := adj[c][k]; q != from && !done[q] {
					step = q
				}
			}
			if step < 0 {
				return
			}
			from, c = c, step
		}
	}
	var ends []int32
	for i := range deg {
		if deg[i] < 2 {
			ends = append(ends, int32(i))
		}
	}
	for len(ends) > 0 {
		best := 0
		if len(out) > 0 {
			p, dist := pts[out[len(out)-1]], math.Inf(1)
			for k, e := range ends {
				if d := pts[e].Dist(p); d < dist {
					best, dist = k, d
				}
			}
		}
		walk(ends[best])
		kept := ends[:0]
		for _, e := range ends {
			if !done[e] {
				kept = append(kept, e)
			}
		}
		ends = kept
	}
	return out
}
