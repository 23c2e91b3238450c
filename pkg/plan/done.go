package plan

import (
	"context"

	"sparclear/pkg/diag"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

// Done returns what is cut before a stage (an index into Stages): the programs
// that the proof needs to know beside those of Resume. They are not to be run.
// Stage 0 gives none.
func Done(ctx context.Context, w *work.Work, from int) ([]toolpath.Program, diag.List) {
	p, seq := sequenced(ctx, w)
	if p.stopped() {
		return nil, p.found
	}
	n := 0
	for i := range seq {
		for _, s := range stagesOf(&seq[i]) {
			if n++; n <= from {
				continue
			}
			before := append([]op(nil), seq[:i]...)
			if s.first > 0 {
				o := seq[i]
				o.legs = o.legs[:s.first]
				before = append(before, o)
			}
			if len(before) == 0 {
				return nil, p.found
			}
			programs := p.programs(before)
			if p.stopped() {
				return nil, p.found
			}
			for k := range programs {
				programs[k].Name += "-before"
			}
			return programs, p.found
		}
	}
	return nil, p.found
}
