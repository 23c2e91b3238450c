package proof

import (
	"context"
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/rs274"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// TouchLimits is what a touch-off program may do at most. The skin of the work
// stands for the height above which nothing of it rises.
type TouchLimits struct {
	Reach float64     // how far below that height a probe may go on, mm
	Feed  float64     // fastest probe, and fastest move below that height, mm/min
	Back  float64     // longest way back between two touches, mm
	Rooms []TouchRoom // where the probe may go down beside something; empty = nowhere
}

// TouchRoom is a room that the job declares to be free but for what is touched in
// it from the side: a pin, the inside of a hole, the outside of an edge.
type TouchRoom struct {
	Name   string
	At     geom.Point // its middle, program coordinates, mm
	Radius float64    // mm: the centre of the probe stays within it
	Low    float64    // the tip goes no lower, program height, mm
}

// ProveTouch reads a touch-off program and certifies that the spindle is never
// started, that every move across is at safe height, that a rapid goes down only
// to the height above which nothing rises, that below it there are but straight
// probes, no faster and no deeper than limits allow, that after a touch the probe
// goes straight up, first by a short way under G91 or to safe height at once, and
// that clamps keep their clearance. Only in a room that the limits name the probe
// may go straight down by feed; there it probes along one axis, goes back by the
// same axis, and up from where it came down. Where the work stops a probe nobody
// knows before; nothing that follows may depend on it. The one cutter of the work
// stands for the probe. The checks are "members"
// (clamps only), "travel" and "touch".
func ProveTouch(ctx context.Context, w *work.Work, limits TouchLimits, programs []Source) (*Certificate, diag.List) {
	above := *w
	above.Members = nil
	above.Cuts = nil
	// The probe is put in by hand, whatever the machine does with its cutters.
	above.Machine.Controller.ToolChange = shop.ChangePause
	above.Clamps = append([]keepout.Volume(nil), w.Clamps...)
	p := &prover{ctx: ctx, w: &above, names: []string{"members", "travel", "touch"}, checks: map[string]*Check{}, detail: map[string][]string{}}
	return p.run(programs, func() []func() {
		return []func(){p.members, p.travel, func() { p.still("touch") }, func() { p.touch(limits) }}
	})
}

// where a probe is between two moves.
const (
	asSaid      = iota // where the program says
	touched            // somewhere between start and end of the last probe
	backed             // a short way above where it touched
	beside             // in a room, where the program says
	sideTouched        // in a room, somewhere between start and end of the last probe
	sideBacked         // in a room, a short way back from where it touched
)

// touching is the state of one program as it is read.
type touching struct {
	limits TouchLimits
	slop   float64
	safe   float64
	at     int
	above  int // probes from above
	aside  int // probes from the side
	room   *TouchRoom
	start  [3]float64 // where the probe came down in the room
	axis   int        // along which it probed
	sense  float64    // of that probe, ±1
}

// touch checks each move in its turn.
func (p *prover) touch(limits TouchLimits) {
	slop := roundingOf(p.w) + touchHair
	total := touching{}
	for _, pr := range p.progs {
		t := touching{limits: limits, slop: slop, safe: p.w.SafeZ - slop}
		for i := range pr.replay.Moves {
			mv := &pr.replay.Moves[i]
			top := p.w.Skin.Height(geom.Pt(mv.To[0], mv.To[1]))
			code, message, help := t.step(mv, top, pr.replay.States[mv.State].Relative)
			if code == "" {
				continue
			}
			f := diag.Finding{Code: code, Severity: diag.Stop, Subject: pr.src.File, Message: message, Help: help}
			p.fault("touch", p.place(f, p.w.Frame, mv.To, pr, i))
			return
		}
		if n := len(pr.replay.Moves); n > 0 && t.at != asSaid {
			f := diag.Finding{Code: "touch-end", Severity: diag.Stop, Subject: pr.src.File, Message: "the program ends with the probe down", Help: "go up to safe height first"}
			p.fault("touch", p.place(f, p.w.Frame, pr.replay.Moves[n-1].To, pr, n-1))
			return
		}
		total.above += t.above
		total.aside += t.aside
	}
	if total.above+total.aside == 0 {
		p.fault("touch", diag.Finding{Code: "touch-missing", Severity: diag.Stop, Message: "the program touches nothing", Help: "plan the touches again"})
	}
	p.say("touch", "%d probes, straight down, at most %.2f mm and %.0f mm/min; up to safe height before going across", total.above, limits.Reach, limits.Feed)
	if total.aside > 0 {
		p.say("touch", "%d probes from the side within the %d rooms that the job names, back and up the way they came; whether a room is free was not checked: the program stops for it", total.aside, len(limits.Rooms))
	}
}

// touchHair is what counts as no motion, mm.
const touchHair = 1e-6

// step takes one move; a code comes with what is wrong.
func (t *touching) step(mv *rs274.Move, top float64, relative bool) (code, message, help string) {
	if t.at >= beside {
		return t.aboutRoom(mv, relative)
	}
	a, b := geom.Pt(mv.From[0], mv.From[1]), geom.Pt(mv.To[0], mv.To[1])
	across := a.Dist(b) > touchHair
	down := mv.To[2] < mv.From[2]-touchHair
	switch {
	case mv.Motion == rs274.Probe && (across || !down):
		return "touch-slant", "a probe does not go straight down", "probe along Z only"
	case mv.Motion == rs274.Probe && mv.Feed > t.limits.Feed:
		return "touch-fast", fmt.Sprintf("a probe goes at %.0f mm/min, %.0f allowed", mv.Feed, t.limits.Feed), "probe slower"
	case mv.Motion == rs274.Probe && mv.To[2] < top-t.limits.Reach-t.slop:
		return "touch-deep", fmt.Sprintf("a probe may go %.2f mm below the height that nothing rises above, %.2f allowed", top-mv.To[2], t.limits.Reach), "let it end higher"
	case mv.Motion == rs274.Probe && t.at == touched:
		return "touch-drag", "the probe is driven on where it touches", "go up first"
	case mv.Motion == rs274.Probe:
		t.at = touched
		t.above++
	case relative && (t.at != touched || across || down || mv.To[2]-mv.From[2] > t.limits.Back+t.slop):
		return "relative", "a move under G91 is more than the short way up after a touch", "write G90, or go straight up"
	case relative:
		t.at = backed
	case t.at != asSaid && (across || mv.To[2] < t.safe):
		return "touch-drag", "the probe moves on before it is at safe height", "go straight up to safe height first"
	case across && (mv.From[2] < t.safe || mv.To[2] < t.safe):
		return "rapid-low", "the probe goes across below safe height", "go up to safe height first"
	case down && mv.To[2] < top-t.slop && mv.Motion == rs274.Feed && t.enter(mv):
		t.at = beside
	case down && (mv.Motion != rs274.Rapid || mv.To[2] < top-t.slop):
		return "touch-feed", "the probe goes down without probing", "come down by rapid to where nothing rises, then use G38.2"
	default:
		t.at = asSaid
	}
	return "", "", ""
}

// enter tells whether a move goes straight down by a slow feed in a room.
func (t *touching) enter(mv *rs274.Move) bool {
	if mv.Feed > t.limits.Feed {
		return false
	}
	for i := range t.limits.Rooms {
		if r := &t.limits.Rooms[i]; t.within(r, mv.To) {
			t.room, t.start = r, mv.To
			return true
		}
	}
	return false
}

func (t *touching) within(r *TouchRoom, p [3]float64) bool {
	return geom.Pt(p[0], p[1]).Dist(r.At) <= r.Radius+t.slop && p[2] >= r.Low-t.slop
}

// behind is how far back a probe along an axis may come: it may touch at once, and
// then goes the short way back.
func (t *touching) behind(axis int, way float64) [3]float64 {
	p := t.start
	p[axis] -= math.Copysign(t.limits.Back, way)
	return p
}

// aboutRoom takes a move that begins in a room.
func (t *touching) aboutRoom(mv *rs274.Move, relative bool) (code, message, help string) {
	axis, n := -1, 0
	for k := range 3 {
		if math.Abs(mv.To[k]-mv.From[k]) > touchHair {
			axis, n = k, n+1
		}
	}
	if n > 1 {
		return "touch-slant", fmt.Sprintf("the probe moves along two axes at once beside %s", t.room.Name), "move one axis at a time"
	}
	if n == 0 {
		axis = t.axis
	}
	way := mv.To[axis] - mv.From[axis]
	switch {
	case mv.Motion != rs274.Rapid && mv.Feed > t.limits.Feed:
		return "touch-fast", fmt.Sprintf("the probe goes at %.0f mm/min beside %s, %.0f allowed", mv.Feed, t.room.Name, t.limits.Feed), "go slower"
	case axis == 2 && t.at == beside && !relative && mv.Motion != rs274.Probe && mv.To[2] >= t.safe:
		t.at = asSaid
	case axis == 2:
		return "touch-drag", fmt.Sprintf("the probe goes up or down beside %s elsewhere than where it came down, or not to safe height", t.room.Name), "go back to where it came down, then up to safe height"
	case mv.Motion != rs274.Probe && mv.Motion != rs274.Feed:
		return "rapid-low", fmt.Sprintf("a rapid goes sideways beside %s", t.room.Name), "go sideways by feed"
	case !t.within(t.room, mv.To) || mv.Motion == rs274.Probe && !t.within(t.room, t.behind(axis, way)):
		return "touch-deep", fmt.Sprintf("the probe may leave its room beside %s", t.room.Name), "let it end nearer"
	case mv.Motion == rs274.Probe && (relative || t.at == sideTouched || t.at == sideBacked && (axis != t.axis || way*t.sense < 0)):
		return "touch-drag", fmt.Sprintf("the probe is driven on where it touches %s", t.room.Name), "go back first"
	case mv.Motion == rs274.Probe:
		t.at, t.axis, t.sense = sideTouched, axis, math.Copysign(1, way)
		t.aside++
	case relative && (t.at != sideTouched || axis != t.axis || way*t.sense > 0 || math.Abs(way) > t.limits.Back+t.slop):
		return "relative", fmt.Sprintf("a move under G91 is more than the short way back from %s", t.room.Name), "write G90, or go straight back"
	case relative:
		t.at = sideBacked
	case t.at == beside || axis != t.axis || math.Abs(mv.To[axis]-t.start[axis]) > t.slop:
		return "touch-drag", fmt.Sprintf("the probe goes sideways beside %s without probing, or not back to where it came from", t.room.Name), "use G38.2, then go back"
	default:
		t.at = beside
	}
	return "", "", ""
}
