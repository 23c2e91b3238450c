package job

import (
	"context"
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/locate"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// weighPlaces says of every cut in a wing how far its edge may lie from where it is
// drawn on the true wing, and who contributes what; where that is more than the
// tolerance of the cut, it asks ("place-unsure").
func weighPlaces(_ context.Context, s *state) {
	if s.w.Sheet {
		return
	}
	for i := range s.w.Cuts {
		c := &s.w.Cuts[i]
		b := s.placeBudget(c)
		c.Place = nil
		for _, sh := range b.Shares() {
			c.Place = append(c.Place, work.Share{Name: sh.Name, MM: sh.Millimetres})
		}
		got := b.Total()
		if c.Tol <= 0 || got <= c.Tol {
			continue
		}
		most := c.Place[0]
		for _, sh := range c.Place {
			if sh.MM > most.MM {
				most = sh
			}
		}
		s.add(diag.Finding{Code: "place-unsure", Severity: diag.Confirm, Subject: s.req.Name, Cut: c.Name,
			Message: fmt.Sprintf("%s: its edge is known to lie within %.2f mm of where it is drawn, %.2f mm asked for; %s has the largest share, %.2f mm", c.Name, got, c.Tol, most.Name, most.MM),
			Help:    "touch datums farther apart or more of them, nearer to the cut; or allow more by tolerance = …"}.
			With(got, c.Tol, "mm").AtLine(c.File, c.Line, 1))
	}
}

// placeBudget is the error budget of the place of a cut: where the wing lies, at
// the place of the cut where that is known least, and what machine and cutter add.
func (s *state) placeBudget(c *work.Cut) locate.Budget {
	m, t, r := s.w.Machine, s.w.Cutters[c.Cutter], s.w.Register
	u := locate.Uncertainty{Base: r.Base, Centroid: r.Centroid, Spread: r.Spread}
	var place float64
	box := boxOf(c.Regions, c.Chains, c.Points)
	for _, p := range []geom.Point{box.Min, box.Max, {X: box.Min.X, Y: box.Max.Y}, {X: box.Max.X, Y: box.Min.Y}} {
		place = math.Max(place, u.At(p)) // convex, so that a corner decides
	}
	blend := m.Controller.BlendTol
	if m.Controller.PathMode == shop.PathExact || m.Controller.PathMode == shop.PathExactStop {
		blend = 0
	}
	digit := math.Pow(10, -float64(m.Controller.Decimals)) / 2
	if m.Controller.Units == "inch" {
		digit *= 25.4
	}
	name := "datums"
	if s.byResiduals {
		name = "residuals" // of the datums: worse than touching explains
	}
	return locate.Budget{
		{Name: name, Random: place},
		{Name: "reversal", Bound: math.Max(r.Fixed, m.Reversal)},
		{Name: "runout", Bound: m.Runout / 2},
		{Name: "cutter", Bound: t.DiameterTol / 2},
		{Name: "corners", Bound: blend},
		{Name: "digit", Bound: digit},
	}
}
