package skin

import (
	"math"

	"sparclear/pkg/geom"
)

// flat is the same height everywhere.
type flat struct{ z, u, e float64 }

// Flat returns a skin at height z mm everywhere, taken as exact: a sheet on the
// table, or a panel whose skin was declared flat.
func Flat(z float64) Model { return flat{z: z} }

// FlatWithin returns a skin at height z mm everywhere whose height has the
// standard uncertainty u and is bounded by ±e besides, mm.
func FlatWithin(z, u, e float64) Model { return flat{z, math.Abs(u), math.Abs(e)} }

// Height is the same everywhere.
func (f flat) Height(geom.Point) float64 { return f.z }

// Range is one value.
func (f flat) Range(geom.Box) (lo, hi float64) { return f.z, f.z }

// Slope is 0.
func (f flat) Slope(geom.Box) float64 { return 0 }

// Bend is 0.
func (f flat) Bend(geom.Box) float64 { return 0 }

// Error is as declared.
func (f flat) Error(geom.Box) (u, e float64) { return f.u, f.e }

// Flat is true.
func (f flat) Flat() bool { return true }

// Covered is true: what is declared holds everywhere.
func (f flat) Covered(p geom.Point, r float64) bool { return true }

// Disc is one value.
func (f flat) Disc(geom.Point, float64) (lo, hi float64) { return f.z, f.z }
