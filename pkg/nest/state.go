package nest

import "math"

// bin is one piece of stock in the common frame of the search: pieces lie side
// by side along X. Its box is where the grown shapes may lie; what else is
// forbidden inside the box are obstacles.
type bin struct {
	x0, y0, x1, y1 float64
	fibre          int
	obst           []obstacle
	shut           bool // nothing may be placed here
}

// obstacle is forbidden ground: a shape that stays where it is.
type obstacle struct {
	x, y float64
	v    int32
}

// state is where every item lies. Flat, so that workers copy it whole.
type state struct {
	x, y   []float64
	hw, hh []float64 // half box of the present shape
	v      []int32   // shape
	bin    []int32   // -1 = not placed
}

func newState(n int) *state {
	s := &state{
		x: make([]float64, n), y: make([]float64, n),
		hw: make([]float64, n), hh: make([]float64, n),
		v: make([]int32, n), bin: make([]int32, n),
	}
	for i := range s.bin {
		s.bin[i] = -1
	}
	return s
}

func (s *state) copyFrom(o *state) {
	copy(s.x, o.x)
	copy(s.y, o.y)
	copy(s.hw, o.hw)
	copy(s.hh, o.hh)
	copy(s.v, o.v)
	copy(s.bin, o.bin)
}

func (s *state) clone() *state {
	c := newState(len(s.x))
	c.copyFrom(s)
	return c
}

// place is a candidate: a shape somewhere on a bin, and what it would cost.
type place struct {
	x, y, cost float64
	v, bin     int32
}

func (s *state) get(i int) place { return place{x: s.x[i], y: s.y[i], v: s.v[i], bin: s.bin[i]} }

// problem is what does not change during a search, but for the bins' boxes.
type problem struct {
	cat   *catalog
	items []item
	bins  []bin
}

// item is one copy of a part that the search may move.
type item struct {
	part, copy int
	choices    [][]int32 // by fibre direction: the shapes that it may take
	size       float64   // by which the large ones are told: hull area
}

func (s *state) set(p *problem, i int, c place) {
	sh := p.cat.shapes[c.v]
	s.x[i], s.y[i], s.v[i], s.bin[i] = c.x, c.y, c.v, c.bin
	s.hw[i], s.hh[i] = sh.hw, sh.hh
}

// clamp moves the candidate into the box of its bin; false if it has no room.
func (p *problem) clamp(c *place) bool {
	b, s := &p.bins[c.bin], p.cat.shapes[c.v]
	loX, hiX := b.x0+s.hw, b.x1-s.hw
	loY, hiY := b.y0+s.hh, b.y1-s.hh
	if loX > hiX || loY > hiY {
		return false
	}
	c.x = math.Max(loX, math.Min(hiX, c.x))
	c.y = math.Max(loY, math.Min(hiY, c.y))
	return true
}

// overlap is one pair that collides: items i < j, or item i and obstacle
// j - len(items) of its bin.
type overlap struct {
	i, j int32
	q    float64
}

// overlaps lists all colliding pairs and their sum.
func (p *problem) overlaps(s *state, into []overlap) (list []overlap, sum float64) {
	return p.overlapsOf(s, nil, into)
}

// overlapsOf is overlaps when it is known that two items of which neither is
// marked do not collide; nil marks all.
func (p *problem) overlapsOf(s *state, marked []bool, into []overlap) (list []overlap, sum float64) {
	list = into[:0]
	n := len(p.items)
	for i := 0; i < n; i++ {
		if s.bin[i] < 0 {
			continue
		}
		all := marked == nil || marked[i]
		for j := i + 1; j < n; j++ {
			if !all && !marked[j] {
				continue
			}
			dx, dy := s.x[j]-s.x[i], s.y[j]-s.y[i]
			if math.Abs(dx) >= s.hw[i]+s.hw[j] || math.Abs(dy) >= s.hh[i]+s.hh[j] || s.bin[i] != s.bin[j] {
				continue
			}
			if q := p.cat.at(s.v[i], s.v[j], dx, dy); q > 0 {
				list = append(list, overlap{int32(i), int32(j), q})
				sum += q
			}
		}
		if !all {
			continue
		}
		for k, o := range p.bins[s.bin[i]].obst {
			if q := p.obstacleCost(s.v[i], s.x[i], s.y[i], s.hw[i], s.hh[i], o); q > 0 {
				list = append(list, overlap{int32(i), int32(n + k), q})
				sum += q
			}
		}
	}
	return list, sum
}

func (p *problem) obstacleCost(v int32, x, y, hw, hh float64, o obstacle) float64 {
	sh := p.cat.shapes[o.v]
	dx, dy := o.x-x, o.y-y
	if math.Abs(dx) >= hw+sh.hw || math.Abs(dy) >= hh+sh.hh {
		return 0
	}
	return p.cat.at(v, o.v, dx, dy)
}
