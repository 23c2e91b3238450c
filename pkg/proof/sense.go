package proof

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/rs274"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// ratio by which a programmed value may pass the one asked for before it is
// refused: a tenth covers rounding and the share that a path straight down has
// in a feed along a slope; more is another value.
const ratio = 1.1

// drillSideways is how far beside its hole a drill may go in one move without a
// word, mm: rounding of a hole on a slope.
const drillSideways = 0.005

// longDwell is how long a program may wait without a word, s: longer looks like
// milliseconds. Common practice, no source.
const longDwell = 60

// tally collects findings of one kind: the first or worst of many moves.
type tally struct {
	f     diag.Finding
	by    float64
	move  int
	count int
	frame geom.Rigid
}

// sense checks what a program says about itself and the machine: that it means
// one thing only and that nothing turns, moves or stands where it should not.
func (p *prover) sense() {
	p.cutting = make([]Cutting, len(p.w.Cuts))
	systems, lengths := map[int]bool{}, map[int]int{}
	for k, pr := range p.progs {
		s := &sensor{p: p, k: k, pr: pr, found: map[string]*tally{}, lengths: lengths}
		s.text()
		s.moves()
		s.events()
		s.end()
		for i := range pr.replay.States {
			systems[pr.replay.States[i].System] = true
		}
		for _, key := range s.order {
			t := s.found[key]
			if t.count > 1 {
				t.f.Message += fmt.Sprintf(" (%d moves)", t.count)
			}
			if t.move >= 0 {
				t.f = p.place(t.f, t.frame, pr.replay.Moves[t.move].To, pr, t.move)
			}
			p.fault("sense", t.f)
		}
	}
	if len(systems) > 1 {
		p.fault("sense", diag.Finding{Code: "offsets-changed", Severity: diag.Stop, Subject: p.w.Name,
			Message: "more than one workpiece coordinate system is used", Help: "use the one in which the datums were touched, throughout"})
	}
	if p.checks["sense"].OK {
		p.say("sense", "units, distance mode, plane, offsets, cutter, spindle, feed and end as they should be")
	}
}

// sensor reads one program.
type sensor struct {
	p     *prover
	k     int
	pr    *program
	found map[string]*tally
	order []string
	// lengths holds which length (H, 0 none) each cutter cut with, over all programs.
	lengths map[int]int
	lost    float64 // by relative moves so far, mm
	fronts  int     // places at which the front of a cutter was looked at
	fastAt  int     // the last move faster than its cut asks for
	skip    float64 // of the move after it, mm
	steep   float64 // how far down it went since it last went gently, mm
	holeAt  [2]float64
	holeLow float64 // how deep the hole at holeAt is, mm
	stroke  float64 // how much of it was drilled since the drill was last lifted, mm
	sunk    float64 // how far down it went since it last went across, mm
}

// add counts a finding; the one with the largest by is shown.
func (s *sensor) add(key string, by float64, move int, frame geom.Rigid, f func() diag.Finding) {
	t := s.found[key]
	if t == nil {
		t = &tally{by: math.Inf(-1)}
		s.found[key] = t
		s.order = append(s.order, key)
	}
	t.count++
	if by > t.by {
		t.by, t.move, t.frame = by, move, frame
		t.f = f()
		t.f.Subject = s.pr.src.File
	}
}

// stop adds a finding that needs no drawing place.
func (s *sensor) stop(code string, move int, message, help string) {
	s.add(code, 0, move, s.p.w.Frame, func() diag.Finding {
		return diag.Finding{Code: code, Severity: diag.Stop, Message: message, Help: help}
	})
}

// text refuses what a replay cannot show: lines that a switch on the machine may skip.
func (s *sensor) text() {
	if n := skippedLine(s.pr.src.Text); n > 0 {
		s.p.fault("sense", diag.Finding{Code: "block-delete", Severity: diag.Stop, Subject: s.pr.src.File,
			Message: "a line begins with /, so a switch on the machine decides whether it runs", Help: "remove the stroke or the line"}.AtLine(s.pr.src.File, n, 1))
	}
	s.understood()
}

