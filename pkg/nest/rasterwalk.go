package nest

import (
	"math"
	"math/rand/v2"
	"sort"
)

// rasterState is where every item lies: the corner of its box in cells, and its form.
type rasterState struct{ x, y, form []int32 }

func newRasterState(n int) *rasterState {
	return &rasterState{make([]int32, n), make([]int32, n), make([]int32, n)}
}

func (s *rasterState) copyFrom(o *rasterState) {
	copy(s.x, o.x)
	copy(s.y, o.y)
	copy(s.form, o.form)
}

// rasterWalk removes overlaps on the grid, by moving one overlapping part after another
// to where it costs least and making pairs that go on overlapping dearer.
type rasterWalk struct {
	g       *raster
	w, h    int // of the strip, cells
	cur     *rasterState
	low     *rasterState // with the least overlap since the last start
	sum     float64      // of low
	idle    int          // sweeps without gain
	weights []float32    // of pairs of items
	pairs   []overlap
	order   []int
	moved   []bool // by item: it overlaps another
	failed  []rasterFailed
	cost    []float32
	spent   int64 // in positions of the search off the grid
	rnd     *rand.Rand
}

// rasterFailed is a state that could not be freed of overlaps.
type rasterFailed struct {
	sum   float64
	state *rasterState
}

const (
	// rasterPatience is the number of sweeps without gain after which a walk goes on from
	// another state, rasterPool how many of those it keeps.
	rasterPatience = 200
	rasterPool     = 20
	// rasterPrice is how many entries of a table are added in the time of a position.
	rasterPrice = 256
)

// newRasterWalk starts from a random state.
func newRasterWalk(g *raster, w, h int, seed uint64, index int) *rasterWalk {
	n := len(g.of)
	k := &rasterWalk{g: g, w: w, h: h, cur: newRasterState(n), low: newRasterState(n), weights: make([]float32, n*n), moved: make([]bool, n)}
	k.rnd = rand.New(rand.NewPCG(seed, uint64(index)<<8|246))
	for i := range n {
		k.cur.form[i] = g.of[i][k.rnd.IntN(len(g.of[i]))]
		f := &g.forms[k.cur.form[i]]
		k.cur.x[i], k.cur.y[i] = int32(k.rnd.IntN(max(1, w-f.w+1))), int32(k.rnd.IntN(h-f.h+1))
	}
	k.start()
	return k
}

// start forgets the weights and makes the present state the one to be bettered.
func (k *rasterWalk) start() {
	for i := range k.weights {
		k.weights[i] = 1
	}
	k.clamp()
	k.sum, k.idle = k.overlaps(), 0
	k.low.copyFrom(k.cur)
}

// clamp moves all parts into the strip, in another form where it is too short.
func (k *rasterWalk) clamp() {
	s := k.cur
	for i := range s.x {
		for _, other := range k.g.of[i] {
			if k.g.forms[s.form[i]].w <= k.w {
				break
			}
			s.form[i] = other
		}
		f := &k.g.forms[s.form[i]]
		s.x[i] = max(0, min(int32(k.w-f.w), s.x[i]))
		s.y[i] = max(0, min(int32(k.h-f.h), s.y[i]))
	}
}

// shorten takes a layout onto a strip of w cells; what lies to the right of a chance
// cut is shifted along.
func (k *rasterWalk) shorten(from *rasterState, w int) {
	k.cur.copyFrom(from)
	cut, by := int32(k.rnd.IntN(k.w+1)), int32(k.w-w)
	for i := range k.cur.x {
		if k.cur.x[i] > cut {
			k.cur.x[i] -= by
		}
	}
	k.w, k.failed = w, k.failed[:0]
	k.start()
}

// depth returns how deep two items lie in each other.
func (k *rasterWalk) depth(i, j int) float32 {
	s := k.cur
	t := &k.g.tables[int(s.form[i])*len(k.g.forms)+int(s.form[j])]
	ix, iy := int(s.x[i]-s.x[j])+t.ox, int(s.y[i]-s.y[j])+t.oy
	if ix < 0 || iy < 0 || ix >= t.w || iy >= t.h {
		return 0
	}
	return t.depth[iy*t.w+ix]
}

// overlaps lists the pairs that overlap and returns their sum.
func (k *rasterWalk) overlaps() (sum float64) {
	k.pairs = k.pairs[:0]
	for i := range k.cur.x {
		for j := i + 1; j < len(k.cur.x); j++ {
			if d := float64(k.depth(i, j)); d > 0 {
				k.pairs = append(k.pairs, overlap{int32(i), int32(j), d})
				sum += d
			}
		}
	}
	return sum
}

// lies tells whether an item overlaps no other.
func (k *rasterWalk) lies(i int) bool {
	for j := range k.cur.x {
		if j != i && k.depth(i, j) > 0 {
			return false
		}
	}
	return true
}

