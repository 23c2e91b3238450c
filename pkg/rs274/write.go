package rs274

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

// defaultChord is how far short lines stray from an arc when the work does not
// say, mm.
const defaultChord = 0.005

// writer turns one toolpath.Program into text.
type writer struct {
	prog  *toolpath.Program
	work  *work.Work
	c     shop.Controller
	grid  grid
	tol   float64 // of the two radii of an arc, mm
	chord float64 // of lines for an arc, mm
	width int     // longest line

	out    []byte
	line   []byte // without number
	number int    // of the last N word
	known  bool   // at is where the tip stands
	at     [3]int64
	exact  [3]float64 // the same before rounding
	feed   int64      // last F word
	cutter int        // index in hand, -1 none
	rpm    int64      // 0: spindle stands
	faults diag.List
	path   *toolpath.Path
	kept   int // side of the path on which material is kept
}

// Write returns the text of a program in the words that the machine's
// controller knows. The head says units, plane, distance mode, feed mode,
// coordinate system and path mode, and cancels compensation, length offset and
// cycles: nothing is inherited from what ran before. Each line names its motion;
// words of axes that stay are left out, arcs have all words.
//
// Order of a program: head, cutter and spindle, dust extraction, the moves,
// retract, dust extraction off, spindle off, M2. It ends with M2 and not M30,
// which the report has exchange pallets as well (NISTIR 6556, 3.6.1). A T word
// names the cutter of every section, however it is changed.
//
// Coordinates are rounded to the controller's last decimal. The centre of an arc
// is written from the rounded start and chosen so that both radii agree within
// the controller's tolerance; an arc that cannot be written so is cut in two,
// and one flatter than half the last decimal becomes a line. Where the
// controller has no arcs, lines stray from it by w.ChordTol at most, to the side
// that is cut away: whether a cut climbs tells which side is kept. Where that
// cannot be told they run between points on the arc, hence toward its centre. An
// arc that ends where it starts is a full circle. Rapids that rise and go across are
// written as two; a rapid that goes across and down is a finding of severity
// stop ("write-dive"), as are coordinates, feeds and speeds that no program can
// hold. With such a finding the text must not be used.
func Write(p toolpath.Program, w *work.Work) ([]byte, diag.List) {
	c := w.Machine.Controller
	t := &writer{prog: &p, work: w, c: c, grid: gridOf(c), tol: c.ArcTol, chord: w.ChordTol, width: c.MaxLine, cutter: -1}
	if !(t.tol > 0) {
		t.tol = 0.002
		if t.grid.unit != 1 {
			t.tol = 0.0002 * inch
		}
	}
	if !(t.chord > 0) {
		t.chord = defaultChord
	}
	if t.width <= 0 || t.width > maxLine {
		t.width = maxLine
	}
	moves := 0
	for i := range p.Paths {
		moves += len(p.Paths[i].Moves)
	}
	t.out = make([]byte, 0, 1024+32*moves)
	t.program()
	return t.out, t.faults
}

func (t *writer) program() {
	if !finite(t.prog.SafeZ) || math.Abs(t.prog.SafeZ) > maxLength {
		t.fail("write-coordinate", "safe height is not a height", "give a finite safe height")
		return
	}
	if t.c.Percent {
		t.out = append(t.out, "%\n"...)
	}
	for _, h := range t.prog.Head {
		t.comment(h)
	}
	t.head()
	for i := range t.prog.Paths {
		t.path = &t.prog.Paths[i]
		t.kept = kept(t.path, t.work)
		t.section()
	}
	t.path = nil
	t.retract()
	t.spindleOff()
	for _, l := range t.c.End {
		t.say(l)
	}
	t.say("M2")
	if t.c.Percent {
		t.out = append(t.out, "%\n"...)
	}
}

// head says everything that could be inherited.
func (t *writer) head() {
	units := "G21"
	if t.grid.unit != 1 {
		units = "G20"
	}
	t.say(units + " G17 G90 G94")
	t.say("G40 G49 G80")
	t.say("G54")
	switch t.c.PathMode {
	case shop.PathExactStop:
		t.say("G61.1")
	case shop.PathExact:
		t.say("G61")
	case shop.PathBlend:
		t.line = append(t.line, "G64"...)
		if n := t.blend(); n > 0 {
			t.line = t.grid.append(t.line, 'P', n)
		}
		t.flush()
	default:
		t.comment("path mode: that of the controller")
	}
	for _, l := range t.c.Start {
		t.say(l)
	}
}

// blend returns the tolerance of G64 on the grid, rounded down.
func (t *writer) blend() int64 {
	n := t.grid.round(t.c.BlendTol)
	if t.grid.mm(n) > t.c.BlendTol+1e-9 {
		n--
	}
	return n
}

