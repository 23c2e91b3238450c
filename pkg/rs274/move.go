package rs274

import "math"

// Axes returns the indices of the plane's two axes, in the order in which a
// positive turn runs from the first to the second, and of the axis across.
func (p Plane) Axes() (a, b, across int) {
	switch p {
	case ZX:
		return 2, 0, 1
	case YZ:
		return 1, 2, 0
	}
	return 0, 1, 2
}

// Arc tells whether the move is a circular arc or a helix.
func (m *Move) Arc() bool { return m.Motion == ArcCW || m.Motion == ArcCCW }

// Radius returns the distance from the centre to the start of an arc, mm, and 0
// for a straight move.
func (m *Move) Radius() float64 {
	if !m.Arc() {
		return 0
	}
	a, b, _ := m.Plane.Axes()
	return math.Hypot(m.From[a]-m.Center[0], m.From[b]-m.Center[1])
}

// Sweep returns the turn of an arc in rad, positive counter-clockwise seen from
// the positive end of the axis across; 0 for a straight move. An arc that ends
// where it starts is a full circle (NISTIR 6556, 3.5.3.2).
func (m *Move) Sweep() float64 {
	if !m.Arc() {
		return 0
	}
	a, b, _ := m.Plane.Axes()
	ux, uy := m.From[a]-m.Center[0], m.From[b]-m.Center[1]
	vx, vy := m.To[a]-m.Center[0], m.To[b]-m.Center[1]
	if ux == vx && uy == vy {
		if m.Motion == ArcCW {
			return -2 * math.Pi
		}
		return 2 * math.Pi
	}
	// The angle between the two radii, free of the cut of atan2.
	t := math.Atan2(float64(ux*vy)-float64(uy*vx), float64(ux*vx)+float64(uy*vy))
	switch {
	case m.Motion == ArcCCW && t <= 0:
		t += 2 * math.Pi
	case m.Motion == ArcCW && t >= 0:
		t -= 2 * math.Pi
	}
	return t
}

// Length returns the length of the path, mm; of a helix, along the helix.
func (m *Move) Length() float64 {
	dx, dy, dz := m.To[0]-m.From[0], m.To[1]-m.From[1], m.To[2]-m.From[2]
	if !m.Arc() {
		return math.Sqrt(float64(dx*dx) + float64(dy*dy) + float64(dz*dz))
	}
	_, _, c := m.Plane.Axes()
	return math.Hypot(m.Radius()*m.Sweep(), m.To[c]-m.From[c])
}

// At returns the point at t, 0 at the start and 1 at the end, even in turn and
// height. The radius goes evenly from that at the start to that at the end,
// which differ by rounding only.
func (m *Move) At(t float64) [3]float64 {
	if t <= 0 {
		return m.From
	}
	if t >= 1 {
		return m.To
	}
	var p [3]float64
	if !m.Arc() {
		for i := range p {
			p[i] = m.From[i] + float64(t*(m.To[i]-m.From[i]))
		}
		return p
	}
	a, b, c := m.Plane.Axes()
	ux, uy := m.From[a]-m.Center[0], m.From[b]-m.Center[1]
	r0 := math.Hypot(ux, uy)
	r1 := math.Hypot(m.To[a]-m.Center[0], m.To[b]-m.Center[1])
	k := 1.0
	if r0 > 0 {
		k = (r0 + float64(t*(r1-r0))) / r0
	}
	s, cs := math.Sincos(t * m.Sweep())
	p[a] = m.Center[0] + float64(k*(float64(ux*cs)-float64(uy*s)))
	p[b] = m.Center[1] + float64(k*(float64(ux*s)+float64(uy*cs)))
	p[c] = m.From[c] + float64(t*(m.To[c]-m.From[c]))
	return p
}

// Bounds returns the smallest box that holds the path of the move; of a rapid,
// the box of every path that each axis can take in its own time.
func (m *Move) Bounds() (low, high [3]float64) {
	for i := range low {
		low[i], high[i] = math.Min(m.From[i], m.To[i]), math.Max(m.From[i], m.To[i])
	}
	if !m.Arc() {
		return low, high
	}
	a, b, _ := m.Plane.Axes()
	ax := [2]int{a, b}
	r := math.Max(m.Radius(), math.Hypot(m.To[a]-m.Center[0], m.To[b]-m.Center[1]))
	start := math.Atan2(m.From[b]-m.Center[1], m.From[a]-m.Center[0])
	sweep := m.Sweep()
	if sweep < 0 {
		start, sweep = start+sweep, -sweep
	}
	for q := range 4 {
		turn := math.Mod(float64(q)*math.Pi/2-start, 2*math.Pi)
		if turn < 0 {
			turn += 2 * math.Pi
		}
		if turn > sweep {
			continue
		}
		i := ax[q%2]
		if q < 2 {
			high[i] = math.Max(high[i], m.Center[q%2]+r)
		} else {
			low[i] = math.Min(low[i], m.Center[q%2]-r)
		}
	}
	return low, high
}
