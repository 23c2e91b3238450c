package picture

import (
	"bytes"
	"errors"
	"fmt"
	"html"
	"image/color"
	"image/png"
	"math"

	"github.com/tdewolff/canvas"
	"github.com/tdewolff/canvas/renderers/pdf"
	"github.com/tdewolff/canvas/renderers/rasterizer"
	"github.com/tdewolff/canvas/renderers/svg"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"

	"sparclear/pkg/geom"
)

// page draws on paper (mm, Y up) what lies on the machine (mm), at one scale.
type page struct {
	c       *canvas.Canvas
	ctx     *canvas.Context
	face    *canvas.FontFamily
	scale   float64    // paper mm per machine mm
	shift   geom.Point // paper place of the machine's origin
	written []written  // every text on the page, so that tests can look for overlaps
}

// written is a text and the room that it takes on paper.
type written struct {
	text   string
	box    geom.Box
	x, y   float64 // on the line of the letters' feet
	size   float64 // points
	align  canvas.TextAlign
	bold   bool
	colour color.RGBA
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
		parts := make([]float64, len(dashes)) // canvas counts dashes in widths of the line
		for i, d := range dashes {
			parts[i] = d / width
		}
		p.ctx.SetDashes(0, parts...)
	}
}

// brush fills and strokes at once.
func (p *page) brush(fill, stroke color.Color, width float64) {
	p.ctx.ResetStyle()
	p.ctx.SetFillColor(fill)
	p.ctx.SetStrokeColor(stroke)
	p.ctx.SetStrokeWidth(width)
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

// straight draws one line on paper with the pen in hand.
func (p *page) straight(a, b geom.Point) { p.polyline(a, b) }

// polyline draws a chain of straight lines on paper with the pen in hand.
func (p *page) polyline(qs ...geom.Point) {
	path := &canvas.Path{}
	for i, q := range qs {
		if i == 0 {
			path.MoveTo(q.X, q.Y)
		} else {
			path.LineTo(q.X, q.Y)
		}
	}
	p.draw(path)
}

// rect draws a rectangle of the paper.
func (p *page) rect(b geom.Box) {
	s := b.Size()
	p.draw(canvas.Rectangle(s.X, s.Y).Translate(b.Min.X, b.Min.Y))
}

func (p *page) draw(path *canvas.Path) {
	if !path.Empty() {
		p.ctx.DrawPath(0, 0, path)
	}
}

// fontWidth is how much wider than ours the reader's sans-serif may be: the SVG
// names no font of its own.
const fontWidth = 1.16

// boldWidth is what bold letters add to that.
const boldWidth = 1.07

// pointMM is a typographic point.
const pointMM = 25.4 / 72

// textSize returns the room that a text takes on paper, mm; size in points.
func (p *page) textSize(size float64, bold bool, s string) geom.Point {
	w := p.letterWidth(size, bold, s) * fontWidth
	if bold {
		w *= boldWidth
	}
	return geom.Pt(w, size*pointMM)
}

// letterWidth is how long a text is in our own font, mm.
func (p *page) letterWidth(size float64, bold bool, s string) float64 {
	style := canvas.FontRegular
	if bold {
		style = canvas.FontBold
	}
	return p.face.Face(size, ink, style).TextWidth(s)
}

// text writes at a paper place, on the line of the letters' feet; size in points.
// Texts come to lie over everything else.
func (p *page) text(x, y, size float64, align canvas.TextAlign, bold bool, c color.RGBA, s string) {
	if s == "" {
		return
	}
	d := p.textSize(size, bold, s)
	left := x
	switch align {
	case canvas.Center:
		left = x - d.X/2
	case canvas.Right:
		left = x - d.X
	}
	box := geom.Box{Min: geom.Pt(left, y-0.2*d.Y), Max: geom.Pt(left+d.X, y+0.8*d.Y)}
	p.written = append(p.written, written{s, box, x, y, size, align, bold, c})
}

// letter draws the texts on the canvas, for the forms that carry their fonts.
func (p *page) letter() {
	for _, w := range p.written {
		style := canvas.FontRegular
		if w.bold {
			style = canvas.FontBold
		}
		p.ctx.DrawText(w.x, w.y, canvas.NewTextLine(p.face.Face(w.size, w.colour, style), w.text, w.align))
	}
}

// fit shortens a text to a width on paper, mm.
func (p *page) fit(s string, size, width float64) string {
	if p.textSize(size, false, s).X <= width {
		return s
	}
	r := []rune(s)
	for len(r) > 1 && p.textSize(size, false, string(r)+"…").X > width {
		r = r[:len(r)-1]
	}
	return string(r) + "…"
}

// svg renders the page. Its texts stay texts, for those who search or listen; they
// keep the width that they were given whatever sans-serif the reader has.
func (p *page) svg() ([]byte, error) {
	var b bytes.Buffer
	r := svg.New(&b, p.c.W, p.c.H, nil)
	p.c.RenderTo(r)
	if err := r.Close(); err != nil {
		return nil, fmt.Errorf("render SVG: %w", err)
	}
	body, ok := bytes.CutSuffix(bytes.TrimSpace(b.Bytes()), []byte("</svg>"))
	if !ok {
		return nil, errors.New("render SVG: no end")
	}
	out := bytes.NewBuffer(body)
	for _, w := range p.written {
		anchor, weight := "start", ""
		switch w.align {
		case canvas.Center:
			anchor = "middle"
		case canvas.Right:
			anchor = "end"
		}
		if w.bold {
			weight = ` font-weight="bold"`
		}
		width := p.letterWidth(w.size, w.bold, w.text)
		fmt.Fprintf(out, "\n<text x=\"%.2f\" y=\"%.2f\" font-family=\"sans-serif\" font-size=\"%.2f\"%s fill=\"#%02x%02x%02x\" text-anchor=\"%s\" textLength=\"%.2f\" lengthAdjust=\"spacingAndGlyphs\">%s</text>",
			w.x, p.c.H-w.y, w.size*pointMM, weight, w.colour.R, w.colour.G, w.colour.B, anchor, width, html.EscapeString(w.text))
	}
	out.WriteString("\n</svg>\n")
	return out.Bytes(), nil
}

// pdf renders the page, its fonts inside.
func (p *page) pdf() ([]byte, error) {
	p.letter()
	var b bytes.Buffer
	r := pdf.New(&b, p.c.W, p.c.H, nil)
	p.c.RenderTo(r)
	if err := r.Close(); err != nil {
		return nil, fmt.Errorf("render PDF: %w", err)
	}
	return timeless(b.Bytes())
}

// png renders the page at a number of pixels to the mm.
func (p *page) png(perMM float64) ([]byte, error) {
	p.letter()
	var b bytes.Buffer
	if err := png.Encode(&b, rasterizer.Draw(p.c, canvas.DPMM(perMM), canvas.DefaultColorSpace)); err != nil {
		return nil, fmt.Errorf("render PNG: %w", err)
	}
	return b.Bytes(), nil
}
