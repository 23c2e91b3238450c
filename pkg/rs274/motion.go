package rs274

import "math"

// target returns where the axis words lead, in program coordinates.
func (r *reader) target() [3]float64 {
	b := &r.b
	from := r.cur
	if r.comp.on() {
		from[0], from[1] = r.comp.at[0], r.comp.at[1]
	}
	to := from
	for i := range to {
		if b.words&(1<<(23+i)) == 0 {
			continue
		}
		v := float64(b.val[23+i] * r.unit)
		if r.state.Relative {
			v += from[i]
		}
		to[i] = v
	}
	return to
}

// motion carries out item 20 of Table 8.
func (r *reader) motion(g int16) bool {
	to := r.target()
	if r.b.gset&1 != 0 && r.b.g[0] == 530 {
		to = r.machineTarget()
		r.event(OffsetSet, float64(r.b.words>>23&7), "G53")
	}
	if outOfRange(to) {
		return r.failWith(ruleRange, r.axisAt(), maxOf(to), maxLength, "mm", "point is too far out")
	}
	if r.comp.side != 0 && g <= 10 {
		return r.beside(Motion(g/10), to)
	}
	switch g {
	case 0:
		r.goTo(Rapid, to, 0)
		return true
	case 10:
		m := Move{From: r.cur, To: to}
		f, ok := r.feedFor(&m)
		if !ok {
			return false
		}
		r.goTo(Feed, to, f)
		return true
	case 20, 30:
		return r.arc(g, to)
	case 382:
		return r.probe(to)
	}
	return r.runCycle(g)
}

// machineTarget returns where the axis words lead under G53: machine
// coordinates, absolute whatever the distance mode (3.5.12).
func (r *reader) machineTarget() [3]float64 {
	to := r.cur
	m := r.toProgram([3]float64{})
	for i := range to {
		if c := byte('X' + i); r.b.has(c) {
			to[i] = float64(r.b.value(c)*r.unit) + m[i]
		}
	}
	return to
}

func maxOf(p [3]float64) float64 {
	return math.Max(math.Abs(p[0]), math.Max(math.Abs(p[1]), math.Abs(p[2])))
}

// feedFor returns the feed of a cut in mm/min. Under G93 the line has its own F
// and the move m takes 1/F minutes (3.5.19); else m is not used.
func (r *reader) feedFor(m *Move) (float64, bool) {
	if !r.inverse {
		if r.feed <= 0 {
			return 0, r.fail(ruleFeed, r.axisAt(), "cut with no feed")
		}
		return r.feed, true
	}
	if !r.b.has('F') || r.b.value('F') <= 0 {
		return 0, r.fail(ruleInverseTime, r.axisAt(), "cut under G93 with no F above 0")
	}
	if !r.state.FeedSaid {
		r.state.FeedSaid, r.dirty = true, true
	}
	f := m.Length() * r.b.value('F')
	if f > maxRate {
		return 0, r.failWith(ruleRange, r.b.at('F'), f, maxRate, "mm/min", "feed is too large")
	}
	return f, true
}

// probe carries out G38.2. The move goes all the way; where it really stops is
// known on the machine only.
func (r *reader) probe(to [3]float64) bool {
	if r.inverse {
		return r.fail(ruleInverseTime, r.axisAt(), "G38.2 under G93")
	}
	m := Move{From: r.cur, To: to}
	if d := m.Length(); d < 0.01*inch-1e-9 {
		return r.failWith(ruleProbe, r.axisAt(), d, 0.01*inch, "mm", "probe moves %.4f mm", d)
	}
	f, ok := r.feedFor(&m)
	if !ok {
		return false
	}
	r.goTo(Probe, to, f)
	r.probed = true
	return true
}