// understood refuses what the controller of the job does not take, by its profile:
// it may stop in the cut, or make something else of it.
func (s *sensor) understood() {
	c := s.p.w.Machine.Controller
	refuse := func(line int, message, help string) {
		s.p.fault("sense", diag.Finding{Code: "controller-word", Severity: diag.Stop, Subject: s.pr.src.File, Message: message, Help: help}.AtLine(s.pr.src.File, line, 0))
	}
	if c.MaxLine > 0 && c.MaxLine < 256 { // no longer one is read at all
		if n, l := longestLine(s.pr.src.Text); l > c.MaxLine {
			refuse(n, fmt.Sprintf("a line is %d characters long, the controller takes %d", l, c.MaxLine), "shorten it")
		}
	}
	for i := range s.pr.replay.Events {
		switch ev := &s.pr.replay.Events[i]; {
		case ev.Kind == rs274.Dwell && !c.Dwell && s.pr.replay.Events[i].Value > 0:
			refuse(int(ev.Line), "waits by G4, which the controller does not know", "take it out and wait by hand")
		case (ev.Kind == rs274.Comment || ev.Kind == rs274.Message) && !c.Comments:
			refuse(int(ev.Line), "holds a comment, which the controller does not know", "take it out")
		default:
			continue
		}
		break
	}
	if c.Arcs != shop.ArcNone {
		return
	}
	for i := range s.pr.replay.Moves {
		if m := &s.pr.replay.Moves[i]; m.Arc() {
			refuse(int(m.Line), "holds an arc, which the controller does not know", "write short lines")
			return
		}
	}
}

// longestLine returns the number and length of the longest line, its end not counted.
func longestLine(text []byte) (number, length int) {
	line, from := 1, 0
	for i, c := range text {
		if c != '\n' && c != '\r' {
			continue
		}
		if i-from > length {
			number, length = line, i-from
		}
		from = i + 1
		if c == '\r' || i == 0 || text[i-1] != '\r' {
			line++
		}
	}
	if len(text)-from > length {
		number, length = line, len(text)-from
	}
	return number, length
}

func (s *sensor) moves() {
	r := s.pr.replay
	w := s.p.w
	m := w.Machine
	spun := true // the spindle had time to reach its speed
	e := 0
	first := true
	for i := range r.Moves {
		for ; e < len(r.Events) && int(r.Events[e].Before) <= i; e++ {
			switch ev := &r.Events[e]; ev.Kind {
			case rs274.SpindleOn:
				spun = m.SpinUp <= 0
			case rs274.Dwell:
				spun = spun || ev.Value >= m.SpinUp-1e-9
			case rs274.Pause:
				spun = true
			}
		}
		mv := &r.Moves[i]
		st := &r.States[mv.State]
		if first {
			first = false
			if mv.To[2] < w.SafeZ-1e-9 || mv.Motion != rs274.Rapid || mv.To[0] != mv.From[0] || mv.To[1] != mv.From[1] {
				s.add("start-height", 0, i, w.Frame, func() diag.Finding {
					return diag.Finding{Code: "start-height", Severity: diag.Warn, Message: "the program does not begin by going to safe height",
						Help: "begin with G0 to safe height, or bring the tip there by hand first"}
				})
			}
		}
		s.words(i, mv, st)
		v := s.p.verdicts[s.k][i]
		if mv.Motion == rs274.Rapid {
			s.stroke = 0
			if mv.To[2] < mv.From[2]-1e-9 && (mv.To[0] != mv.From[0] || mv.To[1] != mv.From[1]) {
				s.add("rapid-down-diagonal", mv.From[2]-mv.To[2], i, w.Frame, func() diag.Finding {
					return diag.Finding{Code: "rapid-down-diagonal", Severity: diag.Warn, Message: "a rapid goes down and across at once",
						Help: "lift, go across, then down"}
				})
			}
			continue
		}
		if !(mv.Feed > 0) && mv.Motion != rs274.Probe {
			s.stop("feed-missing", i, "a move at feed has no feed", "add an F word")
		}
		if mv.Motion == rs274.Probe {
			if st.Spindle != 0 {
				s.stop("probe-spinning", i, "probes while the spindle turns", "stop the spindle before G38.2")
			}
			s.stop("probe-in-cut", i, "a program that cuts probes: where the tip stands after that is not known", "probe in a program of its own")
			continue
		}
		s.feedLimits(i, mv)
		if v.cut < 0 {
			continue
		}
		s.cutting(i, mv, st, &w.Cuts[v.cut], float64(v.deep))
		if !spun && m.Controller.Dwell {
			s.add("spin-up", 0, i, w.Frame, func() diag.Finding {
				return diag.Finding{Code: "spin-up", Severity: diag.Warn, Message: fmt.Sprintf("cuts before the spindle had %.1f s to reach its speed", m.SpinUp), Help: "add a dwell after M3"}
			})
			spun = true
		}
	}
}

