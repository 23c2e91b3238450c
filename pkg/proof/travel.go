package proof

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// travel holds the box of every move against the travel of the machine. With no
// origin known, only the size of the whole program can be compared.
func (p *prover) travel() {
	m := p.w.Machine
	axis := [3]string{"X", "Y", "Z"}
	any := false
	for k := range axis {
		any = any || m.TravelMax[k] > m.TravelMin[k]
	}
	if !any {
		p.cert.NotChecked = append(p.cert.NotChecked, "travel: the machine gives none")
		p.say("travel", "the machine gives no travel")
		return
	}
	all := emptyBox3()
	for _, pr := range p.progs {
		all = all.union(pr.bounds())
	}
	if math.IsInf(all.zlo, 1) {
		return
	}
	lo := [3]float64{all.xy.Min.X, all.xy.Min.Y, all.zlo}
	hi := [3]float64{all.xy.Max.X, all.xy.Max.Y, all.zhi}
	for k := range axis {
		if p.w.Origin == nil {
			room := m.TravelMax[k] - m.TravelMin[k]
			if size := hi[k] - lo[k]; size > room+1e-9 {
				p.fault("travel", diag.Finding{Code: "travel", Severity: diag.Stop, Subject: p.w.Name,
					Message: fmt.Sprintf("the program spans %.2f mm in %s, the machine travels %.2f mm", size, axis[k], room),
					Help:    "use a larger machine, or split the job"}.With(size, room, "mm"))
			}
			continue
		}
		for side, o := range p.beyond(k, lo, hi) {
			if o.by <= 1e-9 {
				continue
			}
			sign := "+"
			if side == 1 {
				sign = "-"
			}
			f := diag.Finding{Code: "travel", Severity: diag.Stop, Subject: o.prog.src.File,
				Message: fmt.Sprintf("axis %s leaves the travel of the machine by %.3f mm", axis[k], o.by),
				Help:    fmt.Sprintf("move the work %.3f mm toward %s%s", o.by, sign, axis[k])}.With(o.at, o.end, "mm")
			p.fault("travel", p.place(f, geom.Rigid{}, pr3(o.prog, o.move), o.prog, o.move))
		}
		room := math.Min(lo[k]+p.w.Origin[k]-m.TravelMin[k], m.TravelMax[k]-hi[k]-p.w.Origin[k])
		p.cert.Margins = append(p.cert.Margins, Margin{Check: "travel", Member: axis[k], MarginMM: room})
	}
	p.say("travel", "X %.2f to %.2f, Y %.2f to %.2f, Z %.2f to %.2f mm in program coordinates", lo[0], hi[0], lo[1], hi[1], lo[2], hi[2])
}

// pr3 is where a move ends.
func pr3(pr *program, move int) [3]float64 { return pr.replay.Moves[move].To }

// bounds returns the box of all moves of a program: from the trees, and from the
// moves that stand in none.
func (pr *program) bounds() box3 {
	all := emptyBox3()
	next := 0
	loose := func(to int) {
		for ; next < to; next++ {
			all = all.union(boundsOf(&pr.replay.Moves[next]))
		}
	}
	for _, t := range pr.trees {
		loose(t.base)
		next += len(t.moves)
		for _, b := range t.level[len(t.level)-1] {
			all = all.union(b)
		}
	}
	loose(len(pr.replay.Moves))
	return all
}

// outside is the move that leaves the travel furthest at one end of an axis.
type outside struct {
	by   float64 // mm
	prog *program
	move int
	at   float64 // machine coordinate that it reaches
	end  float64 // of the travel
}

// beyond finds what leaves the travel of axis k at its low and high end, given
// the box of all moves.
func (p *prover) beyond(k int, lo, hi [3]float64) [2]outside {
	var out [2]outside
	o, m := p.w.Origin[k], p.w.Machine
	if m.TravelMin[k] <= lo[k]+o && hi[k]+o <= m.TravelMax[k] {
		return out
	}
	for _, pr := range p.progs {
		for i := range pr.replay.Moves {
			b := boundsOf(&pr.replay.Moves[i])
			lo := [3]float64{b.xy.Min.X, b.xy.Min.Y, b.zlo}[k] + o
			hi := [3]float64{b.xy.Max.X, b.xy.Max.Y, b.zhi}[k] + o
			if v := m.TravelMin[k] - lo; v > out[0].by {
				out[0] = outside{v, pr, i, lo, m.TravelMin[k]}
			}
			if v := hi - m.TravelMax[k]; v > out[1].by {
				out[1] = outside{v, pr, i, hi, m.TravelMax[k]}
			}
		}
	}
	return out
}
