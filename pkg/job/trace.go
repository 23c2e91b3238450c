package job

import (
	"context"

	"sparclear/pkg/plan"
	"sparclear/pkg/proof"
	"sparclear/pkg/rs274"
)

const (
	// traceFeed is slow enough to follow by eye, mm/min; common practice, no source.
	traceFeed = 600.0
	// traceSpare is how much nearer than asked for a trace may come, mm: lost
	// motion of Z and rounding.
	traceSpare = 0.25
)

// Trace makes the air pass of a job: every outline at height mm above the local
// skin, spindle stopped, proven like any program. A result whose findings block
// carries no outputs.
func Trace(ctx context.Context, req Request, height float64) (*Result, error) {
	res, err := resolvePiece(ctx, req)
	if err != nil || res.Findings.Blocks() {
		return res, err
	}
	s := &state{req: req, file: res.Job, w: res.Work, res: res}
	path, l := plan.Trace(ctx, res.Work, height, min(traceFeed, res.Work.Machine.FeedXY))
	s.add(l...)
	if stops(res.Findings) {
		return res, nil
	}
	path.Head = append(s.headLines(), "trace: an air pass, nothing is cut")
	text, l := rs274.Write(path, res.Work)
	s.add(l...)
	if stops(res.Findings) {
		return res, nil
	}
	res.Programs = []proof.Source{{File: path.Name + ".nc", Text: text}}
	res.Certificate, l = proof.ProveAir(ctx, res.Work, height-traceSpare, res.Programs)
	s.add(l...)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	s.seal("trace-certificate"+res.suffix+".json", "the trace is not proven")
	return res, nil
}
