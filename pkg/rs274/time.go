package rs274

import (
	"math"

	"sparclear/pkg/shop"
)

// Times tells how long a program takes and where.
type Times struct {
	Low, High float64   // s, the whole program
	Feed      float64   // s, cutting, in the slow case
	Rapid     float64   // s, rapids, in the slow case
	Wait      float64   // s, dwells and spindle starts, in both
	Stops     int       // pauses and cutter changes by hand, not in the times
	Moves     []float32 // s, each move in the slow case
	Quick     []float32 // s, each move in the quick case; length over time is the feed that is reached
}

// junction is how far a controller is taken to stray from a corner when its
// profile does not say, mm, for the fast case.
const junction = 0.01

// changeTime is what a cutter changer takes, s; common practice, no source.
const changeTime = 10

// Time returns how long a program takes on a machine, s: low with corners taken
// at the speed that the controller's path mode allows, high with a stop after
// each block. Both follow the trapezoid of speed that the acceleration allows, its
// corners rounded where the machine gives a limit of its jerk. Pauses wait for the
// operator and are not counted. An empty program takes no time.
func Time(r *Replay, m shop.Machine) (low, high float64) {
	t := TimesOf(r, m)
	return t.Low, t.High
}

// TimesOf returns how long a program takes on a machine, and each move. Speeds
// and accelerations that the machine does not give (0) do not limit. Linear in
// the number of moves.
//
// Method: for each block the speed is the smallest of the feed, each axis's own
// limit along the path and √(a·R) on arcs; junctions are taken at √(a·R) of a
// circle that touches both legs and passes the corner at the blending distance;
// a backward and a forward sweep keep v² from changing by more than 2·a·L.
// Figures: Biagiotti, Melchiorri, Trajectory Planning for Automatic Machines and
// Robots, Springer 2008, chapter 3.
func TimesOf(r *Replay, m shop.Machine) Times {
	t := Times{Moves: make([]float32, len(r.Moves)), Quick: make([]float32, len(r.Moves))}
	legs := make([]leg, len(r.Moves))
	v2 := corners(r, m, legs)
	for i, l := range legs {
		s := l.stretch(0, 0)
		t.Moves[i] = float32(s)
		if r.Moves[i].Motion == Rapid {
			t.Rapid += s
		} else {
			t.Feed += s
		}
	}
	t.Wait, t.Stops = waits(r, m)
	t.High = t.Feed + t.Rapid + t.Wait
	t.Low = fluent(legs, v2, t.Quick) + t.Wait
	return t
}

// leg is one move as the drive sees it, mm and s.
type leg struct {
	length, speed, accel float64
	jerk                 float64 // mm/s³, 0 unlimited
}

// heading holds the unit tangents at both ends of a move. It is kept from one
// corner to the next alone, not for every move of a long program.
type heading struct{ start, end [3]float64 }

// legOf works out speed and acceleration along a move, and where it heads.
func legOf(m *Move, mc shop.Machine) (leg, heading) {
	var h heading
	l := leg{length: m.Length(), accel: math.Inf(1), speed: math.Inf(1)}
	if l.length == 0 {
		return l, h
	}
	speeds := [3]float64{mc.FeedXY, mc.FeedXY, mc.FeedZ}
	if m.Motion == Rapid {
		speeds = [3]float64{mc.RapidXY, mc.RapidXY, mc.RapidZ}
	} else {
		l.speed = m.Feed / 60
	}
	accels := [3]float64{mc.Accel, mc.Accel, mc.AccelZ}
	part := h.along(m, l.length)
	for i, p := range part {
		if p == 0 {
			continue
		}
		if speeds[i] > 0 {
			l.speed = math.Min(l.speed, speeds[i]/60/p)
		}
		if accels[i] > 0 {
			l.accel = math.Min(l.accel, accels[i]/p)
		}
		if j := mc.Jerk / p; mc.Jerk > 0 && (l.jerk == 0 || j < l.jerk) {
			l.jerk = j
		}
	}
	if m.Arc() && mc.Accel > 0 {
		// Toward the centre the drive may use all of its acceleration; the speed
		// around is that along the helix times its level part.
		a, b, c := m.Plane.Axes()
		across := math.Abs(m.To[c]-m.From[c]) / l.length
		level := math.Sqrt(math.Max(0, 1-float64(across*across)))
		acc := math.Min(limitOf(accels[a]), limitOf(accels[b]))
		if level > 0 && !math.IsInf(acc, 1) {
			l.speed = math.Min(l.speed, math.Sqrt(acc*m.Radius())/level)
		}
	}
	return l, h
}

