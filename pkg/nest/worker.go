package nest

import (
	"math"
	"math/rand/v2"
)

// How many positions are drawn for a part in a sweep, how many of the best are
// refined, and the steps of the refinement as shares of the part's smaller side.
const (
	drawAnywhere = 12
	drawNear     = 12
	drawTouching = 20
	keepBest     = 3
	coarseFrom   = 0.25
	coarseTo     = 0.02
	fineFrom     = 0.01
	fineTo       = 0.0005
)

// worker moves parts in its own copy of the state.
type worker struct {
	s     *search
	state *state
	src   *rand.PCG
	rnd   *rand.Rand
	order []int32
	moved []bool // by item: it overlapped another, so that it was moved
	tried int64
	sum   float64
	list  []overlap
	about around
}

// cost returns the weighted severity of item i at the candidate, or +Inf as soon
// as it passes the bound.
func (w *worker) cost(i int, c *place, bound float64) float64 {
	s, p := w.state, w.s.problem
	cat := p.cat
	w.tried += cat.price
	sh := cat.shapes[c.v]
	hw, hh, x, y := sh.hw, sh.hh, c.x, c.y
	weights := w.s.weights[i*w.s.stride : (i+1)*w.s.stride]
	sum := 0.0
	xs, ys, hws, hhs := s.x, s.y[:len(s.x)], s.hw[:len(s.x)], s.hh[:len(s.x)]
	for j := range xs {
		dx, dy := xs[j]-x, ys[j]-y
		if math.Abs(dx) >= hw+hws[j] || math.Abs(dy) >= hh+hhs[j] || j == i || s.bin[j] != c.bin {
			continue
		}
		if q := cat.at(c.v, s.v[j], dx, dy); q > 0 {
			sum += float64(q * float64(weights[j]))
			if sum >= bound {
				return math.Inf(1)
			}
		}
	}
	return w.costGround(i, c, sum, bound)
}

// anywhere draws a position for item i on any open bin, in any allowed turn.
func (w *worker) anywhere(i int) (c place, ok bool) {
	p := w.s.problem
	c.bin = w.state.bin[i]
	if len(p.bins) > 1 && (c.bin < 0 || w.rnd.IntN(2) == 0) {
		c.bin = int32(w.rnd.IntN(len(p.bins)))
	}
	b := &p.bins[c.bin]
	if b.shut {
		return c, false
	}
	vs := p.items[i].choices[b.fibre]
	if len(vs) == 0 {
		return c, false
	}
	c.v = vs[w.rnd.IntN(len(vs))]
	sh := p.cat.shapes[c.v]
	wx, wy := b.x1-b.x0-float64(2*sh.hw), b.y1-b.y0-float64(2*sh.hh)
	if wx < 0 || wy < 0 {
		return c, false
	}
	c.x = b.x0 + sh.hw + float64(w.rnd.Float64()*wx)
	c.y = b.y0 + sh.hh + float64(w.rnd.Float64()*wy)
	return c, true
}

// near draws a position close to where item i lies.
func (w *worker) near(i int) (c place, ok bool) {
	p, s := w.s.problem, w.state
	c = s.get(i)
	b := &p.bins[c.bin]
	if b.shut {
		return c, false
	}
	vs := p.items[i].choices[b.fibre]
	if len(vs) > 1 && w.rnd.IntN(2) == 0 {
		c.v = vs[w.rnd.IntN(len(vs))]
	}
	c.x += float64((float64(2*w.rnd.Float64()) - 1) * s.hw[i])
	c.y += float64((float64(2*w.rnd.Float64()) - 1) * s.hh[i])
	return c, p.clamp(&c)
}

// best is the few best candidates that differ enough, best first.
type best struct {
	c [keepBest]place
	n int
}

// bound is the cost from which a candidate is of no use.
func (b *best) bound() float64 {
	if b.n < keepBest {
		return math.Inf(1)
	}
	return b.c[b.n-1].cost
}