// words checks that what a move depends on was said before it.
func (s *sensor) words(i int, mv *rs274.Move, st *rs274.State) {
	if !st.UnitsSaid {
		s.stop("units-unstated", i, "moves before G20 or G21 says the units", "write G21 at the head of the program")
	}
	if !st.DistSaid {
		s.stop("distance-unstated", i, "moves before G90 or G91 says the distance mode", "write G90 at the head of the program")
	}
	if mv.Arc() && !st.PlaneSaid {
		s.stop("plane-unstated", i, "an arc before G17, G18 or G19 says the plane", "write G17 at the head of the program")
	}
	if st.LengthFrom > 0 && st.Tool > 0 && st.LengthFrom != st.Tool {
		s.stop("length-offset", i, fmt.Sprintf("the length of T%d is taken from H%d", st.Tool, st.LengthFrom), fmt.Sprintf("write G43 H%d", st.Tool))
	}
	s.length(i, mv, st)
	s.drift(i, mv, st)
	if st.PathMode == "" && s.p.w.Machine.Controller.PathMode != "unstated" {
		s.add("path-mode", 0, i, s.p.w.Frame, func() diag.Finding {
			return diag.Finding{Code: "path-mode", Severity: diag.Warn, Message: "the program does not say how corners are taken", Help: "write G61 or G64 with a tolerance at its head"}
		})
	}
	if (st.Flood && !s.dustBy("M8") || st.Mist && !s.dustBy("M7")) && (s.p.w.Hollow || slices.Contains([]string{"balsa", "plywood", "sandwich"}, s.p.w.Material.Family)) {
		s.stop("coolant-wet", i, "coolant wets a hollow wing or wood", "cut dry with extraction")
	}
}

// drift refuses relative moves whose last digits the controller may drop: what each
// drops adds up until a place is said outright again.
func (s *sensor) drift(i int, mv *rs274.Move, st *rs274.State) {
	d := s.p.w.Machine.Controller.Decimals
	if !st.Relative || d <= 0 {
		s.lost = 0
		return
	}
	grid := math.Pow(10, -float64(d))
	if st.Inch {
		grid *= 25.4
	}
	for k := range mv.To {
		by := mv.To[k] - mv.From[k]
		s.lost += math.Abs(by - math.Round(by/grid)*grid)
	}
	if s.lost > grid {
		s.stop("relative-digits", i, fmt.Sprintf("relative moves have more digits than the %d that the controller takes: by here they may be %.4f mm off", d, s.lost), fmt.Sprintf("write G90, or %d decimals", d))
	}
}

// length checks that a cutter works with one length from its first cut to its
// last: with that of its own number where the controller takes a length word.
func (s *sensor) length(i int, mv *rs274.Move, st *rs274.State) {
	t := s.pr.toolOf(i)
	if t < 0 {
		return
	}
	if mv.Motion == rs274.Rapid || s.p.verdicts[s.k][i].cut < 0 {
		if _, ok := s.lengths[t]; !ok && st.LengthFrom > 0 {
			s.lengths[t] = st.LengthFrom // said before the first cut
		}
		return
	}
	n := s.p.tools[t].cutter.Number
	if s.p.w.Machine.Controller.LengthWord && st.LengthFrom != n {
		s.stop("length-offset", i, fmt.Sprintf("T%d cuts without its length being said", n), fmt.Sprintf("write G43 H%d", n))
		return
	}
	if have, ok := s.lengths[t]; ok && have != st.LengthFrom {
		s.stop("length-offset", i, fmt.Sprintf("the length of T%d changes from H%d to H%d on the way", n, have, st.LengthFrom), "write G43 once, before the first cut, and no G49 before the last")
	}
	s.lengths[t] = st.LengthFrom
}

// dustBy tells that the controller's output for coolant drives the dust extraction.
func (s *sensor) dustBy(word string) bool {
	return slices.Contains(strings.Fields(strings.ToUpper(s.p.w.Machine.Controller.DustOn)), word)
}

