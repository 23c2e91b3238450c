package rs274

import "math"

const (
	axisBits   = 1<<('X'-'A') | 1<<('Y'-'A') | 1<<('Z'-'A')
	rotaryBits = 1<<0 | 1<<1 | 1<<2
	offsetBits = 1<<('I'-'A') | 1<<('J'-'A') | 1<<('K'-'A')
	// plainBits are used by every motion.
	plainBits = axisBits | 1<<('F'-'A')
	noMotion  = -1
	// firstOffset is the first of the parameters that hold where the machine's
	// coordinates lie (Table 2).
	firstOffset = 5161
)

// execute carries out the line in r.b, in the order of Table 8.
func (r *reader) execute() {
	b := &r.b
	for _, s := range b.sets {
		v := s.value
		if isLength(s.index) {
			v *= r.unit
		}
		r.params[s.index] = v
		if s.index >= firstOffset { // at the latest M2 takes it over (3.6.1)
			r.event(OffsetSet, float64(s.index), "#"+trim(float64(s.index)))
		}
	}
	if b.comment {
		r.comments()
	}
	if !b.any {
		return
	}
	motion, ok := r.motionOf()
	if !ok || !r.wordsUsed(motion) || !r.valuesRight() || !r.compensationAllows(motion) {
		return
	}
	ok = r.carryOut(motion)
	if b.gset&(1<<1) != 0 {
		r.mode = b.g[1]
	}
	if motion != noMotion && !ok {
		// Mode and place hold after a fault, lest the lines behind it are blamed.
		if to := r.target(); !outOfRange(to) {
			r.cur = to
		}
	}
	if ok && b.mset&(1<<4) != 0 {
		r.stop()
	}
}

// carryOut carries out items 2 to 20 of Table 8.
func (r *reader) carryOut(motion int16) bool {
	b := &r.b
	if b.gset&^(1<<1) != 0 || b.mset != 0 || b.words&(bit('S')|bit('T')) != 0 {
		if !r.before(motion) {
			return false
		}
	} else if b.has('F') {
		r.setFeed()
	}
	return motion == noMotion || r.motion(motion)
}

// motionOf returns ten times the G word of the motion that this line makes,
// noMotion for none.
func (r *reader) motionOf() (int16, bool) {
	b := &r.b
	axes := b.words & axisBits
	if b.words&rotaryBits != 0 {
		for c := byte('A'); c <= 'C'; c++ {
			if b.has(c) {
				return 0, r.fail(ruleRotary, b.at(c), "%c word: rotary axes are not accepted", c)
			}
		}
	}
	user := b.gset&1 != 0 && (b.g[0] == 100 || b.g[0] == 280 || b.g[0] == 300 || b.g[0] == 920)
	if b.gset&(1<<1) == 0 {
		if axes == 0 || user {
			return noMotion, true
		}
		if r.mode == 800 {
			return 0, r.fail(ruleAxisUnused, r.axisAt(), "axis word with no motion in force")
		}
		return r.mode, true
	}
	g := b.g[1]
	switch {
	case g == 800 && axes != 0 && !user:
		return 0, r.fail(ruleAxisUnused, r.axisAt(), "axis word with G80")
	case g == 800:
		return noMotion, true
	case user:
		return 0, r.fail(ruleAxisTwice, int(b.gpos[0]), "G%s and G%s both use axis words", tenth(b.g[0]), tenth(g))
	case axes == 0:
		return 0, r.fail(ruleAxisMissing, int(b.gpos[1]), "G%s without an axis word", tenth(g))
	}
	return g, true
}

// axisAt returns the offset of the first of X, Y, Z that is there.
func (r *reader) axisAt() int {
	for c := byte('X'); c <= 'Z'; c++ {
		if r.b.has(c) {
			return r.b.at(c)
		}
	}
	return r.start
}

func tenth(g int16) string { return trim(float64(g) / 10) }

