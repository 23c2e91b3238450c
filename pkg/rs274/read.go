package rs274

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"sparclear/pkg/diag"
)

// Tool is what the reader needs to know of a cutter in a slot.
type Tool struct {
	Length   float64 // tool length offset of H, mm
	Diameter float64 // of the cutter, mm; the index D names it
}

// Options tell what the text does not say. The zero value is a machine that
// stands at X0 Y0 Z0 in system 1 with no offsets.
type Options struct {
	Tools       map[int]Tool    // by slot; nil: all lengths are 0
	BlockDelete bool            // skip lines that begin with /
	Start       [3]float64      // where the tip stands, program coordinates, mm
	Parameters  map[int]float64 // values of parameters 1 to 5399; offsets (5161 to 5390) in mm
	ArcTol      float64         // largest difference of start and end radius, mm; 0 = 0.002 mm, or 0.0002 inch under G20 (NISTIR 6556, 3.5.3.2)
	Slots       int             // highest T, H and D; 0 = 99
	Aux         []string        // M words of this controller alone that move nothing, e.g. dust extraction: "M64"
}

const (
	inch       = 25.4 // mm
	maxBytes   = 1 << 30
	maxFaults  = 40        // findings before reading stops
	maxLength  = 1e6       // mm
	maxRate    = 1e7       // mm/min or rpm
	spareMoves = 1_000_000 // moves of cycles beyond those of the lines
)

// reader carries a program out, line by line.
type reader struct {
	name            string
	src             []byte
	opts            Options
	out             *Replay
	faults          diag.List
	halted          bool // too many findings
	percent, closed bool // a % line began the program; another one ended it

	start, pos int // of this line and of the next
	line       int32
	b          block
	aux        [1000]bool
	auxWords   []auxWord

	params  [maxParameter + 1]float64 // lengths in mm
	probed  bool
	cur     [3]float64 // tip, program coordinates, mm
	origin  [3]float64 // of the active system, machine coordinates
	shift   [3]float64 // G92
	length  float64    // G43
	unit    float64    // mm per unit of the program
	mode    int16      // ten times the G word of motion in force, 800 none
	plane   Plane
	inverse bool    // G93
	feed    float64 // mm/min, 0 none
	retract int16   // 980, 990, 0 never said
	cycle   cycle
	comp    compensation
	state   State
	dirty   bool // state differs from the last one kept
	slots   int
	budget  int // moves that may still be made
}

// auxWord is an M word of the controller alone, with its P and Q, NaN for none: M64
// P0 may start the extraction and M64 P1 open a clamp.
type auxWord struct {
	m    int
	p, q float64
}

// auxValue reads the value behind a letter of a word such as "M64 P1".
func auxValue(word string, letter byte) float64 {
	for _, w := range strings.Fields(word) {
		if v, err := strconv.ParseFloat(w[1:], 64); w[0] == letter && err == nil {
			return v
		}
	}
	return math.NaN()
}

// Read carries the program out as NISTIR 6556 says and returns what it does,
// with a finding for each line that breaks a rule (place: line and column). A
// line with a finding of severity stop is not carried out, so a Replay that
// comes with such a finding must not be used to judge the program. Nothing is
// guessed: what is not accepted (rotary axes, values that a probe finds, radius
// compensation with a cutter whose diameter is not told) is refused by name. An extension to the report is
// accepted: G64 P, the largest distance from a corner.
//
// Reading ends at M2, M30 or the second % line. Time and memory are linear in
// the text. Read is safe for concurrent use.
func Read(name string, src []byte, o Options) (*Replay, diag.List) {
	r := newReader(name, src, o)
	if len(src) > maxBytes {
		r.fail(ruleTooLong, 0, "program is %d bytes long", len(src))
		return r.out, r.faults
	}
	lines := min(bytes.Count(src, []byte{'\n'}), len(src)/8) + 16
	r.out.Moves = make([]Move, 0, lines)
	r.run()
	return r.out, r.faults
}

