package rs274

import "math"

// compensation is cutter radius compensation (NISTIR 6556, Appendix B): the text
// holds the contour, the tip runs beside it. Convex corners get an arc of the
// cutter's radius, concave ones are an error (B.5, B.6).
type compensation struct {
	side   int8    // +1 left of the contour (G41), -1 right (G42), 0 off
	radius float64 // mm, not negative
	entry  bool    // no move yet since it was switched on
	at     [2]float64
}

// cornerSlack is how far a corner may be concave and still count as straight,
// rad, as in the report's own program.
const cornerSlack = 0.01

// on tells whether the contour point of the last move is known.
func (c *compensation) on() bool { return c.side != 0 && !c.entry }

// compensate carries out G40, G41 and G42 (3.5.10).
func (r *reader) compensate() bool {
	b := &r.b
	g, at := b.g[7], int(b.gpos[7])
	if g == 400 {
		r.comp = compensation{}
		r.state.Compensation = 0
		return true
	}
	if r.comp.side != 0 {
		return r.fail(ruleCompensation, at, "G%s while compensation is on", tenth(g))
	}
	if r.plane != XY {
		return r.fail(ruleCompensation, at, "G%s out of the XY plane", tenth(g))
	}
	index := r.state.Tool
	if b.has('D') {
		var ok bool
		if index, ok = r.slot('D', ruleCompensation); !ok {
			return false
		}
	}
	tool, known := r.opts.Tools[index]
	if !known || !finite(tool.Diameter) || math.Abs(tool.Diameter) > maxLength {
		return r.fail(ruleCompensationTool, at, "diameter of cutter %d is not known", index)
	}
	c := compensation{side: 1, radius: tool.Diameter / 2, entry: true}
	if g == 420 {
		c.side = -1
	}
	if c.radius < 0 { // thinner than the program was made for (B.4)
		c.side, c.radius = -c.side, -c.radius
	}
	r.comp = c
	r.state.Compensation = c.side
	return true
}

// compensationAllows reports what is not possible while compensation is on
// (B.5).
func (r *reader) compensationAllows(motion int16) bool {
	if r.comp.side == 0 {
		return true
	}
	b := &r.b
	g := func(group int) (int, bool) { return int(b.gpos[group]), b.gset&(1<<group) != 0 }
	if at, ok := g(0); ok && b.g[0] != 40 {
		return r.fail(ruleCompensation, at, "G%s while compensation is on", tenth(b.g[0]))
	}
	if at, ok := g(2); ok && b.g[2] != 170 {
		return r.fail(ruleCompensation, at, "G%s while compensation is on", tenth(b.g[2]))
	}
	for _, group := range [...]int{6, 12} {
		if at, ok := g(group); ok {
			return r.fail(ruleCompensation, at, "G%s while compensation is on", tenth(b.g[group]))
		}
	}
	if r.inverse && motion != noMotion {
		return r.fail(ruleCompensation, r.axisAt(), "cut under G93 while compensation is on")
	}
	if motion > 30 {
		return r.fail(ruleCompensation, r.axisAt(), "G%s while compensation is on", tenth(motion))
	}
	return true
}

// beside makes a straight move of the contour to the given point (B.6).
func (r *reader) beside(m Motion, to [3]float64) bool {
	c := &r.comp
	feed := 0.0
	if m == Feed || c.on() {
		var ok bool
		if feed, ok = r.feedFor(nil); !ok {
			return false
		}
	}
	if c.entry {
		dx, dy := r.cur[0]-to[0], r.cur[1]-to[1]
		d := math.Hypot(dx, dy)
		if d <= c.radius {
			return r.failWith(ruleCompensationGouge, r.axisAt(), d, c.radius, "mm", "entry move is no longer than the cutter's radius")
		}
		a := math.Atan2(dy, dx) - float64(float64(c.side)*math.Acos(c.radius/d))
		r.advance(m, to, a, feed)
		return true
	}
	dx, dy := to[0]-c.at[0], to[1]-c.at[1]
	if dx == 0 && dy == 0 {
		r.straightFeed(m, [3]float64{r.cur[0], r.cur[1], to[2]}, feed)
		return true
	}
	normal := math.Atan2(dy, dx) + float64(float64(c.side)*math.Pi/2)
	if !r.roundCorner(normal, feed) {
		return false
	}
	r.advance(m, to, normal, feed)
	return true
}

