package picture

import (
	"bytes"
	"fmt"
	"image/color"
	"math"

	"github.com/tdewolff/canvas"
	"github.com/tdewolff/canvas/renderers/svg"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"

	"sparclear/pkg/geom"
)

// page draws on paper (mm, Y up) what lies on the machine (mm), at one scale.
type page struct {
	c     *canvas.Canvas
	ctx   *canvas.Context
	face  *canvas.FontFamily
	scale float64    // paper mm per machine mm
	shift geom.Point // paper place of the machine's origin
}

// newPage lays the window of the machine into the frame of the paper.
func newPage(width, height float64, window, frame geom.Box) (*page, error) {
	f := canvas.NewFontFamily("sans-serif")
	if err := f.LoadFont(goregular.TTF, 0, canvas.FontRegular); err != nil {
		return nil, fmt.Errorf("load font: %w", err)
	}
	if err := f.LoadFont(gobold.TTF, 0, canvas.FontBold); err != nil {
		return nil, fmt.Errorf("load font: %w", err)
	}
	c := canvas.New(width, height)
	p := &page{c: c, ctx: canvas.NewContext(c), face: f}
	ws, fs := window.Size(), frame.Size()
	p.scale = math.Min(fs.X/ws.X, fs.Y/ws.Y)
	p.shift = frame.Center().Sub(window.Center().Mul(p.scale))
	p.fill(canvas.White)
	p.ctx.DrawPath(0, 0, canvas.Rectangle(width, height))
	return p, nil
}

// at returns the paper place of a machine point.
func (p *page) at(q geom.Point) geom.Point { return q.Mul(p.scale).Add(p.shift) }

// machine returns the machine point at a paper place.
func (p *page) machine(q geom.Point) geom.Point { return q.Sub(p.shift).Mul(1 / p.scale) }

func (p *page) fill(c color.Color) {
	p.ctx.ResetStyle()
	p.ctx.SetFillColor(c)
	p.ctx.SetStrokeColor(canvas.Transparent)
}

// pen strokes with a width in paper mm; dashes in paper mm.
func (p *page) pen(c color.Color, width float64, dashes ...float64) {
	p.ctx.ResetStyle()
	p.ctx.SetFillColor(canvas.Transparent)
	p.ctx.SetStrokeColor(c)
	p.ctx.SetStrokeWidth(width)
	p.ctx.SetStrokeCapper(canvas.RoundCap)
	p.ctx.SetStrokeJoiner(canvas.RoundJoin)
	if len(dashes) > 0 {
		p.ctx.SetStrokeCapper(canvas.ButtCap)
		p.ctx.SetDashes(0, dashes...)
	}
}

// edge appends a segment to a path that already stands at its start.
func (p *page) edge(path *canvas.Path, s geom.Seg) {
	b := p.at(s.B)
	if s.IsLine() {
		path.LineTo(b.X, b.Y)
		return
	}
	r := s.Radius() * p.scale
	path.ArcTo(r, r, 0, math.Abs(s.Bulge) > 1, s.Bulge > 0, b.X, b.Y)
}

// contours returns one path of closed contours.
func (p *page) contours(cs ...geom.Contour) *canvas.Path {
	path := &canvas.Path{}
	for _, c := range cs {
		if len(c) < 2 {
			continue
		}
		a := p.at(c[0].Point)
		path.MoveTo(a.X, a.Y)
		for i := range c {
			p.edge(path, c.Seg(i))
		}
		path.Close()
	}
	return path
}

func (p *page) chain(c geom.Chain) *canvas.Path {
	path := &canvas.Path{}
	if len(c) < 2 {
		return path
	}
	a := p.at(c[0].Point)
	path.MoveTo(a.X, a.Y)
	for _, s := range c.Segs() {
		p.edge(path, s)
	}
	return path
}

func (p *page) draw(path *canvas.Path) {
	if !path.Empty() {
		p.ctx.DrawPath(0, 0, path)
	}
}

// text writes at a paper place; size in points.
func (p *page) text(x, y, size float64, align canvas.TextAlign, bold bool, c color.Color, s string) {
	style := canvas.FontRegular
	if bold {
		style = canvas.FontBold
	}
	p.ctx.DrawText(x, y, canvas.NewTextLine(p.face.Face(size, c, style), s, align))
}

// svg renders the page.
func (p *page) svg() ([]byte, error) {
	var b bytes.Buffer
	o := svg.DefaultOptions
	o.EmbedFonts = false // any sans-serif of the reader's system serves
	r := svg.New(&b, p.c.W, p.c.H, &o)
	p.c.RenderTo(r)
	if err := r.Close(); err != nil {
		return nil, fmt.Errorf("render SVG: %w", err)
	}
	return b.Bytes(), nil
}