func limitOf(v float64) float64 {
	if v > 0 {
		return v
	}
	return math.Inf(1)
}

// along sets the directions at both ends of a move of that length and returns the
// largest part of each axis in the direction along the way.
func (h *heading) along(m *Move, length float64) [3]float64 {
	var part [3]float64
	if !m.Arc() {
		for i := range part {
			d := (m.To[i] - m.From[i]) / length
			h.start[i], h.end[i], part[i] = d, d, math.Abs(d)
		}
		return part
	}
	a, b, c := m.Plane.Axes()
	sense := 1.0
	if m.Motion == ArcCW {
		sense = -1
	}
	across := (m.To[c] - m.From[c]) / length
	level := math.Sqrt(math.Max(0, 1-float64(across*across)))
	for _, e := range [2]struct {
		at  *[3]float64
		dir *[3]float64
	}{{&m.From, &h.start}, {&m.To, &h.end}} {
		ux, uy := e.at[a]-m.Center[0], e.at[b]-m.Center[1]
		if r := math.Hypot(ux, uy); r > 0 {
			e.dir[a], e.dir[b] = -sense*uy/r*level, sense*ux/r*level
		}
		e.dir[c] = across
	}
	// Somewhere along most arcs the path runs along each of the two axes; taking
	// that for all keeps the time on the long side.
	part[a], part[b], part[c] = level, level, math.Abs(across)
	return part
}

// ramp returns the time in s that a change of speed from v0 to v1 mm/s takes: with
// the acceleration alone, or up to it and down again by the jerk (Biagiotti,
// Melchiorri, section 3.4, double S).
func (l *leg) ramp(v0, v1 float64) float64 {
	dv := math.Abs(v1 - v0)
	switch {
	case dv == 0 || math.IsInf(l.accel, 1) && l.jerk == 0:
		return 0
	case l.jerk == 0:
		return dv / l.accel
	case float64(dv*l.jerk) < float64(l.accel*l.accel):
		return 2 * math.Sqrt(dv/l.jerk)
	}
	return dv/l.accel + l.accel/l.jerk
}

// over returns the length in mm on which the speed changes from v0 to v1: the
// change is symmetric in time, so that the mean of both holds.
func (l *leg) over(v0, v1 float64) float64 { return (v0 + v1) / 2 * l.ramp(v0, v1) }

// reach returns the square of the highest speed at the end of the leg that begins
// with a speed of the square v2, mm²/s²; the same backwards in time.
func (l *leg) reach(v2 float64) float64 {
	free := v2 + 2*float64(l.accel*l.length)
	if l.jerk == 0 {
		return free
	}
	v0, hi := math.Sqrt(v2), math.Min(l.speed, math.Sqrt(free))
	if hi <= v0 || l.over(v0, hi) <= l.length {
		return float64(hi * hi)
	}
	v := highest(v0, hi, func(v float64) bool { return l.over(v0, v) <= l.length })
	return float64(v * v)
}

