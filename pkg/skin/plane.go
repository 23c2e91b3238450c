package skin

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// plane is z + g·(p − c).
type plane struct {
	c    geom.Point
	z    float64
	g    geom.Point
	u    float64       // of one height, mm
	cov  [3]float64    // of the plane at c for u = 1: height, and the two slopes along the axes
	axes [2]geom.Point // principal axes of the touches
	over cover
	rep  Report
}

// Plane returns the plane through three touches, or the least-squares plane
// through more. touchU is the standard uncertainty of one touched height, mm (0
// means DefaultTouchU); where the residuals say worse they are believed. The
// model says that the skin is a plane: how far the true skin bends away from it
// shows only in the residuals, so a curved skin needs Points or a Loft. Findings:
// "height-invalid", "heights-few" (fewer than three), "heights-degenerate" (all
// on one line), "plane-unchecked" (confirm: no touch inside the others, so that a
// bend would not show), "plane-poor" (confirm: a touch is more than 0.5 mm off). A nil
// Model comes with a stop.
func Plane(touches []Touch, touchU float64) (Model, diag.List) {
	found := checkTouches(touches, 3)
	if found.Blocks() {
		return nil, found
	}
	mean, rep, _ := gather(touches)
	c, axes, spread := principal(mean)
	if len(mean) < 3 || !(spread[1] > 1e-3) {
		return nil, append(found, degenerate())
	}
	m := plane{c: c, axes: axes, over: coverOf(mean)}
	n := float64(len(mean))
	var g [2]float64
	for _, t := range mean {
		m.z += t.Z / n
	}
	for _, t := range mean {
		for k := range 2 {
			g[k] += float64((t.Z - m.z) * t.At().Sub(c).Dot(axes[k]))
		}
	}
	for k := range 2 {
		g[k] /= spread[k]
		m.g = m.g.Add(axes[k].Mul(g[k]))
	}
	m.cov = [3]float64{1 / n, 1 / spread[0], 1 / spread[1]}
	var sum, worst float64
	var worstAt Touch
	for _, t := range mean {
		r := t.Z - m.Height(t.At())
		sum += float64(r * r)
		if math.Abs(r) > worst {
			worst, worstAt = math.Abs(r), t
		}
	}
	if !(touchU > 0) {
		touchU = DefaultTouchU
	}
	m.u = math.Max(touchU, rep)
	m.rep = Report{Touches: len(mean), Method: "plane", RMS: math.Sqrt(sum / n), Worst: worst, Repeat: rep, TouchU: m.u}
	if n > 3 {
		m.u = math.Max(m.u, math.Sqrt(sum/(n-3)))
	}
	if !seesBend(m.over.hull, mean) {
		span := 0.0
		for i := range mean {
			for _, t := range mean[:i] {
				span = math.Max(span, t.At().Dist(mean[i].At()))
			}
		}
		sag := DefaultBend * float64(span*span) / 8
		found.Add(diag.Finding{Code: "plane-unchecked", Severity: diag.Confirm,
			Message: fmt.Sprintf("nothing was touched well inside the other touches, so a bend would not show: a wing of radius %.0f mm would bulge %.2f mm between them", 1/DefaultBend, sag),
			Help:    "touch the middle too, or use touched heights (heights) on a curved skin; where it is level, accept = [\"plane-unchecked\"] at the head of the job"})
	}
	if worst > outlierLimit {
		found.Add(diag.Finding{Code: "plane-poor", Severity: diag.Confirm,
			Message: "the touched skin is no plane",
			Help:    "use the touched heights as they are (heights), or touch again"}.
			With(worst, outlierLimit, "mm").AtMachine(worstAt.X, worstAt.Y, worstAt.Z))
	}
	return m, found
}

