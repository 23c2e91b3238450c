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
	type worst struct {
		by   float64
		prog *program
		move int
		at   float64
		end  float64
	}
	var out [3][2]worst
	for _, pr := range p.progs {
		for i := range pr.replay.Moves {
			b := boundsOf(&pr.replay.Moves[i])
			all = all.union(b)
			if p.w.Origin == nil {
				continue
			}
			lo := [3]float64{b.xy.Min.X, b.xy.Min.Y, b.zlo}
			hi := [3]float64{b.xy.Max.X, b.xy.Max.Y, b.zhi}
			for k := range axis {
				if v := m.TravelMin[k] - (lo[k] + p.w.Origin[k]); v > out[k][0].by {
					out[k][0] = worst{v, pr, i, lo[k] + p.w.Origin[k], m.TravelMin[k]}
				}
				if v := hi[k] + p.w.Origin[k] - m.TravelMax[k]; v > out[k][1].by {
					out[k][1] = worst{v, pr, i, hi[k] + p.w.Origin[k], m.TravelMax[k]}
				}
			}
		}
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
		room := math.Min(lo[k]+p.w.Origin[k]-m.TravelMin[k], m.TravelMax[k]-hi[k]-p.w.Origin[k])
		p.cert.Margins = append(p.cert.Margins, Margin{Check: "travel", Member: axis[k], MarginMM: room})
		for side, o := range out[k] {
			if o.by <= 1e-9 {
				continue
			}
			sign := "+"
			if side == 1 {
				sign = "-"
			}
			tip := pr3(o.prog, o.move)
			f := diag.Finding{Code: "travel", Severity: diag.Stop, Subject: o.prog.src.File,
				Message: fmt.Sprintf("axis %s leaves the travel of the machine by %.3f mm", axis[k], o.by),
				Help:    fmt.Sprintf("move the work %.3f mm toward %s%s", o.by, sign, axis[k])}.With(o.at, o.end, "mm")
			p.fault("travel", p.place(f, geom.Rigid{}, tip, o.prog, o.move))
		}
	}
	p.say("travel", "X %.2f to %.2f, Y %.2f to %.2f, Z %.2f to %.2f mm in program coordinates", lo[0], hi[0], lo[1], hi[1], lo[2], hi[2])
}

// pr3 is where a move ends.
func pr3(pr *program, move int) [3]float64 { return pr.replay.Moves[move].To }
