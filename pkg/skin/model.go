// Package skin knows how high the surface of the work lies above the program's
// zero at (x, y). In come a declared height, touched heights or wing sections;
// out comes a Model, which is flat, a plane, a surface interpolated from touches,
// or a loft of sections laid on touches. Every model carries bounds that always
// hold over a box, so that the proof can certify instead of sample, and a bound
// for its own error. It also reads measured heights, says where to touch and what
// more to touch, what height a cutter may stand at (Window), and how far below
// the other skin of a hollow wing lies (Far). It never extrapolates in silence:
// Covered tells where a model has no data.
//
//	touches, found := skin.ReadHeights(file, "touched.csv")
//	m, more := skin.Points(touches, skin.Options{})
//	z := m.Height(geom.Pt(120, 45))
//
// Curved models are held as bicubic B-spline patches with hulls of their
// heights and derivatives, so that every question costs about the same (some
// 20 ns a height, 100 ns a range) however many touches or sections are behind it.
package skin

import "sparclear/pkg/geom"

// Model is the height of the skin in program coordinates, mm. Implementations
// are immutable and safe for concurrent use.
type Model interface {
	// Height returns the modelled height at p.
	Height(p geom.Point) float64
	// Range returns bounds of Height over the closed box: lo ≤ Height ≤ hi
	// everywhere in it. Tight for small boxes.
	Range(b geom.Box) (lo, hi float64)
	// Slope returns a bound of |grad Height| over the box.
	Slope(b geom.Box) float64
	// Bend returns a bound of the second directional derivative (1/mm) over the
	// box: a chord of length l strays from the surface by at most Bend·l²/8.
	Bend(b geom.Box) float64
	// Error returns u, the standard uncertainty of the modelled height in the
	// box (random part), and e, a bound of what is not random (always holds), mm.
	Error(b geom.Box) (u, e float64)
	// Flat tells whether the height is the same everywhere.
	Flat() bool
}
