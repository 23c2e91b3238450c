package skin

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// outlierLimit, mm: a touch that stands this far off its neighbourhood is to be
// looked at (common practice, no source).
const outlierLimit = 0.5

// Outliers returns a confirm "height-outlier" for each touch that stands more
// than 0.5 mm off the plane or, with enough of them, the quadratic through its
// nearest neighbours, unless a neighbour stands off more.
func Outliers(touches []Touch) diag.List {
	var found diag.List
	n := len(touches)
	if n < 5 || checkTouches(touches, 5).Blocks() {
		return nil
	}
	pts := make([]geom.Point, n)
	for i, t := range touches {
		pts[i] = t.At()
	}
	grid := bucketsOf(pts)
	off := make([]float64, n)
	near := make([][]int32, n)
	for i, p := range pts {
		near[i] = grid.nearest(p, 11, nil)
		off[i] = neighbourhood(touches, near[i], int32(i))
	}
	for i, t := range touches {
		worst := math.Abs(off[i]) > outlierLimit
		for _, k := range near[i] {
			worst = worst && math.Abs(off[k]) <= math.Abs(off[i])
		}
		if worst {
			found.Add(diag.Finding{Code: "height-outlier", Severity: diag.Confirm, Subject: t.Name,
				Message: fmt.Sprintf("a touched height stands %+.2f mm off its neighbourhood", off[i]),
				Help:    "touch it again: tape, dust or a bent probe reads wrong"}.
				With(math.Abs(off[i]), outlierLimit, "mm").AtMachine(t.X, t.Y, t.Z))
		}
	}
	return found
}

// neighbourhood returns how far touch self stands above the least-squares
// surface through the others listed.
func neighbourhood(t []Touch, near []int32, self int32) float64 {
	var others []Touch
	for _, k := range near {
		if k != self {
			others = append(others, t[k])
		}
	}
	p := placesOf(others)
	at := t[self].At().Sub(p.centre).Mul(p.scale)
	for _, order := range []int{3, 2} {
		if len(others) < termCount(order)+2 && order > 2 {
			continue
		}
		sys, ok := polynomials(order, p)
		if !ok {
			continue
		}
		var z float64
		var buf [6]float64
		for k, v := range terms(order, at, buf[:]) {
			z += float64(sys[k] * v)
		}
		return t[self].Z - z
	}
	return 0
}

// polynomials fits the free polynomials of an order alone by least squares.
func polynomials(order int, p places) ([]float64, bool) {
	s, ok := reflect(order, p)
	if !ok {
		return nil, false
	}
	y := append([]float64(nil), p.z...)
	for _, h := range s.h {
		h.apply(y)
	}
	out := make([]float64, s.q)
	for k := s.q - 1; k >= 0; k-- {
		v := y[k]
		for j := k + 1; j < s.q; j++ {
			v -= float64(s.r[j][k] * out[j])
		}
		out[k] = v / s.r[k][k]
	}
	return out, true
}
