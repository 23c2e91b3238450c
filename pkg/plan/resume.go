package plan

import (
	"context"
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

// Stage is one pass of one operation, in the order in which everything is cut:
// a place from which a broken job can go on.
type Stage struct {
	Cut    string
	Op     string
	Pass   int        // of the operation, from 1
	Passes int        // that the operation has
	Start  [2]float64 // where it begins, program coordinates, mm
	Depth  float64    // deepest place of the pass below the skin, mm
}

// Stages lists the stages of a work in the order of its programs, nil when a
// finding stops it.
func Stages(ctx context.Context, w *work.Work) ([]Stage, diag.List) {
	p, seq := sequenced(ctx, w)
	if p.stopped() {
		return nil, p.found
	}
	var out []Stage
	for i := range seq {
		for _, s := range stagesOf(&seq[i]) {
			out = append(out, s.stage(p.w))
		}
	}
	return out, p.found
}

// Resume plans what is left of a work from a stage on (an index into Stages),
// for a cutter that broke or a program that was stopped in that stage. The stage
// is cut again from its beginning. The cutter comes down over the pass before
// it, which is known to be cut free, on the ramp of the cut; the first pass of an
// operation begins as it always does. An index out of range gives the finding
// "stage-unknown". The result is proven together with what was cut before it.
func Resume(ctx context.Context, w *work.Work, from int) ([]toolpath.Program, diag.List) {
	p, seq, i, s := stageOf(ctx, w, from)
	if p.stopped() {
		return nil, p.found
	}
	name := w.Cuts[s.op.cut].Name
	p.add(diag.Finding{Code: "resumed", Severity: diag.Note, Subject: name, Cut: name,
		Message: fmt.Sprintf("goes on with pass %d of %d of %s; everything before it must be cut already", s.pass, s.passes, s.op.name),
		Help:    "clear the chips, touch off the new cutter, and look that nothing has moved"})
	programs := p.programs(append([]op{s.restart(w)}, seq[i+1:]...))
	if p.stopped() {
		return nil, p.found
	}
	for k := range programs {
		programs[k].Name += "-resumed"
		programs[k].Head = append(programs[k].Head, fmt.Sprintf("resumed with pass %d of %s", s.pass, name))
	}
	return programs, p.found
}

// Until plans what comes before a stage: what must have been cut when the work
// is resumed there. Nobody runs it; the proof needs it beside what Resume gives,
// to see that together they are the whole work.
func Until(ctx context.Context, w *work.Work, from int) ([]toolpath.Program, diag.List) {
	p, seq, i, s := stageOf(ctx, w, from)
	if p.stopped() {
		return nil, p.found
	}
	done := append([]op(nil), seq[:i]...)
	if s.first > 0 {
		o := *s.op
		o.legs = o.legs[:s.first]
		done = append(done, o)
	}
	programs := p.programs(done)
	if p.stopped() {
		return nil, p.found
	}
	for k := range programs {
		programs[k].Name += "-done"
	}
	return programs, p.found
}

// stageOf finds a stage: the sequence, the place of its operation in it, and
// the stage.
func stageOf(ctx context.Context, w *work.Work, from int) (*planner, []op, int, stageAt) {
	p, seq := sequenced(ctx, w)
	if p.stopped() {
		return p, nil, 0, stageAt{}
	}
	n := 0
	for i := range seq {
		for _, s := range stagesOf(&seq[i]) {
			if n == from {
				return p, seq, i, s
			}
			n++
		}
	}
	p.add(diag.Finding{Code: "stage-unknown", Severity: diag.Stop, Input: true, Subject: w.Name, Message: fmt.Sprintf("there is no stage %d", from+1),
		Help: fmt.Sprintf("give a stage from 1 to %d", n)}.With(float64(from+1), float64(n), ""))
	return p, nil, 0, stageAt{}
}

// sequenced plans and orders the operations of a work.
func sequenced(ctx context.Context, w *work.Work) (*planner, []op) {
	p, ops := planOps(ctx, w)
	if p.stopped() {
		return p, nil
	}
	return p, p.sequence(ops)
}

// stageAt is one stage with its legs first … past.
type stageAt struct {
	op           *op
	pass, passes int
	first, past  int
}

// stagesOf divides an operation into its passes; one that knows none (a drilled
// or bored hole) is one stage.
func stagesOf(o *op) []stageAt {
	var out []stageAt
	for i := range o.legs {
		if n := len(out); i == 0 || o.legs[i].pass != o.legs[i-1].pass {
			out = append(out, stageAt{op: o, pass: n + 1, first: i})
		}
		out[len(out)-1].past = i + 1
	}
	for i := range out {
		out[i].passes = len(out)
	}
	return out
}

func (s *stageAt) stage(w *work.Work) Stage {
	deep := 0.0
	for _, l := range s.op.legs[s.first:s.past] {
		deep = math.Max(deep, math.Max(l.d0, l.d1))
	}
	q := s.op.legs[s.first].seg.A
	return Stage{Cut: w.Cuts[s.op.cut].Name, Op: s.op.name, Pass: s.pass, Passes: s.passes, Start: [2]float64{q.X, q.Y}, Depth: deep}
}

// restart is the operation from this stage on. The way in follows the end of
// the pass before, at its depth or above it, down by the ramp angle. Where that
// is too short the whole operation is run again, through the air.
func (s *stageAt) restart(w *work.Work) op {
	o := *s.op
	if s.pass == 1 {
		return o
	}
	begin := s.op.legs[s.first]
	slope := math.Tan(w.Cuts[o.cut].Ramp)
	top := s.op.legs[0].d0
	need := (begin.d0 - top) / slope
	var in []leg
	run := 0.0
	for i := s.first - 1; i >= 0 && run < need; i-- {
		l := s.op.legs[i]
		if l.way != feeding || l.pass != s.op.legs[s.first-1].pass {
			break
		}
		in = append([]leg{l}, in...)
		run += l.seg.Length()
	}
	if begin.way == hopping && s.first+1 < len(s.op.legs) {
		o.legs = s.op.legs[s.first+1:] // comes from above anyway
		return o
	}
	if run < need-hair || begin.way != feeding {
		return o
	}
	// leave out what is longer than needed, then come down evenly
	if spare := run - need; spare > hair {
		l := in[0].seg.Length()
		u := math.Min(spare/l, 1)
		in[0].d0 += float64((in[0].d1 - in[0].d0) * u)
		in[0].seg = part(in[0].seg, u, 1)
	}
	o.legs = append(lowered(in, top, slope), s.op.legs[s.first:]...)
	o.notes = append([]string{fmt.Sprintf("resumed with pass %d of %d", s.pass, s.passes)}, o.notes...)
	return o
}

// lowered runs the legs at the depth of an even ramp from top, but never deeper
// than they were cut before.
func lowered(in []leg, top, slope float64) []leg {
	var out legs
	out.begin(in[0].seg.A, top)
	s := 0.0
	for _, l := range in {
		n := l.seg.Length()
		a, b := top+float64(s*slope), top+float64((s+n)*slope)
		s += n
		u := crossing(a, b, l.d0, l.d1)
		for _, c := range [...][2]float64{{0, u}, {u, 1}} {
			if (c[1]-c[0])*n <= hair {
				continue
			}
			d := math.Min(a+float64((b-a)*c[1]), l.d0+float64((l.d1-l.d0)*c[1]))
			g := l.seg
			if c[0] > 0 || c[1] < 1 {
				g = part(l.seg, c[0], c[1])
			}
			g.A = out.at
			out.to(g, d, l.feed)
		}
	}
	last := in[len(in)-1]
	out.line(last.seg.B, last.d1, last.feed)
	return out.list
}

// crossing returns where two depths that change evenly are equal, 1 when
// nowhere.
func crossing(a0, a1, b0, b1 float64) float64 {
	d0, d1 := a0-b0, a1-b1
	if d0*d1 >= 0 {
		return 1
	}
	return d0 / (d0 - d1)
}
