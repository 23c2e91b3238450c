package plan

import (
	"fmt"
	"sort"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// crossChecks reports cuts that free material and reach into each other without
// one lying inside the other: whichever comes second cuts what is loose, and no
// order is right. Parts that overlap cannot both be made.
func (p *planner) crossChecks(ops []op) {
	type pair struct{ a, b int }
	var found []pair
	meeting(ops, func(i, k int) {
		a, b := &ops[i], &ops[k]
		if a.rank < rankOpening || b.rank < rankOpening || len(a.around.Outer) == 0 || len(b.around.Outer) == 0 {
			return
		}
		if a.around.Bounds().Overlaps(b.around.Bounds()) && crosses(a.around.Outer, b.around.Outer) {
			found = append(found, pair{min(i, k), max(i, k)})
		}
	})
	sort.Slice(found, func(i, k int) bool {
		if found[i].a != found[k].a {
			return found[i].a < found[k].a
		}
		return found[i].b < found[k].b
	})
	for _, f := range found {
		a, b := &ops[f.a], &ops[f.b]
		j := &job{planner: p, c: &p.w.Cuts[a.cut]}
		other := p.w.Cuts[b.cut].Name
		if a.rank == rankPart && b.rank == rankPart {
			j.add(j.at(j.finding(diag.Stop, "parts-overlap", fmt.Sprintf("%s and %s overlap", j.c.Name, other), "place them apart"), b.around.Outer[0].Point))
			continue
		}
		j.add(j.at(j.finding(diag.Confirm, "cuts-overlap", fmt.Sprintf("%s and %s reach into each other, so that neither can come first", j.c.Name, other),
			"draw them as one outline, or accept it when the piece between them is held"), b.around.Outer[0].Point))
	}
}

// crosses tells whether two contours neither lie apart nor one inside the other,
// or are the same. Places nearer than a thousandth of a mm to the other contour
// do not count as on one side.
func crosses(a, b geom.Contour) bool {
	inA, outA := sides(a, b)
	inB, outB := sides(b, a)
	return inA && outA || inB && outB || !inA && !outA
}

// sides tells whether places of a lie inside and outside b.
func sides(a, b geom.Contour) (in, out bool) {
	for i := range a {
		s := a.Seg(i)
		for _, q := range [...]geom.Point{s.A, s.Mid()} {
			if b.Dist(q) < 1e-3 {
				continue
			}
			if b.Winding(q) != 0 {
				in = true
			} else {
				out = true
			}
			if in && out {
				return in, out
			}
		}
	}
	return in, out
}