// section writes one path: notes, cutter, spindle, moves. Notes stand before the
// change of cutter, so that what asks for the cutter is the last to be read
// before the pause, whatever the cut is called.
func (t *writer) section() {
	p := t.path
	if p.Cutter < 0 || p.Cutter >= len(t.work.Cutters) {
		t.fail("write-cutter", fmt.Sprintf("path has cutter %d of %d", p.Cutter, len(t.work.Cutters)), "name a cutter of the job")
		return
	}
	rpm := int64(math.Floor(p.RPM + 1e-6))
	if !p.Still && !(p.RPM >= 1 && p.RPM <= maxRate) {
		t.fail("write-speed", fmt.Sprintf("spindle speed is %g rpm", p.RPM), "give a speed of at least 1 rpm")
		return
	}
	title := strings.TrimSpace(p.Cut + ": " + p.Op)
	t.comment(strings.Trim(title, ": "))
	for _, n := range p.Notes {
		t.comment(n)
	}
	if p.Cutter != t.cutter {
		t.change(p.Cutter)
	}
	if p.Still {
		t.spindleOff()
	} else {
		t.spindle(rpm)
	}
	for i := range p.Moves {
		t.move(&p.Moves[i])
	}
}

// change puts another cutter in hand.
func (t *writer) change(cutter int) {
	c := &t.work.Cutters[cutter]
	first := t.cutter < 0
	if c.Number < 1 {
		t.fail("write-cutter", fmt.Sprintf("cutter %s has no number", c.Name), "give the cutter a number from 1")
		return
	}
	if !first && t.c.ToolChange == shop.ChangeFiles {
		t.fail("write-cutter", "program holds two cutters, and the controller wants a file for each", "write one program for each cutter")
		return
	}
	t.retract()
	t.spindleOff()
	number := strconv.Itoa(c.Number)
	title := "T" + number + ": " + c.Name
	if c.Title != "" && c.Title != c.Name {
		title += ", " + c.Title
	}
	switch {
	case t.c.ToolChange == shop.ChangeWord:
		t.comment("cutter " + title)
		t.say("T" + number + " M6")
		if t.c.LengthWord {
			t.say("G43 H" + number)
		}
		t.known = false // of another length, and the changer may have moved
	case first:
		t.comment("cutter " + title)
		t.say("T" + number)
	default:
		t.comment("MSG,fit cutter " + title + ", then touch Z again")
		t.say("T" + number)
		t.say("M0")
		t.known = false // moved by hand
	}
	t.cutter = cutter
}

// spindle brings the spindle to speed and starts dust extraction.
func (t *writer) spindle(rpm int64) {
	if t.rpm == rpm {
		return
	}
	started := t.rpm == 0
	t.say("S" + strconv.FormatInt(rpm, 10) + " M3")
	t.rpm = rpm
	if up := t.work.Machine.SpinUp; up > 0 {
		if t.c.Dwell {
			t.say("G4 P" + strconv.FormatFloat(math.Ceil(up*10)/10, 'f', -1, 64))
		} else {
			t.comment("wait until the spindle is at speed")
			if !t.faults.Has("write-wait") {
				t.faults.Add(diag.Finding{Code: "write-wait", Severity: diag.Note, Subject: t.prog.Name,
					Message: "controller has no dwell: nothing waits for the spindle",
					Help:    "hold the feed until the spindle is at speed"}.With(up, 0, "s"))
			}
		}
	}
	if started && t.c.DustOn != "" {
		t.say(t.c.DustOn)
	}
}

func (t *writer) spindleOff() {
	if t.rpm == 0 {
		return
	}
	if t.c.DustOff != "" {
		t.say(t.c.DustOff)
	}
	t.say("M5")
	t.rpm = 0
}

// retract goes up to the safe height.
func (t *writer) retract() {
	// From an unknown place the next rapid goes up first.
	if z := t.grid.round(t.prog.SafeZ); t.known && t.at[2] < z {
		t.rise(z)
	}
}

func (t *writer) rise(z int64) {
	t.line = append(t.line, "G0"...)
	t.line = t.grid.append(t.line, 'Z', z)
	t.flush()
	t.at[2], t.exact[2] = z, t.grid.mm(z)
}

// move writes one move.
func (t *writer) move(m *toolpath.Move) {
	to := [3]float64{m.X, m.Y, m.Z}
	if outOfRange(to) || m.Kind == toolpath.Arc && outOfRange([3]float64{m.Center.X, m.Center.Y, 0}) {
		t.fail("write-coordinate", fmt.Sprintf("move to X%g Y%g Z%g is no move", m.X, m.Y, m.Z), "keep coordinates finite and within 1e6 mm")
		return
	}
	q := [3]int64{t.grid.round(m.X), t.grid.round(m.Y), t.grid.round(m.Z)}
	if m.Kind == toolpath.Rapid {
		t.rapid(q, to)
		return
	}
	if !t.known {
		t.fail("write-start", "path does not begin with a rapid", "begin each path with a rapid at safe height")
		return
	}
	n, scale := t.grid.feedTenths(m.Feed)
	if !(m.Feed > 0) || m.Feed > maxRate || n < 1 {
		t.fail("write-feed", fmt.Sprintf("cut with feed %g mm/min", m.Feed), "give every cut a feed above 0")
		return
	}
	if m.Kind == toolpath.Line {
		t.straight(q, n, scale)
		t.exact = to
		return
	}
	t.arc(m, n, scale)
	t.exact = to
}

