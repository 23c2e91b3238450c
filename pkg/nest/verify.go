package nest

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// Verify measures a layout, however it came about, on the outlines as drawn, arcs
// included: every pair of parts is at least the spacing apart (when the spacing is 0,
// straight sides may touch), every part lies inside its sheet with the margin and
// keeps the spacing from zones, every turn and reflection is one that the part
// allows, and no more copies or pieces are used than there are. An empty list
// means that all of it holds. Cost grows with the number of edges of parts that
// lie near each other.
func Verify(parts []Part, sheets []Sheet, l *Layout, o Options) diag.List {
	var out diag.List
	for _, f := range faults(parts, sheets, l, o) {
		out.Add(f.finding)
	}
	return out
}

// fault is a broken rule and the placements that break it, -1 for none.
type fault struct {
	finding diag.Finding
	i, j    int
}

// faults measures a layout.
func faults(parts []Part, sheets []Sheet, l *Layout, o Options) []fault {
	var out []fault
	if !indicesHold(parts, sheets, l) {
		return []fault{{i: -1, j: -1, finding: diag.Finding{Code: "layout-broken", Severity: diag.Stop, Input: true,
			Message: "the layout names parts, copies or sheets that do not exist",
			Help:    "nest again"}}}
	}
	at := make([][]int, len(l.Used))
	for i, p := range l.Placements {
		at[p.Piece] = append(at[p.Piece], i)
		part, sheet := parts[p.Part], sheets[l.Used[p.Piece].Sheet]
		if !p.Locked && !allows(part, p.Frame, sheet.Fibre) {
			out = append(out, fault{i: i, j: -1, finding: diag.Finding{Code: "turn-not-allowed", Severity: diag.Stop, Subject: part.Name,
				Message: fmt.Sprintf("copy %d lies in a turn that the part does not allow", p.Copy+1),
				Help:    "turn the copy back or widen the allowed turns"}.With(deg(p.Frame.Turn-sheet.Fibre), 0, "°")})
		}
	}
	for piece, list := range at {
		out = append(out, verifyPiece(parts, sheets[l.Used[piece].Sheet], l, list, o.Spacing)...)
	}
	return out
}

func indicesHold(parts []Part, sheets []Sheet, l *Layout) bool {
	pieces := map[[2]int]bool{}
	for _, u := range l.Used {
		k := [2]int{u.Sheet, u.Piece}
		if u.Sheet < 0 || u.Sheet >= len(sheets) || u.Piece < 0 || pieces[k] ||
			sheets[u.Sheet].Quantity >= 0 && u.Piece >= sheets[u.Sheet].Quantity {
			return false
		}
		pieces[k] = true
	}
	copies := map[[2]int]bool{}
	for _, p := range l.Placements {
		k := [2]int{p.Part, p.Copy}
		if p.Part < 0 || p.Part >= len(parts) || p.Piece < 0 || p.Piece >= len(l.Used) || p.Copy < 0 || copies[k] ||
			parts[p.Part].Quantity >= 0 && p.Copy >= parts[p.Part].Quantity ||
			!p.Frame.Shift.Finite() || math.IsNaN(p.Frame.Turn) || math.IsInf(p.Frame.Turn, 0) {
			return false
		}
		copies[k] = true
	}
	return true
}

// allows tells whether the part may lie as the frame turns it, within 1e-9 rad
// for rounding.
func allows(p Part, f geom.Rigid, fibre float64) bool {
	if f.Mirror && !p.Mirror {
		return false
	}
	if p.Free {
		return true
	}
	turns := p.Turns
	if len(turns) == 0 {
		turns = []float64{0}
	}
	for _, a := range turns {
		d := math.Abs(math.Remainder(f.Turn-fibre-a, 2*math.Pi))
		if d <= math.Max(0, p.TurnTol)+1e-9 {
			return true
		}
	}
	return false
}

func verifyPiece(parts []Part, s Sheet, l *Layout, list []int, spacing float64) []fault {
	var out []fault
	add := func(f diag.Finding, i, j int) { out = append(out, fault{f, i, j}) }
	bodies := make([]*body, len(list))
	boxes := make([]geom.Box, len(list))
	for k, i := range list {
		p := l.Placements[i]
		bodies[k] = newBody(parts[p.Part].Region.Transform(p.Frame))
		boxes[k] = bodies[k].box
	}
	name := func(k int) string {
		p := l.Placements[list[k]]
		return fmt.Sprintf("%s copy %d", parts[p.Part].Name, p.Copy+1)
	}
	pairsNear(boxes, spacing, func(i, j int) {
		d, at := materialDist(bodies[i], bodies[j], nextUp(spacing))
		if d < spacing || d == 0 && !touchOnly(bodies[i], bodies[j]) {
			add(diag.Finding{Code: "parts-near", Severity: diag.Stop, Subject: s.Name,
				Message: fmt.Sprintf("%s comes within %.3f mm of %s, %.3f mm needed", name(i), d, name(j), spacing),
				Help:    "move one of them, or nest again"}.With(d, spacing, "mm").On(at.X, at.Y), list[i], list[j])
		}
	})
	sheet := newBody(s.Region)
	var zones []*body
	for _, z := range s.Zones {
		zones = append(zones, newBody(z))
	}
	for k, b := range bodies {
		d, at := boundaryDist(b, sheet, nextUp(s.Margin))
		in := sheet.inside(b)
		for _, h := range s.Region.Holes { // a hole wholly under the part
			in = in && !(b.box.Contains(h[0].Point) && b.region.ContainsInterior(h[0].Point))
		}
		switch {
		case !in:
			p := b.region.Outer[0]
			add(diag.Finding{Code: "part-off-sheet", Severity: diag.Stop, Subject: s.Name,
				Message: name(k) + " lies off the sheet or over one of its holes", Help: "move it, or nest again"}.On(p.X, p.Y), list[k], -1)
		case d < s.Margin || d == 0:
			add(diag.Finding{Code: "margin-broken", Severity: diag.Stop, Subject: s.Name,
				Message: fmt.Sprintf("%s comes within %.3f mm of the edge of the sheet, %.3f mm needed", name(k), d, s.Margin),
				Help:    "move it, or nest again"}.With(d, s.Margin, "mm").On(at.X, at.Y), list[k], -1)
		}
		for _, z := range zones {
			if d, at := materialDist(b, z, nextUp(spacing)); d < spacing || d == 0 {
				add(diag.Finding{Code: "zone-near", Severity: diag.Stop, Subject: s.Name,
					Message: fmt.Sprintf("%s comes within %.3f mm of a flaw or clamp zone, %.3f mm needed", name(k), d, spacing),
					Help:    "move it, or nest again"}.With(d, spacing, "mm").On(at.X, at.Y), list[k], -1)
			}
		}
	}
	return out
}

// nextUp lets a search for distances under a limit see the limit itself, so that
// touching is seen when the limit is 0.
func nextUp(limit float64) float64 { return math.Nextafter(limit, math.Inf(1)) }

func deg(a float64) float64 { return a * 180 / math.Pi }