// feedLimits holds a feed against what the axes can do.
func (s *sensor) feedLimits(i int, mv *rs274.Move) {
	m := s.p.w.Machine
	if m.FeedXY > 0 && mv.Feed > m.FeedXY+1e-6 {
		s.add("feed-high machine", mv.Feed, i, s.p.w.Frame, func() diag.Finding {
			return diag.Finding{Code: "feed-high", Severity: diag.Stop, Message: fmt.Sprintf("feed of %.0f mm/min, the machine does %.0f", mv.Feed, m.FeedXY),
				Help: "lower F"}.With(mv.Feed, m.FeedXY, "mm/min")
		})
	}
	l := mv.Length()
	if dz := math.Abs(mv.To[2] - mv.From[2]); m.FeedZ > 0 && l > 0 && !mv.Arc() && mv.Feed*dz/l > m.FeedZ+1e-6 {
		s.add("feed-high z", mv.Feed*dz/l, i, s.p.w.Frame, func() diag.Finding {
			return diag.Finding{Code: "feed-high", Severity: diag.Stop, Message: fmt.Sprintf("Z moves at %.0f mm/min, the machine does %.0f", mv.Feed*dz/l, m.FeedZ),
				Help: "lower F"}.With(mv.Feed*dz/l, m.FeedZ, "mm/min")
		})
	}
}

// cutting checks a move that is in the material of a cut.
func (s *sensor) cutting(i int, mv *rs274.Move, st *rs274.State, c *work.Cut, deep float64) {
	m := s.p.w.Machine
	t := s.p.tools[s.pr.toolOf(i)].cutter
	stop := func(code string, by, limit float64, unit, message, help string) {
		s.add(code+" "+c.Name, by, i, c.Frame, func() diag.Finding {
			return diag.Finding{Code: code, Severity: diag.Stop, Cut: c.Name, Message: c.Name + ": " + message, Help: help}.With(by, limit, unit)
		})
	}
	switch {
	case st.Spindle == 0 || !(st.RPM > 0):
		stop("spindle-off", st.RPM, c.RPM, "rpm", "cuts while the spindle stands", "write M3 and S before it")
		return
	case st.Spindle < 0:
		stop("spindle-reverse", -st.RPM, c.RPM, "rpm", "the spindle turns backwards", "write M3 in place of M4")
	}
	s.p.worked(int(s.p.verdicts[s.k][i].cut), s.pr.toolOf(i), st.RPM, mv.Feed, mv.Length(), mv.To[2]-mv.From[2])
	if m.SpindleMax > 0 && st.RPM > m.SpindleMax+0.5 || st.RPM < m.SpindleMin-0.5 {
		stop("rpm-range", st.RPM, m.SpindleMax, "rpm", fmt.Sprintf("speed of %.0f rpm, the spindle does %.0f to %.0f", st.RPM, m.SpindleMin, m.SpindleMax), "correct S")
	}
	if t.MaxRPM > 0 && st.RPM > t.MaxRPM+0.5 {
		stop("rpm-high", st.RPM, t.MaxRPM, "rpm", fmt.Sprintf("speed of %.0f rpm, the cutter stands %.0f", st.RPM, t.MaxRPM), "lower S")
	}
	if c.RPM > 0 && (st.RPM > c.RPM*ratio || st.RPM < c.RPM/ratio) {
		stop("rpm-off", st.RPM, c.RPM, "rpm", fmt.Sprintf("speed of %.0f rpm, the cut asks for %.0f", st.RPM, c.RPM), fmt.Sprintf("write S%.0f", c.RPM))
	}
	if most := math.Max(c.Feed, c.Plunge) * ratio; c.Feed > 0 && mv.Feed > most && !s.thin(i, mv, most) {
		stop("feed-high", mv.Feed, c.Feed, "mm/min", fmt.Sprintf("feed of %.0f mm/min, the cut asks for %.0f", mv.Feed, c.Feed), fmt.Sprintf("write F%.0f", c.Feed))
	}
	if level := math.Hypot(mv.To[0]-mv.From[0], mv.To[1]-mv.From[1]); mv.Arc() || level > mv.Length()/2 {
		if chip := mv.Feed / (st.RPM * teeth(t.Flutes)); chip < shop.RubbingChip && mv.Feed < c.Feed/ratio && c.Kind != work.Drill {
			s.add("feed-slow "+c.Name, -chip, i, c.Frame, func() diag.Finding {
				return diag.Finding{Code: "feed-slow", Severity: diag.Warn, Cut: c.Name, Help: fmt.Sprintf("write F%.0f", c.Feed),
					Message: fmt.Sprintf("%s: feed of %.0f mm/min takes %.4f mm a tooth, below %.3f mm the cutter rubs and burns; the cut asks for %.0f mm/min", c.Name, mv.Feed, chip, shop.RubbingChip, c.Feed)}.
					With(chip, shop.RubbingChip, "mm")
			})
		}
	}
	if t.FluteLength > 0 && deep > t.FluteLength+1e-6 {
		s.add("flute-short "+c.Name, deep, i, c.Frame, func() diag.Finding {
			return diag.Finding{Code: "flute-short", Severity: diag.Stop, Cut: c.Name, Message: fmt.Sprintf("%s: the cutter goes %.3f mm deep, its flutes are %.3f mm long", c.Name, deep, t.FluteLength), Help: "use a longer cutter"}.With(deep, t.FluteLength, "mm")
		})
	}
	if t.Kind == shop.Drill {
		s.drilling(i, mv, c, deep, stop)
	}
	s.descent(i, mv, c, deep, stop)
}

