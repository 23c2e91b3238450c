package rs274

// rebase changes the offsets from machine to program coordinates; the tip stays
// where it is and its coordinates change.
func (r *reader) rebase(origin, shift [3]float64) {
	for i := range r.cur {
		r.cur[i] += r.origin[i] + r.shift[i] - origin[i] - shift[i]
	}
	r.origin, r.shift = origin, shift
}

// toProgram turns machine coordinates into program coordinates.
func (r *reader) toProgram(p [3]float64) [3]float64 {
	for i := range p {
		p[i] -= r.origin[i] + r.shift[i]
	}
	p[2] -= r.length
	return p
}

// system carries out G54 to G59.3.
func (r *reader) system() {
	b := &r.b
	if b.gset&(1<<12) == 0 {
		return
	}
	n := int(b.g[12]-540)/10 + 1
	if b.g[12] > 590 {
		n = int(b.g[12]-590) + 6
	}
	origin := r.stored(5201 + 20*n)
	changed := n != r.state.System || origin != r.origin
	r.rebase(origin, r.shift)
	r.state.System = n
	r.params[5220] = float64(n)
	if changed {
		r.event(OffsetSet, float64(n), "G"+tenth(b.g[12]))
	}
}

// nonModal carries out G10, G28, G30, G53 and the G92 family.
func (r *reader) nonModal(motion int16) bool {
	b := &r.b
	switch b.g[0] {
	case 100:
		return r.setSystem()
	case 280:
		return r.home(5161)
	case 300:
		return r.home(5181)
	case 530:
		if motion != 0 && motion != 10 {
			return r.fail(ruleMachineMove, int(b.gpos[0]), "G53 without a straight motion")
		}
	case 920:
		return r.shiftHere()
	case 921:
		r.store(5211, [3]float64{})
		r.rebase(r.origin, [3]float64{})
		r.event(OffsetSet, 0, "G92.1")
	case 922:
		r.rebase(r.origin, [3]float64{})
		r.event(OffsetSet, 0, "G92.2")
	case 923:
		r.rebase(r.origin, r.stored(5211))
		r.event(OffsetSet, 0, "G92.3")
	}
	return true
}

// setSystem carries out G10 L2 (3.5.5).
func (r *reader) setSystem() bool {
	b := &r.b
	l, okL := whole(b.value('L'))
	if !b.has('L') || !okL || l != 2 {
		return r.fail(ruleOffset, int(b.gpos[0]), "G10 without L2")
	}
	n, okP := whole(b.value('P'))
	if !b.has('P') || !okP || n < 1 || n > 9 {
		return r.fail(ruleOffset, int(b.gpos[0]), "G10 L2 without a P word from 1 to 9")
	}
	at := 5201 + 20*n
	o := r.stored(at)
	for i := range o {
		if c := byte('X' + i); b.has(c) {
			o[i] = b.value(c) * r.unit
		}
	}
	if outOfRange(o) {
		return r.failWith(ruleRange, int(b.gpos[0]), maxOf(o), maxLength, "mm", "offset is too large")
	}
	r.store(at, o)
	if n == r.state.System {
		r.rebase(o, r.shift)
	}
	r.event(OffsetSet, float64(n), "G10")
	return true
}

// shiftHere carries out G92: the tip's coordinates become those given (3.5.18).
func (r *reader) shiftHere() bool {
	b := &r.b
	if b.words&axisBits == 0 {
		return r.fail(ruleOffset, int(b.gpos[0]), "G92 without an axis word")
	}
	s := r.shift
	for i := range s {
		if c := byte('X' + i); b.has(c) {
			s[i] += r.cur[i] - float64(b.value(c)*r.unit)
		}
	}
	if outOfRange(s) {
		return r.failWith(ruleRange, int(b.gpos[0]), maxOf(s), maxLength, "mm", "offset is too large")
	}
	r.rebase(r.origin, s)
	r.store(5211, s)
	r.event(OffsetSet, 0, "G92")
	return true
}

// home carries out G28 and G30: by way of the point given, if one is, to the
// point that the parameters from n on hold in machine coordinates (3.5.8).
func (r *reader) home(n int) bool {
	b := &r.b
	if b.words&axisBits != 0 {
		to := r.target()
		if outOfRange(to) {
			return r.failWith(ruleRange, r.axisAt(), maxOf(to), maxLength, "mm", "point is too far out")
		}
		r.goTo(Rapid, to, 0)
	}
	r.event(OffsetSet, 0, "G"+tenth(b.g[0]))
	to := r.toProgram(r.stored(n))
	if outOfRange(to) {
		return r.failWith(ruleRange, int(b.gpos[0]), maxOf(to), maxLength, "mm", "point is too far out")
	}
	r.goTo(Rapid, to, 0)
	return true
}
