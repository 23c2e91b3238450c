package geom

import "math"

// Rigid is a transform that keeps lengths: first a reflection about the X axis
// (y → -y) when Mirror is set, then a turn by Turn rad, then a shift. The zero
// value changes nothing.
type Rigid struct {
	Turn   float64
	Shift  Point
	Mirror bool
}

// Apply returns p moved by t.
func (t Rigid) Apply(p Point) Point { return t.ApplyVector(p).Add(t.Shift) }

// ApplyVector returns a direction moved by t, without the shift.
func (t Rigid) ApplyVector(p Point) Point {
	if t.Mirror {
		p.Y = -p.Y
	}
	switch t.Turn { // quarter turns stay exact
	case 0:
		return p
	case math.Pi / 2:
		return p.Left()
	case math.Pi, -math.Pi:
		return Point{-p.X, -p.Y}
	case -math.Pi / 2, 3 * math.Pi / 2:
		return p.Right()
	}
	return rotate(p, t.Turn)
}

// Inverse returns the transform that undoes t.
func (t Rigid) Inverse() Rigid {
	inv := Rigid{Turn: -t.Turn, Mirror: t.Mirror}
	if t.Mirror {
		inv.Turn = t.Turn
	}
	inv.Shift = inv.ApplyVector(t.Shift).Mul(-1)
	return inv
}

// Then returns the transform that applies t first and u second.
func (t Rigid) Then(u Rigid) Rigid {
	turn := t.Turn
	if u.Mirror {
		turn = -turn
	}
	return Rigid{Turn: turn + u.Turn, Mirror: t.Mirror != u.Mirror, Shift: u.Apply(t.Shift)}
}
