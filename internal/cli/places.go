package cli

import (
	"fmt"
	"slices"

	"sparclear/pkg/work"
)

// mostPlaces is how many cuts are told of on a terminal: the worst placed.
const mostPlaces = 8

// places tells in a small table how far the edge of each cut in a wing may lie from
// where it is drawn, and who contributes what.
func (e *env) places(w *work.Work) {
	if w == nil {
		return
	}
	var cuts []work.Cut
	wide := len("place of the edge, mm")
	for _, c := range w.Cuts {
		if len(c.Place) > 0 {
			cuts = append(cuts, c)
		}
	}
	if len(cuts) == 0 {
		return
	}
	slices.SortStableFunc(cuts, func(a, b work.Cut) int {
		switch x, y := a.Tol-a.Astray(), b.Tol-b.Astray(); {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	more := max(0, len(cuts)-mostPlaces)
	cuts = cuts[:len(cuts)-more]
	for _, c := range cuts {
		wide = max(wide, len([]rune(c.Name)))
	}
	fmt.Fprintf(e.err, "%-*s", wide, "place of the edge, mm")
	for _, s := range cuts[0].Place {
		fmt.Fprintf(e.err, "  %s", s.Name)
	}
	fmt.Fprintln(e.err, "  together  allowed")
	for _, c := range cuts {
		fmt.Fprintf(e.err, "%-*s", wide, c.Name)
		for _, s := range c.Place {
			fmt.Fprintf(e.err, "  %*.3f", len(s.Name), s.MM)
		}
		fmt.Fprintf(e.err, "  %*.3f  %*.3f\n", len("together"), c.Astray(), len("allowed"), c.Tol)
	}
	if more > 0 {
		fmt.Fprintf(e.err, "and %d more that are placed better\n", more)
	}
}

// placeJSON is one row of that table.
type placeJSON struct {
	Cut       string      `json:"cut"`
	AstrayMM  float64     `json:"astray_mm"`
	AllowedMM float64     `json:"allowed_mm"`
	Shares    []shareJSON `json:"shares"`
}

type shareJSON struct {
	Name string  `json:"name"`
	MM   float64 `json:"mm"`
}

// placed adds the table to a report.
func (r report) placed(w *work.Work) report {
	if w == nil {
		return r
	}
	for _, c := range w.Cuts {
		if len(c.Place) == 0 {
			continue
		}
		row := placeJSON{Cut: c.Name, AstrayMM: c.Astray(), AllowedMM: c.Tol}
		for _, s := range c.Place {
			row.Shares = append(row.Shares, shareJSON(s))
		}
		r.Places = append(r.Places, row)
	}
	return r
}