func newReader(name string, src []byte, o Options) *reader {
	r := &reader{name: name, src: src, opts: o, unit: 1, mode: 800, slots: 99, out: &Replay{}, line: 1}
	if o.Slots > 0 {
		r.slots = o.Slots
	}
	for n := 1; n <= maxParameter; n++ {
		if v, ok := o.Parameters[n]; ok && finite(v) {
			r.params[n] = v
		}
	}
	for _, w := range o.Aux {
		var n int
		w = strings.ToUpper(strings.TrimSpace(w))
		if _, err := fmt.Sscanf(w, "M%d", &n); err == nil && n >= 0 && n < len(r.aux) {
			r.aux[n] = true
			r.auxWords = append(r.auxWords, auxWord{n, auxValue(w, 'P'), auxValue(w, 'Q')})
		}
	}
	r.state.System = 1
	if n, ok := whole(r.params[5220]); ok && n >= 1 && n <= 9 {
		r.state.System = n
	}
	r.params[5220] = float64(r.state.System)
	r.origin = r.stored(5201 + 20*r.state.System)
	r.shift = r.stored(5211)
	r.state.Overrides = true
	r.cur = o.Start
	r.dirty = true
	r.budget = len(src) + spareMoves
	return r
}

// run reads line after line until the program ends.
func (r *reader) run() {
	r.begin()
	for r.more() {
		r.step()
	}
	r.finish()
}

// begin skips what stands before the first line that counts.
func (r *reader) begin() { r.percent = r.leadingPercent() }

// more tells whether there is another line to read.
func (r *reader) more() bool {
	return r.pos < len(r.src) && !r.halted && !r.closed && !r.out.Ended
}

// step reads one line and carries it out.
func (r *reader) step() {
	r.start = r.pos
	if r.src[r.pos] == '%' || r.src[r.pos] == ' ' || r.src[r.pos] == '\t' {
		if end, ok := r.percentLine(r.pos); ok {
			if !r.percent {
				r.fail(rulePercent, r.pos, "%% line in a program that does not begin with one")
			}
			r.closed = true
			r.next(end)
			return
		}
	}
	if r.scan() {
		if r.b.any {
			r.out.Blocks++
		}
		if !(r.b.skip && r.opts.BlockDelete) {
			r.execute()
		}
	}
	if !r.out.Ended {
		r.line++
	}
}

// leadingPercent skips blank lines and a % line at the start.
func (r *reader) leadingPercent() bool {
	for r.pos < len(r.src) {
		p := r.blanks(r.pos)
		if end, ok := r.percentLine(r.pos); ok {
			r.next(end)
			r.line++
			return true
		}
		if c := r.peek(p); c != '\n' && c != '\r' {
			return false
		}
		r.next(p)
		r.line++
	}
	return false
}

// percentLine tells whether the line at p holds % and nothing else, and where
// it ends.
func (r *reader) percentLine(p int) (end int, ok bool) {
	p = r.blanks(p)
	if r.peek(p) != '%' {
		return p, false
	}
	p = r.blanks(p + 1)
	c := r.peek(p)
	return p, c == '\n' || c == '\r'
}

// finish holds the end of the file against the rules of percent lines.
func (r *reader) finish() {
	r.out.Final = r.state
	if r.halted {
		return
	}
	if !r.out.Ended && !r.closed && !r.percent {
		r.start = r.pos
		r.fail(ruleNoEnd, r.pos, "program ends with neither M2 nor M30")
		return
	}
	if r.closed {
		return
	}
	// Behind M2: the % line that is still to come, if one was opened, and a
	// remark on text that will never run.
	remarked := false
	for r.pos < len(r.src) {
		r.line++
		r.start = r.pos
		if _, ok := r.percentLine(r.pos); ok && r.percent {
			return
		}
		p := r.blanks(r.pos)
		end := p
		for end < len(r.src) && r.src[end] != '\n' && r.src[end] != '\r' {
			end++
		}
		if end > p && !remarked {
			r.fail(ruleAfterEnd, p, "text behind the end of the program")
			remarked = true
		}
		r.next(end)
	}
	if r.percent {
		if r.out.Ended {
			r.line++ // the line of M2 was the last one counted
		}
		r.start = r.pos
		r.fail(rulePercent, r.pos, "program begins with a %% line and does not end with one")
	}
}

