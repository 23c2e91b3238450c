// Package plan turns the cuts of a work value into tool paths: where the centre
// of the cutter goes (compensation), how deep and in how many passes, how it
// enters and leaves, where tabs stay, and in which order everything is done.
//
// A path is first planned in (x, y, depth below the local skin) and then draped
// on the skin, so that flat, tilted and curved work is one piece of code. What
// comes in is never changed. Nothing here proves anything: the program text is
// checked by package proof, which shares no code with this one.
//
//	programs, findings := plan.Plan(ctx, w)
package plan

import (
	"context"
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

// Plan makes the programs of a work: one, or one per cutter where the machine
// changes cutters by separate files. A finding of severity stop comes without
// programs. A context that ends early gives none and the finding "cancelled".
// The same work gives the same moves, bit for bit.
func Plan(ctx context.Context, w *work.Work) ([]toolpath.Program, diag.List) {
	p, seq := sequenced(ctx, w)
	if p.stopped() {
		return nil, p.found
	}
	programs := p.programs(seq)
	if p.stopped() {
		return nil, p.found
	}
	return programs, p.found
}

// planOps makes the operations of every cut, in no order yet.
func planOps(ctx context.Context, w *work.Work) (*planner, []op) {
	p := &planner{ctx: ctx, w: w}
	if !p.workHolds() {
		return p, nil
	}
	for i := range w.Parts {
		p.partBox = append(p.partBox, w.Parts[i].Region.Bounds())
	}
	var ops []op
	for i := range w.Cuts {
		if ctx.Err() != nil {
			p.add(diag.Finding{Code: "cancelled", Severity: diag.Stop, Message: "planning was cancelled", Help: "run again"})
			return p, nil
		}
		ops = append(ops, p.cut(i)...)
	}
	for i := range ops {
		ops[i].part = w.Cuts[ops[i].cut].Part
		for k := range ops[i].legs {
			ops[i].deep = math.Max(ops[i].deep, ops[i].legs[k].d1)
		}
	}
	p.judgeCorners(ops)
	p.crossChecks(ops)
	return p, ops
}

// planner plans one work. It lives for one call.
type planner struct {
	ctx     context.Context
	w       *work.Work
	found   diag.List
	partBox []geom.Box // of each part of the work
	floorOf []*floor   // that each cut leaves, once it is asked for
}

func (p *planner) add(f diag.Finding) { p.found = append(p.found, f) }

func (p *planner) stopped() bool {
	for _, f := range p.found {
		if f.Severity == diag.Stop {
			return true
		}
	}
	return false
}

// job is one cut with what belongs to it at hand.
type job struct {
	*planner
	index   int
	c       *work.Cut
	cutter  *shop.Cutter
	r       float64 // radius of the cutter, mm
	d       depths
	strokes []geom.Chain // lines of a mark or score
}

// cut makes the operations of one cut; none when a finding stops it.
func (p *planner) cut(i int) []op {
	j := &job{planner: p, index: i, c: &p.w.Cuts[i]}
	if !j.numbersHold() {
		return nil
	}
	j.cutter = &p.w.Cutters[j.c.Cutter]
	j.r = j.cutter.Radius()
	if !j.cutterHolds() || !j.layStrokes() || !j.settleDepths() {
		return nil
	}
	switch j.c.Kind {
	case work.Opening, work.PartCut:
		return j.outline()
	case work.Pocket:
		return j.pocket("pocket", rankPocket, 0)
	case work.Rebate:
		return j.rebate()
	case work.Slot:
		return j.slot()
	case work.Score:
		return j.score()
	case work.Mark:
		return j.mark()
	case work.Chamfer:
		return j.chamfer()
	case work.Door:
		return j.door()
	case work.Bore:
		return j.bore()
	case work.Drill:
		return j.drill()
	}
	j.stop("kind-unknown", fmt.Sprintf("a cut of kind %q cannot be planned", j.c.Kind), "use opening, part, pocket, rebate, bore, drill, slot, score, mark, chamfer or door")
	return nil
}

// finding is a finding about this cut, with the line of its table.
func (j *job) finding(s diag.Severity, code, message, help string) diag.Finding {
	f := diag.Finding{Code: code, Severity: s, Subject: j.c.Name, Cut: j.c.Name, Message: message, Help: help}
	if j.c.File != "" {
		f = f.AtLine(j.c.File, j.c.Line, 0)
	}
	return f
}

func (j *job) stop(code, message, help string) {
	j.add(j.finding(diag.Stop, code, message, help))
}

// at adds a place given in program coordinates: on the drawing, where it can be
// found, and on the machine.
func (j *job) at(f diag.Finding, q geom.Point) diag.Finding {
	d := j.c.Frame.Inverse().Apply(q)
	z := j.w.Skin.Height(q)
	if !d.Finite() || math.IsNaN(z) || math.IsInf(z, 0) {
		return f
	}
	n := len(f.At)
	f = f.On(d.X, d.Y)
	f.At[n].Machine, f.At[n].HasZ = &[3]float64{q.X, q.Y, z}, true
	return f
}

// option returns a number from the cut's options, or its default.
func (j *job) option(name string, other float64) float64 {
	if v, ok := j.c.Options[name]; ok {
		return v
	}
	return other
}
