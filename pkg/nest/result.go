package nest

import (
	"sort"

	"sparclear/pkg/geom"
)

// layout turns the piles into the result.
func (n *nesting) layout() *Layout {
	out := &Layout{Unplaced: make([]int, len(n.parts)), Tried: n.tried, Stopped: n.stopped}
	for _, i := range n.homeless {
		out.Unplaced[n.items[i].part]++
	}
	for k, l := range n.piles {
		if l == nil {
			continue
		}
		pc := n.pieces[k]
		s := n.sheets[pc.sheet]
		u := Used{Sheet: pc.sheet, Piece: pc.piece, Cost: s.Cost, Area: s.Region.Area()}
		box := geom.EmptyBox()
		put := func(p Placement) {
			p.Piece = len(out.Used)
			out.Placements = append(out.Placements, p)
			g := n.parts[p.Part].Region
			u.PartArea += g.Area()
			box = box.Union(g.Transform(p.Frame).Bounds())
		}
		for _, p := range n.locked[pc] {
			put(p)
		}
		for j, i := range n.held[k] {
			f := n.cat.shapes[l.v[j]].frame
			f.Shift = f.Shift.Add(geom.Pt(l.x[j], l.y[j]))
			put(Placement{Part: n.items[i].part, Copy: n.items[i].copy, Frame: f})
		}
		u.Share = u.PartArea / u.Area
		u.Remnant = remnant(s, box.Max.X+n.o.Spacing)
		out.Used = append(out.Used, u)
	}
	sort.SliceStable(out.Placements, func(a, b int) bool {
		p, q := out.Placements[a], out.Placements[b]
		if p.Part != q.Part {
			return p.Part < q.Part
		}
		return p.Copy < q.Copy
	})
	return out
}

// remnant returns the material to the right of a straight cut, less the zones,
// which are flaws or were under a clamp; nothing narrower than twice the margin.
func remnant(s Sheet, cut float64) []geom.Region {
	b := s.Region.Bounds()
	if b.Max.X-cut <= 2*s.Margin || cut >= b.Max.X {
		return nil
	}
	right := geom.NewRegion(geom.Rect(cut, b.Min.Y-1, b.Max.X+1, b.Max.Y+1))
	rest, err := geom.Intersect([]geom.Region{s.Region}, []geom.Region{right})
	if err == nil && len(s.Zones) > 0 {
		rest, err = geom.Subtract(rest, s.Zones)
	}
	if err != nil { // no remnant is better than a doubtful one
		return nil
	}
	return rest
}