// wordsUsed reports words that nothing on the line uses.
func (r *reader) wordsUsed(motion int16) bool {
	b := &r.b
	rest := b.words &^ (plainBits | bit('S') | bit('T'))
	if b.mset&(1<<auxGroup) != 0 && !r.auxKnown() {
		return r.fail(ruleMCode, int(b.mpos[auxGroup]), "M%d is not a word of this controller as it stands", b.m[auxGroup])
	}
	if rest == 0 {
		return true
	}
	var used uint32
	switch {
	case motion == 20 || motion == 30:
		used = offsetBits | bit('R')
	case motion >= 810:
		used = bit('R') | bit('L')
		switch motion {
		case 820, 860, 880, 890:
			used |= bit('P')
		case 830:
			used |= bit('Q')
		case 870:
			used |= offsetBits
		}
	}
	if b.gset&1 != 0 && b.g[0] == 40 {
		used |= bit('P')
	}
	if b.gset&1 != 0 && b.g[0] == 100 {
		used |= bit('P') | bit('L')
	}
	if b.gset&(1<<13) != 0 && b.g[13] == 640 {
		used |= bit('P')
	}
	if b.gset&(1<<7) != 0 && b.g[7] != 400 {
		used |= bit('D')
	}
	if b.gset&(1<<8) != 0 && b.g[8] == 430 {
		used |= bit('H')
	}
	if b.mset&(1<<auxGroup) != 0 {
		used |= bit('P') | bit('Q')
	}
	if rest &^= used; rest == 0 {
		return true
	}
	for i := range byte(26) {
		if rest&(1<<i) != 0 {
			return r.fail(ruleWordUnused, int(b.pos[i]), "%c word that nothing on the line uses", 'A'+i)
		}
	}
	return true
}

// auxKnown tells whether the controller's own M word of the line stands there with
// the P and Q that its profile gives.
func (r *reader) auxKnown() bool {
	b := &r.b
	value := func(letter byte) float64 {
		if b.has(letter) {
			return b.value(letter)
		}
		return math.NaN()
	}
	same := func(x, y float64) bool { return x == y || math.IsNaN(x) && math.IsNaN(y) }
	p, q := value('P'), value('Q')
	for _, w := range r.auxWords {
		if w.m == int(b.m[auxGroup]) && same(w.p, p) && same(w.q, q) {
			return true
		}
	}
	return false
}

// valuesRight holds F, S and T against their ranges.
func (r *reader) valuesRight() bool {
	b := &r.b
	if b.words&(bit('F')|bit('S')|bit('T')) == 0 {
		return true
	}
	if b.has('F') {
		if v := b.value('F'); v < 0 {
			return r.failWith(ruleFeed, b.at('F'), v, 0, "", "F word is negative")
		} else if v > maxRate {
			return r.failWith(ruleRange, b.at('F'), v, maxRate, "mm/min", "F word is too large")
		}
	}
	if b.has('S') {
		if v := b.value('S'); v < 0 {
			return r.failWith(ruleSpeed, b.at('S'), v, 0, "rpm", "S word is negative")
		} else if v > maxRate {
			return r.failWith(ruleRange, b.at('S'), v, maxRate, "rpm", "S word is too large")
		}
	}
	if b.has('T') {
		if _, ok := r.slot('T', ruleIndex); !ok {
			return false
		}
	}
	return true
}

// slot returns the value of an index word, T or H.
func (r *reader) slot(letter byte, k rule) (int, bool) {
	v := r.b.value(letter)
	n, ok := whole(v)
	if !ok || n < 0 || n > r.slots {
		return 0, r.failWith(k, r.b.at(letter), v, float64(r.slots), "",
			"%c%s is not a whole number from 0 to %d", letter, trim(v), r.slots)
	}
	return n, true
}

// setFeed carries out an F word; under G93 the motion does.
func (r *reader) setFeed() {
	if !r.inverse {
		r.feed = r.b.value('F') * r.unit
		if !r.state.FeedSaid {
			r.state.FeedSaid, r.dirty = true, true
		}
	}
}

// before carries out what comes before motion: items 2 to 19 of Table 8.
func (r *reader) before(motion int16) bool {
	b := &r.b
	was := r.state
	if b.gset&(1<<5) != 0 {
		r.feedMode(b.g[5] == 930)
	}
	if b.has('F') {
		r.setFeed()
	}
	if b.has('S') {
		r.state.RPM = b.value('S')
	}
	if b.has('T') {
		r.state.Selected, _ = whole(b.value('T'))
	}
	r.auxiliary()
	if b.gset&1 != 0 && b.g[0] == 40 && !r.dwell() {
		return false
	}
	r.modes()
	if b.gset&(1<<7) != 0 && !r.compensate() {
		return false
	}
	if !r.lengthOffset() {
		return false
	}
	r.system()
	if !r.pathMode() {
		return false
	}
	if b.gset&(1<<3) != 0 {
		r.state.Relative, r.state.DistSaid = b.g[3] == 910, true
	}
	if b.gset&(1<<10) != 0 {
		r.retract = b.g[10]
	}
	if r.state != was {
		r.dirty = true
	}
	if b.gset&1 != 0 {
		return r.nonModal(motion)
	}
	return true
}

