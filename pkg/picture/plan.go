package picture

import (
	"fmt"
	"image/color"
	"math"
	"slices"
	"strings"

	"github.com/tdewolff/canvas"

	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/proof"
)

// The sheet of paper, A4 across, mm.
const (
	paperW, paperH = 297.0, 210.0
	depthSteps     = 12 // shades of depth in a picture
)

// Plan returns the plan view as SVG, A4 across: what is cut at true width, how
// deep, where members and clamps lie with their clearance, where the cutter goes
// in, in which order, and the smallest margin with its figure.
func Plan(s Scene) ([]byte, error) {
	p, err := s.planPage()
	if err != nil {
		return nil, err
	}
	return p.svg()
}

func (s Scene) planPage() (*page, error) {
	rs, err := s.runs()
	if err != nil {
		return nil, err
	}
	window := s.window(rs)
	frame := geom.Box{Min: geom.Pt(12, 14), Max: geom.Pt(220, 194)}
	p, err := newPage(paperW, paperH, window, frame)
	if err != nil {
		return nil, err
	}
	// The frame may show more than was asked for, since paper has its own shape.
	shown := geom.Box{Min: p.machine(frame.Min), Max: p.machine(frame.Max)}
	v := planView{Scene: s, page: p, runs: rs, window: shown, frame: frame, deepest: deepestOf(rs)}
	v.stock()
	v.members()
	v.kerf()
	v.outlines()
	v.rapids()
	order := v.entries()
	v.tabs()
	v.clamps()
	v.datums()
	v.margin()
	v.border()
	v.legend()
	v.orderList(order)
	return p, nil
}

type planView struct {
	Scene
	*page
	runs    []run
	window  geom.Box
	frame   geom.Box
	deepest float64
}

func deepestOf(rs []run) float64 {
	d := 0.0
	for _, r := range rs {
		for _, m := range r.moves {
			if !m.rapid {
				d = math.Max(d, m.deepest())
			}
		}
	}
	return d
}

func (v planView) stock() {
	v.fill(stockC)
	for _, g := range v.Work.Stock {
		v.draw(v.contours(g.Contours()...))
	}
}

// members draws keep-outs hatched, with the band of their clearance.
func (v planView) members() {
	for _, m := range v.Work.Members {
		for _, g := range m.Footprint {
			need := v.needed(m)
			if grown, err := g.Offset(need, 0.01); err == nil && need > 0 {
				for _, b := range grown {
					v.fill(clearC)
					v.draw(v.contours(b.Contours()...))
				}
			}
		}
		for _, g := range m.Footprint {
			v.fill(color.White)
			path := v.contours(g.Contours()...)
			v.draw(path)
			v.hatch(g, memberC)
			v.pen(memberC, 0.25)
			v.draw(path)
		}
	}
}

// needed is the clearance with the error budget, as the proof used it.
func (v planView) needed(m keepout.Volume) float64 {
	need := m.Clearance
	if v.Certificate != nil {
		for _, x := range v.Certificate.Margins {
			if x.Check == "members" && x.Member == m.Name {
				need = math.Max(need, x.NeededMM)
			}
		}
	}
	return need
}