// drilling checks that a drill goes straight, and by no more at once than a peck.
func (s *sensor) drilling(i int, mv *rs274.Move, c *work.Cut, deep float64, stop func(code string, by, limit float64, unit, message, help string)) {
	if across := math.Hypot(mv.To[0]-mv.From[0], mv.To[1]-mv.From[1]); across > drillSideways || mv.Arc() {
		stop("drill-sideways", across, 0, "mm", fmt.Sprintf("a drill goes %.3f mm sideways in the material", across), "lift it, then go across")
		return
	}
	if at := [2]float64{mv.To[0], mv.To[1]}; at != s.holeAt {
		s.holeAt, s.holeLow, s.stroke = at, 0, 0
	}
	if mv.To[2] >= mv.From[2] {
		s.stroke = 0
		return
	}
	s.stroke += math.Max(0, deep-s.holeLow)
	s.holeLow = math.Max(s.holeLow, deep)
	if c.Peck > 0 && s.stroke > c.Peck*ratio+deepWarn {
		by := s.stroke
		s.add("peck-deep "+c.Name, by, i, c.Frame, func() diag.Finding {
			return diag.Finding{Code: "peck-deep", Severity: diag.Warn, Cut: c.Name, Help: "lift the drill more often, or use G83",
				Message: fmt.Sprintf("%s: drills %.2f mm without lifting, pecks of %.2f mm asked for", c.Name, by, c.Peck)}.With(by, c.Peck, "mm")
		})
	}
}

// mostFronts is at how many places of a program the front of a cutter is looked at:
// some 25 m of path of a cutter of 2 mm.
const mostFronts = 100_000

// thin tells whether a move that is faster than its cut asks for takes chips no
// thicker for it, since its front runs free.
func (s *sensor) thin(i int, mv *rs274.Move, most float64) bool {
	if s.fronts > mostFronts {
		return false
	}
	if s.fastAt != i-1 {
		s.skip = 0
	}
	s.fastAt = i
	enough := most / mv.Feed
	share, skip, places := s.p.share(s.k, i, s.skip, enough)
	s.skip = math.Max(0, skip)
	s.fronts += places
	return share <= enough
}

