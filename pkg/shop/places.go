package shop

import "math"

// Small closed-form sums of the workshop: holding, layers, helices, drill points.

// VacuumHold returns the normal and side holding force in N of a vacuum of dp kPa
// on area cm² with the friction mu.
func VacuumHold(dp, area, mu float64) (normal, side float64) {
	normal = dp * area / 10
	return normal, mu * normal
}

// TabLoad returns the shear load in N that n tabs of w by t mm carry at the shear
// strength tau N/mm².
func TabLoad(n int, w, t, tau float64) float64 { return float64(n) * w * t * tau }

// PlyThickness returns the thickness in mm of a ply of cloth of w g/m² with the
// fibre density rho g/cm³ and the fibre volume fraction vf.
func PlyThickness(w, rho, vf float64) float64 { return w / (1000 * rho * vf) }

// Sagitta returns by how much in mm a curve of radius r mm leaves its chord of c
// mm: c²/(8·r), for chords short against the radius.
func Sagitta(c, r float64) float64 { return c * c / (8 * r) }

// SkinRadius returns the radius in mm of the arc that rises h mm over a chord of
// c mm: (c/2)²/(2·h), for flat arcs.
func SkinRadius(c, h float64) float64 { return c * c / (8 * h) }

// HelixPitch returns the descent in mm per turn of a helix that opens a hole of
// hole mm with a cutter of d mm at the ramp angle rad: π·(hole−d)·tan(angle).
func HelixPitch(hole, d, angle float64) float64 {
	return math.Pi * (hole - d) * math.Tan(angle)
}

// InsideFeed returns the feed of the cutter's centre in mm/min that gives the
// edge feed vf on the wall of a hole of hole mm, cutter d mm.
func InsideFeed(vf, hole, d float64) float64 { return vf * (hole - d) / hole }

// OutsideFeed returns the feed of the cutter's centre in mm/min that gives the
// edge feed vf on the wall of a boss of boss mm, cutter d mm.
func OutsideFeed(vf, boss, d float64) float64 { return vf * (boss + d) / boss }

// RampLength returns the length in mm on the plan of a ramp down by depth mm at
// the angle rad.
func RampLength(depth, angle float64) float64 { return depth / math.Tan(angle) }

// DrillPoint returns the length in mm of the point of a drill of d mm with the
// included point angle rad.
func DrillPoint(d, point float64) float64 { return d / 2 / math.Tan(point/2) }

// PointLength returns the length in mm of the cone at the cutter's tip: that of
// its point angle for drills and vee cutters, 0 for others.
func (c Cutter) PointLength() float64 {
	if (c.Kind == Drill || c.Kind == Vee) && c.PointAngle > 0 && c.PointAngle < math.Pi {
		return DrillPoint(c.Diameter, c.PointAngle)
	}
	return 0
}

// CornerClearance returns the clearance in mm per side that lets a square corner
// past an inside radius of r mm: r·(1 − 1/√2).
func CornerClearance(r float64) float64 { return r * (1 - 1/math.Sqrt2) }

// ArmSlot returns the length in mm of a slot for a lever of radius r mm and width
// w mm that swings theta rad each way with c mm clearance at both ends.
func ArmSlot(r, theta, w, c float64) float64 {
	return float64(2*r*math.Sin(theta)) + w + 2*c
}

// CornerRounding returns by how much in mm a right-angled corner is cut off at
// the feed v mm/min where one axis slows while the other speeds up, both with a
// mm/s²: √2·v²/(8·a). Closed form.
func CornerRounding(v, a float64) float64 {
	s := v / 60
	return math.Sqrt2 * s * s / (8 * a)
}

// AchievedFeed returns the highest feed in mm/min reached on a block of length
// mm from rest to rest at the programmed feed and acceleration mm/s².
func AchievedFeed(length, feed, accel float64) float64 {
	return math.Min(feed, 60*math.Sqrt(accel*length))
}

// BlockTime returns the time in s of a block of length mm from rest to rest at
// the feed mm/min and acceleration mm/s²; 0 for no length.
func BlockTime(length, feed, accel float64) float64 {
	v := feed / 60
	if !(length > 0) {
		return 0
	}
	if length >= v*v/accel {
		return length/v + v/accel
	}
	return 2 * math.Sqrt(length/accel)
}
