package picture

import (
	"fmt"
	"image/color"
	"slices"

	"github.com/tdewolff/canvas"

	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/proof"
)

// callOut is the smallest room to something, with both ends of its dimension
// line: the edge of the cutter and the nearest edge of what must not be touched.
type callOut struct {
	proof.Margin
	from, to geom.Point
	drawn    bool // has a place
}

// callOuts marks the smallest room to a member inside the work, and apart from
// it the smallest room to a clamp, with dimension lines.
func (v *planView) callOuts() {
	for _, vs := range [][]keepout.Volume{v.Work.Members, v.Work.Clamps} {
		c, ok := v.tightest(vs)
		if !ok || !c.drawn || !v.window.Contains(c.from) || !v.window.Contains(c.to) {
			continue
		}
		v.dimension(v.at(c.from), v.at(c.to), fmt.Sprintf("%.2f mm to %s (needs %.2f)", c.MarginMM, c.Member, c.NeededMM))
	}
}

// tightest returns the margin with the least room above its need among volumes.
func (s Scene) tightest(vs []keepout.Volume) (callOut, bool) {
	best, ok := callOut{}, false
	if s.Certificate == nil {
		return best, false
	}
	for _, m := range s.Certificate.Margins {
		i := slices.IndexFunc(vs, func(x keepout.Volume) bool { return x.Name == m.Member })
		if m.Check == "members" && i >= 0 && (!ok || m.MarginMM-m.NeededMM < best.MarginMM-best.NeededMM) {
			best, ok = callOut{Margin: m}, true
		}
	}
	if !ok || best.At == nil {
		return best, ok
	}
	tip := geom.Pt(best.At[0], best.At[1])
	to, near := nearestOn(vs, best.Member, tip)
	if !near {
		return best, ok
	}
	best.from, best.to, best.drawn = tip, to, true
	r := s.radiusAt(best.Margin)
	if d := to.Dist(tip); d > r {
		best.from = tip.Add(to.Sub(tip).Mul(r / d))
	}
	return best, ok
}

// radiusAt is the radius of the body that comes nearest, for the dimension line.
func (s Scene) radiusAt(m proof.Margin) float64 {
	cutter := -1
	for i, c := range s.Work.Cuts {
		if c.Name == m.Cut {
			cutter = s.Work.Cuts[i].Cutter
		}
	}
	if cutter < 0 || cutter >= len(s.Work.Cutters) {
		return 0
	}
	switch c := s.Work.Cutters[cutter]; m.Body {
	case "shank":
		return c.Shank / 2
	case "holder":
		r := 0.0
		for _, h := range s.Work.Machine.Holder {
			r = max(r, h.Diameter/2)
		}
		return r
	default:
		return c.Radius()
	}
}

func nearestOn(vs []keepout.Volume, name string, from geom.Point) (at geom.Point, ok bool) {
	best := 0.0
	for _, m := range vs {
		if m.Name != name {
			continue
		}
		for _, g := range m.Footprint {
			for _, c := range g.Contours() {
				for i := range c {
					q := c.Seg(i).Nearest(from)
					if d := q.Dist(from); !ok || d < best {
						best, at, ok = d, q, true
					}
				}
			}
		}
	}
	return at, ok
}

// dimension draws a dimension line with a stroke across both ends and its figure
// beside it.
func (v *planView) dimension(a, b geom.Point, text string) {
	u := b.Sub(a).Unit()
	if a.Dist(b) < 1e-6 {
		u = geom.Pt(0, 1)
	}
	v.pen(color.White, 1)
	v.straight(a, b)
	v.pen(warnC, 0.35)
	v.straight(a, b)
	for _, q := range []geom.Point{a, b} {
		v.straight(q.Add(u.Left().Mul(1.4)), q.Sub(u.Left().Mul(1.4)))
	}
	v.labels.block(geom.EmptyBox().Extend(a).Extend(b).Grow(0.5))
	const size = 8.5
	d := v.textSize(size, true, text).Add(geom.Pt(1.2, 1))
	mid := a.Lerp(b, 0.5)
	box, ok := v.labels.place(mid, d, 2)
	if !ok {
		v.hidden++
		return
	}
	v.pen(warnC, 0.2)
	v.straight(mid, box.Center())
	v.brush(color.White, warnC, 0.2)
	v.rect(box)
	v.text(box.Center().X, box.Min.Y+1.1, size, canvas.Center, true, warnC, text)
}