// hatch fills a region with lines at 45°, 1.4 mm apart on paper, clipped by the
// even-odd crossings of each line with the contours.
func (v planView) hatch(g geom.Region, c color.Color) {
	path := &canvas.Path{}
	turn := geom.Rigid{Turn: -math.Pi / 4}
	back := turn.Inverse()
	t := g.Transform(turn)
	b := t.Bounds()
	win := geom.EmptyBox()
	for _, q := range []geom.Point{v.window.Min, v.window.Max, {X: v.window.Min.X, Y: v.window.Max.Y}, {X: v.window.Max.X, Y: v.window.Min.Y}} {
		win = win.Extend(turn.Apply(q))
	}
	gap := 1.4 / v.scale
	for y := math.Ceil(math.Max(b.Min.Y, win.Min.Y)/gap) * gap; y <= math.Min(b.Max.Y, win.Max.Y); y += gap {
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

// kerf draws every cutting move at the cutter's true width, shallow first, so
// that the deepest pass is what shows.
func (v planView) kerf() {
	for level := range depthSteps {
		paths := map[int]*canvas.Path{}
		for _, r := range v.runs {
			for _, m := range r.moves {
				if m.rapid || m.deepest() <= 0 || v.level(m.deepest()) != level {
					continue
				}
				path := paths[m.cutter]
				if path == nil {
					path = &canvas.Path{}
					paths[m.cutter] = path
				}
				segs := m.segs()
				a := v.at(segs[0].A)
				path.MoveTo(a.X, a.Y)
				for _, e := range segs {
					v.edge(path, e)
				}
				if segs[0].A == segs[0].B { // straight down: a dot of the cutter's width
					path.LineTo(a.X+1e-3, a.Y)
				}
			}
		}
		for i := -1; i < len(v.Work.Cutters); i++ {
			if path := paths[i]; path != nil {
				v.pen(depthColour((float64(level)+0.5)/depthSteps), math.Max(0.1, 2*radiusOf(v.Work.Cutters, i)*v.scale))
				v.draw(path)
			}
		}
	}
}

func (v planView) level(depth float64) int {
	if v.deepest <= 0 {
		return 0
	}
	return min(depthSteps-1, max(0, int(depth/v.deepest*depthSteps)))
}

func (v planView) outlines() {
	v.pen(outlineC, 0.2)
	for _, c := range v.Work.Cuts {
		for _, g := range c.Regions {
			v.draw(v.contours(g.Contours()...))
		}
		for _, ch := range c.Chains {
			v.draw(v.chain(ch))
		}
	}
}

func (v planView) rapids() {
	path := &canvas.Path{}
	for _, r := range v.runs {
		for _, m := range r.moves {
			if m.rapid && m.seg.A != m.seg.B {
				a, b := v.at(m.seg.A), v.at(m.seg.B)
				path.MoveTo(a.X, a.Y)
				path.LineTo(b.X, b.Y)
			}
		}
	}
	v.pen(rapidC, 0.2, 1.2, 0.9)
	v.draw(path)
}

// entries marks where the cutter first goes into the material after each rapid,
// and numbers the cuts in the order in which they are made.
func (v planView) entries() (order []string) {
	for _, r := range v.runs {
		for i, m := range r.moves {
			if m.rapid || i == 0 || !r.moves[i-1].rapid {
				continue
			}
			q := v.at(m.seg.A)
			v.ctx.ResetStyle()
			v.ctx.SetFillColor(entryC)
			v.ctx.SetStrokeColor(ink)
			v.ctx.SetStrokeWidth(0.2)
			v.draw(canvas.Circle(0.7).Translate(q.X, q.Y))
			name := v.cutAt(m.seg.A)
			if name == "" || slices.Contains(order, name) {
				continue
			}
			order = append(order, name)
			v.number(q, len(order))
		}
	}
	return order
}

func (v planView) number(q geom.Point, n int) {
	v.fill(ink)
	v.draw(canvas.Circle(2).Translate(q.X+3, q.Y+3))
	v.text(q.X+3, q.Y+2.2, 6.5, canvas.Center, true, color.White, fmt.Sprint(n))
}

// cutAt names the cut whose outline or point lies nearest.
func (v planView) cutAt(q geom.Point) string {
	best, name := math.Inf(1), ""
	for _, c := range v.Work.Cuts {
		for _, g := range c.Regions {
			if d := g.Dist(q); d < best {
				best, name = d, c.Name
			}
		}
		for _, p := range c.Points {
			if d := p.Dist(q); d < best {
				best, name = d, c.Name
			}
		}
	}
	return name
}

func (v planView) tabs() {
	if v.Certificate == nil {
		return
	}
	for _, l := range v.Certificate.Leftovers {
		if l.Kind != "tab" {
			continue
		}
		q := v.at(geom.Pt(l.At[0], l.At[1]))
		v.ctx.ResetStyle()
		v.ctx.SetFillColor(tabC)
		v.ctx.SetStrokeColor(ink)
		v.ctx.SetStrokeWidth(0.15)
		v.draw(canvas.Rectangle(2, 2).Translate(q.X-1, q.Y-1))
	}
}

func (v planView) clamps() {
	for _, c := range v.Work.Clamps {
		for _, g := range c.Footprint {
			if !g.Bounds().Overlaps(v.window) {
				continue
			}
			v.pen(clampC, 0.5, 3, 1)
			v.draw(v.contours(g.Contours()...))
			q := v.at(g.Bounds().Center())
			v.text(q.X, q.Y, 7, canvas.Center, false, clampC, c.Name)
		}
	}
}

func (v planView) datums() {
	for _, d := range v.Work.Datums {
		if !v.window.Contains(d.Touched) {
			continue
		}
		q := v.at(d.Touched)
		v.pen(ink, 0.25)
		cross := &canvas.Path{}
		cross.MoveTo(q.X-2, q.Y)
		cross.LineTo(q.X+2, q.Y)
		cross.MoveTo(q.X, q.Y-2)
		cross.LineTo(q.X, q.Y+2)
		v.draw(cross)
		v.text(q.X+2.5, q.Y+1, 7, canvas.Left, false, ink, d.Name)
	}
}

// margin calls out the smallest room to a member with a dimension line.
func (v planView) margin() {
	m, ok := smallestMargin(v.Certificate)
	if !ok || m.At == nil {
		return
	}
	from := geom.Pt(m.At[0], m.At[1])
	to, found := v.nearestOn(m.Member, from)
	if !found {
		return
	}
	a, b := v.at(from), v.at(to)
	v.pen(warnC, 0.35)
	line := &canvas.Path{}
	line.MoveTo(a.X, a.Y)
	line.LineTo(b.X, b.Y)
	v.draw(line)
	v.fill(warnC)
	v.draw(canvas.Circle(0.6).Translate(a.X, a.Y))
	v.draw(canvas.Circle(0.6).Translate(b.X, b.Y))
	label := fmt.Sprintf("%.2f mm to %s (%.2f needed)", m.MarginMM, m.Member, m.NeededMM)
	x, y := b.X, b.Y+4
	w := float64(len(label)) * 1.45
	x = math.Min(math.Max(x, v.frame.Min.X+w/2+1), v.frame.Max.X-w/2-1)
	v.fill(color.White)
	v.draw(canvas.Rectangle(w, 4).Translate(x-w/2, y-1))
	v.text(x, y, 8, canvas.Center, true, warnC, label)
}

func smallestMargin(c *proof.Certificate) (proof.Margin, bool) {
	best, ok := proof.Margin{}, false
	if c == nil {
		return best, false
	}
	for _, m := range c.Margins {
		if m.Check == "members" && (!ok || m.MarginMM-m.NeededMM < best.MarginMM-best.NeededMM) {
			best, ok = m, true
		}
	}
	return best, ok
}

func (v planView) nearestOn(member string, from geom.Point) (geom.Point, bool) {
	best, at, ok := math.Inf(1), geom.Point{}, false
	for _, m := range v.Work.Members {
		if m.Name != member {
			continue
		}
		for _, g := range m.Footprint {
			for _, c := range g.Contours() {
				for i := range c {
					q := c.Seg(i).Nearest(from)
					if d := q.Dist(from); d < best {
						best, at, ok = d, q, true
					}
				}
			}
		}
	}
	return at, ok
}

// border hides what sticks out of the window, and draws frame and scale.
func (v planView) border() {
	lo, hi := v.frame.Min, v.frame.Max
	v.fill(color.White)
	v.draw(canvas.Rectangle(lo.X, paperH))
	v.draw(canvas.Rectangle(paperW-hi.X, paperH).Translate(hi.X, 0))
	v.draw(canvas.Rectangle(paperW, lo.Y))
	v.draw(canvas.Rectangle(paperW, paperH-hi.Y).Translate(0, hi.Y))
	v.pen(ink, 0.3)
	v.draw(canvas.Rectangle(hi.X-lo.X, hi.Y-lo.Y).Translate(lo.X, lo.Y))
	v.text(lo.X, hi.Y+4, 13, canvas.Left, true, ink, v.Work.Title)
	length := niceLength(50 / v.scale)
	x0, y0 := lo.X, lo.Y-5
	v.pen(ink, 0.5)
	bar := &canvas.Path{}
	bar.MoveTo(x0, y0)
	bar.LineTo(x0+length*v.scale, y0)
	v.draw(bar)
	v.text(x0+length*v.scale+2, y0-1, 8, canvas.Left, false, ink, fmt.Sprintf("%g mm", length))
	v.axes(hi.X-22, lo.Y-8)
}

func (v planView) axes(x, y float64) {
	v.pen(ink, 0.35)
	a := &canvas.Path{}
	a.MoveTo(x, y+6)
	a.LineTo(x, y)
	a.LineTo(x+8, y)
	v.draw(a)
	v.text(x+9, y-1, 8, canvas.Left, false, ink, "+X")
	v.text(x-1, y+6.5, 8, canvas.Right, false, ink, "+Y")
}

// niceLength rounds down to 1, 2 or 5 times a power of ten.
func niceLength(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, k := range []float64{5, 2, 1} {
		if k*p <= v {
			return k * p
		}
	}
	return p
}

func (v planView) legend() {
	x, y := 226.0, 190.0
	v.text(x, y, 9, canvas.Left, true, ink, "depth below the skin")
	y -= 5
	for i := range depthSteps {
		v.fill(depthColour((float64(i) + 0.5) / depthSteps))
		v.draw(canvas.Rectangle(4, 3).Translate(x+float64(i)*4, y-2))
	}
	v.text(x, y-6, 7.5, canvas.Left, false, ink, "0")
	v.text(x+4*depthSteps, y-6, 7.5, canvas.Right, false, ink, fmt.Sprintf("%.2f mm", v.deepest))
	y -= 13
	for _, row := range []struct {
		draw func(x, y float64)
		text string
		want bool
	}{
		{func(x, y float64) { v.sample(x, y, memberC, clearC) }, "member, with clearance and error band", len(v.Work.Members) > 0},
		{func(x, y float64) { v.line(x, y, clampC, 0.5, 3, 1) }, "clamp", len(v.Work.Clamps) > 0},
		{func(x, y float64) { v.line(x, y, rapidC, 0.2, 1.2, 0.9) }, "rapid", true},
		{func(x, y float64) { v.line(x, y, outlineC, 0.2) }, "outline as drawn", true},
		{func(x, y float64) { v.dot(x, y, entryC) }, "cutter goes in", true},
		{func(x, y float64) { v.square(x, y) }, "tab", v.hasTabs()},
	} {
		if row.want {
			row.draw(x, y)
			v.text(x+10, y-1, 8, canvas.Left, false, ink, row.text)
			y -= 5.5
		}
	}
	y -= 2
	for _, c := range v.Work.Cutters {
		v.text(x, y, 8, canvas.Left, false, ink, fmt.Sprintf("T%d  %s, Ø %.3g mm", c.Number, c.Name, c.Diameter))
		y -= 4.5
	}
}

// orderList writes the cuts in their order at the foot of the right column.
func (v planView) orderList(order []string) {
	x, y := 226.0, 96.0
	v.text(x, y, 9, canvas.Left, true, ink, "order")
	for i, name := range order {
		if i == 16 {
			v.text(x, y-5*float64(i+1), 8, canvas.Left, false, ink, fmt.Sprintf("and %d more", len(order)-i))
			return
		}
		v.text(x, y-5*float64(i+1), 8, canvas.Left, false, ink, fmt.Sprintf("%d  %s", i+1, shorten(name, 34)))
	}
}

func (v planView) hasTabs() bool {
	for _, c := range v.Work.Cuts {
		if c.Tabs.Count > 0 || c.Tabs.Auto {
			return true
		}
	}
	return false
}

func (v planView) sample(x, y float64, c, band color.Color) {
	v.fill(band)
	v.draw(canvas.Rectangle(8, 3.6).Translate(x, y-1.8))
	v.pen(c, 0.18)
	for i := range 4 {
		l := &canvas.Path{}
		l.MoveTo(x+1.5+float64(i)*1.4, y-1)
		l.LineTo(x+2.9+float64(i)*1.4, y+1)
		v.draw(l)
	}
	v.pen(c, 0.25)
	v.draw(canvas.Rectangle(6, 2).Translate(x+1, y-1))
}

func (v planView) line(x, y float64, c color.Color, width float64, dashes ...float64) {
	v.pen(c, width, dashes...)
	l := &canvas.Path{}
	l.MoveTo(x, y)
	l.LineTo(x+8, y)
	v.draw(l)
}

func (v planView) dot(x, y float64, c color.Color) {
	v.ctx.ResetStyle()
	v.ctx.SetFillColor(c)
	v.ctx.SetStrokeColor(ink)
	v.ctx.SetStrokeWidth(0.2)
	v.draw(canvas.Circle(0.7).Translate(x+4, y))
}

func (v planView) square(x, y float64) {
	v.ctx.ResetStyle()
	v.ctx.SetFillColor(tabC)
	v.ctx.SetStrokeColor(ink)
	v.ctx.SetStrokeWidth(0.15)
	v.draw(canvas.Rectangle(2, 2).Translate(x+3, y-1))
}

func shorten(s string, n int) string {
	if len(s) <= n {
		return s
	}
	return strings.TrimSpace(s[:n-1]) + "…"
}

// levelCrossings returns where a segment crosses the height y, for drawing only.
func levelCrossings(s geom.Seg, y float64) []float64 {
	if s.IsLine() {
		if (s.A.Y <= y) == (s.B.Y <= y) {
			return nil
		}
		return []float64{s.A.X + (y-s.A.Y)/(s.B.Y-s.A.Y)*(s.B.X-s.A.X)}
	}
	c, r := s.Center(), s.Radius()
	h := r*r - (y-c.Y)*(y-c.Y)
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
