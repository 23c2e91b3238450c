package nest

import (
	"context"
	"math"
	"math/rand/v2"
	"sync"
	"time"
)

// search is a run: the problem, the present state, the weights of the pairs.
type search struct {
	*problem
	cur     *state
	weights []float32 // n × (n + most obstacles of a bin)
	stride  int
	heavy   []int32 // pairs whose weight is over 1
	list    []overlap
	workers []*worker
	seed    uint64
	sweeps  uint64
	tried   int64
	clock
}

// clock tells when to stop. Phases are shares of the budget of positions, or of
// the time if there is no budget.
type clock struct {
	ctx     context.Context
	budget  int64
	elapsed func() time.Duration
	limit   time.Duration
	stopped bool
	told    func() // says how far the search is; may be nil
	toldAt  time.Duration
}

// tellEvery is how often a search says how far it is while it finds nothing.
const tellEvery = 100 * time.Millisecond

// tell says how far the search is, now and then.
func (c *clock) tell() {
	if c.told == nil {
		return
	}
	if now := c.elapsed(); now-c.toldAt >= tellEvery {
		c.toldAt = now
		c.told()
	}
}

// newClock starts the clock of a call.
func newClock(ctx context.Context, o Options) clock {
	c := clock{ctx: ctx, budget: o.Budget, limit: o.Time, elapsed: o.Elapsed}
	if c.elapsed == nil {
		start := time.Now()
		c.elapsed = func() time.Duration { return time.Since(start) }
	}
	return c
}

// done returns the share of budget or time that is spent.
func (c *search) done() float64 {
	if c.stopped {
		return 1
	}
	var d float64
	if c.limit > 0 {
		if d = float64(c.elapsed()) / float64(c.limit); d >= 1 {
			c.stopped = c.budget > 0
			return 1
		}
	}
	if c.ctx.Err() != nil {
		c.stopped = true
		return 1
	}
	if c.budget > 0 {
		return float64(c.tried) / float64(c.budget)
	}
	return d
}

func newSearch(p *problem, seed uint64, workers int, c clock) *search {
	n := len(p.items)
	most := 0
	for i := range p.bins {
		most = max(most, len(p.bins[i].obst))
	}
	s := &search{problem: p, cur: newState(n), stride: n + most, seed: seed, clock: c}
	s.weights = make([]float32, n*s.stride)
	for i := range s.weights {
		s.weights[i] = 1
	}
	if workers <= 0 {
		workers = 2
	}
	for w := 0; w < workers; w++ {
		s.workers = append(s.workers, &worker{s: s, state: newState(n), src: rand.NewPCG(0, 0)})
	}
	for _, w := range s.workers {
		w.rnd = rand.New(w.src)
	}
	return s
}

// sweepAll lets every worker sweep from the present state and keeps the result
// with the least sum, the first of equals.
func (s *search) sweepAll() float64 {
	s.sweeps++
	var wg sync.WaitGroup
	for k, w := range s.workers[1:] {
		wg.Add(1)
		go func() {
			defer wg.Done()
			w.sweep(s.sweeps, k+1)
		}()
	}
	s.workers[0].sweep(s.sweeps, 0)
	wg.Wait()
	won := s.workers[0]
	for _, w := range s.workers {
		s.tried += w.tried
		if w.sum < won.sum {
			won = w
		}
	}
	s.cur, won.state = won.state, s.cur
	s.list, won.list = won.list, s.list
	return won.sum
}

// reweigh makes pairs that collide dearer, the graver the more, and lets the
// others fade (Gardeyn et al. 2025, algorithm 8).
func (s *search) reweigh() {
	top := 0.0
	for _, o := range s.list {
		top = math.Max(top, o.q)
	}
	n := int32(len(s.items))
	stride := int32(s.stride)
	const (
		fade     = 0.95
		heaviest = 1e20 // far from the end of float32, also when summed
	)
	for _, o := range s.list { // undo the fading that comes below
		k := o.i*stride + o.j
		if s.weights[k] <= 1 {
			s.heavy = append(s.heavy, k)
		}
		s.weights[k] = min(heaviest, s.weights[k]*float32((1.2+float64(0.8*o.q)/top)/fade))
	}
	kept := s.heavy[:0]
	for _, k := range s.heavy {
		v := s.weights[k] * fade
		if v <= 1 {
			v = 1
		} else {
			kept = append(kept, k)
		}
		s.weights[k] = v
		if i, j := k/stride, k%stride; j < n {
			s.weights[j*stride+i] = v
		}
	}
	s.heavy = kept
}

func (s *search) forget() {
	for i := range s.weights {
		s.weights[i] = 1
	}
	s.heavy = s.heavy[:0]
}

// separate removes overlaps from the present state; true when none are left.
// After patience sweeps without gain it goes back to the state with the least
// sum, and after that has brought nothing strikes times in a row it gives up
// with that state. until is the share of budget or time at which it stops.
func (s *search) separate(strikes, patience int, until float64) bool {
	s.forget()
	var low float64
	s.list, low = s.overlaps(s.cur, s.list)
	lowState := s.cur.clone()
	for bad := 0; bad < strikes && low > 0; {
		start := low
		s.cur.copyFrom(lowState)
		s.list, _ = s.overlaps(s.cur, s.list)
		for idle := 0; idle < patience && low > 0; {
			if s.done() >= until {
				s.cur.copyFrom(lowState)
				return false
			}
			s.tell()
			sum := s.sweepAll()
			s.reweigh()
			if sum < low {
				if sum < 0.98*low {
					idle = 0
				}
				low = sum
				lowState.copyFrom(s.cur)
			} else {
				idle++
			}
		}
		if low < 0.98*start {
			bad = 0
		} else {
			bad++
		}
	}
	s.cur.copyFrom(lowState)
	return low == 0
}
