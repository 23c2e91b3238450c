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

// engagement compares how much deeper each move goes than what was cleared
// there before with the depth per pass of its cut. Unlike the other checks it
// looks at places along the path, one for every half radius: what it guards is
// the cutter.
func (p *prover) engagement() {
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
		return
	}
	g := newCleared(box, smallest/2)
	type worst struct {
		deep       float64
		prog, move int
		tip        [3]float64
	}
	most := make([]worst, len(p.w.Cuts))
	for k, pr := range p.progs {
		var queue []pass
		run, head := 0.0, 0
		for j := range pr.replay.Moves {
			m := &pr.replay.Moves[j]
			v := p.verdicts[k][j]
			if m.Motion == rs274.Rapid {
				for _, q := range queue[head:] {
					g.put(q.x, q.y, q.d)
				}
				queue, head = queue[:0], 0
			}
			if v.cut < 0 || m.Motion == rs274.Rapid {
				continue
			}
			c := &p.w.Cuts[v.cut]
			r := p.radiusOf(pr.toolOf(j))
			l := m.Length()
			n := 1 + int(math.Min(l/g.cell, 1e5))
			for i := 1; i <= n; i++ {
				q := m.At(float64(i) / float64(n))
				d := p.level - q[2]
				if !p.flat {
					d = p.w.Skin.Height(geom.Pt(q[0], q[1])) - q[2]
				}
				run += l / float64(n)
				for head < len(queue) && run-queue[head].at > 4*r {
					g.put(queue[head].x, queue[head].y, queue[head].d)
					head++
				}
				if head > 1000 { // keep the queue where it is
					queue = append(queue[:0], queue[head:]...)
					head = 0
				}
				if d <= 0 {
					continue
				}
				if w := &most[v.cut]; c.Kind != work.Drill {
					if e := d - g.at(q[0], q[1]); e > w.deep {
						*w = worst{e, k, j, q}
					}
				}
				queue = append(queue, pass{q[0], q[1], run, float32(d)})
			}
		}
		for _, q := range queue[head:] {
			g.put(q.x, q.y, q.d)
		}
	}
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
