package shop

import "math"

// Young's modulus of cutter materials, N/mm².
const (
	// ModulusCarbide is the upper usual figure for cemented carbide; published
	// figures go down to 580 000 (common practice, no source).
	ModulusCarbide = 600000
	// ModulusHSS is that of high-speed steel (from memory, steel data).
	ModulusHSS = 210000
)

// CoreRatio is the diameter of a plain cylinder that bends like the fluted part
// of an end mill, in parts of the cutting diameter: Kops and Vo, CIRP Annals 39
// (1990), 93-96 (from memory).
const CoreRatio = 0.8

// SecondMoment returns the second moment of area in mm⁴ of a round bar of d mm.
func SecondMoment(d float64) float64 { return math.Pi * d * d * d * d / 64 }

// Bend returns the bend in mm of a cantilever of length l mm under the force f N
// at its tip: f·l³/(3·e·i), with the modulus e N/mm² and second moment i mm⁴.
func Bend(f, l, e, i float64) float64 { return f * l * l * l / (3 * e * i) }

// ToolBend returns the bend in mm of a plain cutter of d mm, stick-out l mm,
// whose fluted part is as stiff as a bar of core·d, under the force f N.
func ToolBend(f, l, d, core, e float64) float64 { return Bend(f, l, e, SecondMoment(core*d)) }

// SteppedBend returns the bend in mm at the tip of a cutter whose fluted part of
// length lf mm and second moment fi mm⁴ stands on a shank of second moment si
// mm⁴, total stick-out l mm ≥ lf, under the force f N at the tip. Closed form
// (unit load on a stepped cantilever).
func SteppedBend(f, lf, l, fi, si, e float64) float64 {
	l3, lf3 := l*l*l, lf*lf*lf
	return f / (3 * e) * (lf3/fi + (l3-lf3)/si)
}

// RootStress returns the bending stress in N/mm² at the root of a cutter of
// stick-out l mm and bar diameter d mm under the force f N at the tip.
func RootStress(f, l, d float64) float64 { return 32 * f * l / (math.Pi * d * d * d) }

// Modulus returns Young's modulus of the cutter in N/mm², by its material.
func (c Cutter) Modulus() float64 {
	if c.Material == "hss" {
		return ModulusHSS
	}
	return ModulusCarbide
}

// CoreOver returns the core ratio of the cutter: its own, or CoreRatio.
func (c Cutter) CoreOver() float64 {
	if c.Core > 0 {
		return c.Core
	}
	return CoreRatio
}

// BendUnder returns how far the tip of the cutter bends in mm under a force of f
// N across its axis: the fluted part with its core, the shank in full.
func (c Cutter) BendUnder(f float64) float64 {
	lf := math.Min(c.FluteLength, c.StickOut)
	shank := c.Shank
	if !(shank > 0) {
		shank = c.Diameter
	}
	fluted := SecondMoment(c.CoreOver() * c.Diameter)
	return SteppedBend(f, lf, c.StickOut, fluted, SecondMoment(shank), c.Modulus())
}

// StressUnder returns the largest bending stress in N/mm² in the cutter under a
// force of f N across its tip: at the end of the flutes, or where a shank no
// thicker than the core enters the collet.
func (c Cutter) StressUnder(f float64) float64 {
	lf := math.Min(c.FluteLength, c.StickOut)
	s := RootStress(f, lf, c.CoreOver()*c.Diameter)
	if c.Shank > 0 && c.StickOut > lf {
		s = math.Max(s, RootStress(f, c.StickOut, c.Shank))
	}
	return s
}

// SkinSag returns the deflection in mm of a clamped disc of radius a mm and
// bending stiffness dp N·mm under the force f N at its centre: f·a²/(16·π·dp)
// (Timoshenko, Woinowsky-Krieger, Theory of Plates and Shells, clamped circular
// plate with a load at the centre; from memory).
func SkinSag(f, a, dp float64) float64 { return f * a * a / (16 * math.Pi * dp) }

// SandwichStiffness returns the bending stiffness in N·mm of a sandwich with thin
// faces of modulus ef N/mm² and thickness tf mm on a core of c mm:
// ef·tf·(c+tf)²/2, Poisson's ratio and the core left out.
func SandwichStiffness(ef, tf, c float64) float64 { return ef * tf * (c + tf) * (c + tf) / 2 }
