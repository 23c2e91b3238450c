package picture

import (
	"image/color"

	"github.com/tdewolff/canvas"

	"sparclear/pkg/geom"
)

// whole is the box around the work: clamps, datums, cuts. For wings only; a sheet is seen whole.
func (s Scene) whole() geom.Box {
	b := geom.EmptyBox()
	for _, c := range s.Work.Clamps {
		b = b.Union(c.Bounds())
	}
	for _, d := range s.Work.Datums {
		b = b.Extend(d.Touched)
	}
	for _, c := range s.Work.Cuts {
		b = b.Union(cutBounds(c.Regions, c.Chains, c.Points))
	}
	return b
}

func cutBounds(gs []geom.Region, cs []geom.Chain, ps []geom.Point) geom.Box {
	b := geom.EmptyBox()
	for _, g := range gs {
		b = b.Union(g.Bounds())
	}
	for _, c := range cs {
		b = b.Union(c.Bounds())
	}
	for _, p := range ps {
		b = b.Extend(p)
	}
	return b
}

// inset draws the whole of the work small, with clamps, datums and the window of
// the large picture. It tells whether there was anything to show.
func (v *planView) inset(frame geom.Box) bool {
	whole := v.whole()
	if whole.Empty() || v.window.Contains(whole.Min) && v.window.Contains(whole.Max) {
		return false
	}
	whole = whole.Grow(0.06 * max(whole.Size().X, whole.Size().Y))
	v.head(frame.Max.Y-1, "where it lies; frame: this picture")
	frame.Max.Y -= 4
	ws, fs := whole.Size(), frame.Size()
	small := *v.page
	small.scale = min(fs.X/ws.X, fs.Y/ws.Y)
	small.shift = frame.Center().Sub(whole.Center().Mul(small.scale))
	o := planView{Scene: v.Scene, page: &small, window: whole, frame: frame, labels: newLabels(frame)}
	for _, m := range o.Work.Members {
		for _, g := range o.clipped(m.Footprint...) {
			o.brush(clearC, memberC, 0.15)
			o.draw(o.contours(g.Contours()...))
		}
	}
	o.clamps()
	for _, c := range o.Work.Cuts {
		o.fill(depthColour(1))
		for _, g := range c.Regions {
			o.draw(o.contours(g.Contours()...))
		}
		o.pen(depthColour(1), 0.4)
		for _, ch := range c.Chains {
			o.draw(o.chain(ch))
		}
		for _, q := range c.Points {
			o.straight(o.at(q), o.at(q).Add(geom.Pt(1e-3, 0)))
		}
	}
	o.cover(frame)
	o.pen(ink, 0.3)
	b := within(geom.EmptyBox().Extend(o.at(v.window.Min)).Extend(o.at(v.window.Max)), frame.Grow(-0.3))
	o.rect(b)
	o.labels.block(b)
	for _, d := range o.Work.Datums {
		o.datum(o.at(d.Touched))
		o.residual(d, o.at(d.Touched), v.residualScale())
		o.labels.block(around(o.at(d.Touched), 2))
	}
	for _, d := range o.Work.Datums {
		o.smallName(o.at(d.Touched), d.Name, ink)
	}
	for _, c := range o.Work.Clamps {
		o.smallName(o.at(c.Bounds().Center()), c.Name, clampC)
	}
	v.written = small.written
	v.hidden += o.hidden
	return true
}

// within returns what of a box lies in another; the two meet.
func within(b, frame geom.Box) geom.Box {
	return geom.Box{Min: geom.Pt(max(b.Min.X, frame.Min.X), max(b.Min.Y, frame.Min.Y)), Max: geom.Pt(min(b.Max.X, frame.Max.X), min(b.Max.Y, frame.Max.Y))}
}

// cover hides what a clipped path may have left outside of a frame inside the
// right-hand column.
func (v *planView) cover(f geom.Box) {
	v.fill(color.White)
	v.rect(geom.Box{Min: geom.Pt(columnX-5, 0), Max: geom.Pt(f.Min.X, f.Max.Y+2)})
	v.rect(geom.Box{Min: geom.Pt(f.Max.X, 0), Max: geom.Pt(paperW, f.Max.Y+2)})
	v.rect(geom.Box{Min: geom.Pt(columnX-5, 0), Max: geom.Pt(paperW, f.Min.Y)})
	v.pen(greyInk, 0.15)
	v.rect(f)
}

func (v *planView) smallName(at geom.Point, s string, c color.RGBA) {
	d := v.textSize(6, false, s).Add(geom.Pt(0.4, 0.3))
	b, ok := v.labels.place(at, d, 1.6)
	if !ok {
		v.hidden++
		return
	}
	v.fill(color.White)
	v.rect(b)
	v.leader(at, b, 6)
	v.text(b.Center().X, b.Min.Y+0.6, 6, canvas.Center, false, c, s)
}
