package nest

import (
	"math"
	"math/rand/v2"
)

// pile is one piece of stock that is filled part by part, each where it lies
// furthest to the left, never overlapping. It gives the first layout and takes
// the fillers at the end.
type pile struct {
	cat   *catalog
	bin   *bin
	x, y  []float64
	hw    []float64
	hh    []float64
	v     []int32
	rnd   *rand.Rand
	tried *int64
	grid  grid
	right float64 // right edge of the rightmost part
}

// grid lists for every cell of a bin the parts whose boxes reach into it, so that
// thousands of parts need not all be asked.
type grid struct {
	x0, y0, side float64
	nx, ny       int
	cells        [][]int32
	seen         []uint32 // by part: the query that has looked at it
	query        uint32
}

// newGrid has cells of about the given side, at most 128 each way.
func newGrid(b *bin, side float64) grid {
	side = math.Max(side, math.Max(b.x1-b.x0, b.y1-b.y0)/128)
	g := grid{x0: b.x0, y0: b.y0, side: side}
	g.nx, g.ny = int((b.x1-b.x0)/side)+1, int((b.y1-b.y0)/side)+1
	g.cells = make([][]int32, g.nx*g.ny)
	return g
}

// span returns the cells that a box reaches into.
func (g *grid) span(x, y, hw, hh float64) (ix0, iy0, ix1, iy1 int) {
	cut := func(v float64, n int) int { return max(0, min(n-1, int(v/g.side))) }
	return cut(x-hw-g.x0, g.nx), cut(y-hh-g.y0, g.ny), cut(x+hw-g.x0, g.nx), cut(y+hh-g.y0, g.ny)
}

func (l *pile) add(c place) {
	sh := l.cat.shapes[c.v]
	ix0, iy0, ix1, iy1 := l.grid.span(c.x, c.y, sh.hw, sh.hh)
	for iy := iy0; iy <= iy1; iy++ {
		for ix := ix0; ix <= ix1; ix++ {
			k := iy*l.grid.nx + ix
			l.grid.cells[k] = append(l.grid.cells[k], int32(len(l.x)))
		}
	}
	l.grid.seen = append(l.grid.seen, 0)
	l.x, l.y = append(l.x, c.x), append(l.y, c.y)
	l.hw, l.hh = append(l.hw, sh.hw), append(l.hh, sh.hh)
	l.v = append(l.v, c.v)
	l.right = math.Max(l.right, c.x+sh.hw)
}

// clone returns a copy that can be added to; the chance is shared.
func (l *pile) clone() *pile {
	m := *l
	m.clear()
	for j := range l.x {
		m.add(place{x: l.x[j], y: l.y[j], v: l.v[j]})
	}
	return &m
}

// clear takes all parts away.
func (l *pile) clear() {
	l.x, l.y, l.hw, l.hh, l.v = nil, nil, nil, nil, nil
	l.right = l.bin.x0
	l.grid = newGrid(l.bin, l.grid.side)
}

// free tells whether a shape may lie there.
func (l *pile) free(c *place) bool {
	*l.tried += l.cat.price
	sh := l.cat.shapes[c.v]
	b := l.bin
	if c.x-sh.hw < b.x0 || c.x+sh.hw > b.x1 || c.y-sh.hh < b.y0 || c.y+sh.hh > b.y1 {
		return false
	}
	if l.hitsParts(c, sh) {
		return false
	}
	for _, o := range b.obst {
		os := l.cat.shapes[o.v]
		dx, dy := o.x-c.x, o.y-c.y
		if math.Abs(dx) < sh.hw+os.hw && math.Abs(dy) < sh.hh+os.hh && l.cat.hits(c.v, o.v, dx, dy) {
			return false
		}
	}
	return true
}

func (l *pile) hitsParts(c *place, sh *shape) bool {
	g := &l.grid
	g.query++
	ix0, iy0, ix1, iy1 := g.span(c.x, c.y, sh.hw, sh.hh)
	for iy := iy0; iy <= iy1; iy++ {
		for ix := ix0; ix <= ix1; ix++ {
			for _, j := range g.cells[iy*g.nx+ix] {
				if g.seen[j] == g.query {
					continue
				}
				g.seen[j] = g.query
				dx, dy := l.x[j]-c.x, l.y[j]-c.y
				if math.Abs(dx) < sh.hw+l.hw[j] && math.Abs(dy) < sh.hh+l.hh[j] && l.cat.hits(c.v, l.v[j], dx, dy) {
					return true
				}
			}
		}
	}
	return false
}

// pull is what a place costs while parts are added: left first, then low.
func pull(c *place, sh *shape) float64 { return c.x + sh.hw + float64(0.03*(c.y+sh.hh)) }

// insert looks for a free place among so many draws and settles the best ones
// leftward; false when none was free.
func (l *pile) insert(choices []int32, draws int) (place, bool) {
	var top best
	b := l.bin
	var fits []int32
	for _, v := range choices {
		if sh := l.cat.shapes[v]; 2*sh.hw <= b.x1-b.x0 && 2*sh.hh <= b.y1-b.y0 {
			fits = append(fits, v)
		}
	}
	if len(fits) == 0 {
		return place{}, false
	}
	right := math.Max(l.right, b.x0) // most of the draws fall where the parts are
	for k := 0; k < draws; k++ {
		c := place{v: fits[l.rnd.IntN(len(fits))]}
		sh := l.cat.shapes[c.v]
		to := b.x1
		if k%4 != 0 {
			to = math.Min(to, right+float64(2*sh.hw))
		}
		c.x = b.x0 + sh.hw + float64(l.rnd.Float64()*math.Max(0, to-b.x0-float64(2*sh.hw)))
		c.y = b.y0 + sh.hh + float64(l.rnd.Float64()*(b.y1-b.y0-float64(2*sh.hh)))
		c.cost = pull(&c, sh)
		if c.cost < top.bound() && l.free(&c) {
			top.add(c, sh.hw)
		}
	}
	if top.n == 0 {
		return place{}, false
	}
	won := place{cost: math.Inf(1)}
	for k := 0; k < top.n; k++ {
		if c := l.settle(top.c[k]); c.cost < won.cost {
			won = c
		}
	}
	return won, true
}

// settle slides a free place left and down as far as it goes.
func (l *pile) settle(c place) place {
	sh := l.cat.shapes[c.v]
	small := math.Min(sh.hw, sh.hh)
	for step := small; step > small*1e-4; {
		won := false
		for _, d := range [5][2]float64{{-1, 0}, {0, -1}, {-1, -1}, {-1, 1}, {0.2, -1}} {
			t := c
			t.x = math.Max(l.bin.x0+sh.hw, c.x+float64(d[0]*step))
			t.y = math.Min(l.bin.y1-sh.hh, math.Max(l.bin.y0+sh.hh, c.y+float64(d[1]*step)))
			if t.cost = pull(&t, sh); t.cost < c.cost && l.free(&t) {
				c, won = t, true
				break
			}
		}
		if !won {
			step /= 2
		}
	}
	return c
}
