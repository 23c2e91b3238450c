package proof

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/work"
)

// partKept is the material of one part: its outline less the holes that its own
// cuts make in it, so that another part may lie in a hole of this one.
type partKept struct {
	cut int // that frees it
	f   *keepout.Field
	tol float64
}

// partsOf returns the material of all parts, each part by itself, and a tree of
// boxes over them.
func partsOf(w *work.Work) ([]geom.Region, []partKept, boxTree) {
	holes := map[int][]geom.Region{} // by part
	for i := range w.Cuts {
		c := &w.Cuts[i]
		if c.Part >= 0 && c.Through && c.Onion <= 0 && (c.Kind == work.Opening || c.Kind == work.Bore || c.Kind == work.Slot) {
			holes[c.Part] = append(holes[c.Part], c.Regions...)
		}
	}
	var all []geom.Region
	var parts []partKept
	var boxes []geom.Box
	for i := range w.Cuts {
		c := &w.Cuts[i]
		if c.Kind != work.PartCut {
			continue
		}
		var own []geom.Region
		for _, g := range c.Regions {
			g.Holes = append([]geom.Contour(nil), g.Holes...)
			for _, h := range holes[c.Part] {
				if h.Bounds().Overlaps(g.Bounds()) {
					g.Holes = append(g.Holes, h.Outer.Reverse())
				}
			}
			own = append(own, g)
		}
		all = append(all, own...)
		f := keepout.NewField(own)
		parts = append(parts, partKept{i, f, math.Max(c.Tol, leastTol)})
		boxes = append(boxes, f.Bounds())
	}
	return all, parts, newBoxTree(boxes)
}

// flaws asks about every part that holds a bad place of its sheet.
func (p *prover) flaws() {
	if !p.w.Sheet {
		return
	}
	for i := range p.w.Members {
		v := &p.w.Members[i]
		if v.Kind != keepout.Flaw {
			continue
		}
		bad := keepout.NewField(v.Footprint)
		for k := range p.areas.parts {
			q := &p.areas.parts[k]
			at, ok := holds(q.f, bad)
			if !ok {
				continue
			}
			c := &p.w.Cuts[q.cut]
			d := c.Frame.Inverse().Apply(at)
			p.fault("members", diag.Finding{Code: "flaw-in-part", Severity: diag.Confirm, Subject: p.w.Name, Cut: c.Name, Member: v.Name,
				Accepted: p.accepts(q.cut, "flaw-in-part", v.Name),
				Message:  fmt.Sprintf("%s lies over %s of the sheet", c.Name, v.Name),
				Help:     fmt.Sprintf("place it elsewhere, or accept = [%q] under the part", acceptKey("flaw-in-part", v.Name))}.
				On(d.X, d.Y).AtMachine(at.X, at.Y, p.w.Skin.Height(at)))
		}
	}
}

// holds tells whether two footprints share any place, and names one.
func holds(a, b *keepout.Field) (geom.Point, bool) {
	for _, f := range [2][2]*keepout.Field{{a, b}, {b, a}} {
		for _, e := range f[1].Edges() {
			if f[0].DistSeg(e) <= 0 {
				if f[0].Inside(e.A) {
					return e.A, true
				}
				return e.Mid(), true
			}
		}
	}
	return geom.Point{}, false
}

// intrudes finds another part whose material a footprint of radius r enters by
// more than that part's tolerance while cut i is made: which cut frees that part,
// and how far past its edge; -1 for none. Cuts that belong to no part are not
// held against any.
func (a *areas) intrudes(i int, p *piece, r float64) (int, float64) {
	c := a.list[i].cut
	if c.Part < 0 || c.Kind == work.PartCut || p.rect {
		return -1, 0
	}
	worst, at := 0.0, -1
	a.near.visit(p.box.Grow(r+p.slack), func(k int) {
		q := &a.parts[k]
		if own := a.list[q.cut].cut.Part; own < 0 || own == c.Part {
			return
		}
		if o := insideOver(q.f, p, r, false) - q.tol; o > worst && q.f.DistSeg(p.seg) < r {
			worst, at = o, q.cut
		}
	})
	return at, worst
}
