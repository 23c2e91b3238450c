package rs274

import "math"

// peckBack is how far above the last peck a rapid returns in G83 (3.5.16.4 and
// the report's program: 0.010 inch).
const peckBack = 0.01 * inch

// cycle holds the words of a canned cycle that stay in force, in units of the
// program.
type cycle struct {
	motion     int16 // the cycle that set them, 0 none
	depth, r   float64
	p, q       float64
	i, j, k    float64
	hasP, hasQ bool
	hasOff     [3]bool
}

// runCycle carries out G81 to G89 in any plane (3.5.16).
func (r *reader) runCycle(g int16) bool {
	b := &r.b
	if r.inverse {
		return r.fail(ruleInverseTime, r.axisAt(), "canned cycle under G93")
	}
	if r.feed <= 0 {
		return r.fail(ruleFeed, r.axisAt(), "canned cycle with no feed")
	}
	_, _, across := r.plane.Axes()
	if !r.cycleWords(g, across) {
		return false
	}
	repeats := 1
	if b.has('L') {
		n, ok := whole(b.value('L'))
		if !ok || n < 1 {
			return r.failWith(ruleCycleValue, b.at('L'), b.value('L'), 1, "", "L is not a whole number from 1")
		}
		repeats = n
	}
	if !r.cycleSpindle(g) {
		return false
	}
	return r.repeat(g, across, repeats)
}

// cycleWords brings r.cycle up to date with the words of the line.
func (r *reader) cycleWords(g int16, across int) bool {
	b, c := &r.b, r.cycle
	if c.motion != g || r.mode != g {
		c = cycle{motion: g}
	}
	fresh := r.mode != g || r.cycle.motion != g
	depth := byte('X' + across)
	if b.has(depth) {
		c.depth = b.value(depth)
	} else if fresh {
		return r.fail(ruleCycleWord, r.axisAt(), "G%s without a %c word", tenth(g), depth)
	}
	if b.has('R') {
		c.r = b.value('R')
	} else if fresh {
		return r.fail(ruleCycleWord, r.axisAt(), "G%s without an R word", tenth(g))
	}
	switch g {
	case 820, 860, 880, 890:
		if b.has('P') {
			c.p, c.hasP = b.value('P'), true
		}
		if !c.hasP {
			return r.fail(ruleCycleWord, r.axisAt(), "G%s without a P word", tenth(g))
		}
		if c.p < 0 || c.p > maxRate {
			return r.failWith(ruleCycleValue, r.axisAt(), c.p, 0, "s", "P is not a time to wait")
		}
	case 830:
		if b.has('Q') {
			c.q, c.hasQ = b.value('Q'), true
		}
		if !c.hasQ {
			return r.fail(ruleCycleWord, r.axisAt(), "G83 without a Q word")
		}
		if c.q <= 0 {
			return r.failWith(ruleCycleValue, r.axisAt(), c.q, 0, "", "Q is not above 0")
		}
	case 870:
		for n, v := range [3]*float64{&c.i, &c.j, &c.k} {
			if l := byte('I' + n); b.has(l) {
				*v, c.hasOff[n] = b.value(l), true
			}
			if !c.hasOff[n] {
				return r.fail(ruleCycleWord, r.axisAt(), "G87 without %c", 'I'+n)
			}
		}
	}
	r.cycle = c
	return true
}

func (r *reader) cycleSpindle(g int16) bool {
	switch g {
	case 840:
		if r.state.Spindle != 1 {
			return r.fail(ruleCycleSpindle, r.axisAt(), "G84 while the spindle does not turn clockwise")
		}
	case 860, 870, 880:
		if r.state.Spindle == 0 {
			return r.fail(ruleCycleSpindle, r.axisAt(), "G%s while the spindle stands", tenth(g))
		}
	}
	return true
}

