// Package locate finds where a drawing lies on the machine. In come datums,
// points that are known on the drawing and were touched on the work, and touches
// along drawn lines (a hinge line, a root rib); out come the rigid transform
// drawing → program, how well the datums agree with it, findings (a wrong datum,
// a wrong scale, the other panel) and the uncertainty of position anywhere on
// the work. It never stretches a drawing: scale is a diagnosis only, and a
// reflection is applied only when the job says that the drawing is of the other
// panel.
//
//	r, found := locate.Fit([]locate.Pair{
//		{Name: "root pin", Drawn: geom.Pt(0, 0), Touched: geom.Pt(112.4, 58.1)},
//		{Name: "tip pin", Drawn: geom.Pt(400, 0), Touched: geom.Pt(512.3, 61.2)},
//		{Name: "hinge pin", Drawn: geom.Pt(200, 150), Touched: geom.Pt(311.2, 209.6)},
//	}, nil, locate.Options{})
package locate

import (
	"math"

	"sparclear/pkg/geom"
)

// Pair is a datum: one point on the drawing and where it was touched.
type Pair struct {
	Name    string
	Drawn   geom.Point // drawing coordinates, mm
	Touched geom.Point // program coordinates, mm
	// Weight is relative to a datum of usual quality, whose weight is 1; a datum
	// touched with twice the uncertainty has weight 1/4. 0 means 1.
	Weight float64
}

// LinePair is one touch somewhere along a drawn straight line: it says how far
// the line lies across, and nothing about where along.
type LinePair struct {
	Name    string
	A, B    geom.Point // the line on the drawing, mm; endless in both directions
	Touched geom.Point // program coordinates, mm: centre of the probe or edge finder
	// Offset is the distance of the touched centre from the line, mm, positive to
	// the left of A→B as drawn: the radius of a probe that touches an edge.
	Offset float64
	Weight float64 // as in Pair
}

// Options are the limits of a fit. The zero value holds the limits of the trade.
type Options struct {
	// Mirrored says that the drawing shows the other panel: it is reflected
	// before it is turned and shifted.
	Mirrored bool
	// HandSaid says that somebody looked: panel and side up are stated, so that
	// datums which cannot tell a panel from its mirror image need no confirmation.
	HandSaid bool
	// DatumU is the standard uncertainty of one touched coordinate, mm; 0 means
	// DefaultDatumU.
	DatumU float64
	// Warn and Stop are limits for the largest residual, mm; 0 means
	// ResidualWarn and ResidualStop.
	Warn, Stop float64
	// Scale is the largest scale error, as a ratio; 0 means ScaleStop.
	Scale float64
	// Turn is the turn of the work as it was set up, rad. It is taken as it
	// stands when one datum is all there is, and chooses when several turns fit.
	Turn float64
	// TurnU is the standard uncertainty of Turn, rad, used when one datum is all
	// there is; 0 means DefaultTurnU.
	TurnU float64
}

// The limits of the trade, used where Options are silent.
const (
	// ResidualWarn, mm: common practice, no source.
	ResidualWarn = 0.3
	// ResidualStop, mm: common practice, no source.
	ResidualStop = 1.0
	// ScaleStop, a ratio: 0.2 % tells wrong units or a wrong panel; common
	// practice, no source.
	ScaleStop = 0.002
	// DefaultDatumU, mm: one coordinate touched with a pin or an edge finder by
	// hand; common practice, no source.
	DefaultDatumU = 0.05
	// DefaultTurnU, rad: a panel laid along the table by eye and square, 0.2°;
	// common practice, no source.
	DefaultTurnU = 0.2 * math.Pi / 180
)

func (o Options) filled() Options {
	set := func(v *float64, d float64) {
		if !(*v > 0) {
			*v = d
		}
	}
	set(&o.DatumU, DefaultDatumU)
	set(&o.Warn, ResidualWarn)
	set(&o.Stop, ResidualStop)
	set(&o.Scale, ScaleStop)
	set(&o.TurnU, DefaultTurnU)
	return o
}

// Residual tells how far one touch lies from where the fit puts it.
type Residual struct {
	Name string
	// Distance is between the fitted and the touched place, mm; for a touch on a
	// line, the distance across the line.
	Distance float64
	// Off is touched minus fitted, program coordinates, mm.
	Off geom.Point
	// Line tells a touch on a line from a datum.
	Line bool
}

// Result is a fit.
type Result struct {
	Frame geom.Rigid // drawing → program; Mirror only when Options.Mirrored
	Turn  float64    // rad, in (-π, π]; the same as Frame.Turn
	// RMS is the root mean square of the residual distances, mm, weighted.
	RMS float64
	// Worst is the largest residual, mm, and WorstName the touch that has it.
	Worst     float64
	WorstName string
	// Scale is the ratio touched : drawn that would fit the datums best; 1 when
	// fewer than two datums leave it open.
	Scale float64
	// MirroredRMS is the RMS of the best fit of the drawing's mirror image, mm.
	MirroredRMS float64
	Residuals   []Residual // datums first, then touches on lines, as given
	// Outlier names the one touch without which all others agree, or is "".
	Outlier string

	cov    [3][3]float64 // of (turn, shift X, shift Y) for unit variance of a touch
	origin geom.Point    // about which cov turns
	sigma  float64       // standard deviation of a unit-weight coordinate by the residuals, 0 unknown
	dof    int
}
