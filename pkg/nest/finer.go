package nest

import (
	"math"

	"sparclear/pkg/geom"
)

// finer makes turns between those that the search began with, for parts that may
// lie in any direction or within a tolerance of those named.
type finer struct {
	parts  []Part
	outs   []outlines // by part
	fibres []float64  // directions of the fibre, rad
}

const (
	// finerRounds is how often the step from turn to turn is halved; free parts end
	// with half a degree.
	finerRounds = 4
	// finerFrom is the share of the budget from which on that is done.
	finerFrom = 0.6
	// finerEdges bounds the memory: more edges in new shapes are not made.
	finerEdges = 1_000_000
)

// wanted tells whether any part has turns between those listed.
func (f *finer) wanted(items []item) bool {
	for _, it := range items {
		if p := &f.parts[it.part]; p.Free || p.TurnTol > 0 {
			return true
		}
	}
	return false
}

// problem returns the problem with the present turn of every such item and one to
// each side of it as the turns that it may take, the step halved so many times;
// false when there would be too many. Shapes keep their indices.
func (f *finer) problem(p *problem, s *state, halved int) (*problem, bool) {
	type key struct {
		part, fibre int
		mirror      bool
		turn        int64 // in 1e-9 rad
	}
	out := &problem{bins: append([]bin{}, p.bins...), items: append([]item{}, p.items...)}
	shapes := append([]*shape{}, p.cat.shapes...)
	live := make([]bool, len(shapes))
	made := map[key]int32{}
	edges := 0
	take := func(part, fibre int, mirror bool, rel float64) int32 {
		turn := rel + f.fibres[fibre]
		k := key{part, fibre, mirror, int64(math.Round(math.Remainder(turn, 2*math.Pi) * 1e9))}
		v, ok := made[k]
		if !ok {
			sh := f.outs[part].shape(part, fibre, geom.Rigid{Turn: turn, Mirror: mirror})
			edges += len(sh.edges)
			v = int32(len(shapes))
			shapes, live = append(shapes, sh), append(live, true)
			made[k] = v
		}
		return v
	}
	for i := range out.items {
		it := &out.items[i]
		part := &f.parts[it.part]
		now := shapes[s.v[i]]
		rel := now.frame.Turn - f.fibres[now.fibre]
		step := part.TurnTol
		if part.Free {
			step = freeStep(f.outs[it.part].edges())
		}
		if step > 0 {
			step /= float64(int64(1) << halved)
			old := it.choices
			it.choices = make([][]int32, len(f.fibres))
			for k := range f.fibres {
				if len(old[k]) == 0 {
					continue
				}
				for _, d := range [3]float64{0, -step, step} {
					if d == 0 && k == now.fibre {
						it.choices[k] = append(it.choices[k], s.v[i])
					} else if allows(*part, geom.Rigid{Turn: rel + d, Mirror: now.frame.Mirror}, 0) {
						it.choices[k] = append(it.choices[k], take(it.part, k, now.frame.Mirror, rel+d))
					}
				}
			}
			if edges > finerEdges {
				return nil, false
			}
		}
		for _, c := range it.choices {
			for _, v := range c {
				live[v] = true
			}
		}
		live[s.v[i]] = true
	}
	for _, b := range p.bins {
		for _, o := range b.obst {
			live[o.v] = true
		}
	}
	out.cat = newCatalog(shapes, live)
	return out, true
}

// refine shortens on with ever finer turns, each round from the layout before.
func (t *strip) refine(f *finer) {
	for k := 1; k <= finerRounds && t.done() < 1; k++ {
		p, ok := f.problem(t.problem, t.cur, k)
		if !ok {
			return
		}
		s := newSearch(p, t.seed, len(t.workers), t.clock)
		s.cur.copyFrom(t.cur)
		s.tried, s.sweeps = t.tried, t.sweeps
		t.search = s
		from := finerFrom + (1-finerFrom)*float64(k-1)/finerRounds
		to := finerFrom + (1-finerFrom)*float64(k)/finerRounds
		t.shorten((from+to)/2, to)
	}
}