// repeat makes the preliminary and the repeated moves of a cycle.
func (r *reader) repeat(g int16, across, repeats int) bool {
	b := &r.b
	c := &r.cycle
	retreat, bottom := float64(c.r*r.unit), float64(c.depth*r.unit)
	at := r.target()
	var step [3]float64
	if r.state.Relative {
		retreat += r.cur[across]
		bottom += retreat
		for i := range step {
			if i != across && b.has(byte('X'+i)) {
				step[i] = float64(b.value(byte('X'+i)) * r.unit)
			}
		}
		at = r.cur
	}
	if retreat < bottom {
		return r.failWith(ruleCycleDepth, r.axisAt(), retreat, bottom, "mm", "R lies below the bottom of the hole")
	}
	if last := at[0] + float64(float64(repeats)*step[0]); outOfRange([3]float64{last, at[1] + float64(float64(repeats)*step[1]), at[2] + float64(float64(repeats)*step[2])}) ||
		outOfRange([3]float64{retreat, bottom, c.i * r.unit}) || outOfRange([3]float64{c.j * r.unit, c.k * r.unit, 0}) {
		return r.failWith(ruleRange, r.axisAt(), math.Abs(last), maxLength, "mm", "cycle leads too far out")
	}
	if each := r.movesOf(g, retreat-bottom); float64(repeats)*each > float64(r.budget) {
		return r.failWith(ruleTooManyMoves, r.axisAt(), float64(repeats)*each, float64(r.budget), "moves", "cycle makes too many moves")
	}
	old := r.cur[across]
	at[across] = old
	if old < retreat {
		r.along(Rapid, across, retreat)
		old = retreat
	}
	clear := old
	if r.retract != 980 {
		clear = retreat
		if r.retract == 0 && old != retreat {
			r.fail(ruleRetract, r.axisAt(), "cycle with neither G98 nor G99 said, started %.3f mm above R", old-retreat)
		}
	}
	for range repeats {
		for i := range at {
			at[i] += step[i]
		}
		at[across] = old
		r.rapidTo(at)
		r.along(Rapid, across, retreat)
		r.cycleMoves(g, across, retreat, clear, bottom)
		old = clear
	}
	return true
}

// movesOf returns how many moves one hole takes at most.
func (r *reader) movesOf(g int16, deep float64) float64 {
	if g == 830 {
		return 3*(deep/(r.cycle.q*r.unit)+1) + 4
	}
	return 12
}

// rapidTo makes a rapid unless the tip is there already.
func (r *reader) rapidTo(to [3]float64) {
	if to != r.cur {
		r.goTo(Rapid, to, 0)
	}
}

// along moves one axis, unless the tip is there already.
func (r *reader) along(m Motion, axis int, to float64) {
	p := r.cur
	p[axis] = to
	if p == r.cur {
		return
	}
	if m == Rapid {
		r.goTo(Rapid, p, 0)
		return
	}
	r.goTo(Feed, p, r.feed)
}

// turn sets the spindle within a cycle.
func (r *reader) turn(s int8) {
	r.state.Spindle, r.dirty = s, true
	if s == 0 {
		r.event(SpindleOff, 0, "")
		return
	}
	r.event(SpindleOn, float64(s)*r.state.RPM, "")
}

// cycleMoves makes the moves of one hole from the R plane down and back.
func (r *reader) cycleMoves(g int16, across int, retreat, clear, bottom float64) {
	c := &r.cycle
	sense := r.state.Spindle
	if g == 870 {
		r.backBore(across, retreat, clear, bottom)
		return
	}
	if g == 830 {
		delta := float64(c.q * r.unit)
		for n := 1.0; retreat-float64(n*delta) > bottom; n++ {
			r.along(Feed, across, retreat-float64(n*delta))
			r.along(Rapid, across, retreat)
			r.along(Rapid, across, math.Min(retreat-float64(n*delta)+peckBack, retreat))
		}
	}
	r.along(Feed, across, bottom)
	switch g {
	case 820, 860, 880, 890:
		r.event(Dwell, c.p, "")
	}
	switch g {
	case 840:
		r.turn(0)
		r.turn(-1)
		r.along(Feed, across, clear)
		r.turn(0)
		r.turn(1)
	case 850, 890:
		r.along(Feed, across, clear)
	case 860:
		r.turn(0)
		r.along(Rapid, across, clear)
		r.turn(sense)
	case 880: // the operator retracts by hand, straight up
		r.turn(0)
		r.event(Pause, 0, "G88: retract by hand")
		r.along(Rapid, across, clear)
		r.turn(sense)
	default:
		r.along(Rapid, across, clear)
	}
}

// backBore makes the moves of G87: beside the hole down, across, up to the
// middle while turning, and the same way back (3.5.16.8).
func (r *reader) backBore(across int, retreat, clear, bottom float64) {
	c := &r.cycle
	sense := r.state.Spindle
	off := [3]float64{float64(c.i * r.unit), float64(c.j * r.unit), float64(c.k * r.unit)}
	middle := off[across]
	if r.state.Relative {
		middle += bottom
	}
	off[across] = 0
	in := r.cur
	beside := in
	for i := range beside {
		beside[i] += off[i]
	}
	at := func(p [3]float64, h float64) [3]float64 {
		p[across] = h
		return p
	}
	r.rapidTo(at(beside, retreat))
	r.turn(0)
	r.rapidTo(at(beside, bottom))
	r.rapidTo(at(in, bottom))
	r.turn(sense)
	r.along(Feed, across, middle)
	r.along(Feed, across, bottom)
	r.turn(0)
	r.rapidTo(at(beside, bottom))
	r.rapidTo(at(beside, clear))
	r.rapidTo(at(in, clear))
	r.turn(sense)
}
