package proof

import (
	"context"
	"fmt"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/rs274"
	"sparclear/pkg/work"
)

// TouchLimits is what a touch-off program may do at most.
type TouchLimits struct {
	Reach float64 // how far below Top a probe may go on, mm
	Feed  float64 // fastest probe, mm/min
}

// ProveTouch reads a touch-off program and certifies that the spindle never
// turns, that every rapid across is at safe height, that the probe goes straight
// down, no faster and no deeper than limits allow, that after a touch it moves
// straight up only until it is at safe height, and that clamps keep their
// clearance. Where the skin stops a probe nobody knows before; every place
// between start and end of it is reckoned with. The checks are "members" (clamps
// only), "travel" and "touch".
func ProveTouch(ctx context.Context, w *work.Work, limits TouchLimits, programs []Source) (*Certificate, diag.List) {
	above := *w
	above.Members = nil
	above.Cuts = nil
	above.Clamps = append([]keepout.Volume(nil), w.Clamps...)
	p := &prover{ctx: ctx, w: &above, names: []string{"members", "travel", "touch"}, checks: map[string]*Check{}, detail: map[string][]string{}}
	return p.run(programs, func() []func() {
		return []func(){p.members, p.travel, func() { p.touch(limits) }}
	})
}

// touch checks each move in its turn.
func (p *prover) touch(limits TouchLimits) {
	const flat = 1e-6
	safe := p.w.SafeZ - roundingOf(p.w) - flat
	touches := 0
	for _, pr := range p.progs {
		touched := false // the probe is somewhere between its start and its end
		for i := range pr.replay.Moves {
			mv := &pr.replay.Moves[i]
			across := geom.Pt(mv.From[0], mv.From[1]).Dist(geom.Pt(mv.To[0], mv.To[1])) > flat
			down := mv.To[2] < mv.From[2]-flat
			refuse := func(code, message, help string) {
				f := diag.Finding{Code: code, Severity: diag.Stop, Subject: pr.src.File, Message: message, Help: help}
				p.fault("touch", p.place(f, p.w.Frame, mv.To, pr, i))
			}
			switch {
			case pr.replay.States[mv.State].Spindle != 0:
				refuse("spindle-turns", "the spindle turns during touch-off", "take the M3 out")
				return
			case mv.Motion == rs274.Probe:
				if across || !down {
					refuse("touch-slant", "a probe does not go straight down", "probe along Z only")
					return
				}
				if mv.Feed > limits.Feed {
					refuse("touch-fast", fmt.Sprintf("a probe goes at %.0f mm/min, %.0f allowed", mv.Feed, limits.Feed), "probe slower")
					return
				}
				if mv.From[2]-mv.To[2] > limits.Reach+flat && !touched {
					refuse("touch-deep", fmt.Sprintf("a probe may go %.2f mm down, %.2f allowed", mv.From[2]-mv.To[2], limits.Reach), "start lower, or end higher")
					return
				}
				touched = true
				touches++
			case touched && (across || down):
				refuse("touch-drag", "the probe moves across or down while it may still touch", "go straight up to safe height first")
				return
			case across && (mv.From[2] < safe || mv.To[2] < safe):
				refuse("rapid-low", "the probe goes across below safe height", "go up to safe height first")
				return
			case down && mv.Motion != rs274.Rapid:
				refuse("touch-feed", "the probe is fed down without probing", "use G38.2")
				return
			}
			if mv.To[2] >= safe {
				touched = false
			}
		}
	}
	if touches == 0 {
		p.fault("touch", diag.Finding{Code: "touch-missing", Severity: diag.Stop, Message: "the program touches nothing", Help: "plan the touches again"})
	}
	p.say("touch", "%d probes, straight down, at most %.2f mm and %.0f mm/min; up to safe height before going across", touches, limits.Reach, limits.Feed)
}
