package skin

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// Section is one rib of a wing, in a plane at right angles to the span. The
// wing's own frame has x aft, y along the span, z up.
type Section struct {
	Foil  Airfoil
	Span  float64 // y, mm
	Chord float64 // mm
	Lead  float64 // x of the leading edge before twist, mm: sweep
	Rise  float64 // z of the chord line at a quarter of the chord, mm: dihedral
	Twist float64 // about a quarter of the chord, rad, nose up positive
}

// Panel returns the sections of a straight tapered panel: root and tip, whose
// chords are in the ratio taper. sweep is that of the leading edge and dihedral
// that of the quarter-chord line, rad; washout is how much the nose of the tip is
// turned down, rad.
func Panel(root, tip Airfoil, span, chord, taper, sweep, dihedral, washout float64) []Section {
	return []Section{
		{Foil: root, Chord: chord},
		{Foil: tip, Span: span, Chord: chord * taper, Lead: span * math.Tan(sweep),
			Rise: span * math.Tan(dihedral), Twist: -washout},
	}
}

// Loft is the wing through its sections: straight lines join points of equal
// chord fraction of neighbouring sections. It is immutable.
type Loft struct {
	sections []ribbed
	lower    bool
	place    geom.Rigid
	back     geom.Rigid
	// first and last are the roots of the chord fractions between which the
	// surface is followed; beyond them it goes on straight.
	first, last float64
}

// ribbed is a section as curves over the root of the chord fraction.
type ribbed struct {
	span float64
	// up and low hold x and z of the two surfaces, mm.
	upX, upZ, lowX, lowZ []float64
}

// noseFraction is how near the leading edge a loft is followed, as a chord
// fraction: nobody cuts there, and the slope of the nose has no bound.
const noseFraction = 0.03

// NewLoft returns the wing through at least two sections in order of growing
// span. place takes the plan of the wing (x aft, y along the span) to program
// coordinates, reflected where the wing is seen from below or is the other
// panel; lowerUp says that the lower surface lies up, so that heights are those
// of the lower surface, upside down. Findings, all stops: "loft-sections".
func NewLoft(sections []Section, place geom.Rigid, lowerUp bool) (*Loft, diag.List) {
	fault := func(why string) (*Loft, diag.List) {
		return nil, diag.List{{Code: "loft-sections", Severity: diag.Stop, Input: true,
			Message: "the sections of the wing " + why, Help: "give at least two sections in order of growing span, each with a chord and a section"}}
	}
	if len(sections) < 2 {
		return fault("are fewer than two")
	}
	if len(sections) > 200 {
		return fault("are more than 200")
	}
	l := &Loft{lower: lowerUp, place: place, back: place.Inverse(),
		first: math.Sqrt(noseFraction), last: 1}
	for i, s := range sections {
		for _, v := range []float64{s.Span, s.Chord, s.Lead, s.Rise, s.Twist} {
			if !(math.Abs(v) <= 1e5) {
				return fault(fmt.Sprintf("have a value that is not finite or too large in section %d", i+1))
			}
		}
		switch {
		case !(s.Chord >= 1):
			return fault(fmt.Sprintf("have a chord below 1 mm in section %d", i+1))
		case len(s.Foil.upper) == 0:
			return fault(fmt.Sprintf("have no outline in section %d", i+1))
		case math.Abs(s.Twist) > 0.5:
			return fault(fmt.Sprintf("are twisted by more than 28° in section %d", i+1))
		case i > 0 && !(s.Span-sections[i-1].Span >= 1e-3):
			return fault(fmt.Sprintf("do not grow in span at section %d", i+1))
		}
		l.sections = append(l.sections, s.ribbed())
	}
	return l, nil
}

func (s Section) ribbed() ribbed {
	r := ribbed{span: s.Span}
	sin, cos := math.Sincos(s.Twist)
	point := func(f, y float64) (x, z float64) {
		dx, dz := (f-0.25)*s.Chord, y*s.Chord
		return s.Lead + s.Chord/4 + float64(dx*cos) + float64(dz*sin), s.Rise - float64(dx*sin) + float64(dz*cos)
	}
	for k := range foilSteps + 1 {
		f := float64(k) / foilSteps
		f *= f
		x, z := point(f, s.Foil.upper[k])
		r.upX, r.upZ = append(r.upX, x), append(r.upZ, z)
		x, z = point(f, s.Foil.lower[k])
		r.lowX, r.lowZ = append(r.lowX, x), append(r.lowZ, z)
	}
	return r
}

