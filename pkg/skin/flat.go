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

func (f flat) Height(geom.Point) float64                 { return f.z }
func (f flat) Range(geom.Box) (lo, hi float64)           { return f.z, f.z }
func (f flat) Slope(geom.Box) float64                    { return 0 }
func (f flat) Bend(geom.Box) float64                     { return 0 }
func (f flat) Error(geom.Box) (u, e float64)             { return f.u, f.e }
func (f flat) Flat() bool                                { return true }
func (f flat) Gradient(geom.Point) geom.Point            { return geom.Point{} }
func (f flat) Covered(p geom.Point, r float64) bool      { return true }
func (f flat) Disc(geom.Point, float64) (lo, hi float64) { return f.z, f.z }
