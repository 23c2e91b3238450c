package nest

import (
	"context"
	"math"
	"math/rand/v2"
	"time"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// StripLayout is the result of Strip.
type StripLayout struct {
	Height  float64 // of the strip, mm
	Length  float64 // that the parts take, mm
	Density float64 // area of the parts by Height times Length, 0…1
	// Placements have Piece 0; the strip runs from the origin along +X.
	Placements []Placement
	Tried      int64
	Stopped    bool
}

// exploreShare is the part of the budget that goes into finding new arrangements;
// the rest presses the best one together (Gardeyn et al. 2025).
const exploreShare = 0.8

// Strip places all copies on a strip of the given height, mm, as short as the
// budget allows, and verifies the result. There is no margin.
func Strip(ctx context.Context, parts []Part, height float64, o Options) (*StripLayout, diag.List) {
	var shapes []*shape
	var items []item
	area := 0.0
	for i, p := range parts {
		var choice []int32
		for _, s := range shapesOf(i, p, ready(p.Region, o.Spacing/2, maxPoles), 0, 0) {
			choice = append(choice, int32(len(shapes)))
			shapes = append(shapes, s)
		}
		for k := 0; k < p.Quantity; k++ {
			items = append(items, item{part: i, copy: k, choices: [][]int32{choice}, size: shapes[choice[0]].lambda * shapes[choice[0]].lambda})
			area += p.Region.Area()
		}
	}
	if o.Budget == 0 && o.Time == 0 {
		o.Budget = DefaultBudget
	}
	p := &problem{cat: newCatalog(shapes), items: items, bins: []bin{{y1: height}}}
	s := newSearch(p, o.Seed, o.Workers, clock{ctx: ctx, budget: o.Budget, limit: o.Time, start: time.Now()})
	t := &strip{search: s, report: func(phase string, l float64) {
		if o.Progress != nil {
			o.Progress(Progress{Phase: phase, Done: s.done(), Sheets: 1, Use: area / (height * l), Tried: s.tried})
		}
	}}
	if !t.start(area / height) {
		return nil, diag.List{}
	}
	best := t.explore(t.solution(), exploreShare)
	t.compress(best, exploreShare, 1)
	out := &StripLayout{Height: height, Tried: s.tried, Stopped: s.stopped}
	right := 0.0
	for i, it := range items {
		sh := shapes[s.cur.v[i]]
		f := sh.frame
		f.Shift = f.Shift.Add(geom.Pt(s.cur.x[i], s.cur.y[i]))
		right = math.Max(right, s.cur.x[i]+sh.hw)
		out.Placements = append(out.Placements, Placement{Part: it.part, Copy: it.copy, Frame: f})
	}
	out.Length = right
	out.Density = area / (height * right)
	return out, nil
}

// start finds a first feasible state from a random one, on a strip that is
// lengthened until that works.
func (t *strip) start(need float64) bool {
	l := math.Max(t.widest(t.last), need/0.7)
	rnd := rand.New(rand.NewPCG(t.seed, 253))
	b := &t.bins[t.last]
	for try := 0; try < 40; try++ {
		b.x1 = b.x0 + l
		w := t.workers[0]
		w.rnd = rnd
		for i := range t.items {
			t.cur.bin[i] = int32(t.last)
			w.state.bin[i] = int32(t.last)
			for {
				if c, ok := w.anywhere(i); ok {
					t.cur.set(t.problem, i, c)
					break
				}
			}
		}
		w.rnd = rand.New(w.src)
		if t.separate(2, 100, 1) {
			return true
		}
		l *= 1.1
	}
	return false
}