// costs returns what item i would cost at every place of a form, row by row.
func (k *rasterWalk) costs(i int, form int32) (cost []float32, nx int) {
	s, g := k.cur, k.g
	nx, ny := k.w-g.forms[form].w+1, k.h-g.forms[form].h+1
	if nx <= 0 || ny <= 0 {
		return nil, 0
	}
	if cap(k.cost) < nx*ny {
		k.cost = make([]float32, nx*ny)
	}
	cost = k.cost[:nx*ny]
	clear(cost)
	added := nx * ny
	tables := g.tables[int(form)*len(g.forms):]
	weights := k.weights[i*len(s.x) : (i+1)*len(s.x)]
	for j := range s.x {
		t := &tables[s.form[j]]
		x0, y0 := int(s.x[j])-t.ox, int(s.y[j])-t.oy // where the table begins
		x, to := max(0, x0), min(nx, x0+t.w)
		if j == i || x >= to {
			continue
		}
		weight := weights[j]
		for y := max(0, y0); y < min(ny, y0+t.h); y++ {
			sum := cost[y*nx+x : y*nx+to]
			for n, d := range t.depth[(y-y0)*t.w+x-x0:][:len(sum)] {
				sum[n] += float32(d * weight)
			}
			added += len(sum)
		}
	}
	k.spent += int64(added/rasterPrice + 1)
	return cost, nx
}

// move puts item i where it costs least, of several such places one by chance.
func (k *rasterWalk) move(i int) {
	least, count := float32(math.Inf(1)), 0
	var x, y, form int32
	for _, f := range k.g.of[i] {
		cost, nx := k.costs(i, f)
		for n, c := range cost {
			if c > least {
				continue
			}
			if c < least {
				least, count = c, 0
			}
			if count++; count == 1 || k.rnd.IntN(count) == 0 {
				x, y, form = int32(n%nx), int32(n/nx), f
			}
		}
	}
	if count > 0 {
		k.cur.x[i], k.cur.y[i], k.cur.form[i] = x, y, form
	}
}

// sweep moves the overlapping items, in random order, and returns what overlap is left.
func (k *rasterWalk) sweep() float64 {
	clear(k.moved)
	for _, o := range k.pairs {
		k.moved[o.i], k.moved[o.j] = true, true
	}
	k.order = k.order[:0]
	for i, m := range k.moved {
		if m {
			k.order = append(k.order, i)
		}
	}
	k.rnd.Shuffle(len(k.order), func(a, b int) { k.order[a], k.order[b] = k.order[b], k.order[a] })
	for _, i := range k.order {
		if !k.lies(i) {
			k.move(i)
		}
	}
	sum := k.overlaps()
	k.reweigh()
	return sum
}

// reweigh makes pairs that overlap dearer and lets the others fade, like the search
// off the grid.
func (k *rasterWalk) reweigh() {
	const fade, heaviest = 0.95, 1e20
	top := 0.0
	for _, o := range k.pairs {
		top = math.Max(top, o.q)
	}
	for i, v := range k.weights {
		if v > 1 {
			k.weights[i] = max(1, v*fade)
		}
	}
	n := len(k.cur.x)
	for _, o := range k.pairs {
		a, b := int(o.i)*n+int(o.j), int(o.j)*n+int(o.i)
		k.weights[a] = min(heaviest, k.weights[a]*float32((1.2+float64(0.8*o.q)/top)/fade))
		k.weights[b] = k.weights[a]
	}
}

// run makes so many sweeps, or fewer until nothing overlaps, which low then holds.
func (k *rasterWalk) run(sweeps int) bool {
	for range sweeps {
		switch sum := k.sweep(); {
		case sum < k.sum:
			k.sum, k.idle = sum, 0
			k.low.copyFrom(k.cur)
		default:
			if k.idle++; k.idle > rasterPatience {
				k.again()
			}
		}
		if k.sum == 0 {
			return true
		}
	}
	return false
}

// again goes on from one of the states that failed, with two parts exchanged.
func (k *rasterWalk) again() {
	s := newRasterState(len(k.cur.x))
	s.copyFrom(k.low)
	k.failed = append(k.failed, rasterFailed{k.sum, s})
	sort.SliceStable(k.failed, func(i, j int) bool { return k.failed[i].sum < k.failed[j].sum })
	k.failed = k.failed[:min(len(k.failed), rasterPool)]
	at := int(math.Min(0.999, math.Abs(float64(k.rnd.NormFloat64()*0.25))) * float64(len(k.failed)))
	s = k.cur
	s.copyFrom(k.failed[at].state)
	for range 20 {
		i, j := k.rnd.IntN(len(s.x)), k.rnd.IntN(len(s.x))
		if k.g.of[i][0] != k.g.of[j][0] {
			s.x[i], s.y[i], s.x[j], s.y[j] = s.x[j], s.y[j], s.x[i], s.y[i]
			break
		}
	}
	k.start()
}