// descent checks how a move goes down.
func (s *sensor) descent(i int, mv *rs274.Move, c *work.Cut, deep float64, stop func(code string, by, limit float64, unit, message, help string)) {
	dz := mv.From[2] - mv.To[2]
	level := math.Hypot(mv.To[0]-mv.From[0], mv.To[1]-mv.From[1])
	if level >= 0.1 || mv.Arc() {
		s.sunk = 0
	}
	if dz <= 1e-9 && (level >= s.p.radiusOf(s.pr.toolOf(i))/2 || mv.Arc()) {
		s.steep = 0
	}
	u, e := s.p.w.Skin.Error(geom.EmptyBox().Extend(geom.Pt(mv.To[0], mv.To[1])))
	if dz <= 1e-9 || deep <= s.p.budgets[s.pr.toolOf(i)].depth(u, e) {
		return // not down, or down to the surface only
	}
	t := s.p.tools[s.pr.toolOf(i)].cutter
	l := mv.Length()
	across := math.Sqrt(math.Max(0, float64(l*l)-float64(dz*dz)))
	if across < 1e-6 { // straight down
		if !t.CentreCutting && !s.open(i, mv) {
			stop("plunge-not-centre-cutting", dz, 0, "mm", "plunges with a cutter that does not cut at its centre", "enter by a ramp or helix")
		}
		if c.Plunge > 0 && mv.Feed > c.Plunge*ratio {
			stop("plunge-fast", mv.Feed, c.Plunge, "mm/min", fmt.Sprintf("plunges at %.0f mm/min, the cut asks for %.0f", mv.Feed, c.Plunge), fmt.Sprintf("write F%.0f", c.Plunge))
		}
		return
	}
	if across < dz/10 {
		// A way down in stairs is a plunge too.
		if s.sunk += dz; !t.CentreCutting && s.sunk > 0.05 {
			stop("plunge-not-centre-cutting", s.sunk, 0, "mm", "plunges in stairs with a cutter that does not cut at its centre", "enter by a ramp or helix")
		}
	}
	if c.Plunge > 0 && mv.Feed*dz/l > c.Plunge*ratio {
		stop("plunge-fast", mv.Feed*dz/l, c.Plunge, "mm/min", fmt.Sprintf("goes down at %.0f mm/min, the cut asks for %.0f", mv.Feed*dz/l, c.Plunge), "lower F or ramp more gently")
	}
	slope := s.p.w.Skin.Slope(geom.EmptyBox().Extend(geom.Pt(mv.From[0], mv.From[1])).Extend(geom.Pt(mv.To[0], mv.To[1])))
	if s.p.flat {
		slope = 0
	}
	g := dz / across
	if !(c.Ramp > 0 && g > math.Tan(c.Ramp)*ratio+slope) {
		s.steep = 0
		return
	}
	// Going to and fro does not make a steep way gentle.
	if s.steep += dz; s.steep > math.Max(0, c.Depth-s.p.w.Thickness+c.Tabs.Height)*ratio {
		// A cutter that cuts at its centre only wears faster; another one presses
		// on what it cannot cut. The way down beside a tab is as short as the tab.
		sev := diag.Stop
		if t.CentreCutting {
			sev = diag.Warn
		}
		s.add("ramp-steep "+c.Name, g, i, c.Frame, func() diag.Finding {
			return diag.Finding{Code: "ramp-steep", Severity: sev, Cut: c.Name, Help: "ramp more gently",
				Message: fmt.Sprintf("%s: ramps at %.1f°, the cut asks for %.1f°", c.Name, math.Atan(g)*180/math.Pi, c.Ramp*180/math.Pi)}.With(math.Atan(g)*180/math.Pi, c.Ramp*180/math.Pi, "°")
		})
	}
}

// open tells whether a straight way down leads only through what was cut before
// at that very place.
func (s *sensor) open(i int, mv *rs274.Move) bool {
	return mv.To[2] >= s.p.bottom[s.k][i]-1e-9
}

