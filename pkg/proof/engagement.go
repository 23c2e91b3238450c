package proof

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/rs274"
	"sparclear/pkg/work"
)

const (
	maxCells = 4 << 20 // cells of the grid of what is cleared
	deepWarn = 0.05    // mm by which a pass may exceed the step without a word
)

// cleared is a grid of how deep the axis of a cutter went so far.
type cleared struct {
	min    geom.Point
	cell   float64
	nx, ny int
	depth  []float32
}

func newCleared(b geom.Box, cell float64) *cleared {
	s := b.Size()
	if need := (s.X/cell + 5) * (s.Y/cell + 5); need > maxCells {
		cell *= math.Sqrt(need/maxCells) * 1.01
	}
	g := &cleared{min: b.Min, cell: cell, nx: int(s.X/cell) + 5, ny: int(s.Y/cell) + 5}
	g.depth = make([]float32, g.nx*g.ny)
	return g
}

func (g *cleared) index(x, y float64) (int, int) {
	return 2 + max(0, min(g.nx-5, int((x-g.min.X)/g.cell))), 2 + max(0, min(g.ny-5, int((y-g.min.Y)/g.cell)))
}

// at returns the deepest of the cells around, two to each side: a cell is half a
// radius, and an axis that passed within a radius has cleared the place.
func (g *cleared) at(x, y float64) float64 {
	i, j := g.index(x, y)
	d := float32(0)
	for k := j - 2; k <= j+2; k++ {
		row := g.depth[k*g.nx+i-2 : k*g.nx+i+3]
		d = max(d, row[0], row[1], row[2], row[3], row[4])
	}
	return float64(d)
}

func (g *cleared) put(x, y float64, d float32) {
	i, j := g.index(x, y)
	if c := &g.depth[j*g.nx+i]; *c < d {
		*c = d
	}
}

// pass is a place of the path that does not count as cleared until the cutter
// has gone on by two of its diameters.
type pass struct {
	x, y, at float64
	d        float32
}

// engaged is what a search for the deepest pass of each cut found.
type engaged struct {
	deep       float64 // mm below what was cleared before
	prog, move int
	tip        [3]float64
}

// engage compares how much deeper each move goes than what was cleared there
// before. Unlike the other checks it looks at places along the path, one for
// every half radius: what it guards is the cutter.
func (p *prover) engage() []engaged {
	most := make([]engaged, len(p.w.Cuts))
	box := geom.EmptyBox()
	smallest := math.Inf(1)
	for i := range p.tools {
		smallest = math.Min(smallest, p.tools[i].cutter.Diameter/2)
	}
	for k, pr := range p.progs {
		for j := range pr.replay.Moves {
			if p.verdicts[k][j].cut >= 0 && pr.replay.Moves[j].Motion != rs274.Rapid {
				box = box.Union(boundsOf(&pr.replay.Moves[j]).xy)
			}
		}
	}
	if box.Empty() {
		return most
	}
	g := newCleared(box, smallest/2)
	for k, pr := range p.progs {
		w := wake{p: p, g: g}
		for j := range pr.replay.Moves {
			if j%chunk == 0 && p.ctx.Err() != nil {
				return most
			}
			m := &pr.replay.Moves[j]
			cut := int(p.verdicts[k][j].cut)
			if m.Motion == rs274.Rapid {
				w.flush()
			}
			if cut < 0 || m.Motion == rs274.Rapid {
				continue
			}
			deep, tip := w.follow(m, p.radiusOf(pr.toolOf(j)))
			if p.w.Cuts[cut].Kind != work.Drill && deep > most[cut].deep {
				most[cut] = engaged{deep, k, j, tip}
			}
		}
		w.flush()
	}
	return most
}

// wake is the path behind a cutter, as far as it does not count as cleared yet.
type wake struct {
	p     *prover
	g     *cleared
	queue []pass
	head  int
	run   float64 // length of path so far, mm
}

// flush counts all of the wake as cleared.
func (w *wake) flush() {
	for _, q := range w.queue[w.head:] {
		w.g.put(q.x, q.y, q.d)
	}
	w.queue, w.head = w.queue[:0], 0
}

// follow goes along a move and returns where it goes deepest below what was
// cleared, and by how much.
func (w *wake) follow(m *rs274.Move, r float64) (most float64, at [3]float64) {
	l := m.Length()
	n := 1 + int(math.Min(l/w.g.cell, 1e5))
	for i := 1; i <= n; i++ {
		q := m.At(float64(i) / float64(n))
		d := w.p.level - q[2]
		if !w.p.flat {
			d = w.p.w.Skin.Height(geom.Pt(q[0], q[1])) - q[2]
		}
		w.run += l / float64(n)
		for w.head < len(w.queue) && w.run-w.queue[w.head].at > 4*r {
			o := &w.queue[w.head]
			w.g.put(o.x, o.y, o.d)
			w.head++
		}
		if w.head > 1000 { // keep the queue where it is
			w.queue = append(w.queue[:0], w.queue[w.head:]...)
			w.head = 0
		}
		if d <= 0 {
			continue
		}
		if e := d - w.g.at(q[0], q[1]); e > most {
			most, at = e, q
		}
		w.queue = append(w.queue, pass{q[0], q[1], w.run, float32(d)})
	}
	return most, at
}

// engagement holds the deepest pass of each cut against its depth per pass.
func (p *prover) engagement() {
	most := p.engages()
	p.tellCutting(most)
	nearest := -1 // the cut whose step is used up most
	for i, w := range most {
		if s := p.w.Cuts[i].Step; w.deep > 0 && s > 0 && (nearest < 0 || w.deep/s > most[nearest].deep/p.w.Cuts[nearest].Step) {
			nearest = i
		}
	}
	if nearest >= 0 {
		c := &p.w.Cuts[nearest]
		p.say("sense", "deepest pass against its step: %.2f of %.2f mm, in %s", most[nearest].deep, c.Step, c.Name)
	}
	for i, w := range most {
		c := &p.w.Cuts[i]
		if w.deep <= 0 || c.Step <= 0 {
			continue
		}
		if w.deep <= c.Step*ratio+deepWarn {
			continue
		}
		f := diag.Finding{Code: "step-deep", Severity: diag.Warn, Subject: p.progs[w.prog].src.File, Cut: c.Name,
			Message: fmt.Sprintf("%s: one pass takes %.2f mm, the cut asks for %.2f mm", c.Name, w.deep, c.Step), Help: "cut in more passes"}.With(w.deep, c.Step, "mm")
		if w.deep > 2*c.Step+deepWarn {
			f.Severity = diag.Stop
		}
		p.fault("sense", p.place(f, c.Frame, w.tip, p.progs[w.prog], w.move))
	}
}
