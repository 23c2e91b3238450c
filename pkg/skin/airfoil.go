package skin

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/interp"

	"sparclear/pkg/diag"
)

// Airfoil is a wing section of unit chord: nose at (0, 0), trailing edge at
// x = 1. It is immutable. The zero value is a flat line.
type Airfoil struct {
	name         string
	upper, lower []float64 // ordinates at x = (k/foilSteps)²
}

// foilSteps is how finely a section is tabulated. The ordinate is smooth in √x,
// also at the round nose, so equal steps of √x keep the error of the cubic
// between them below 1e-8 chord.
const foilSteps = 256

// Name returns what the section is called.
func (a Airfoil) Name() string { return a.name }

// Upper returns the ordinate of the upper surface at x (0 … 1, held there
// outside), in chords.
func (a Airfoil) Upper(x float64) float64 { return ordinate(a.upper, x) }

// Lower returns the ordinate of the lower surface at x, in chords.
func (a Airfoil) Lower(x float64) float64 { return ordinate(a.lower, x) }

func ordinate(t []float64, x float64) float64 {
	if len(t) == 0 {
		return 0
	}
	v := math.Sqrt(math.Min(math.Max(x, 0), 1)) * foilSteps
	k := min(max(int(v)-1, 0), foilSteps-3)
	return cubic4(t[k:k+4], v-float64(k))
}

// cubic4 is the cubic through four values at 0, 1, 2, 3 (Lagrange).
func cubic4(v []float64, t float64) float64 {
	a, b, c, d := t, t-1, t-2, t-3
	return float64(-v[0]*b*c*d)/6 + float64(v[1]*a*c*d)/2 - float64(v[2]*a*b*d)/2 + float64(v[3]*a*b*c)/6
}

// tabulateFoil makes a section from its ordinates as functions of x.
func tabulateFoil(name string, upper, lower func(x float64) float64) Airfoil {
	a := Airfoil{name: name}
	for k := range foilSteps + 1 {
		s := float64(k) / foilSteps
		a.upper = append(a.upper, upper(s*s))
		a.lower = append(a.lower, lower(s*s))
	}
	return a
}

// Naca returns a section of the four-digit or five-digit family, e.g. "2412",
// "NACA 23012", "23112" (reflexed). Thickness is laid off at right angles to the
// mean line. closed takes the trailing edge to a point (last coefficient 0.1036
// instead of 0.1015). A designation that the families do not hold is the stop
// "foil-unknown".
//
// Equations: Ladson, Brooks, Hill, Sproles, NASA TM 4741, 1996; Abbott, von
// Doenhoff, Stivers, NACA Report 824, 1945.
func Naca(code string, closed bool) (Airfoil, diag.List) {
	digits := strings.TrimSpace(strings.TrimPrefix(strings.ToUpper(strings.TrimSpace(code)), "NACA"))
	unknown := func(why string) (Airfoil, diag.List) {
		return Airfoil{}, diag.List{{Code: "foil-unknown", Severity: diag.Stop, Input: true, Subject: clip(code),
			Message: fmt.Sprintf("section %q %s", clip(code), why), Help: "give four or five digits, such as 2412 or 23012, or a coordinate file"}}
	}
	n, err := strconv.ParseUint(digits, 10, 32)
	if err != nil || len(digits) != 4 && len(digits) != 5 {
		return unknown("is no four-digit or five-digit designation")
	}
	t := float64(n%100) / 100
	if t == 0 {
		return unknown("has no thickness")
	}
	var mean func(x float64) (y, slope float64)
	if len(digits) == 4 {
		m, p := float64(n/1000)/100, float64(n/100%10)/10
		if m > 0 && p == 0 {
			return unknown("has camber but no place for it")
		}
		mean = func(x float64) (float64, float64) { return mean4(m, p, x) }
	} else {
		line, ok := meanLineOf(n / 100 % 100)
		lift := float64(n/10000) / 2 // the table is for a design lift of 0.3, digit 2
		if !ok || lift == 0 {
			return unknown("has a mean line that the five-digit family does not hold")
		}
		mean = func(x float64) (float64, float64) { return line.at(x, lift) }
	}
	last := 0.1015
	if closed {
		last = 0.1036
	}
	side := func(sign float64) func(x float64) float64 {
		return func(x float64) float64 { return nacaSide(mean, t, last, sign, x) }
	}
	return tabulateFoil("NACA "+digits, side(1), side(-1)), nil
}