// seesBend tells whether a touch lies so far inside the hull of all that a bend of
// the skin would show in the residuals: corners alone fit a plane however round the
// skin is between them.
func seesBend(hull []geom.Point, touches []Touch) bool {
	const inside = 0.2 // of the side of a square as large as the hull
	area, deepest := 0.0, 0.0
	for i, a := range hull {
		area += a.Cross(hull[(i+1)%len(hull)]) / 2
	}
	for _, t := range touches {
		near := math.Inf(1)
		for i, a := range hull {
			near = math.Min(near, geom.Line(a, hull[(i+1)%len(hull)]).Dist(t.At()))
		}
		deepest = math.Max(deepest, near)
	}
	return deepest >= inside*math.Sqrt(math.Abs(area))
}

// principal returns the centroid, the principal axes of the places, and the sums
// of squares along them, the larger first.
func principal(t []Touch) (c geom.Point, axes [2]geom.Point, sum [2]float64) {
	n := float64(len(t))
	for _, p := range t {
		c = c.Add(p.At().Mul(1 / n))
	}
	var xx, xy, yy float64
	for _, p := range t {
		d := p.At().Sub(c)
		xx += float64(d.X * d.X)
		xy += float64(d.X * d.Y)
		yy += float64(d.Y * d.Y)
	}
	a := math.Atan2(2*xy, xx-yy) / 2
	axes[0] = geom.Polar(geom.Point{}, 1, a)
	axes[1] = axes[0].Left()
	// Summed anew along the axes: the eigenvalues by formula lose the small one.
	for _, p := range t {
		d := p.At().Sub(c)
		for k := range 2 {
			v := d.Dot(axes[k])
			sum[k] += float64(v * v)
		}
	}
	return c, axes, sum
}

// Height returns the modelled height at p, mm.
func (m plane) Height(p geom.Point) float64 { return m.z + m.g.Dot(p.Sub(m.c)) }

// Range returns bounds of the height over the box that always hold.
func (m plane) Range(b geom.Box) (lo, hi float64) {
	if b.Empty() {
		return math.Inf(-1), math.Inf(1)
	}
	h, half := m.Height(b.Center()), b.Size().Mul(0.5)
	r := float64(math.Abs(m.g.X)*half.X) + float64(math.Abs(m.g.Y)*half.Y)
	return h - slack(h, r), h + slack(h, r)
}

// Places returns where the skin was touched.
func (m plane) Places() []geom.Point { return append([]geom.Point(nil), m.over.grid.pts...) }

// Report says how the plane follows its touches; Bends is false, since a plane
// has no bend to tell.
func (m plane) Report() Report { return m.rep }

// slack returns r grown by what rounding may do to a height h.
func slack(h, r float64) float64 { return r + 1e-12*(math.Abs(h)+r+1) }

// Slope is that of the plane everywhere.
func (m plane) Slope(geom.Box) float64 { return m.g.Len() }

// Bend is 0.
func (m plane) Bend(geom.Box) float64 { return 0 }

// Flat tells whether the plane is level.
func (m plane) Flat() bool { return m.g == geom.Point{} }

// Covered tells whether touches speak for p.
func (m plane) Covered(p geom.Point, r float64) bool { return m.over.holds(p, r) }

// Disc returns bounds of the height over a disc.
func (m plane) Disc(p geom.Point, r float64) (lo, hi float64) {
	h := m.Height(p)
	d := m.g.Len() * r
	return h - slack(h, d), h + slack(h, d)
}

// Error returns the uncertainty of the plane at the worst corner of the box,
// after the covariance of the least-squares fit, with the spread of one touch
// added when the residuals are more than touching explains: they are then the
// shape of the skin, which no averaging takes away.
func (m plane) Error(b geom.Box) (u, e float64) {
	if b.Empty() {
		return math.Inf(1), math.Inf(1)
	}
	worst := 0.0
	for _, p := range corners(b) {
		d := p.Sub(m.c)
		a, k := d.Dot(m.axes[0]), d.Dot(m.axes[1])
		worst = math.Max(worst, m.cov[0]+float64(a*a*m.cov[1])+float64(k*k*m.cov[2]))
	}
	return m.u * math.Sqrt(1+worst), 0
}

func corners(b geom.Box) [4]geom.Point {
	return [4]geom.Point{b.Min, {X: b.Max.X, Y: b.Min.Y}, b.Max, {X: b.Min.X, Y: b.Max.Y}}
}
