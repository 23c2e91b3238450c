package shop

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// The fibre cutting angle is the angle between the cutting velocity of the tooth
// that leaves the finished wall and the fibre, turned from the velocity toward
// the side that is cut away, 0 to π: 0 along the fibre, between 0 and π/2 with
// it, beyond π/2 against it, as when planing wood against the grain. (Convention
// of orthogonal cutting of laminates, Wang, Ramulu and Arola 1995; from memory.)
//
// A spindle that turns clockwise seen from above moves the tooth along the wall
// with the kept material on its left, whichever way the cutter travels: climb and
// conventional milling differ in where the tooth enters, not in this angle. With
// geom's convention, the region on the left of every edge, the velocity at the
// wall is the direction of the edge itself, for outer contours and holes alike.

// Bounds of the range in which the top ply is most easily torn, rad: about 90° to
// 180° (Hintze, Hartmann and Schütte, Composites Sci. Technol. 71 (2011) 1719;
// range from memory). FibreMargin at both ends keeps edges along and across the
// fibre out of it.
const (
	FibreBadFrom = math.Pi / 2
	FibreBadTo   = math.Pi
	FibreMargin  = 0.5 * degree
)

// FibreStretch is a piece of an edge over which the fibre cutting angle rises or
// falls evenly.
type FibreStretch struct {
	Edge     int        // index of the edge in its contour
	From, To geom.Point // ends, in the direction of the contour
	Length   float64    // mm
	Start    float64    // fibre cutting angle at From, rad
	End      float64    // at To; the same for a straight edge
}

// fibreAngle folds the angle from the fibre direction to an edge direction into
// [0, π). An angle a rounding error below π is 0: the edge runs along the fibre.
func fibreAngle(edge, fibre float64) float64 {
	a := math.Mod(edge-fibre, math.Pi)
	if a < 0 {
		a += math.Pi
	}
	if a > math.Pi-1e-9 {
		a = 0
	}
	return a
}

// FibreAngles returns the fibre cutting angle along every edge of a contour whose
// kept material lies on the left, for the fibre direction in rad from +X. Arcs
// are divided where the angle passes 0, so that it is even over each stretch.
// Edges of no length are left out.
func FibreAngles(c geom.Contour, fibre float64) []FibreStretch {
	return fibreStretches(c, fibre, []float64{0})
}

// fibreStretches divides arcs at the given angles, each in [0, π).
func fibreStretches(c geom.Contour, fibre float64, at []float64) []FibreStretch {
	var out []FibreStretch
	for i := range c {
		s := c.Seg(i)
		l := s.Length()
		if !(l > 0) || math.IsInf(l, 0) {
			continue
		}
		t := s.TangentA()
		start := fibreAngle(math.Atan2(t.Y, t.X), fibre)
		sweep := s.Sweep()
		if sweep == 0 {
			out = append(out, FibreStretch{i, s.A, s.B, l, start, start})
			continue
		}
		cuts := crossings(start, sweep, at)
		for k := 0; k+1 < len(cuts); k++ {
			u, v := cuts[k], cuts[k+1]
			a, b := start+float64(u*sweep), start+float64(v*sweep)
			turn := math.Floor((a+b)/2/math.Pi) * math.Pi
			out = append(out, FibreStretch{i, s.At(u), s.At(v), l * (v - u), a - turn, b - turn})
		}
	}
	return out
}

// crossings returns the parameters 0 … 1 of an arc at which its angle, start at
// first and turning by sweep, passes one of the angles at modulo π.
func crossings(start, sweep float64, at []float64) []float64 {
	cuts := []float64{0}
	lo, hi := math.Min(start, start+sweep), math.Max(start, start+sweep)
	var inner []float64
	for _, a := range at {
		for k := math.Ceil((lo - a) / math.Pi); float64(k*math.Pi)+a <= hi; k++ {
			if u := (float64(k*math.Pi) + a - start) / sweep; u > 1e-9 && u < 1-1e-9 {
				inner = append(inner, u)
			}
		}
	}
	for len(inner) > 0 { // a handful at most
		m := 0
		for i := range inner {
			if inner[i] < inner[m] {
				m = i
			}
		}
		if inner[m] > cuts[len(cuts)-1]+1e-9 {
			cuts = append(cuts, inner[m])
		}
		inner = append(inner[:m], inner[m+1:]...)
	}
	return append(cuts, 1)
}

// FibreHistogram returns the length in mm of the contour in each of bins equal
// classes of the fibre cutting angle from 0 to π; arcs are divided exactly. Bins
// outside 1 to 360 give nil.
func FibreHistogram(c geom.Contour, fibre float64, bins int) []float64 {
	if bins < 1 || bins > 360 {
		return nil
	}
	width := math.Pi / float64(bins)
	at := make([]float64, bins)
	for i := range at {
		at[i] = float64(i) * width
	}
	out := make([]float64, bins)
	for _, s := range fibreStretches(c, fibre, at) {
		// A straight edge on the border of two classes counts in the upper one.
		i := int((s.Start+s.End)/2/width + 1e-9)
		out[min(max(i, 0), bins-1)] += s.Length
	}
	return out
}

// FibreBad returns the stretches of the contour whose fibre cutting angle lies in
// the bad range, FibreMargin inside its ends.
func FibreBad(c geom.Contour, fibre float64) []FibreStretch {
	from, to := FibreBadFrom+FibreMargin, FibreBadTo-FibreMargin
	var out []FibreStretch
	for _, s := range fibreStretches(c, fibre, []float64{0, from, to}) {
		if mid := (s.Start + s.End) / 2; mid > from && mid < to {
			out = append(out, s)
		}
	}
	return out
}

// JudgeFibre warns once for a region whose edges run against the fibre (code
// "fibre-against"): the length concerned, the whole length, and the places of the
// longest stretches. The places are in the frame of the region.
func JudgeFibre(r geom.Region, fibre float64) diag.List {
	var bad []FibreStretch
	whole, sum := 0.0, 0.0
	for _, c := range append([]geom.Contour{r.Outer}, r.Holes...) {
		whole += c.Length()
		bad = append(bad, FibreBad(c, fibre)...)
	}
	for _, s := range bad {
		sum += s.Length
	}
	if !(sum > 0) {
		return nil
	}
	f := diag.Finding{Code: "fibre-against", Severity: diag.Warn,
		Message: fmt.Sprintf("%.0f mm of %.0f mm of edge are cut against the fibre of the top ply, where it splinters most easily", sum, whole),
		Help:    "use a sharp cutter, back or tape the face, or turn the part; a finish pass takes what is torn"}.With(sum, whole, "mm")
	for range min(3, len(bad)) {
		m := 0
		for i := range bad {
			if bad[i].Length > bad[m].Length {
				m = i
			}
		}
		p := bad[m].From.Lerp(bad[m].To, 0.5)
		f = f.On(p.X, p.Y)
		bad = append(bad[:m:m], bad[m+1:]...)
	}
	return diag.List{f}
}
