package locate

import "math"

// Contribution is one line of an error budget.
type Contribution struct {
	Name string
	// Random is a standard uncertainty, mm: it may be either way and is
	// independent of the others.
	Random float64
	// Bound is a limit that always holds, mm (runout, tolerance of the cutter
	// diameter, path blending, rounding, chord error, reversal value).
	Bound float64
	// Dof are the degrees of freedom behind Random; 0 means that it is known
	// well (infinitely many).
	Dof float64
}

// Budget is an error budget: random parts combine as root sum of squares,
// bounds add up. The empty budget is exact.
type Budget []Contribution

// Coverage is the factor on the combined standard uncertainty (JCGM 100:2008,
// 6.2: about 95 % for a normal distribution).
const Coverage = 2

// Combined returns the combined standard uncertainty of the random parts, mm
// (JCGM 100:2008, 5.1.2, uncorrelated, sensitivity 1).
func (b Budget) Combined() float64 {
	var sum float64
	for _, c := range b {
		sum += float64(c.Random * c.Random)
	}
	return math.Sqrt(sum)
}

// Bounds returns the sum of the bounds, mm.
func (b Budget) Bounds() float64 {
	var sum float64
	for _, c := range b {
		sum += c.Bound
	}
	return sum
}

// Total returns how much is to be kept clear, mm: Coverage times the combined
// standard uncertainty plus the bounds.
func (b Budget) Total() float64 { return Coverage*b.Combined() + b.Bounds() }

// Dof returns the effective degrees of freedom of the combined standard
// uncertainty (Welch-Satterthwaite, JCGM 100:2008, G.4.1), +Inf when every part
// is well known.
func (b Budget) Dof() float64 {
	var sum float64
	for _, c := range b {
		if c.Dof > 0 {
			sum += c.Random * c.Random * c.Random * c.Random / c.Dof
		}
	}
	if sum == 0 {
		return math.Inf(1)
	}
	u := b.Combined()
	return u * u * u * u / sum
}

// Share is a line of the table that is shown with an opening.
type Share struct {
	Name string
	// Millimetres is the part of Budget.Total that is there because of this
	// contribution; the shares of a budget add up to its total.
	Millimetres float64
}

// Shares splits the total by contribution, in the order of the budget: each
// random part has a share in proportion to its variance.
func (b Budget) Shares() []Share {
	u := b.Combined()
	out := make([]Share, 0, len(b))
	for _, c := range b {
		s := Share{Name: c.Name, Millimetres: c.Bound}
		if u > 0 {
			s.Millimetres += Coverage * c.Random * c.Random / u
		}
		out = append(out, s)
	}
	return out
}

// Rectangular returns the standard uncertainty of a value that lies anywhere
// within ±a with equal chance, a/√3 (JCGM 100:2008, 4.3.7).
func Rectangular(a float64) float64 { return math.Abs(a) / math.Sqrt(3) }

// Triangular returns the standard uncertainty of a value within ±a that is
// likeliest in the middle, a/√6 (JCGM 100:2008, 4.3.9).
func Triangular(a float64) float64 { return math.Abs(a) / math.Sqrt(6) }
