package locate

import (
	"math"

	"sparclear/pkg/geom"
)

// Uncertainty tells how well the place of the drawing is known at any point of
// the work: the standard uncertainty of position at p, both axes together, is
// Base·sqrt(1 + |p − Centroid|²/Spread²).
type Uncertainty struct {
	Base     float64    // at the centroid, mm
	Centroid geom.Point // program coordinates, mm
	Spread   float64    // mm; 0 means that the turn is exact
	Fixed    float64    // a bound that always holds, mm, added linearly
}

// At returns the standard uncertainty of position at p, mm: the root of the sum
// of the variances along X and Y, hence never less than along any one direction.
// Fixed is not included.
func (u Uncertainty) At(p geom.Point) float64 {
	if u.Spread == 0 {
		return u.Base
	}
	d := p.Dist(u.Centroid) / u.Spread
	return u.Base * math.Sqrt(1+float64(d*d))
}

// Bound returns how far a drawn point may lie from its computed place at p, mm:
// twice the standard uncertainty plus Fixed. For normally spread errors of equal
// size along both axes it holds in 98.2 % of cases (1 − exp(−4), closed form).
func (u Uncertainty) Bound(p geom.Point) float64 { return 2*u.At(p) + u.Fixed }

// Scatter returns the standard deviation of one touched coordinate by the residuals
// of the fit, mm; 0 when there are too few touches to tell.
func (r Result) Scatter() float64 { return r.sigma }

// Uncertainty returns the uncertainty of the fit, given the standard uncertainty
// of one touched coordinate and a bound for what is not random (reversal value
// of the axes), mm. Where the residuals say worse than datum, they are believed.
//
// For datums of equal weight Base² is 2u²/N and Spread² twice the mean square
// distance from the centroid: the target registration error of Fitzpatrick, West
// and Maurer (IEEE Trans. Med. Imaging 17(5), 1998, 694-702) in two dimensions.
// For any mixture of datums, lines and weights the trace of the covariance of
// position is still a quadratic in p with a round quadratic part, so the three
// figures hold it without loss.
func (r Result) Uncertainty(datum, fixed float64) Uncertainty {
	u := math.Max(datum, r.sigma)
	turn := r.cov[0][0]
	if turn == 0 {
		return Uncertainty{Fixed: fixed, Centroid: r.origin}
	}
	across := r.cov[1][1] + r.cov[2][2]
	m := geom.Pt(r.cov[0][2], -r.cov[0][1])
	base := math.Max(across-m.Dot(m)/turn, 1e-12)
	return Uncertainty{
		Base:     u * math.Sqrt(base),
		Centroid: r.origin.Sub(m.Mul(1 / turn)),
		Spread:   math.Sqrt(base / turn),
		Fixed:    fixed,
	}
}