func (s *sensor) events() {
	p := s.p
	turning := false
	for i := range s.pr.replay.Events {
		ev := &s.pr.replay.Events[i]
		at := func(f diag.Finding) {
			f.Subject = s.pr.src.File
			p.fault("sense", f.AtLine(s.pr.src.File, int(ev.Line), 0))
		}
		before := int(ev.Before)
		switch ev.Kind {
		case rs274.OffsetSet:
			if ev.Text == "G53" {
				if p.w.Origin == nil {
					at(diag.Finding{Code: "origin-unknown", Severity: diag.Stop, Message: "moves in machine coordinates (G53), but the job does not say where the program's zero lies",
						Help: "use program coordinates, or give the origin in the job"})
				} else if int(ev.Value)&4 != 0 && (len(p.tools) > 1 || s.lengthAt(before)) {
					at(diag.Finding{Code: "origin-unknown", Severity: diag.Stop, Message: "moves Z in machine coordinates (G53), where the tip of each cutter stands elsewhere",
						Help: "use program coordinates"})
				}
				continue
			}
			at(diag.Finding{Code: "offsets-changed", Severity: diag.Stop, Message: "the program changes where its coordinates are counted from: " + ev.Text,
				Help: "set the zero by touching, not in the program"})
		case rs274.ToolChange, rs274.Pause:
			if z, ok := s.heightBefore(before); ok && z < p.w.SafeZ-1e-6 {
				at(diag.Finding{Code: "change-low", Severity: diag.Stop, Message: fmt.Sprintf("pauses or changes the cutter at Z%.3f, below the safe height of %.3f mm", z, p.w.SafeZ), Help: "lift to safe height first"})
			}
			if turning {
				at(diag.Finding{Code: "pause-spinning", Severity: diag.Stop, Message: "pauses or changes the cutter while the spindle turns", Help: "write M5 before it"})
			}
			if before > 0 && s.deepAt(before-1) {
				at(diag.Finding{Code: "pause-in-material", Severity: diag.Stop, Message: "stops or changes the cutter in the material", Help: "lift to safe height first"})
			}
		case rs274.SpindleOn:
			turning = true
			if z, ok := s.heightBefore(before); ok && z < p.w.SafeZ-1e-6 {
				at(diag.Finding{Code: "spindle-low", Severity: diag.Stop, Message: fmt.Sprintf("starts the spindle at Z%.3f, below the safe height of %.3f mm", z, p.w.SafeZ), Help: "lift to safe height first"})
			}
		case rs274.SpindleOff:
			turning = false
			if before > 0 && s.deepAt(before-1) {
				at(diag.Finding{Code: "spindle-off", Severity: diag.Stop, Message: "stops the spindle in the material", Help: "lift to safe height first"})
			}
		case rs274.Dwell:
			if ev.Value > longDwell {
				at(diag.Finding{Code: "dwell-long", Severity: diag.Warn, Message: fmt.Sprintf("waits %.0f s: P of G4 is in seconds", ev.Value), Help: "correct P"}.With(ev.Value, longDwell, "s"))
			}
			if before > 0 && before < len(s.pr.replay.Moves) && ev.Value > 0 && s.deepAt(before-1) && p.verdicts[s.k][before-1].cut >= 0 {
				if c := &p.w.Cuts[p.verdicts[s.k][before-1].cut]; c.Kind != work.Drill {
					at(diag.Finding{Code: "dwell-in-material", Severity: diag.Warn, Cut: c.Name, Message: fmt.Sprintf("waits %.1f s in the cut, which heats the resin", ev.Value), Help: "lift before waiting"})
				}
			}
		}
	}
}

// lengthAt tells whether a length offset is in force at a move.
func (s *sensor) lengthAt(move int) bool {
	r := s.pr.replay
	return move < len(r.Moves) && r.States[r.Moves[move].State].LengthFrom > 0
}

// heightBefore returns where the tip stands in Z before a move; false when it has not moved yet.
func (s *sensor) heightBefore(move int) (float64, bool) {
	if move < 1 {
		return 0, false
	}
	return s.pr.replay.Moves[move-1].To[2], true
}

// deepAt tells whether the tip stands below the skin at the end of a move.
func (s *sensor) deepAt(i int) bool {
	q := s.pr.replay.Moves[i].To
	return s.p.w.Skin.Height(geom.Pt(q[0], q[1]))-q[2] > 0 && s.p.verdicts[s.k][i].cut >= 0
}

func (s *sensor) end() {
	r := s.pr.replay
	if !r.Ended {
		s.p.fault("sense", diag.Finding{Code: "end-missing", Severity: diag.Stop, Subject: s.pr.src.File,
			Message: "the program has no M2 or M30: its end may be lost", Help: "write it again"}.AtLine(s.pr.src.File, bytes.Count(s.pr.src.Text, []byte{'\n'})+1, 0))
	}
	if n := len(r.Moves); n > 0 {
		q := r.Moves[n-1].To
		if q[2] < s.p.w.SafeZ-1e-6 {
			s.add("end-not-retracted", s.p.w.SafeZ-q[2], n-1, s.p.w.Frame, func() diag.Finding {
				return diag.Finding{Code: "end-not-retracted", Severity: diag.Stop, Message: fmt.Sprintf("ends at Z%.3f, safe height is %.3f mm", q[2], s.p.w.SafeZ),
					Help: "lift to safe height before the end"}.With(q[2], s.p.w.SafeZ, "mm")
			})
		}
	} else {
		s.p.fault("sense", diag.Finding{Code: "program-empty", Severity: diag.Stop, Subject: s.pr.src.File, Message: "the program moves nothing", Help: "write it again"})
	}
}