// fail reports a broken rule at offset p of the text and returns false.
func (r *reader) fail(k rule, p int, format string, args ...any) bool {
	t := ruleTexts[k]
	f := diag.Finding{Code: t.code, Severity: diag.Stop, Subject: r.name, Help: t.help,
		Message: fmt.Sprintf(format, args...), Input: t.weight == wrong}
	if t.weight == warned {
		f.Severity = diag.Warn
	}
	r.report(f, p)
	return false
}

// failWith is fail with a value and the limit that it breaks.
func (r *reader) failWith(k rule, p int, value, limit float64, unit, format string, args ...any) bool {
	r.fail(k, p, format, args...)
	if n := len(r.faults); n > 0 && !r.halted {
		r.faults[n-1] = r.faults[n-1].With(value, limit, unit)
	}
	return false
}

func (r *reader) report(f diag.Finding, p int) {
	if r.halted {
		return
	}
	if len(r.faults) >= maxFaults {
		r.halted = true
		t := ruleTexts[ruleTooManyFindings]
		f = diag.Finding{Code: t.code, Severity: diag.Stop, Subject: r.name, Help: t.help,
			Message: fmt.Sprintf("more than %d findings", maxFaults)}
	}
	r.faults.Add(f.AtLine(r.name, int(r.line), p-r.start+1))
}

// event keeps something that is not a motion.
func (r *reader) event(k EventKind, value float64, text string) {
	r.out.Events = append(r.out.Events, Event{Kind: k, Before: int32(len(r.out.Moves)), Line: r.line, Value: value, Text: text})
}

// stateIndex returns the index of the state in force.
func (r *reader) stateIndex() int32 {
	if n := len(r.out.States); r.dirty || n == 0 {
		if n == 0 || r.out.States[n-1] != r.state {
			r.out.States = append(r.out.States, r.state)
		}
		r.dirty = false
	}
	return int32(len(r.out.States) - 1)
}

// goTo keeps a straight move and takes the tip there.
func (r *reader) goTo(m Motion, to [3]float64, feed float64) {
	if r.dirty {
		r.stateIndex()
	}
	r.out.Moves = append(r.out.Moves, Move{From: r.cur, To: to, Feed: feed, Line: r.line,
		State: int32(len(r.out.States) - 1), Motion: m, Plane: r.plane})
	r.cur = to
	r.budget--
}

// comments keeps the last comment of the line (3.3.5).
func (r *reader) comments() {
	raw := r.src[r.b.text[0]:r.b.text[1]]
	if !utf8.Valid(raw) {
		raw = bytes.ToValidUTF8(raw, []byte("?"))
	}
	text := string(raw)
	if m, ok := message(text); ok {
		r.event(Message, 0, m)
		return
	}
	r.event(Comment, 0, strings.TrimSpace(text))
}

// message returns what follows MSG, when that is how the comment begins: any
// case, blanks between the letters (3.3.4).
func message(text string) (string, bool) {
	const want = "msg,"
	i := 0
	for k := range len(text) {
		c := text[k]
		if c == ' ' || c == '\t' {
			continue
		}
		if c != ',' {
			c |= 0x20
		}
		if c != want[i] {
			return "", false
		}
		if i++; i == len(want) {
			return strings.TrimSpace(text[k+1:]), true
		}
	}
	return "", false
}

// isLength tells whether a parameter holds a length: it then follows the units
// in force when it is read or set.
func isLength(n int) bool {
	if n >= 5061 && n <= 5063 || n >= 5161 && n <= 5163 || n >= 5181 && n <= 5183 || n >= 5211 && n <= 5213 {
		return true
	}
	return n > 5220 && n <= 5383 && (n-5221)%20 < 3
}

func (r *reader) parameter(n int) float64 {
	if isLength(n) {
		return r.params[n] / r.unit
	}
	return r.params[n]
}

// stored returns three parameters from n on.
func (r *reader) stored(n int) [3]float64 {
	return [3]float64{r.params[n], r.params[n+1], r.params[n+2]}
}

func (r *reader) store(n int, v [3]float64) { copy(r.params[n:n+3], v[:]) }

// outOfRange tells whether a point is farther out than any machine reaches.
func outOfRange(p [3]float64) bool {
	return !(math.Abs(p[0]) <= maxLength && math.Abs(p[1]) <= maxLength && math.Abs(p[2]) <= maxLength)
}
