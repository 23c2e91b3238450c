package job

import (
	"context"

	"sparclear/pkg/plan"
	"sparclear/pkg/proof"
	"sparclear/pkg/rs274"
	"sparclear/pkg/toolpath"
)

// Stages lists the passes of a job from which it can go on after a cutter broke.
func Stages(ctx context.Context, req Request) (*Result, []plan.Stage, error) {
	res, err := resolvePiece(ctx, req)
	if err != nil || res.Findings.Blocks() {
		return res, nil, err
	}
	stages, l := plan.Stages(ctx, res.Work)
	res.Findings = append(res.Findings, l...)
	return res, stages, ctx.Err()
}

// Resume makes the programs that finish a job from a stage on (an index into
// Stages). They are proven together with what was cut before, in its order: a
// rapid through what is not cut free yet is refused. Only the rest is handed
// out. A result whose findings block carries no outputs.
func Resume(ctx context.Context, req Request, from int) (*Result, error) {
	res, err := resolvePiece(ctx, req)
	if err != nil || res.Findings.Blocks() {
		return res, err
	}
	s := &state{req: req, file: res.Job, w: res.Work, res: res}
	rest, l := plan.Resume(ctx, res.Work, from)
	s.add(l...)
	before, _ := plan.Until(ctx, res.Work, from)
	if stops(res.Findings) || ctx.Err() != nil {
		return res, ctx.Err()
	}
	write := func(ps []toolpath.Program) []proof.Source {
		var out []proof.Source
		for _, p := range ps {
			p.Head = append(s.headLines(), p.Head...)
			text, l := rs274.Write(p, res.Work)
			s.add(l...)
			out = append(out, proof.Source{File: p.Name + ".nc", Text: text})
		}
		return out
	}
	done := write(before)
	res.Programs = write(rest)
	if stops(res.Findings) {
		return res, nil
	}
	res.Certificate, l = proof.Prove(ctx, res.Work, append(done, res.Programs...))
	s.add(l...)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	c := res.Certificate
	c.Assumptions = append(c.Assumptions, "everything before the stage is cut as planned, and the work has not moved since")
	s.seal("resume-certificate"+res.suffix+".json", "the rest is not proven")
	res.Findings = res.Findings.Sorted()
	return res, nil
}
