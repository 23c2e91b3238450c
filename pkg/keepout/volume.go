// Package keepout holds volumes that no cutter, shank or holder may enter: a
// footprint in program coordinates, a range of depth below the local skin, and a
// clearance. A Field answers how far a point, a segment or a box lies from a
// footprint, as a lower bound that always holds; it knows nothing of heights, of
// bodies or of what is to be done about it.
//
//	f := keepout.NewField(v.Footprint)
//	d := f.DistSeg(geom.Line(a, b)) // mm, 0 when it enters
package keepout

import (
	"math"

	"sparclear/pkg/geom"
)

// Kind is what a volume stands for.
type Kind string

// The kinds of volume.
const (
	Primary Kind = "primary" // spar, tube, anything that carries load: can never be accepted
	Rib     Kind = "rib"     // may be entered when the job accepts it
	Wire    Kind = "wire"    // wire run; may be accepted
	Clamp   Kind = "clamp"   // clamps, cradle, straps: never
	Flaw    Kind = "flaw"    // bad place in a sheet
	Other   Kind = "other"   // may be accepted
)

// Volume is the footprint times the depth range. Depth is positive into the
// material, below the local skin; From may be negative (above the skin, as for
// clamps) and To may be +Inf.
type Volume struct {
	Name      string
	Kind      Kind
	Footprint []geom.Region // program coordinates
	From, To  float64       // depth below the local skin, mm
	Clearance float64       // mm, error budget not included
	Layer     string        // where it was drawn
	Frame     geom.Rigid    // drawing → program coordinates
	Accept    bool          // the job accepts that this one is entered
}

// Bounds returns the box of the footprint.
func (v Volume) Bounds() geom.Box {
	b := geom.EmptyBox()
	for _, g := range v.Footprint {
		b = b.Union(g.Bounds())
	}
	return b
}

// Through tells whether the volume reaches down without end.
func (v Volume) Through() bool { return math.IsInf(v.To, 1) }
