package picture

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"github.com/tdewolff/canvas"

	"sparclear/pkg/drawing"
	"sparclear/pkg/geom"
)

// Drawing returns a drawing as SVG, A4 across: outlines with their layers, open
// ends marked.
func Drawing(d *drawing.Drawing) ([]byte, error) {
	b := d.Bounds
	if b.Empty() {
		b = geom.Box{Max: geom.Pt(1, 1)}
	}
	frame := geom.Box{Min: geom.Pt(12, 14), Max: geom.Pt(paperW-12, 194)}
	p, err := newPage(paperW, paperH, b.Grow(math.Max(1, 0.05*math.Max(b.Size().X, b.Size().Y))), frame)
	if err != nil {
		return nil, err
	}
	v := planView{page: p, frame: frame, labels: newLabels(frame)}
	for _, o := range d.Outlines {
		p.fill(stockC)
		path := p.contours(o.Region.Contours()...)
		p.draw(path)
		p.pen(outlineC, 0.25)
		p.draw(path)
	}
	for _, o := range d.Open {
		p.pen(warnC, 0.35, 2, 1)
		p.draw(p.chain(o.Chain))
		if len(o.Chain) > 0 {
			for _, e := range []geom.Point{o.Chain[0].Point, o.Chain[len(o.Chain)-1].Point} {
				q := p.at(e)
				v.dot(q, warnC)
				v.labels.block(around(q, 1))
			}
		}
	}
	for _, o := range d.Points {
		q := p.at(o.Point)
		v.dot(q, entryC)
	}
	v.layers(d)
	v.text(frame.Min.X, frame.Max.Y+4, 13, canvas.Left, true, ink, d.Name)
	v.text(frame.Min.X, 6, 8, canvas.Left, false, ink, fmt.Sprintf("%s, units %s; open chains dashed, their ends dotted", d.Format, unitsOr(d.Units)))
	return p.svg()
}

// layers names what is drawn by its layer, where there is room: the large outlines
// first, and what lies close by another of its layer not again.
func (v *planView) layers(d *drawing.Drawing) {
	type drawn struct {
		layer string
		at    geom.Point // paper
		wide  float64
		of    geom.Region // none for what is open
	}
	var all []drawn
	trace := func(a, b geom.Point) { v.labels.mark(v.at(a), v.at(b), 0) }
	for _, o := range d.Outlines {
		b := o.Region.Bounds()
		all = append(all, drawn{o.Layer, v.at(b.Center()), b.Size().Len(), o.Region})
		for _, c := range o.Region.Contours() {
			for _, s := range c.Segs() {
				trace(s.A, s.Mid())
				trace(s.Mid(), s.B)
			}
		}
	}
	for _, o := range d.Open {
		if len(o.Chain) == 0 {
			continue
		}
		segs := o.Chain.Segs()
		at := o.Chain[0].Point
		for i, s := range segs {
			trace(s.A, s.B)
			if i == len(segs)/2 {
				at = s.Mid()
			}
		}
		all = append(all, drawn{o.Layer, v.at(at), at.Dist(o.Chain[0].Point), geom.Region{}})
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].wide > all[j].wide })
	named := map[string][]geom.Point{}
	const near = 40 // mm of paper
	for _, o := range all {
		if !v.frame.Contains(o.at) || slices.ContainsFunc(named[o.layer], func(q geom.Point) bool { return q.Dist(o.at) < near }) {
			continue
		}
		named[o.layer] = append(named[o.layer], o.at)
		if o.of.Outer != nil {
			o.at = v.at(roomiest(o.of, o.of.Bounds()))
		}
		size := v.textSize(7, false, o.layer).Add(geom.Pt(0.8, 0.6))
		b, ok := v.labels.place(o.at, size, 0.5)
		if !ok {
			continue
		}
		v.leader(o.at, b, 3)
		v.text(b.Center().X, b.Min.Y+0.8, 7, canvas.Center, false, greyInk, o.layer)
	}
}

func unitsOr(u string) string {
	if u == "" {
		return "unknown"
	}
	return u
}
