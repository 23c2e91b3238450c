package nest

import (
	"math"
	"sync"

	"sparclear/pkg/geom"
)

const (
	// rasterTrial is the share of the budget after which it is looked whether the grid
	// leads anywhere, rasterUntil the one at which the search there ends if it does.
	rasterTrial = 0.05
	rasterUntil = 0.5
	// rasterLead is by how much shorter it must be then for the grid to get it all.
	rasterLead = 0.01
	// rasterShare of the budget may go into tables.
	rasterShare = 10
	// rasterSweeps is the number of sweeps after which the walks look at each other.
	rasterSweeps = 40
)

// rasterSearch is the search for the shortest strip on the grid: several walks side by
// side, of which the first that ends without overlaps goes one cell on.
type rasterSearch struct {
	*raster
	walks []*rasterWalk
	best  *rasterState
	width int // of best, cells; 0 when there is none
	least int // width that some part needs, cells
}

// newRasterSearch begins on a strip half of which the parts would fill.
func newRasterSearch(g *raster, height, area float64, seed uint64, walks int) *rasterSearch {
	h := int(height/g.step + rasterMiss)
	s := &rasterSearch{raster: g}
	for i := range g.of {
		least := math.MaxInt
		for _, f := range g.of[i] {
			least = min(least, g.forms[f].w)
		}
		s.least = max(s.least, least)
	}
	w := max(s.least, int(area/(float64(h)*g.step*g.step)/0.5)+1)
	for k := range walks {
		s.walks = append(s.walks, newRasterWalk(g, w, h, seed, k))
	}
	return s
}

// round lets every walk make some sweeps; the strip is a cell shorter after a success.
// It returns what was spent.
func (s *rasterSearch) round() int64 {
	won := make([]bool, len(s.walks))
	before := s.spent()
	var wg sync.WaitGroup
	for k, w := range s.walks {
		wg.Add(1)
		go func() {
			defer wg.Done()
			won[k] = w.run(rasterSweeps)
		}()
	}
	wg.Wait()
	for k, ok := range won {
		if ok {
			s.take(s.walks[k].low)
			break
		}
	}
	return s.spent() - before
}

func (s *rasterSearch) spent() (sum int64) {
	for _, w := range s.walks {
		sum += w.spent
	}
	return sum
}

// take keeps a layout and goes on with a strip a cell shorter.
func (s *rasterSearch) take(low *rasterState) {
	if s.best == nil {
		s.best = newRasterState(len(s.of))
	}
	s.best.copyFrom(low)
	s.width = 0
	for i, x := range low.x {
		s.width = max(s.width, int(x)+s.forms[low.form[i]].w)
	}
	if s.ended() {
		return
	}
	for _, w := range s.walks {
		w.w = s.width
		w.shorten(s.best, s.width-1)
	}
}

// ended tells that the strip cannot be shorter.
func (s *rasterSearch) ended() bool { return s.width == s.least }

// onRaster looks for a layout on the grid, where parts may touch, and goes on with it
// when that is soon as short as what a little search off the grid has found. Without
// spacing alone do outlines lie as they are drawn.
func (t *strip) onRaster(height, area float64, spacing float64) {
	room := int64(rasterRoom)
	if t.budget > 0 {
		room = min(room, t.budget/rasterShare)
	}
	if spacing > 0 || len(t.items) > mostGuided {
		return
	}
	g, ok := newRaster(t.problem, height, room)
	if !ok {
		return
	}
	t.tried += g.room
	t.best = t.solution()
	t.explore(rasterTrial)
	t.restore(t.best)
	s := newRasterSearch(g, height, area, t.seed, len(t.workers))
	until := t.done() + rasterTrial
	for t.done() < until && !s.ended() {
		from := s.width
		t.tried += s.round()
		if s.width == 0 || s.width == from {
			continue
		}
		switch l := float64(float64(s.width) * g.step); {
		case l <= t.best.len*(1-rasterLead):
			until = 1
			t.report("explore", l)
		case l <= t.best.len:
			until = max(until, rasterUntil)
			t.report("explore", l)
		}
	}
	if s.width > 0 {
		t.touching = s
	}
}

// placed returns where the items of the best layout lie, exactly on the grid, and its
// length, in the order of the items.
func (s *rasterSearch) placed(p *problem) (frames []geom.Rigid, length float64) {
	for i := range p.items {
		f := &s.forms[s.best.form[i]]
		sh := p.cat.shapes[f.v]
		to := geom.Pt(float64(float64(s.best.x[i])*s.step), float64(float64(s.best.y[i])*s.step))
		frames = append(frames, geom.Rigid{Turn: sh.frame.Turn, Mirror: sh.frame.Mirror, Shift: to.Sub(sh.low)})
	}
	return frames, float64(float64(s.width) * s.step)
}
