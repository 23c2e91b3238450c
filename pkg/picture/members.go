package picture

import (
	"image/color"
	"math"
	"slices"

	"github.com/tdewolff/canvas"

	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
)

// needed is the clearance with the error budget, as the proof used it.
func (s Scene) needed(m keepout.Volume) float64 {
	need := m.Clearance
	if s.Certificate != nil {
		for _, x := range s.Certificate.Margins {
			if x.Check == "members" && x.Member == m.Name {
				need = math.Max(need, x.NeededMM)
			}
		}
	}
	return need
}

// members draws keep-outs hatched, the band of their clearance, and outside of
// it, edged by dots, what the errors add.
func (v *planView) members() {
	for _, m := range v.Work.Members {
		v.band(m.Footprint, v.needed(m), errorC, true)
		v.band(m.Footprint, m.Clearance, clearC, false)
	}
	for _, m := range v.Work.Members {
		for _, g := range v.clipped(m.Footprint...) {
			v.fill(color.White)
			path := v.contours(g.Contours()...)
			v.draw(path)
			v.hatch(g, memberC)
			v.pen(memberC, 0.25)
			v.draw(path)
			b := g.Bounds()
			v.labels.mark(v.at(b.Min), v.at(b.Max), 0)
		}
	}
}

// band fills what lies within d mm of the regions. A footprint that cannot be
// grown has no band; its figure stands in the margins.
func (v *planView) band(gs []geom.Region, d float64, c color.Color, dotted bool) {
	if d <= 0 {
		return
	}
	for _, g := range gs {
		grown, err := g.Offset(d, 0.01)
		if err != nil {
			continue
		}
		for _, b := range v.clipped(grown...) {
			path := v.contours(b.Contours()...)
			v.fill(c)
			v.draw(path)
			if dotted {
				v.pen(memberC, 0.14, 0.3, 0.6)
				v.draw(path)
			}
		}
	}
}

func (v *planView) clamps() {
	for _, c := range v.Work.Clamps {
		for _, g := range v.clipped(c.Footprint...) {
			v.fill(clampFillC)
			v.draw(v.contours(g.Contours()...))
			v.pen(clampC, 0.5, 3, 1)
			v.draw(v.contours(g.Contours()...))
		}
	}
}

// hatch fills a region with lines at 45°, 1.4 mm apart on paper, clipped by the
// even-odd crossings of each line with the contours.
func (v *planView) hatch(g geom.Region, c color.Color) {
	path := &canvas.Path{}
	turn := geom.Rigid{Turn: -math.Pi / 4}
	back := turn.Inverse()
	t := g.Transform(turn)
	b := t.Bounds()
	gap := 1.4 / v.scale
	for y := math.Ceil(b.Min.Y/gap) * gap; y <= b.Max.Y; y += gap {
		var xs []float64
		for _, ct := range t.Contours() {
			for i := range ct {
				xs = append(xs, levelCrossings(ct.Seg(i), y+1e-7)...)
			}
		}
		slices.Sort(xs)
		for i := 0; i+1 < len(xs); i += 2 {
			a, z := v.at(back.Apply(geom.Pt(xs[i], y))), v.at(back.Apply(geom.Pt(xs[i+1], y)))
			path.MoveTo(a.X, a.Y)
			path.LineTo(z.X, z.Y)
		}
	}
	v.pen(c, 0.18)
	v.draw(path)
}

// levelCrossings returns where a segment crosses the height y, for drawing only.
func levelCrossings(s geom.Seg, y float64) []float64 {
	if s.IsLine() {
		if (s.A.Y <= y) == (s.B.Y <= y) {
			return nil
		}
		return []float64{s.A.X + float64((y-s.A.Y)/(s.B.Y-s.A.Y)*(s.B.X-s.A.X))}
	}
	c, r := s.Center(), s.Radius()
	h := r*r - float64((y-c.Y)*(y-c.Y))
	if h <= 0 {
		return nil
	}
	var out []float64
	for _, x := range []float64{c.X - math.Sqrt(h), c.X + math.Sqrt(h)} {
		q := geom.Pt(x, y)
		if s.Nearest(q).Dist(q) < 1e-6*r+1e-9 {
			out = append(out, x)
		}
	}
	return out
}
