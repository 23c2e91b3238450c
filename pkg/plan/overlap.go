package plan

import (
	"fmt"
	"sort"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// crossChecks reports cuts that reach into each other without one lying inside
// the other. Of cuts that free material neither can come first: whichever is
// second cuts what is loose, and parts that overlap cannot both be made. Holes
// that overlap make the second one run off. Everything else has an order, by kind
// or else the shallower first, and the order is said.
func (p *planner) crossChecks(ops []op) {
	type pair struct{ a, b int }
	var found []pair
	areas := make([]geom.Contour, len(ops))
	area := func(i int) geom.Contour {
		if areas[i] == nil {
			areas[i] = p.reach(&ops[i])
		}
		return areas[i]
	}
	meeting(ops, func(i, k int) {
		a, b := &ops[i], &ops[k]
		if !overlaps(a) || !overlaps(b) || a.cut == b.cut && a.rank > rankBore && a.rank < rankOpening {
			return
		}
		u, v := area(i), area(k)
		if len(u) == 0 || len(v) == 0 || !u.Bounds().Overlaps(v.Bounds()) || !crosses(u, v) {
			return
		}
		if b.comesBefore(a) || !a.comesBefore(b) && k < i {
			i, k = k, i
		}
		found = append(found, pair{i, k})
	})
	sort.Slice(found, func(i, k int) bool {
		if found[i].a != found[k].a {
			return found[i].a < found[k].a
		}
		return found[i].b < found[k].b
	})
	said := map[[2]string]bool{}
	for _, f := range found {
		a, b := &ops[f.a], &ops[f.b]
		j := &job{planner: p, c: &p.w.Cuts[a.cut]}
		other := p.w.Cuts[b.cut].Name
		q := area(f.b)[0].Point
		switch {
		case a.rank >= rankPart && b.rank >= rankPart:
			j.add(j.at(j.finding(diag.Stop, "parts-overlap", fmt.Sprintf("%s and %s overlap", j.c.Name, other), "place them apart"), q))
		case a.rank >= rankOpening && b.rank >= rankOpening:
			j.add(j.at(j.finding(diag.Confirm, "cuts-overlap", fmt.Sprintf("%s and %s reach into each other, so that neither can come first", j.c.Name, other),
				"draw them as one outline, or accept it when the piece between them is held"), q))
		case a.rank <= rankBore && b.rank <= rankBore:
			j.add(j.at(j.finding(diag.Confirm, "holes-overlap", fmt.Sprintf("holes of %s and %s reach into each other, so that the second one runs off", j.c.Name, other),
				"move one of them, or cut both as one outline"), q))
		default:
			if key := [2]string{j.c.Name, other}; !said[key] {
				said[key] = true
				j.add(j.at(j.finding(diag.Note, "cuts-ordered", fmt.Sprintf("%s and %s reach into each other; %s is cut first", j.c.Name, other, j.c.Name),
					"draw them as one outline where that is not meant"), q))
			}
		}
	}
}

// overlaps tells whether an operation is looked at: engraving and breaking an edge
// lie over other cuts on purpose, and the last pass through a skin lies on its
// contour.
func overlaps(o *op) bool {
	return o.rank != rankMark && o.rank != rankOpeningFree && o.rank != rankPartFree && o.name != "chamfer" && o.name != "score"
}

// reach is the outline of what an operation takes: that of its area, or that of
// the groove along its line.
func (p *planner) reach(o *op) geom.Contour {
	if len(o.around.Outer) > 0 || len(o.line) == 0 {
		return o.around.Outer
	}
	gs, err := o.line.Sweep(p.w.Cutters[o.cutter].Radius())
	if err != nil || len(gs) == 0 {
		return nil
	}
	return gs[0].Outer
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
