package nest

import (
	"math"
	"sort"
)

// slide pushes the parts of a layout without overlaps to the left and down until
// they touch, the leftmost first, as far as float64 can tell. shut bins stay as
// they are. Nothing is turned and nothing comes to overlap.
func (s *search) slide() {
	w := s.workers[0]
	w.state.copyFrom(s.cur)
	order := make([]int, len(s.items))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool {
		return s.cur.x[order[a]]-s.cur.hw[order[a]] < s.cur.x[order[b]]-s.cur.hw[order[b]]
	})
	for round := 0; round < 2; round++ {
		for _, i := range order {
			if s.cur.bin[i] < 0 || s.bins[s.cur.bin[i]].shut {
				continue
			}
			c := w.state.get(i)
			small := math.Min(w.state.hw[i], w.state.hh[i])
			for _, d := range [2][2]float64{{-1, 0}, {0, -1}} {
				c = w.push(i, c, d[0], d[1], small)
			}
			w.state.set(s.problem, i, c)
		}
	}
	s.cur.copyFrom(w.state)
}

// contactGap is what is left between parts that were pushed together, as a share
// of the smaller side of the part: far above rounding, far below any spacing.
const contactGap = 1e-8

// push moves a candidate along a direction by steps that are halved at contact.
func (w *worker) push(i int, c place, dx, dy, step float64) place {
	from, gap := c, float64(step*contactGap)
	for step > gap/4 {
		t := c
		t.x += float64(dx * step)
		t.y += float64(dy * step)
		w.s.clamp(&t)
		if (t.x != c.x || t.y != c.y) && w.cost(i, &t, math.SmallestNonzeroFloat64) == 0 {
			c = t
			continue
		}
		step /= 2
	}
	// Back from the contact, so that rounding does not turn it into an overlap.
	if math.Abs(c.x-from.x)+math.Abs(c.y-from.y) <= gap {
		return from
	}
	c.x -= float64(dx * gap)
	c.y -= float64(dy * gap)
	return c
}
