package proof

import (
	"bytes"
	"context"
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/rs274"
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
		return []func(){p.members, p.travel, func() { p.still("air") }, func() { p.air(height) }}
	})
}

// still holds programs that cut nothing to the plainest language: everything said,
// nothing shifted, nothing skipped, no parameter or start to depend on, and a
// spindle that is never started. check is where faults are booked.
func (p *prover) still(check string) {
	for _, pr := range p.progs {
		refuse := func(code string, line int32, message, help string) {
			p.fault(check, diag.Finding{Code: code, Severity: diag.Stop, Subject: pr.src.File, Message: message, Help: help}.AtLine(pr.src.File, int(line), 0))
		}
		r := pr.replay
		if !r.Ended {
			refuse("end-missing", 0, "the program does not end with M2 or M30", "add M2")
		}
		if n := skippedLine(pr.src.Text); n > 0 {
			refuse("block-delete", int32(n), "a line begins with /, so a switch on the machine decides whether it runs", "remove the stroke or the line")
		}
		for _, e := range r.Events {
			switch e.Kind {
			case rs274.SpindleOn:
				refuse("spindle-turns", e.Line, "the spindle is started in a program that cuts nothing", "take the M3 out, or make the program again")
			case rs274.OffsetSet:
				refuse("offsets-changed", e.Line, "the program shifts its coordinates: "+e.Text, "take the offset out; the job knows one system only")
			}
		}
		for i := range r.Moves {
			mv := &r.Moves[i]
			st := &r.States[mv.State]
			switch {
			case st.Spindle != 0:
				refuse("spindle-turns", mv.Line, "the spindle turns in a program that cuts nothing", "take the M3 out, or make the program again")
			case (st.Flood || st.Mist) && p.w.Machine.Controller.DustOn == "":
				refuse("coolant-wet", mv.Line, "coolant runs in a program that cuts nothing", "take the M7 or M8 out")
			case !st.UnitsSaid || !st.DistSaid || mv.Arc() && !st.PlaneSaid:
				refuse("units-unstated", mv.Line, "moves before units, distance mode or plane are said", "write G21 G17 G90 at the head of the program")
			case st.System != 1:
				refuse("offsets-changed", mv.Line, "moves in another coordinate system than G54", "write G54 at the head of the program")
			case st.Relative && !(p.names[len(p.names)-1] == "touch" && mv.Motion == rs274.Feed):
				refuse("relative", mv.Line, "moves relative to where the tip happens to stand", "write G90")
			default:
				continue
			}
			return
		}
	}
}

// skippedLine returns the number of the first line that begins with /, 0 for none.
// Lines end with CR, LF or both (NISTIR 6556, 3.3).
func skippedLine(text []byte) int {
	if bytes.IndexByte(text, '/') < 0 {
		return 0
	}
	line, blank := 1, true // nothing but blanks so far on this line
	for i, c := range text {
		switch {
		case c == '\r' || c == '\n' && (i == 0 || text[i-1] != '\r'):
			line++
			blank = true
		case c == '\n', c == ' ', c == '\t':
		case c == '/' && blank:
			return line
		default:
			blank = false
		}
	}
	return 0
}

// airPiece is the longest piece of a move that one bound of the skin covers, mm.
const airPiece = 1.0

// air holds every move above the skin.
func (p *prover) air(height float64) {
	least, at := math.Inf(1), Margin{Check: "air", Member: "skin", NeededMM: height}
	for _, pr := range p.progs {
		for i := range pr.replay.Moves {
			mv := &pr.replay.Moves[i]
			if mv.Motion == rs274.Probe {
				f := diag.Finding{Code: "probe-in-air", Severity: diag.Stop, Subject: pr.src.File, Message: "an air pass probes", Help: "make the trace again"}
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
