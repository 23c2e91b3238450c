package picture

import (
	"fmt"
	"math"

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
	v := planView{page: p, frame: frame}
	for _, o := range d.Outlines {
		p.fill(stockC)
		path := p.contours(o.Region.Contours()...)
		p.draw(path)
		p.pen(outlineC, 0.25)
		p.draw(path)
		q := p.at(o.Region.Bounds().Center())
		v.text(q.X, q.Y, 7, canvas.Center, false, greyInk, o.Layer)
	}
	for _, o := range d.Open {
		p.pen(warnC, 0.35, 2, 1)
		p.draw(p.chain(o.Chain))
		if len(o.Chain) > 0 {
			for _, e := range []geom.Point{o.Chain[0].Point, o.Chain[len(o.Chain)-1].Point} {
				q := p.at(e)
				v.dot(q, warnC)
			}
		}
	}
	for _, o := range d.Points {
		q := p.at(o.Point)
		v.dot(q, entryC)
	}
	v.text(frame.Min.X, frame.Max.Y+4, 13, canvas.Left, true, ink, d.Name)
	v.text(frame.Min.X, 6, 8, canvas.Left, false, ink, fmt.Sprintf("%s, units %s; open chains dashed, their ends dotted", d.Format, unitsOr(d.Units)))
	return p.svg()
}

func unitsOr(u string) string {
	if u == "" {
		return "unknown"
	}
	return u
}
