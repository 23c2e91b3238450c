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

// TouchLimits is what a touch-off program may do at most. The skin of the work
// stands for the height above which nothing of it rises.
type TouchLimits struct {
	Reach float64 // how far below that height a probe may go on, mm
	Feed  float64 // fastest probe, mm/min
	Back  float64 // longest way straight up between two touches, mm
}

// ProveTouch reads a touch-off program and certifies that the spindle is never
// started, that every move across is at safe height, that a rapid goes down only
// to the height above which nothing rises, that below it there are but straight
// probes, no faster and no deeper than limits allow, that after a touch the probe
// goes straight up, first by a short way under G91 or to safe height at once, and
// that clamps keep their clearance. Where the skin stops a probe nobody knows
// before; nothing that follows may depend on it. The checks are "members" (clamps
// only), "travel" and "touch".
func ProveTouch(ctx context.Context, w *work.Work, limits TouchLimits, programs []Source) (*Certificate, diag.List) {
	above := *w
	above.Members = nil
	above.Cuts = nil
	above.Clamps = append([]keepout.Volume(nil), w.Clamps...)
	p := &prover{ctx: ctx, w: &above, names: []string{"members", "travel", "touch"}, checks: map[string]*Check{}, detail: map[string][]string{}}
	return p.run(programs, func() []func() {
		return []func(){p.members, p.travel, func() { p.still("touch") }, func() { p.touch(limits) }}
	})
}

// where a probe is between two moves.
const (
	asSaid  = iota // where the program says
	touched        // somewhere between start and end of the last probe
	backed         // a short way above where it touched
)

// touch checks each move in its turn.
func (p *prover) touch(limits TouchLimits) {
	const hair = 1e-6
	slop := roundingOf(p.w) + hair
	safe := p.w.SafeZ - slop
	touches := 0
	for _, pr := range p.progs {
		at := asSaid
		for i := range pr.replay.Moves {
			mv := &pr.replay.Moves[i]
			a, b := geom.Pt(mv.From[0], mv.From[1]), geom.Pt(mv.To[0], mv.To[1])
			top := p.w.Skin.Height(b)
			across := a.Dist(b) > hair
			down := mv.To[2] < mv.From[2]-hair
			relative := pr.replay.States[mv.State].Relative
			var code, message, help string
			switch {
			case mv.Motion == rs274.Probe && (across || !down):
				code, message, help = "touch-slant", "a probe does not go straight down", "probe along Z only"
			case mv.Motion == rs274.Probe && mv.Feed > limits.Feed:
				code, message, help = "touch-fast", fmt.Sprintf("a probe goes at %.0f mm/min, %.0f allowed", mv.Feed, limits.Feed), "probe slower"
			case mv.Motion == rs274.Probe && mv.To[2] < top-limits.Reach-slop:
				code, message, help = "touch-deep", fmt.Sprintf("a probe may go %.2f mm below the height that nothing rises above, %.2f allowed", top-mv.To[2], limits.Reach), "let it end higher"
			case mv.Motion == rs274.Probe && at == touched:
				code, message, help = "touch-drag", "the probe is driven on where it touches", "go up first"
			case mv.Motion == rs274.Probe:
				at = touched
				touches++
				continue
			case relative && (at != touched || across || down || mv.To[2]-mv.From[2] > limits.Back+slop):
				code, message, help = "relative", "a move under G91 is more than the short way up after a touch", "write G90, or go straight up"
			case relative:
				at = backed
				continue
			case at != asSaid && (across || mv.To[2] < safe):
				code, message, help = "touch-drag", "the probe moves on before it is at safe height", "go straight up to safe height first"
			case across && (mv.From[2] < safe || mv.To[2] < safe):
				code, message, help = "rapid-low", "the probe goes across below safe height", "go up to safe height first"
			case down && (mv.Motion != rs274.Rapid || mv.To[2] < top-slop):
				code, message, help = "touch-feed", "the probe goes down without probing", "come down by rapid to where nothing rises, then use G38.2"
			default:
				at = asSaid
				continue
			}
			f := diag.Finding{Code: code, Severity: diag.Stop, Subject: pr.src.File, Message: message, Help: help}
			p.fault("touch", p.place(f, p.w.Frame, mv.To, pr, i))
			return
		}
	}
	if touches == 0 {
		p.fault("touch", diag.Finding{Code: "touch-missing", Severity: diag.Stop, Message: "the program touches nothing", Help: "plan the touches again"})
	}
	p.say("touch", "%d probes, straight down, at most %.2f mm and %.0f mm/min; up to safe height before going across", touches, limits.Reach, limits.Feed)
}
