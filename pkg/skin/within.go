package skin

import (
	"math"

	"sparclear/pkg/geom"
)

// within is a model with more error.
type within struct {
	Model
	u, e float64
}

// WithError returns m with a further standard uncertainty u (combined as root sum
// of squares) and a further bound e (added), mm: tool length, Z zero, a skin that
// sags under the cutter.
func WithError(m Model, u, e float64) Model { return within{m, u, math.Abs(e)} }

func (w within) Error(b geom.Box) (u, e float64) {
	u, e = w.Model.Error(b)
	return math.Hypot(u, w.u), e + w.e
}

// Covered passes the question on.
func (w within) Covered(p geom.Point, r float64) bool { return Covered(w.Model, p, r) }

// Unwrap returns the model without the further error.
func (w within) Unwrap() Model { return w.Model }

// Disc passes the question on.
func (w within) Disc(c geom.Point, r float64) (lo, hi float64) { return Disc(w.Model, c, r) }

// Bound returns how far the true skin may lie from the modelled one anywhere in
// the box, mm: twice the standard uncertainty plus the bound of the rest.
func Bound(m Model, b geom.Box) float64 {
	u, e := m.Error(b)
	return 2*u + e
}

// Far is the other skin of a hollow wing.
type Far interface {
	// Below returns a lower bound over the box of the vertical distance from the
	// outer face of the near skin down to the outer face of the far one, mm. Its
	// own error is already taken off.
	Below(b geom.Box) float64
}

// farDeclared is the same distance everywhere.
type farDeclared float64

// FarDeclared returns a far skin that somebody measured or declared to be at
// least d mm below the near one everywhere.
func FarDeclared(d float64) Far { return farDeclared(d) }

func (f farDeclared) Below(geom.Box) float64 { return float64(f) }

// Room returns how much is left, mm, between a thing of the given height that
// hangs below the near skin (a servo case with its lugs on the skin) and the far
// skin of the given thickness, at the tightest place of the box; negative when
// it does not fit.
func Room(f Far, b geom.Box, height, farSkin float64) float64 {
	return f.Below(b) - farSkin - height
}
