package nest

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// Bounds on the input: beyond them a search would not end in a useful time. They
// are far above a day's work of one machine.
const (
	mostCopies   = 20_000
	mostVertices = 20_000 // of one part
	mostPieces   = 10_000
)

// bad returns a finding on the input itself.
func bad(code, subject, message, help string) diag.Finding {
	return diag.Finding{Code: code, Severity: diag.Stop, Input: true, Subject: subject, Message: message, Help: help}
}

// check looks at the rules before anything is searched.
func check(parts []Part, sheets []Sheet, o Options) diag.List {
	var out diag.List
	if len(parts) == 0 {
		out.Add(bad("no-parts", "", "there is nothing to place", "name at least one part"))
	}
	if len(sheets) == 0 {
		out.Add(bad("no-sheets", "", "there is no sheet to place parts on", "name at least one sheet"))
	}
	if !(o.Spacing >= 0) || math.IsInf(o.Spacing, 0) {
		out.Add(bad("spacing-wrong", "", "the spacing must be 0 or more", "cutter diameter plus web").With(o.Spacing, 0, "mm"))
	}
	total := 0
	for _, p := range parts {
		out.Add(checkPart(p, len(sheets))...)
		total += max(0, min(p.Quantity, mostCopies+1))
	}
	if total > mostCopies {
		out.Add(bad("too-many-copies", "", "more copies are asked for than one nest can hold", "split the job").With(float64(total), mostCopies, "copies"))
	}
	for _, s := range sheets {
		out.Add(checkSheet(s)...)
	}
	return out
}

func checkPart(p Part, sheets int) diag.List {
	var out diag.List
	if f, ok := checkRegion(p.Name, p.Region); !ok {
		return diag.List{f}
	}
	switch {
	case p.Quantity == 0:
		out.Add(diag.Finding{Code: "quantity-zero", Severity: diag.Warn, Subject: p.Name,
			Message: "no copy is asked for, the part is left out", Help: "give a quantity of 1 or more, or fill"})
	case p.Quantity < Fill:
		out.Add(bad("quantity-wrong", p.Name, fmt.Sprintf("quantity %d means nothing", p.Quantity), "1 or more, or fill"))
	}
	if p.Quantity >= 0 && len(p.Locked) > p.Quantity {
		out.Add(bad("locked-too-many", p.Name, fmt.Sprintf("%d copies are laid by hand, %d asked for", len(p.Locked), p.Quantity), "raise the quantity or take one away"))
	}
	for _, l := range p.Locked {
		if l.Sheet < 0 || l.Sheet >= sheets || l.Piece < 0 || !l.Frame.Shift.Finite() || !finite(l.Frame.Turn) {
			out.Add(bad("locked-nowhere", p.Name, "a copy is laid by hand on a sheet that does not exist", "name one of the sheets, and a piece from 0"))
		}
	}
	if p.Free && len(p.Turns) > 0 {
		out.Add(bad("turns-contradict", p.Name, "the part may lie in any direction and also only in the turns named", "name the turns or free, not both"))
	}
	if !(p.TurnTol >= 0) || math.IsInf(p.TurnTol, 0) {
		out.Add(bad("turns-wrong", p.Name, "the tolerance of the turns must be 0 or more", "degrees to either side").With(deg(p.TurnTol), 0, "°"))
	}
	if len(p.Turns) > 360 {
		out.Add(bad("turns-wrong", p.Name, "more than 360 turns are named", "name fewer, or free"))
	}
	if n := len(p.Turns) * len(p.Region.Outer); n > mostEdges/8 {
		out.Add(bad("turns-wrong", p.Name, "more turns are named than an outline with so many edges can be tried in", "name fewer, or thin the outline out").With(float64(n), mostEdges/8, "edges in all turns"))
	}
	for _, a := range p.Turns {
		if !finite(a) {
			out.Add(bad("turns-wrong", p.Name, "a turn is not a number", "give turns in degrees"))
		}
	}
	return out
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// checkRegion tells whether a region can be worked with: finite, of some area,
// not crossing itself. Otherwise the finding says why.
func checkRegion(name string, g geom.Region) (diag.Finding, bool) {
	n := 0
	for _, c := range g.Contours() {
		n += len(c)
		if len(c) < 2 {
			return bad("outline-empty", name, "an outline has fewer than two edges", "draw it closed"), false
		}
		for _, v := range c {
			if !v.Finite() || !finite(v.Bulge) || math.Max(math.Abs(v.X), math.Abs(v.Y)) > 1e6 {
				return bad("outline-wrong", name, "an outline has a coordinate that is not a number or over a kilometre out", "draw it again"), false
			}
		}
	}
	if n > mostVertices {
		return bad("outline-too-fine", name, "an outline has too many edges", "thin it out where it was exported").With(float64(n), mostVertices, "edges"), false
	}
	whole, fs := geom.Nest(g.Contours())
	for _, f := range fs {
		if f.Blocks() {
			f.Subject, f.Input = name, true
			return f, false
		}
	}
	if a := g.Area(); !(a > 1e-9) || !(g.Outer.Area() > 0) {
		return bad("outline-empty", name, "an outline holds no area", "draw it closed and with its holes inside").With(a, 0, "mm²"), false
	}
	if len(whole) != 1 || len(whole[0].Holes) != len(g.Holes) {
		return bad("outline-apart", name, "the outline is not one piece with its holes inside", "make one part of every piece"), false
	}
	return diag.Finding{}, true
}

func checkSheet(s Sheet) diag.List {
	var out diag.List
	if f, ok := checkRegion(s.Name, s.Region); !ok {
		return diag.List{f}
	}
	if !(s.Margin >= 0) || math.IsInf(s.Margin, 0) {
		out.Add(bad("margin-wrong", s.Name, "the margin must be 0 or more", "distance of parts from the edge").With(s.Margin, 0, "mm"))
	}
	if !finite(s.Fibre) {
		out.Add(bad("fibre-wrong", s.Name, "the fibre direction is not a number", "degrees from +X"))
	}
	if !finite(s.Cost) {
		out.Add(bad("cost-wrong", s.Name, "the cost is not a number", "0 for an offcut"))
	}
	if s.Quantity < Unlimited || s.Quantity > mostPieces {
		out.Add(bad("quantity-wrong", s.Name, fmt.Sprintf("quantity %d means nothing", s.Quantity), "0 or more pieces, or unlimited"))
	}
	if s.Quantity == 0 {
		out.Add(diag.Finding{Code: "quantity-zero", Severity: diag.Warn, Subject: s.Name,
			Message: "no piece of this sheet is at hand, it is left out", Help: "give a quantity of 1 or more, or unlimited"})
	}
	for _, z := range s.Zones {
		if f, ok := checkRegion(s.Name, z); !ok {
			out.Add(f)
		}
	}
	return out
}
