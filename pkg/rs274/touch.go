package rs274

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

// Touch is a place where the work is to be touched, program coordinates, mm: the
// skin from above, or with Side a pin, a hole or an edge from the side.
type Touch struct {
	Name string
	At   geom.Point
	Top  float64 // the probe comes down to here by rapid: above anything that may lie there
	Low  float64 // and no deeper than this by G38.2, or by feed beside what is touched from the side
	Side Side
}

// Side is a touch from the side: beside what is touched, the probe goes from At
// along one axis. The zero value is a touch from above.
type Side struct {
	Axis byte    // 'X' or 'Y'
	To   float64 // where it goes at most on that axis, mm
}

// TouchRoutine says how a touch is made. Speeds mm/min.
type TouchRoutine struct {
	Fast float64 // first touch
	Slow float64 // second touch, which counts
	Back float64 // retract between the two, mm
}

// UsualTouch is gentle enough for a painted skin; common practice, no source.
func UsualTouch() TouchRoutine { return TouchRoutine{Fast: 100, Slow: 25, Back: 1} }

// WriteTouch writes a touch-off program: for each place up to safe height,
// across, straight down to Top, a straight probe (G38.2) to find the skin, back
// off, a slow second touch, and a stop with the name of the touch, so that the
// operator notes the Z that the display shows. Before the first way down it stops
// above the place, since nothing has been touched yet. A touch from the side stops,
// so that the operator looks whether the way down is free, goes down by feed, along
// one axis by the same routine, back to where it came from, and up. The spindle
// never turns. Findings (stop): "touch-no-probe" when the controller knows no
// G38.2, "touch-order" when a place has no room between safe height, Top and Low,
// or a touch from the side none to move.
func WriteTouch(title string, touches []Touch, w *work.Work, r TouchRoutine) ([]byte, diag.List) {
	c := w.Machine.Controller
	t := &writer{work: w, c: c, grid: gridOf(c), width: c.MaxLine, cutter: -1}
	if t.width <= 0 || t.width > maxLine {
		t.width = maxLine
	}
	if !c.Probe {
		t.fail("touch-no-probe", "this controller knows no straight probe", "touch by hand and fill in the list")
		return nil, t.faults
	}
	if c.Percent {
		t.out = append(t.out, "%\n"...)
	}
	t.comment(title)
	t.comment("touch-off: probe in the spindle, plugged in, spindle stopped")
	t.head()
	t.say("M5")
	safe := t.grid.round(w.SafeZ)
	for i, p := range touches {
		top, low := t.grid.round(p.Top), t.grid.round(p.Low)
		if !finite(p.At.X+p.At.Y+p.Top+p.Low) || top > safe || low >= top || math.Abs(p.At.X)+math.Abs(p.At.Y) > maxLength {
			t.fail("touch-order", fmt.Sprintf("touch %s has no room between safe height %.2f, %.2f and %.2f mm", p.Name, w.SafeZ, p.Top, p.Low), "give a higher safe height or another place")
			return nil, t.faults
		}
		t.comment(p.Name)
		t.axis("G0", 'Z', safe)
		t.line = append(t.line, "G0"...)
		t.line = t.grid.append(t.line, 'X', t.grid.round(p.At.X))
		t.line = t.grid.append(t.line, 'Y', t.grid.round(p.At.Y))
		t.flush()
		if i == 0 { // nothing has been touched yet: only the eye knows how high the skin is
			t.comment(fmt.Sprintf("MSG,look whether Z%.2f mm lies above all at %s before the rapid down", p.Top, p.Name))
			t.say("M0")
		}
		t.axis("G0", 'Z', top)
		if p.Side.Axis != 0 {
			if !t.side(p, r) {
				t.fail("touch-order", fmt.Sprintf("touch %s has no room to move to the side", p.Name), "give its place and size again")
				return nil, t.faults
			}
			continue
		}
		t.twice('Z', low, r.Back, r)
		t.comment("MSG,note Z of " + p.Name)
		t.say("M0")
	}
	t.axis("G0", 'Z', safe)
	t.say("M2")
	if c.Percent {
		t.out = append(t.out, "%\n"...)
	}
	return t.out, t.faults
}

// axis writes a move of one axis.
func (t *writer) axis(g string, letter byte, n int64) {
	t.line = append(t.line, g...)
	t.line = t.grid.append(t.line, letter, n)
	t.flush()
}

// side writes a touch from the side; the probe stands above its start.
func (t *writer) side(p Touch, r TouchRoutine) bool {
	start := p.At.X
	if p.Side.Axis == 'Y' {
		start = p.At.Y
	}
	way := p.Side.To - start
	if p.Side.Axis != 'X' && p.Side.Axis != 'Y' || !finite(way) || math.Abs(way) < r.Back+1 || math.Abs(way) > maxLength {
		return false
	}
	t.comment("MSG,look whether the way down is free for " + p.Name)
	t.say("M0")
	t.fed('Z', t.grid.round(p.Low), r.Fast)
	t.twice(p.Side.Axis, t.grid.round(p.Side.To), -math.Copysign(r.Back, way), r)
	t.comment(fmt.Sprintf("MSG,note %c of %s", p.Side.Axis, p.Name))
	t.say("M0")
	t.fed(p.Side.Axis, t.grid.round(start), r.Fast)
	return true
}

// twice probes along an axis, backs off and probes again, slowly.
func (t *writer) twice(axis byte, to int64, back float64, r TouchRoutine) {
	t.probe(axis, to, r.Fast)
	t.say("G91")
	t.fed(axis, t.grid.round(back), r.Fast)
	t.say("G90")
	t.probe(axis, to, r.Slow)
}

// fed writes a move of one axis by feed.
func (t *writer) fed(axis byte, n int64, feed float64) {
	t.line = append(t.line, "G1"...)
	t.line = t.grid.append(t.line, axis, n)
	t.line = appendFeedWord(t.line, t.grid, feed)
	t.flush()
}

func (t *writer) probe(axis byte, to int64, feed float64) {
	t.line = append(t.line, "G38.2"...)
	t.line = t.grid.append(t.line, axis, to)
	t.line = appendFeedWord(t.line, t.grid, feed)
	t.flush()
}

func appendFeedWord(line []byte, g grid, feed float64) []byte {
	n, scale := g.feedTenths(feed)
	return appendFeed(line, n, scale)
}