// feedMode carries out G93 and G94. A feed of the other mode is forgotten.
func (r *reader) feedMode(inverse bool) {
	if r.inverse != inverse {
		r.feed = 0
	}
	r.inverse = inverse
}

// auxiliary carries out M6, M3 to M5, M7 to M9, M48 and M49.
func (r *reader) auxiliary() {
	b, s := &r.b, &r.state
	if b.mset&(1<<6) != 0 {
		s.Tool, s.Spindle = s.Selected, 0
		r.event(ToolChange, float64(s.Tool), "")
	}
	if b.mset&(1<<7) != 0 {
		switch b.m[7] {
		case 3:
			s.Spindle = 1
			r.event(SpindleOn, s.RPM, "")
		case 4:
			s.Spindle = -1
			r.event(SpindleOn, -s.RPM, "")
		default:
			s.Spindle = 0
			r.event(SpindleOff, 0, "")
		}
	}
	if b.mset&(1<<8) != 0 {
		switch b.m[8] {
		case 7:
			s.Mist = true
		case 8:
			s.Flood = true
		default:
			s.Mist, s.Flood = false, false
		}
	}
	if b.mset&(1<<9) != 0 {
		s.Overrides = b.m[9] == 48
	}
}

func (r *reader) dwell() bool {
	b := &r.b
	if !b.has('P') {
		return r.fail(ruleDwell, int(b.gpos[0]), "G4 without a P word")
	}
	v := b.value('P')
	if v < 0 {
		return r.failWith(ruleDwell, b.at('P'), v, 0, "s", "dwell is negative")
	}
	if v > maxRate {
		return r.failWith(ruleRange, b.at('P'), v, maxRate, "s", "dwell is too long")
	}
	r.event(Dwell, v, "")
	return true
}

// modes carries out the plane and the units.
func (r *reader) modes() {
	b := &r.b
	if b.gset&(1<<2) != 0 {
		p := Plane((b.g[2] - 170) / 10)
		if p != r.plane {
			r.cycle = cycle{} // its words belong to the other axis
		}
		r.plane, r.state.PlaneSaid = p, true
	}
	if b.gset&(1<<6) != 0 {
		if b.has('F') && !r.inverse {
			r.fail(ruleFeedUnits, b.at('F'), "F on the line of G%s is taken in the units that were in force before", tenth(b.g[6]))
		}
		inches := b.g[6] == 200
		if inches != r.state.Inch {
			r.cycle = cycle{} // its words were of the other unit
		}
		r.state.Inch, r.state.UnitsSaid = inches, true
		r.unit = 1
		if inches {
			r.unit = inch
		}
	}
}

// lengthOffset carries out G43 and G49: the tip stays where it is and its
// coordinate changes.
func (r *reader) lengthOffset() bool {
	b := &r.b
	if b.gset&(1<<8) == 0 {
		return true
	}
	h := 0
	if b.g[8] == 430 {
		if !b.has('H') {
			return r.fail(ruleLengthIndex, int(b.gpos[8]), "G43 without an H word")
		}
		var ok bool
		if h, ok = r.slot('H', ruleLengthIndex); !ok {
			return false
		}
	}
	l := 0.0
	if t, ok := r.opts.Tools[h]; ok && h > 0 && finite(t.Length) {
		l = t.Length
	}
	r.cur[2] += r.length - l
	r.length, r.state.LengthFrom = l, h
	r.event(LengthSet, float64(h), "")
	return true
}

func (r *reader) pathMode() bool {
	b, s := &r.b, &r.state
	if b.gset&(1<<13) == 0 {
		return true
	}
	s.BlendTol = 0
	switch b.g[13] {
	case 610:
		s.PathMode = "G61"
	case 611:
		s.PathMode = "G61.1"
	default:
		s.PathMode = "G64"
		if b.has('P') {
			if v := b.value('P'); v < 0 || v > maxLength {
				return r.failWith(ruleRange, b.at('P'), v, 0, "", "P of G64 is not a tolerance")
			}
			s.BlendTol = b.value('P') * r.unit
		}
	}
	return true
}

// stop carries out M0, M1, M2, M30 and M60.
func (r *reader) stop() {
	switch m := r.b.m[4]; m {
	case 2, 30:
		r.event(End, float64(m), "")
		r.out.Ended = true
	default:
		r.event(Pause, float64(m), "")
	}
}
