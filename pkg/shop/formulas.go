package shop

import "math"

// The formulas of this file are the shop formulas of milling in the symbols of
// ISO 3002-1, -3 and -4. They follow from the geometry of a cutter that turns
// while it moves (closed form) unless a source is named. Arguments are not
// checked: a zero divisor gives an infinity or not-a-number, which Data refuses.

// SpindleSpeed returns the spindle speed n in rpm for a cutting speed vc in
// m/min at the diameter d in mm: n = 1000·vc/(π·d).
func SpindleSpeed(vc, d float64) float64 { return 1000 * vc / (math.Pi * d) }

// CuttingSpeed returns the cutting speed vc in m/min of the diameter d in mm at
// n rpm: vc = π·d·n/1000.
func CuttingSpeed(d, n float64) float64 { return math.Pi * d * n / 1000 }

// FeedSpeed returns the feed speed vf in mm/min: n rpm times z teeth times fz mm
// per tooth. For a burr call it with one tooth and the feed per revolution.
func FeedSpeed(n float64, z int, fz float64) float64 { return n * float64(z) * fz }

// ChipMax returns the largest undeformed chip thickness h in mm at the feed per
// tooth fz mm, the working engagement ae mm and the diameter d mm: fz where the
// cutter is at least half in the material, 2·fz·√(ae/d·(1−ae/d)) below.
func ChipMax(fz, ae, d float64) float64 {
	if q := ae / d; q < 0.5 {
		return 2 * fz * math.Sqrt(float64(q*(1-q)))
	}
	return fz
}

// ChipFactor returns by how much the feed per tooth may be raised at the working
// engagement ae so that the largest chip is that of a half-engaged cutter; 1
// from ae = d/2 on. It grows without bound as ae goes to 0.
func ChipFactor(ae, d float64) float64 { return 1 / ChipMax(1, ae, d) }

// EngagementAngle returns the angle in rad over which a tooth is in the material:
// acos(1 − 2·ae/d); π for a slot.
func EngagementAngle(ae, d float64) float64 { return math.Acos(1 - 2*ae/d) }

// ChipMean returns the mean undeformed chip thickness hm in mm over the angle of
// engagement: 2·fz·(ae/d)/φ.
func ChipMean(fz, ae, d float64) float64 {
	return 2 * fz * (ae / d) / EngagementAngle(ae, d)
}

// RemovalRate returns the material removal rate Q in cm³/min at the depth of cut
// ap mm, the working engagement ae mm and the feed speed vf mm/min.
func RemovalRate(ap, ae, vf float64) float64 { return ap * ae * vf / 1000 }

// CuttingPower returns the cutting power P in kW at the specific cutting force kc
// N/mm²: ap·ae·vf·kc/(60·10⁶).
func CuttingPower(ap, ae, vf, kc float64) float64 { return ap * ae * vf * kc / 60e6 }

// SpindleTorque returns the torque in N·m of the power p in kW at n rpm.
func SpindleTorque(p, n float64) float64 { return p * 30000 / (math.Pi * n) }

// TangentialForce returns the mean tangential force in N of the power p in kW at
// the cutting speed vc in m/min.
func TangentialForce(p, vc float64) float64 { return 60000 * p / vc }

// Kienzle returns the specific cutting force in N/mm² at the chip thickness h in
// mm: kc1.1·h^(−mc) (Kienzle, VDI-Z 94 (1952); from memory).
func Kienzle(kc11, mc, h float64) float64 { return kc11 * math.Pow(h, -mc) }

// EdgeForce returns the effective specific cutting force in N/mm² of a material
// with the coefficients ktc N/mm² and kte N/mm at the chip thickness h in mm:
// ktc + kte/h (Altintas, Manufacturing Automation, mechanistic model; from memory).
func EdgeForce(ktc, kte, h float64) float64 { return ktc + kte/h }

// RunoutChip returns the chip of the worst tooth in mm: fz + TIR·sin(π/z). With
// one tooth runout changes nothing; with two it adds the whole of TIR. Closed
// form: neighbouring teeth on radii that differ by the eccentricity TIR/2.
func RunoutChip(fz, tir float64, z int) float64 {
	if z < 2 {
		return fz
	}
	return fz + float64(tir*math.Sin(math.Pi/float64(z)))
}

// DrillTorque returns the torque in N·m of a two-lipped drill of d mm at f mm per
// revolution and the specific cutting force kc N/mm²: kc·f·d²/8000. Closed form:
// each lip cuts f/2 by d/2 and its force acts at d/4.
func DrillTorque(kc, f, d float64) float64 { return kc * f * d * d / 8000 }

// PowerOfTorque returns the power in kW of the torque m in N·m at n rpm.
func PowerOfTorque(m, n float64) float64 { return m * math.Pi * n / 30000 }

// Passes returns the number of equal passes that cut depth mm with none deeper
// than ap mm, and their depth. A hair (1e-9 of a pass) over a whole number is
// not a further pass. A depth or step that is not above 0 gives 0 passes.
func Passes(depth, ap float64) (n int, step float64) {
	if !(depth > 0) || !(ap > 0) || math.IsInf(depth, 0) {
		return 0, 0
	}
	k := math.Ceil(depth/ap - 1e-9)
	if k < 1 {
		k = 1
	}
	if k > 1e6 {
		return 0, 0
	}
	return int(k), depth / k
}
