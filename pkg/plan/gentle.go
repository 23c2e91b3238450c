package plan

import (
	"math"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
)

// gridStep is the last decimal that a controller takes, mm.
func gridStep(c shop.Controller) float64 {
	unit, decimals := 1.0, c.Decimals
	if c.Units == "inch" {
		unit = 25.4
		if decimals <= 0 {
			decimals = 4
		}
	}
	if decimals <= 0 {
		decimals = 3
	}
	return unit * math.Pow(10, -float64(decimals))
}

// gentle lowers the feed of moves that go down faster than plunge, or up or down
// faster than the Z axis can, as they will be once their ends are rounded to the
// grid of the controller: a very short move may be twice as steep then.
func gentle(moves []toolpath.Move, plunge, axis, step float64) {
	on := func(v float64) float64 { return math.Round(v/step) * step }
	for i := 1; i < len(moves); i++ {
		m, from := &moves[i], &moves[i-1]
		if m.Kind == toolpath.Rapid {
			continue
		}
		dz := on(m.Z) - on(from.Z)
		if math.Abs(dz) < step/2 {
			continue
		}
		limit := axis
		if dz < 0 && plunge > 0 && (limit <= 0 || plunge < limit) {
			limit = plunge
		}
		a, b := geom.Pt(on(from.X), on(from.Y)), geom.Pt(on(m.X), on(m.Y))
		across := a.Dist(b)
		if m.Kind == toolpath.Arc {
			if across < step/2 {
				across = 2 * math.Pi * a.Dist(m.Center)
			} else {
				across = geom.ArcThrough(a, b, m.Center, m.CCW).Length()
			}
		}
		l := math.Hypot(across, dz)
		if most := limit * l / math.Abs(dz); limit > 0 && m.Feed > most {
			m.Feed = most * (1 - 1e-4)
		}
	}
}