func (b *best) add(c place, apart float64) {
	for k := 0; k < b.n; k++ {
		o := &b.c[k]
		if o.v == c.v && o.bin == c.bin && math.Abs(o.x-c.x) < apart && math.Abs(o.y-c.y) < apart {
			if c.cost >= o.cost {
				return
			}
			copy(b.c[k:], b.c[k+1:b.n])
			b.n--
			break
		}
	}
	k := b.n
	for k > 0 && b.c[k-1].cost > c.cost {
		k--
	}
	if k >= keepBest {
		return
	}
	if b.n < keepBest {
		b.n++
	}
	copy(b.c[k+1:b.n], b.c[k:])
	b.c[k] = c
}

// descend improves the candidate by steps along x, y and the diagonals, longer
// after success, shorter after failure, until they are below the last step.
func (w *worker) descend(i int, c place, from, to float64) place {
	sx, sy := from, from
	w.look(i, &c, float64(4*from))
	for (sx > to || sy > to) && c.cost > 0 {
		var ux, uy float64
		switch axis := w.rnd.IntN(4); axis {
		case 0:
			ux = sx
		case 1:
			uy = sy
		case 2:
			ux, uy = sx, sy
		default:
			ux, uy = sx, -sy
		}
		won := false
		for sign := 0; sign < 2; sign++ {
			t := c
			t.x += ux
			t.y += uy
			ux, uy = -ux, -uy
			w.s.clamp(&t)
			if t.x == c.x && t.y == c.y {
				continue
			}
			if t.cost = w.costAbout(i, &t, c.cost); t.cost < c.cost {
				c = t
				won = true
				break
			}
		}
		k := 0.5
		if won {
			k = 1.1
		}
		if ux != 0 {
			sx *= k
		}
		if uy != 0 {
			sy *= k
		}
	}
	return c
}

// move looks for a better place for item i and puts it there.
func (w *worker) move(i int) {
	p := w.s.problem
	now := w.state.get(i)
	now.cost = w.cost(i, &now, math.Inf(1))
	if now.cost == 0 {
		return
	}
	var b best
	small := float64(2 * math.Min(w.state.hw[i], w.state.hh[i]))
	apart := float64(small * 0.05)
	b.add(now, apart)
	w.look(i, &now, math.Max(w.state.hw[i], w.state.hh[i])*1.5)
	for k := 0; k < drawNear+drawTouching+drawAnywhere; k++ {
		var c place
		var ok bool
		cost := w.costAbout
		switch {
		case k < drawNear:
			c, ok = w.near(i)
		case k < drawNear+drawTouching:
			c, ok = w.touching(i)
			cost = w.cost
		default:
			c, ok = w.anywhere(i)
			cost = w.cost
		}
		if !ok {
			continue
		}
		if c.cost = cost(i, &c, b.bound()); c.cost < b.bound() {
			b.add(c, apart)
			if c.cost == 0 {
				w.state.set(p, i, c)
				return
			}
		}
	}
	top := now
	for k := 0; k < b.n; k++ {
		if c := w.descend(i, b.c[k], float64(coarseFrom*small), float64(coarseTo*small)); c.cost < top.cost {
			top = c
		}
	}
	w.state.set(p, i, w.descend(i, top, float64(fineFrom*small), float64(fineTo*small)))
}

// sweep moves every colliding part once, in random order.
func (w *worker) sweep(sweep uint64, index int) {
	s := w.s
	w.src.Seed(s.seed, sweep<<8|uint64(index))
	w.state.copyFrom(s.cur)
	w.tried = 0
	w.order = w.order[:0]
	n := int32(len(s.items))
	if w.moved == nil {
		w.moved = make([]bool, n)
	}
	clear(w.moved)
	for _, o := range s.list {
		w.moved[o.i] = true
		if o.j < n {
			w.moved[o.j] = true
		}
	}
	for i, m := range w.moved {
		if m {
			w.order = append(w.order, int32(i))
		}
	}
	w.rnd.Shuffle(len(w.order), func(i, j int) { w.order[i], w.order[j] = w.order[j], w.order[i] })
	for _, i := range w.order {
		w.move(int(i))
	}
	w.list, w.sum = s.overlapsOf(w.state, w.moved, w.list)
}