// highest returns the highest value between lo and hi for which ok holds, which it
// does up to some value: halving, to a part in 2⁵⁰.
func highest(lo, hi float64, ok func(float64) bool) float64 {
	for range 50 {
		if mid := (lo + hi) / 2; ok(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// stretch returns the time in s for the leg, from speed v0 to v1; the ends are
// reachable.
func (l *leg) stretch(v0, v1 float64) float64 {
	length, v, a := l.length, l.speed, l.accel
	if length == 0 {
		return 0
	}
	if l.jerk > 0 {
		peak := v
		if base := math.Max(v0, v1); math.IsInf(v, 1) || l.over(v0, v)+l.over(v, v1) > length {
			top := math.Min(v, base+math.Sqrt(2*float64(a*length))+1)
			if math.IsInf(top, 1) {
				top = base + math.Cbrt(float64(length*length)*l.jerk) + 1
			}
			peak = highest(base, top, func(p float64) bool { return l.over(v0, p)+l.over(p, v1) <= length })
		}
		t := l.ramp(v0, peak) + l.ramp(peak, v1)
		if rest := length - l.over(v0, peak) - l.over(peak, v1); rest > 0 && peak > 0 {
			t += rest / peak
		}
		return t
	}
	if math.IsInf(a, 1) {
		if math.IsInf(v, 1) {
			return 0
		}
		return length / v
	}
	peak := math.Sqrt(float64(a*length) + (float64(v0*v0)+float64(v1*v1))/2)
	if peak <= v {
		return (2*peak - v0 - v1) / a
	}
	ramps := (float64(v*v)-float64(v0*v0))/(2*a) + (float64(v*v)-float64(v1*v1))/(2*a)
	return (2*v-v0-v1)/a + (length-ramps)/v
}

// corners works out the legs of a program and returns the squares of the speeds at
// which the corners at their starts are taken, one more at the end.
func corners(r *Replay, m shop.Machine, legs []leg) []float64 {
	v2 := make([]float64, len(legs)+1)
	event := 0
	last := -1 // the leg before i that has a length
	var from heading
	for i := range legs {
		var h heading
		legs[i], h = legOf(&r.Moves[i], m)
		stops := false
		for ; event < len(r.Events) && int(r.Events[event].Before) <= i; event++ {
			stops = stops || halts(r.Events[event].Kind)
		}
		if stops {
			last = -1
		}
		if legs[i].length == 0 {
			continue
		}
		if last >= 0 && (r.Moves[last].Motion == Rapid) == (r.Moves[i].Motion == Rapid) {
			a := math.Min(legs[last].accel, legs[i].accel)
			v := corner(from.end, h.start, a, deviation(&r.States[r.Moves[i].State], m))
			v = math.Min(v, math.Min(legs[last].speed, legs[i].speed))
			v2[i] = v * v
		}
		last, from = i, h
	}
	return v2
}

// fluent returns the time of all moves with corners taken as fast as the squares
// v2 allow, and puts that of each into quick.
func fluent(legs []leg, v2 []float64, quick []float32) float64 {
	// Backward, then forward: no leg changes its speed by more than it can.
	next := 0.0
	for i := len(legs) - 1; i >= 0; i-- {
		if legs[i].length == 0 {
			continue
		}
		v2[i] = math.Min(v2[i], legs[i].reach(next))
		next = v2[i]
	}
	total, prev := 0.0, -1
	pass := func(end float64) {
		p := &legs[prev]
		t := p.stretch(math.Sqrt(v2[prev]), math.Sqrt(end))
		quick[prev] = float32(t)
		total += t
	}
	for i := range legs {
		if legs[i].length == 0 {
			continue
		}
		if prev >= 0 {
			v2[i] = math.Min(v2[i], legs[prev].reach(v2[prev]))
			pass(v2[i])
		}
		prev = i
	}
	if prev >= 0 {
		pass(0)
	}
	return total
}

// halts tells whether the axes stand still for an event.
func halts(k EventKind) bool {
	return k != Message && k != Comment
}

// exactPath is how far a path counts as kept under G61, mm: as far as rounding
// may move the ends of an arc (NISTIR 6556, 3.5.3.2). It lets the tip pass joints
// that are smooth but for rounding, and stops it in all but name at corners.
const exactPath = 0.002

// deviation returns how far from a corner the path may stray, mm; -1 is a stop
// after every block.
func deviation(s *State, m shop.Machine) float64 {
	switch s.PathMode {
	case "G61":
		return exactPath
	case "G61.1":
		return -1
	case "G64":
		if s.BlendTol > 0 {
			return s.BlendTol
		}
	}
	if m.Controller.BlendTol > 0 {
		return m.Controller.BlendTol
	}
	return junction
}

// corner returns the speed at which the corner between two directions is taken
// with the acceleration a, mm/s: √(a·R) with R = d·s/(1-s), s the cosine of half
// the turn.
func corner(from, to [3]float64, a, d float64) float64 {
	dot := 0.0
	for i := range from {
		dot += float64(from[i] * to[i])
	}
	s := math.Sqrt(math.Max(0, (1+dot)/2)) // cosine of half the turn
	switch {
	case d < 0:
		return 0
	case 1-s < 1e-9:
		return math.Inf(1) // straight on
	}
	return math.Sqrt(a * d * s / (1 - s))
}

// waits returns dwells, spindle starts without one and cutter changes in s, and
// how many times the operator is waited for.
func waits(r *Replay, m shop.Machine) (s float64, stops int) {
	for i, e := range r.Events {
		switch e.Kind {
		case Dwell:
			s += e.Value
		case SpindleOn:
			// A dwell behind it is the wait for the spindle.
			if n := i + 1; n >= len(r.Events) || r.Events[n].Kind != Dwell || r.Events[n].Before != e.Before {
				s += m.SpinUp
			}
		case ToolChange:
			s += changeTime
		case Pause:
			stops++
		}
	}
	return s, stops
}