// rapid writes a rapid; one that rises and goes across in two lines, upward
// first.
func (t *writer) rapid(q [3]int64, to [3]float64) {
	if !t.known {
		up := max(q[2], t.grid.round(t.prog.SafeZ))
		t.rise(up)
		t.line = append(t.line, "G0"...)
		t.line = t.grid.append(t.line, 'X', q[0])
		t.line = t.grid.append(t.line, 'Y', q[1])
		t.flush()
		t.at, t.known = [3]int64{q[0], q[1], up}, true
	}
	across := q[0] != t.at[0] || q[1] != t.at[1]
	if across && q[2] < t.at[2] {
		t.failAt("write-dive", to, "rapid goes across and down at once", "go across at safe height, then down")
		return
	}
	if across && q[2] > t.at[2] {
		t.rise(q[2])
	}
	t.words("G0", q)
	t.at, t.exact = q, to
}

// words writes a straight motion with the words that change; nothing when none
// does.
func (t *writer) words(g string, q [3]int64) bool {
	if q == t.at {
		return false
	}
	t.line = append(t.line, g...)
	for i, v := range q {
		if v != t.at[i] {
			t.line = t.grid.append(t.line, byte('X'+i), v)
		}
	}
	if g == "G0" {
		t.flush()
	}
	return true
}

func (t *writer) straight(q [3]int64, feed, scale int64) {
	if !t.words("G1", q) {
		return
	}
	t.fword(feed, scale)
	t.flush()
	t.at = q
}

func (t *writer) fword(feed, scale int64) {
	if feed != t.feed {
		t.line = appendFeed(t.line, feed, scale)
		t.feed = feed
	}
}

// say writes a line of fixed text.
func (t *writer) say(s string) {
	t.line = append(t.line, s...)
	t.flush()
}

// comment writes text between brackets, on as many lines as it takes.
func (t *writer) comment(text string) {
	if !t.c.Comments {
		return
	}
	width := t.width - 2
	if t.c.LineNumbers {
		width -= 7
	}
	message := strings.HasPrefix(text, "MSG,")
	if message {
		width -= 4
		text = text[4:]
	}
	for _, l := range wrap(plain(text), width) {
		t.line = append(t.line, '(')
		if message {
			t.line = append(t.line, "MSG,"...)
		}
		t.line = append(t.line, l...)
		t.line = append(t.line, ')')
		t.flush()
	}
}

// maxNumber is the largest line number (NISTIR 6556, 3.3.1); numbers begin anew
// behind it, which the report allows.
const maxNumber = 99999

// flush ends the line.
func (t *writer) flush() {
	start := len(t.out)
	if t.c.LineNumbers {
		if t.number++; t.number > maxNumber {
			t.number = 1
		}
		t.out = append(t.out, 'N')
		t.out = strconv.AppendInt(t.out, int64(t.number), 10)
		t.out = append(t.out, ' ')
	}
	t.out = append(t.out, t.line...)
	t.line = t.line[:0]
	if n := len(t.out) - start; n > t.width {
		f := t.finding("write-line-long", fmt.Sprintf("line of %d characters, the controller takes %d", n, t.width),
			"raise max_line in the profile, or shorten its start and end lines")
		t.faults.Add(f.With(float64(n), float64(t.width), "characters"))
	}
	t.out = append(t.out, '\n')
}

// maxWriteFaults keeps a broken plan from giving a finding for each move.
const maxWriteFaults = 20

func (t *writer) finding(code, message, help string) diag.Finding {
	f := diag.Finding{Code: code, Severity: diag.Stop, Message: message, Help: help}
	if t.prog != nil {
		f.Subject = t.prog.Name
	}
	if t.path != nil {
		f.Cut = t.path.Cut
	}
	return f
}

func (t *writer) fail(code, message, help string) {
	if len(t.faults) < maxWriteFaults {
		t.faults.Add(t.finding(code, message, help))
	}
}

func (t *writer) failAt(code string, at [3]float64, message, help string) {
	if len(t.faults) < maxWriteFaults {
		t.faults.Add(t.finding(code, message, help).AtMachine(at[0], at[1], at[2]))
	}
}

func (t *writer) point(q [3]int64) geom.Point { return geom.Pt(t.grid.mm(q[0]), t.grid.mm(q[1])) }