// nacaSide returns the ordinate of one surface at x: the station s whose point on
// the surface stands at x is found by halving.
func nacaSide(mean func(float64) (float64, float64), t, last, sign, x float64) float64 {
	point := func(s float64) (px, py float64) {
		r := math.Max(s, 0)
		yt := t / 0.2 * (0.2969*math.Sqrt(r) + float64(r*(-0.1260+float64(r*(-0.3516+float64(r*(0.2843-float64(r*last))))))))
		yc, dy := mean(s)
		l := math.Hypot(1, dy)
		return s - float64(sign*yt*dy/l), yc + float64(sign*yt/l)
	}
	// Behind its foremost point, which at a cambered nose lies a little ahead of
	// x = 0, a surface runs aft with s: what is ahead of x lies below the root.
	lo, hi := 0.0, 1.02
	if px, _ := point(1e-6); px < x {
		lo = 1e-6
	} else if x == 0 {
		return 0
	}
	for range 60 {
		mid := (lo + hi) / 2
		if px, _ := point(mid); px < x {
			lo = mid
		} else {
			hi = mid
		}
	}
	_, y := point((lo + hi) / 2)
	return y
}

func mean4(m, p, x float64) (y, slope float64) {
	if m == 0 {
		return 0, 0
	}
	if x <= p {
		return m / (p * p) * (2*p*x - float64(x*x)), 2 * m / (p * p) * (p - x)
	}
	q := (1 - p) * (1 - p)
	return m / q * (1 - 2*p + 2*p*x - float64(x*x)), 2 * m / q * (p - x)
}

// meanLine5 is a mean line of the five-digit family for a design lift
// coefficient of 0.3.
type meanLine5 struct{ m, k1, ratio float64 } // ratio k2/k1 of a reflexed line, 0 of a plain one

// meanLineOf finds a mean line by second and third digit: NASA TM 4741, tables
// of the five-digit and the reflexed five-digit mean lines (from memory; checked
// against the published camber of 1.84 % chord at 15 % of the 230 line).
func meanLineOf(digits uint64) (meanLine5, bool) {
	switch digits {
	case 10:
		return meanLine5{0.0580, 361.4, 0}, true
	case 20:
		return meanLine5{0.1260, 51.64, 0}, true
	case 30:
		return meanLine5{0.2025, 15.957, 0}, true
	case 40:
		return meanLine5{0.2900, 6.643, 0}, true
	case 50:
		return meanLine5{0.3910, 3.230, 0}, true
	case 21:
		return meanLine5{0.1300, 51.990, 0.000764}, true
	case 31:
		return meanLine5{0.2170, 15.793, 0.00677}, true
	case 41:
		return meanLine5{0.3180, 6.520, 0.0303}, true
	case 51:
		return meanLine5{0.4410, 3.191, 0.1355}, true
	}
	return meanLine5{}, false
}

func (l meanLine5) at(x, lift float64) (y, slope float64) {
	k := l.k1 / 6 * lift
	m, m3 := l.m, l.m*l.m*l.m
	if l.ratio == 0 {
		if x < m {
			return k * (x*x*x - 3*m*x*x + m*m*(3-m)*x), k * (3*x*x - 6*m*x + m*m*(3-m))
		}
		return k * m3 * (1 - x), -k * m3
	}
	q := (1 - m) * (1 - m) * (1 - m) * l.ratio
	d := x - m
	if x < m {
		return k * (d*d*d - q*x - m3*x + m3), k * (3*d*d - q - m3)
	}
	return k * (l.ratio*d*d*d - q*x - m3*x + m3), k * (3*l.ratio*d*d - q - m3)
}

// foilThrough makes a section through the points of its two surfaces, each from
// nose to tail with growing x.
func foilThrough(name string, upper, lower [][2]float64) (Airfoil, bool) {
	curve := func(p [][2]float64) (func(float64) float64, bool) {
		var xs, ys []float64
		for _, q := range p {
			s := math.Sqrt(math.Max(q[0], 0))
			if n := len(xs); n > 0 && s <= xs[n-1]+1e-9 {
				continue
			}
			xs, ys = append(xs, s), append(ys, q[1])
		}
		if len(xs) < 5 {
			return nil, false
		}
		var c interp.AkimaSpline
		if c.Fit(xs, ys) != nil {
			return nil, false
		}
		return func(x float64) float64 { return c.Predict(math.Sqrt(x)) }, true
	}
	u, ok1 := curve(upper)
	l, ok2 := curve(lower)
	if !ok1 || !ok2 {
		return Airfoil{}, false
	}
	return tabulateFoil(name, u, l), true
}