// advance moves the tip to a radius from a point of the contour, in the
// direction a.
func (r *reader) advance(m Motion, to [3]float64, a, feed float64) {
	c := &r.comp
	c.at, c.entry = [2]float64{to[0], to[1]}, false
	s, k := math.Sincos(a)
	r.straightFeed(m, [3]float64{to[0] + float64(c.radius*k), to[1] + float64(c.radius*s), to[2]}, feed)
}

func (r *reader) straightFeed(m Motion, to [3]float64, feed float64) {
	if m == Rapid {
		feed = 0
	}
	r.goTo(m, to, feed)
}

// roundCorner takes the tip round the contour point where it stands, until it
// stands in the direction normal from it. A concave corner is an error.
func (r *reader) roundCorner(normal, feed float64) bool {
	c := &r.comp
	if c.radius == 0 {
		return true
	}
	now := math.Atan2(r.cur[1]-c.at[1], r.cur[0]-c.at[0])
	// Left of the contour a convex corner turns the tip clockwise.
	turn := math.Remainder(float64(c.side)*(now-normal), 2*math.Pi)
	if turn < -cornerSlack {
		if turn < cornerSlack-math.Pi { // straight back, by rounding
			turn += 2 * math.Pi
		} else {
			return r.fail(ruleCompensationCorner, r.axisAt(), "concave corner of %.2f degrees", -turn*180/math.Pi)
		}
	}
	if turn <= cornerSlack {
		return true
	}
	s, k := math.Sincos(normal)
	m := Move{To: [3]float64{c.at[0] + float64(c.radius*k), c.at[1] + float64(c.radius*s), r.cur[2]},
		Center: c.at, Motion: ArcCW, Feed: feed}
	if c.side < 0 {
		m.Motion = ArcCCW
	}
	r.keepArc(&m)
	return true
}

// keepArc keeps an arc from where the tip stands.
func (r *reader) keepArc(m *Move) {
	m.From, m.Line, m.State, m.Plane = r.cur, r.line, r.stateIndex(), r.plane
	r.out.Moves = append(r.out.Moves, *m)
	r.cur = m.To
	r.budget--
}

// arcBeside makes the arc m of the contour, centre and sense known.
func (r *reader) arcBeside(m *Move) bool {
	c := &r.comp
	feed, ok := r.feedFor(nil)
	if !ok {
		return false
	}
	end := math.Hypot(m.To[0]-m.Center[0], m.To[1]-m.Center[1])
	// The tip runs nearer to the centre where the centre lies on its side.
	inside := (c.side > 0) == (m.Motion == ArcCCW)
	path := end + c.radius
	if inside {
		path = end - c.radius
	}
	if path <= 0 {
		return r.failWith(ruleCompensationGouge, r.offsetAt(), c.radius, end, "mm", "cutter's radius is not less than that of the arc")
	}
	from := [2]float64{r.cur[0], r.cur[1]}
	if !c.entry {
		from = c.at
		out := math.Atan2(from[1]-m.Center[1], from[0]-m.Center[0])
		if inside {
			out += math.Pi
		}
		if !r.roundCorner(out, feed) {
			return false
		}
	} else if d := math.Abs(math.Hypot(from[0]-m.Center[0], from[1]-m.Center[1]) - path); d > r.arcTolerance() {
		return r.failWith(ruleArcRadius, r.offsetAt(), d, r.arcTolerance(), "mm", "entry arc does not end beside its contour")
	}
	c.at, c.entry = [2]float64{m.To[0], m.To[1]}, false
	k := path / end
	if m.To[0] == from[0] && m.To[1] == from[1] { // full circle
		m.To[0], m.To[1] = r.cur[0], r.cur[1]
	} else {
		m.To[0] = m.Center[0] + float64(k*(m.To[0]-m.Center[0]))
		m.To[1] = m.Center[1] + float64(k*(m.To[1]-m.Center[1]))
	}
	m.Feed = feed
	r.keepArc(m)
	return true
}

// arcTolerance returns how far start and end radius may differ, mm (3.5.3.2).
func (r *reader) arcTolerance() float64 {
	switch {
	case r.opts.ArcTol > 0:
		return r.opts.ArcTol
	case r.state.Inch:
		return 0.0002 * inch
	}
	return 0.002
}