// surfaceAt returns z of the upper or lower surface at a place of the wing's
// plan; beyond the ends of the span the end sections go on.
func (l *Loft) surfaceAt(p geom.Point, upper bool) float64 {
	i := 0
	for i < len(l.sections)-2 && p.Y > l.sections[i+1].span {
		i++
	}
	a, b := &l.sections[i], &l.sections[i+1]
	t := math.Min(math.Max((p.Y-a.span)/(b.span-a.span), 0), 1)
	ax, az, bx, bz := a.upX, a.upZ, b.upX, b.upZ
	if !upper {
		ax, az, bx, bz = a.lowX, a.lowZ, b.lowX, b.lowZ
	}
	blend := func(u, v []float64, k int) float64 { return u[k] + float64(t*(v[k]-u[k])) }
	// The window of four values round the place, by halving; x grows with k
	// behind the nose.
	lo, hi := int(l.first*foilSteps), foilSteps
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; blend(ax, bx, mid) <= p.X {
			lo = mid
		} else {
			hi = mid
		}
	}
	k := min(max(lo-1, int(l.first*foilSteps)), foilSteps-3)
	var x, z [4]float64
	for j := range 4 {
		x[j], z[j] = blend(ax, bx, k+j), blend(az, bz, k+j)
	}
	s := solveCubic(x[:], p.X)
	from, to := l.first*foilSteps-float64(k), l.last*foilSteps-float64(k)
	if in := min(max(s, from), to); in != s {
		// Beyond the followed part the surface goes on straight.
		return cubic4(z[:], in) + float64((p.X-cubic4(x[:], in))*(slope4(z[:], in)/slope4(x[:], in)))
	}
	return cubic4(z[:], s)
}

// solveCubic returns where the growing cubic through v is x, held near the
// window.
func solveCubic(v []float64, x float64) float64 {
	// The values in the middle mostly hold the place between them.
	s := 1.5
	if d := v[2] - v[1]; d > 0 {
		s = min(max(1+(x-v[1])/d, -3), 6)
	}
	for range 8 {
		d := slope4(v, s)
		if !(d > 0) {
			break
		}
		step := (cubic4(v, s) - x) / d
		s = min(max(s-step, -3), 6)
		if math.Abs(step) < 1e-12 {
			break
		}
	}
	return s
}

// slope4 is the derivative of cubic4.
func slope4(v []float64, t float64) float64 {
	a, b, c, d := t, t-1, t-2, t-3
	return float64(-v[0]*(b*c+b*d+c*d))/6 + float64(v[1]*(a*c+a*d+c*d))/2 -
		float64(v[2]*(a*b+a*d+b*d))/2 + float64(v[3]*(a*b+a*c+b*c))/6
}

// near and far return the heights of the skin that lies up and of the other one,
// program coordinates, before the wing is fitted to touches.
func (l *Loft) near(p geom.Point) float64 {
	if l.lower {
		return -l.surfaceAt(l.back.Apply(p), false)
	}
	return l.surfaceAt(l.back.Apply(p), true)
}

func (l *Loft) far(p geom.Point) float64 {
	if l.lower {
		return -l.surfaceAt(l.back.Apply(p), true)
	}
	return l.surfaceAt(l.back.Apply(p), false)
}

// Plan returns the outline of the wing from above, program coordinates, without
// the nose that is not followed.
func (l *Loft) Plan() geom.Contour {
	var front, rear []geom.Point
	k := int(math.Ceil(l.first * foilSteps))
	for _, s := range l.sections {
		front = append(front, l.place.Apply(geom.Pt(math.Max(s.upX[k], s.lowX[k]), s.span)))
		rear = append(rear, l.place.Apply(geom.Pt(math.Min(s.upX[foilSteps], s.lowX[foilSteps]), s.span)))
	}
	pts := front
	for i := len(rear) - 1; i >= 0; i-- {
		pts = append(pts, rear[i])
	}
	c := geom.Polygon(pts...)
	if c.Area() < 0 {
		c = c.Reverse()
	}
	return c
}
