package skin

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
)

// Tip is the shape of the end of a cutter, turning.
type Tip struct {
	Radius float64 // largest radius that cuts, mm
	Corner float64 // corner radius, mm: 0 for a square end, Radius for a ball
	Point  float64 // included angle of a vee or drill point, rad; 0 = none
}

// TipOf returns the tip of a cutter.
func TipOf(c shop.Cutter) Tip {
	t := Tip{Radius: c.Radius()}
	switch c.Kind {
	case shop.Ball:
		t.Corner = t.Radius
	case shop.BullNose:
		t.Corner = math.Min(c.CornerRadius, t.Radius)
	case shop.Vee, shop.Drill:
		t.Point = c.PointAngle
	}
	return t
}

// Rise returns how high the cutter's surface lies above its lowest point at the
// distance d mm from the axis, mm; it never falls with d. Beyond Radius it is
// the rise at Radius.
func (t Tip) Rise(d float64) float64 {
	d = math.Min(math.Max(d, 0), t.Radius)
	if t.Point > 0 && t.Point < math.Pi {
		return d / math.Tan(t.Point/2)
	}
	in := d - (t.Radius - t.Corner)
	if t.Corner <= 0 || in <= 0 {
		return 0
	}
	return t.Corner - math.Sqrt(math.Max(0, float64(t.Corner*t.Corner)-float64(in*in)))
}

// discer is a model that bounds its height over a disc better than over its box.
type discer interface {
	Disc(c geom.Point, r float64) (lo, hi float64)
}

// Disc returns bounds of the height over the closed disc of radius r about c.
// They always hold; Model.Error is not included.
func Disc(m Model, c geom.Point, r float64) (lo, hi float64) {
	if d, ok := m.(discer); ok {
		return d.Disc(c, r)
	}
	return m.Range(geom.Box{Min: c, Max: c}.Grow(r))
}

// rings is how finely Under splits the radius: the rise of the tip within one
// ring is what the bounds lose.
const rings = 16

// Under returns bounds, over the whole footprint of the tip standing at c, of
// the height of the skin minus the rise of the tip. With the lowest point of the
// tip at height z, no part of the cutter is deeper below the skin than hi − z,
// and every part is at least lo − z deep. Model.Error is not included.
func Under(m Model, c geom.Point, t Tip) (lo, hi float64) {
	if t.Rise(t.Radius) == 0 {
		return Disc(m, c, t.Radius)
	}
	lo, hi = math.Inf(1), math.Inf(-1)
	for i := range rings {
		in, out := t.Radius*float64(i)/rings, t.Radius*float64(i+1)/rings
		// The disc holds the ring; the tip is lowest at the inner edge.
		l, h := Disc(m, c, out)
		lo, hi = math.Min(lo, l-t.Rise(out)), math.Max(hi, h-t.Rise(in))
	}
	return lo, hi
}

// Through is what a cut through the skin asks for, mm.
type Through struct {
	Thickness float64 // of the skin
	ThickTol  float64 // ± of the thickness
	Break     float64 // how far below the lower face the cutter must reach
	Limit     float64 // depth below the skin that nothing may ever pass
	// Error is added to that of the model, on both sides: tool length, Z zero.
	Error float64
}

// Window returns the heights at which the lowest point of the tip may stand over
// c so that the cutter at its full width is through the skin everywhere under
// its footprint and no part of it is below the limit anywhere. Twice the
// standard uncertainty of the model and its bound are kept on both sides. When
// no height does both, ok is false and hi < lo.
func Window(m Model, c geom.Point, t Tip, q Through) (lo, hi float64, ok bool) {
	low, high := Under(m, c, t)
	u, e := m.Error(geom.Box{Min: c, Max: c}.Grow(t.Radius))
	gap := 2*u + e + q.Error
	lo = high - q.Limit + gap
	hi = low - q.Thickness - q.ThickTol - q.Break - gap
	return lo, hi, lo <= hi
}

// Widest returns the largest diameter, mm, of a cutter of the same shape that
// would do at c, and 0 when none does.
func Widest(m Model, c geom.Point, t Tip, q Through) float64 {
	scaled := func(r float64) Tip {
		s := t
		s.Radius = r
		if t.Radius > 0 {
			s.Corner = t.Corner * r / t.Radius
		}
		return s
	}
	can := func(r float64) bool { _, _, ok := Window(m, c, scaled(r), q); return ok }
	if can(t.Radius) {
		return 2 * t.Radius
	}
	if !can(0) {
		return 0
	}
	lo, hi := 0.0, t.Radius
	for range 40 {
		if mid := (lo + hi) / 2; can(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return 2 * lo
}

// TooWide returns the stop "cutter-too-wide-for-skin" for a place where Window
// finds no height: slope of the skin, diameter, and what would do.
func TooWide(m Model, c geom.Point, t Tip, q Through) diag.Finding {
	lo, hi, _ := Window(m, c, t, q)
	slope := math.Atan(m.Slope(geom.Box{Min: c, Max: c}.Grow(t.Radius))) * 180 / math.Pi
	widest := Widest(m, c, t, q)
	help := fmt.Sprintf("use a cutter of at most %.2f mm, or touch more heights here", math.Floor(widest*100)/100)
	if widest == 0 {
		help = "touch more heights here, or set a deeper limit if there is room below"
	}
	return diag.Finding{Code: "cutter-too-wide-for-skin", Severity: diag.Stop,
		Message: fmt.Sprintf("a cutter of %.2f mm cannot be through everywhere and within the limit on a skin that slopes %.1f°, %.2f mm short",
			2*t.Radius, slope, lo-hi),
		Help: help}.With(2*t.Radius, widest, "mm").AtMachine(c.X, c.Y, m.Height(c))
}
