package job

import (
	"fmt"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// promises checks, after a stage, what the next rooms rely on: contours are
// finite, have at least two edges, and run the right way round.
func promises(stage string, s *state) diag.List {
	if s.w == nil {
		return nil
	}
	var l diag.List
	check := func(what string, gs []geom.Region) {
		for _, g := range gs {
			if msg := brokenRegion(g); msg != "" {
				l.Add(diag.Finding{Code: "promise-broken", Severity: diag.Stop, Subject: what, Message: fmt.Sprintf("after %s: %s", stage, msg), Help: "this is a fault of sparclear; please report the job"})
			}
		}
	}
	for _, c := range s.w.Cuts {
		check(c.Name, c.Regions)
	}
	for _, m := range s.w.Members {
		check(m.Name, m.Footprint)
	}
	for _, p := range s.w.Parts {
		check(p.Name, []geom.Region{p.Region})
	}
	return l
}

func brokenRegion(g geom.Region) string {
	for i, c := range g.Contours() {
		if len(c) < 2 {
			return "a contour has fewer than two edges"
		}
		for _, v := range c {
			if !v.Finite() || v.Bulge != v.Bulge {
				return "a contour has a corner that is not finite"
			}
		}
		if a := c.Area(); i == 0 && a <= 0 || i > 0 && a >= 0 {
			return "a contour runs the wrong way round"
		}
	}
	return ""
}
