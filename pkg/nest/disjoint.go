package nest

import (
	"math"
	"math/big"

	"sparclear/pkg/geom"
)

// touchOnly tells whether two regions share no more than points of their outlines. It
// is decided without rounding, for straight sides; where there are arcs it is false.
func touchOnly(a, b *body) bool {
	for _, s := range a.segs {
		for _, t := range b.segs {
			if !s.IsLine() || !t.IsLine() || properlyCross(s, t) {
				return false
			}
		}
	}
	return !cornersLieIn(a, b) && !cornersLieIn(b, a)
}

func properlyCross(s, t geom.Seg) bool {
	return sideOf(s.A, s.B, t.A)*sideOf(s.A, s.B, t.B) < 0 && sideOf(t.A, t.B, s.A)*sideOf(t.A, t.B, s.B) < 0
}

// cornersLieIn tells whether, about any corner of a, material of a and b lies over one
// another. Outlines that do not cross meet at corners, if at all.
func cornersLieIn(a, b *body) bool {
	for _, ring := range a.region.Contours() {
		for i, v := range ring {
			p, n := v.Point, len(ring)
			mine := wedge{p, ring[(i+1)%n].Point, ring[(i+n-1)%n].Point}
			met, over := mine.meets(b)
			if over || !met && holdsExactly(b, p) {
				return true
			}
		}
	}
	return false
}

// wedge is the material about a point of an outline: counter-clockwise from the
// direction of one point to that of another.
type wedge struct{ at, from, to geom.Point }

// meets tells whether the point lies on the outline of b, and whether material lies
// over material there.
func (w wedge) meets(b *body) (met, over bool) {
	for _, ring := range b.region.Contours() {
		n := len(ring)
		for i, v := range ring {
			p, q := v.Point, ring[(i+1)%n].Point
			other := wedge{w.at, q, p}
			switch {
			case p == w.at:
				other.to = ring[(i+n-1)%n].Point
			case q == w.at || !between(p, q, w.at):
				continue
			}
			met = true
			if other.holds(w.from) || w.holds(other.from) {
				return true, true
			}
		}
	}
	return met, false
}

// holds tells whether the direction of d is that of from or lies in the wedge.
func (w wedge) holds(d geom.Point) bool {
	if sameDirection(w.at, w.from, d) {
		return true
	}
	turn := sideOf(w.at, w.from, w.to)
	switch {
	case turn > 0:
		return sideOf(w.at, w.from, d) > 0 && sideOf(w.at, d, w.to) > 0
	case turn < 0:
		return !(sideOf(w.at, w.to, d) >= 0 && sideOf(w.at, d, w.from) >= 0)
	case sameDirection(w.at, w.from, w.to):
		return true // a spike or all around: the safe side
	}
	return sideOf(w.at, w.from, d) > 0
}

// between tells whether p lies on the closed segment from a to b.
func between(a, b, p geom.Point) bool {
	return p.X >= math.Min(a.X, b.X) && p.X <= math.Max(a.X, b.X) && p.Y >= math.Min(a.Y, b.Y) && p.Y <= math.Max(a.Y, b.Y) && sideOf(a, b, p) == 0
}

// sameDirection tells whether p and q lie in the same direction from at.
func sameDirection(at, p, q geom.Point) bool {
	return sideOf(at, p, q) == 0 && (p.X > at.X) == (q.X > at.X) && (p.X < at.X) == (q.X < at.X) &&
		(p.Y > at.Y) == (q.Y > at.Y) && (p.Y < at.Y) == (q.Y < at.Y)
}

// holdsExactly tells whether a point that is not on an outline lies in the material.
func holdsExactly(b *body, p geom.Point) bool {
	in := false
	for _, s := range b.segs {
		if (s.A.Y > p.Y) != (s.B.Y > p.Y) && (sideOf(s.A, s.B, p) > 0) == (s.B.Y > s.A.Y) {
			in = !in
		}
	}
	return in
}

// sideOf is 1 where c lies to the left of the line from a to b, -1 to the right and 0
// on it, without rounding.
func sideOf(a, b, c geom.Point) int {
	l, r := float64((b.X-a.X)*(c.Y-a.Y)), float64((b.Y-a.Y)*(c.X-a.X))
	// Three roundings on either side and one of the difference (J. R. Shewchuk, 1997).
	if d := l - r; math.Abs(d) > 4e-16*(math.Abs(l)+math.Abs(r)) {
		return int(math.Copysign(1, d))
	}
	sub := func(x, y float64) *big.Rat {
		p, q := new(big.Rat), new(big.Rat)
		p.SetFloat64(x)
		q.SetFloat64(y)
		return p.Sub(p, q)
	}
	left := sub(b.X, a.X)
	left.Mul(left, sub(c.Y, a.Y))
	right := sub(b.Y, a.Y)
	right.Mul(right, sub(c.X, a.X))
	return left.Cmp(right)
}
