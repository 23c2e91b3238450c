package plan

import (
	"context"
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

// Trace makes an air pass: the tip follows every outline, line and point of the
// work as drawn, height mm above the local skin, spindle stopped, so that the
// operator sees that it lies right. It names the first cutter of the work, since
// nothing is cut. feed is in mm/min. A height that is not above approach is
// refused: what is known of the skin must not decide whether it is touched.
func Trace(ctx context.Context, w *work.Work, height, feed float64) (toolpath.Program, diag.List) {
	p := &planner{ctx: ctx, w: w}
	out := toolpath.Program{Name: w.Name + "-trace", SafeZ: w.SafeZ}
	if !p.workHolds() {
		return out, p.found
	}
	if !(height >= approach) || !finite(height, feed) || feed <= 0 {
		p.add(diag.Finding{Code: "trace-height", Severity: diag.Stop, Input: true, Subject: w.Title,
			Message: fmt.Sprintf("a trace %g mm above the skin at %g mm/min cannot be run", height, feed), Help: fmt.Sprintf("give a height of at least %g mm and a feed above 0", approach)}.With(height, approach, "mm"))
		return out, p.found
	}
	ws := p.workSkin()
	d := &draper{w: ws, cutter: &w.Cutters[0], base: atHighest, safe: w.SafeZ, cache: map[geom.Seg][]piece{}}
	for i := range w.Cuts {
		path := toolpath.Path{Cut: w.Cuts[i].Name, Op: "trace", Still: true, Notes: []string{fmt.Sprintf("air pass %.2f mm above the skin, spindle stopped", height)}}
		for _, chain := range traced(&w.Cuts[i]) {
			path.Moves = d.hover(path.Moves, chain, height, feed)
		}
		if len(path.Moves) > 0 {
			out.Paths = append(out.Paths, path)
		}
	}
	return out, p.found
}

// traced lists what an air pass shows of a cut: outlines, lines, and points as
// chains of one vertex.
func traced(c *work.Cut) []geom.Chain {
	var out []geom.Chain
	for _, g := range c.Regions {
		for _, k := range g.Contours() {
			chain := append(geom.Chain(nil), k...)
			out = append(out, append(chain, geom.Vertex{Point: k[0].Point}))
		}
	}
	out = append(out, c.Chains...)
	if len(c.Regions) == 0 {
		for _, q := range c.Points {
			out = append(out, geom.Chain{{Point: q}})
		}
	}
	return out
}

// hover goes over a chain at a height above the skin.
func (d *draper) hover(out []toolpath.Move, c geom.Chain, height, feed float64) []toolpath.Move {
	z := func(p geom.Point) float64 {
		b := geom.Box{Min: p, Max: p}
		return math.Min(d.w.top(b.Grow(d.cutter.Radius()))+height, d.safe)
	}
	a := c[0].Point
	out = append(out, toolpath.Move{Kind: toolpath.Rapid, X: a.X, Y: a.Y, Z: d.safe}, toolpath.Move{Kind: toolpath.Rapid, X: a.X, Y: a.Y, Z: z(a)})
	for _, s := range c.Segs() {
		for _, q := range d.pieces(s) {
			b := q.seg.Bounds().Grow(d.cutter.Radius())
			m := move(q.seg, math.Min(d.w.top(b)+height, d.safe), feed)
			out = append(out, toolpath.Move{Kind: toolpath.Line, X: q.seg.A.X, Y: q.seg.A.Y, Z: m.Z, Feed: feed}, m)
		}
	}
	b := c[len(c)-1].Point
	return append(out, toolpath.Move{Kind: toolpath.Rapid, X: b.X, Y: b.Y, Z: d.safe})
}