// arc carries out G2 and G3.
func (r *reader) arc(g int16, to [3]float64) bool {
	b := &r.b
	m := Move{From: r.cur, To: to, Motion: ArcCW, Plane: r.plane}
	if r.comp.on() {
		m.From[0], m.From[1] = r.comp.at[0], r.comp.at[1]
	}
	if g == 30 {
		m.Motion = ArcCCW
	}
	a, c, across := r.plane.Axes()
	if b.words&(1<<(23+a)|1<<(23+c)) == 0 {
		return r.fail(ruleArcFormat, r.axisAt(), "arc without a word of its plane")
	}
	offsets := b.words & offsetBits
	switch {
	case b.has('R') && offsets != 0:
		return r.fail(ruleArcFormat, b.at('R'), "arc with both R and offsets")
	case b.has('R') && r.comp.entry:
		return r.fail(ruleCompensationTool, b.at('R'), "arc with R as the entry move of compensation")
	case b.has('R'):
		if !r.centreFromRadius(&m, a, c) {
			return false
		}
	case b.words&(1<<(8+across)) != 0:
		return r.fail(ruleArcFormat, int(b.pos[8+across]), "%c word in an arc of another plane", 'I'+across)
	case offsets == 0:
		return r.fail(ruleArcFormat, r.axisAt(), "arc with neither R nor offsets")
	default:
		if !r.centreFromOffsets(&m, a, c) {
			return false
		}
	}
	if r.comp.side != 0 {
		return r.arcBeside(&m)
	}
	f, ok := r.feedFor(&m)
	if !ok {
		return false
	}
	m.Feed = f
	r.keepArc(&m)
	return true
}

// centreFromOffsets finds the centre from I, J, K: always from the start of the
// arc, under G90 too (3.5.3.2).
func (r *reader) centreFromOffsets(m *Move, a, c int) bool {
	b := &r.b
	for i, ax := range [2]int{a, c} {
		m.Center[i] = m.From[ax]
		if b.words&(1<<(8+ax)) != 0 {
			m.Center[i] += float64(b.val[8+ax] * r.unit)
		}
	}
	at := r.offsetAt()
	r0 := math.Hypot(m.From[a]-m.Center[0], m.From[c]-m.Center[1])
	r1 := math.Hypot(m.To[a]-m.Center[0], m.To[c]-m.Center[1])
	if r0 > maxLength {
		return r.failWith(ruleRange, at, r0, maxLength, "mm", "radius is too large")
	}
	tol := r.arcTolerance()
	if d := math.Abs(r1 - r0); d > tol && !r.comp.entry {
		return r.failWith(ruleArcRadius, at, d, tol, "mm",
			"arc starts %.4f mm and ends %.4f mm from its centre", r0, r1)
	}
	if r0 == 0 || r1 == 0 {
		return r.failWith(ruleArcRadius, at, 0, 0, "mm", "arc has no radius")
	}
	return r.unambiguous(m, a, c, at)
}

func (r *reader) offsetAt() int {
	for c := byte('I'); c <= 'K'; c++ {
		if r.b.has(c) {
			return r.b.at(c)
		}
	}
	return r.start
}

// unambiguous refuses ends that are the same but for rounding: one way of
// reckoning gives a full circle, another next to nothing.
func (r *reader) unambiguous(m *Move, a, c, at int) bool {
	d := math.Hypot(m.To[a]-m.From[a], m.To[c]-m.From[c])
	if d == 0 || d >= 1e-6 {
		return true
	}
	return r.failWith(ruleArcAmbiguous, at, d, 1e-6, "mm", "arc ends %.2g mm from its start", d)
}

// centreFromRadius finds the centre from R: up to half a turn when it is
// positive, more when negative (3.5.3.1).
func (r *reader) centreFromRadius(m *Move, a, c int) bool {
	at := r.b.at('R')
	rad := float64(r.b.value('R') * r.unit)
	dx, dy := m.To[a]-m.From[a], m.To[c]-m.From[c]
	chord := math.Hypot(dx, dy)
	if chord < 1e-6 {
		return r.failWith(ruleArcReach, at, chord, 0, "mm", "arc with R ends where it starts")
	}
	if math.Abs(rad) > maxLength {
		return r.failWith(ruleRange, at, rad, maxLength, "mm", "radius is too large")
	}
	half := chord / 2
	h2 := float64(rad*rad) - float64(half*half)
	if h2 < 0 {
		if half-math.Abs(rad) > 1e-9*half {
			return r.failWith(ruleArcReach, at, math.Abs(rad), half, "mm",
				"R %.4f mm does not reach an end %.4f mm away", rad, chord)
		}
		h2 = 0
	}
	h := math.Sqrt(h2) / chord
	// The centre lies left of the chord for a counter-clockwise arc of up to
	// half a turn; each of the two conditions turned round moves it across.
	if (m.Motion == ArcCW) != (rad < 0) {
		h = -h
	}
	m.Center[0] = m.From[a] + dx/2 - float64(h*dy)
	m.Center[1] = m.From[c] + dy/2 + float64(h*dx)
	return true
}
