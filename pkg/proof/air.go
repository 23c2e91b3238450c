package proof

import (
	"context"
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

// airNames lists the checks of an air pass, in order.
func airNames() []string { return []string{"members", "rapids", "travel", "air"} }

// ProveAir reads a program that must cut nothing, an air pass, and certifies that
// on every move, rapids included, the tip stays at least height mm above the
// highest skin that may lie under the cutter, errors included, that members and
// clamps keep their clearance from cutter, shank and holder, that it stays within
// travel, and that the spindle never turns. The certificate has the layout of
// that of Prove, with the checks "members", "rapids", "travel" and "air".
func ProveAir(ctx context.Context, w *work.Work, height float64, programs []Source) (*Certificate, diag.List) {
	p := &prover{ctx: ctx, w: w, names: airNames(), checks: map[string]*Check{}, detail: map[string][]string{}}
	return p.run(programs, func() []func() {
		return []func(){p.members, p.travel, func() { p.air(height) }}
	})
}

// airPiece is the longest piece of a move that one bound of the skin covers, mm.
const airPiece = 1.0

// air holds every move above the skin.
func (p *prover) air(height float64) {
	least, at := math.Inf(1), Margin{Check: "air", Member: "skin", NeededMM: height}
	for _, pr := range p.progs {
		for i := range pr.replay.Moves {
			mv := &pr.replay.Moves[i]
			if st := &pr.replay.States[mv.State]; st.Spindle != 0 {
				f := diag.Finding{Code: "spindle-turns", Severity: diag.Stop, Subject: pr.src.File, Message: "the spindle turns during an air pass", Help: "take the M3 out, or make the trace again"}
				p.fault("air", p.place(f, p.w.Frame, mv.To, pr, i))
				return
			}
			if pr.toolOf(i) < 0 {
				f := diag.Finding{Code: "cutter-unknown", Severity: diag.Stop, Subject: pr.src.File, Message: "a move is made with a cutter that the job does not know", Help: "name it by T"}
				p.fault("air", p.place(f, p.w.Frame, mv.To, pr, i))
				return
			}
			room := p.roomAbove(pr, i)
			if room < least {
				least = room
				tip := mv.To
				at.File, at.Line, at.At = pr.src.File, int(mv.Line), &tip
			}
			if room < height {
				f := diag.Finding{Code: "air-low", Severity: diag.Stop, Subject: pr.src.File,
					Message: fmt.Sprintf("an air pass comes within %.2f mm of the skin, %.2f mm needed", room, height), Help: "make the trace again, higher"}.With(room, height, "mm")
				p.fault("air", p.place(f, p.w.Frame, mv.To, pr, i))
				return
			}
		}
	}
	at.MarginMM = least
	p.cert.Margins = append(p.cert.Margins, at)
	p.say("air", "the tip stays %.2f mm above the skin, errors included; the spindle never turns", least)
}

// roomAbove is a lower bound of the height of the tip above the skin anywhere
// under the cutter during a move, mm: lowest tip less highest skin, piece by piece.
func (p *prover) roomAbove(pr *program, i int) float64 {
	c := newCurve(&pr.replay.Moves[i])
	t := &p.tools[pr.toolOf(i)]
	r := math.Max(t.cutter.Diameter, t.cutter.Shank) / 2
	n := 1
	if !c.rapid {
		n = max(c.parts(), int(math.Ceil(c.length()/airPiece)))
	}
	room := math.Inf(1)
	for k := range n {
		q := c.piece(float64(k)/float64(n), float64(k+1)/float64(n))
		b := q.bounds()
		under := b.xy.Grow(r + p.budgets[pr.toolOf(i)].flat(b.xy))
		room = math.Min(room, b.zlo-p.highest(under))
	}
	return room
}

// highest is the greatest height that the skin may have in the box, mm.
func (p *prover) highest(b geom.Box) float64 {
	_, hi := p.w.Skin.Range(b)
	u, e := p.w.Skin.Error(b)
	return hi + coverage*u + math.Max(e, p.w.Machine.ReversalZ)
}
