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

// evenDown keeps short moves from going down more steeply than planned once
// their ends are rounded to the grid of the controller: the end that is shared
// with the longer neighbour is moved by one step of the grid. Moves no steeper
// than slope are left alone.
func evenDown(moves []toolpath.Move, slope, step float64) {
	on := func(v float64) float64 { return math.Round(v/step) * step }
	across := func(i int) float64 {
		if i < 1 || i >= len(moves) || moves[i].Kind == toolpath.Rapid {
			return 0
		}
		a, b := geom.Pt(moves[i-1].X, moves[i-1].Y), geom.Pt(moves[i].X, moves[i].Y)
		if moves[i].Kind == toolpath.Arc && a != b {
			return geom.ArcThrough(a, b, moves[i].Center, moves[i].CCW).Length()
		}
		return a.Dist(b)
	}
	for i := 1; i < len(moves); i++ {
		m, from := &moves[i], &moves[i-1]
		l := across(i)
		if l <= 0 || l > 1 { // longer ones hardly change
			continue
		}
		down := on(from.Z) - on(m.Z)
		if down < step/2 || down/l <= 1.03*slope || down <= 1.03*(from.Z-m.Z) {
			continue
		}
		before, after := across(i-1), across(i+1)
		switch {
		case before >= after && before > l:
			from.Z = on(from.Z) - step
		case after > l:
			m.Z = on(m.Z) + step
		}
	}
}
