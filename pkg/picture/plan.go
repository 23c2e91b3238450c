package picture

import (
	"math"

	"github.com/tdewolff/canvas"

	"sparclear/pkg/geom"
)

// The sheet of paper, A4 across, mm.
const (
	paperW, paperH = 297.0, 210.0
	depthSteps     = 12 // shades of depth in a picture
	columnX        = 216.0
	columnW        = paperW - columnX - 6
)

// Plan returns the plan view as SVG, A4 across: what is cut at true width, how
// deep, with which cutter and in which direction; where members and clamps lie
// with their bands of clearance and error; skin contours; datums with what they
// missed by; where the cutter goes in, in which order; and the smallest margins
// with their figures. The strokes of the kerf are as wide as the cutter.
func Plan(s Scene) ([]byte, error) {
	p, err := s.planPage()
	if err != nil {
		return nil, err
	}
	return p.svg()
}

// PlanPDF returns the page of Plan as PDF, its fonts inside.
func PlanPDF(s Scene) ([]byte, error) {
	p, err := s.planPage()
	if err != nil {
		return nil, err
	}
	return p.pdf()
}

// pixelsPerMM of a plan view as PNG: about 150 to the inch.
const pixelsPerMM = 6

// PlanPNG returns the page of Plan as PNG, six pixels to the millimetre.
func PlanPNG(s Scene) ([]byte, error) {
	p, err := s.planPage()
	if err != nil {
		return nil, err
	}
	return p.png(pixelsPerMM)
}

func (s Scene) planPage() (*page, error) {
	rs, err := s.runs()
	if err != nil {
		return nil, err
	}
	v, err := newPlanView(s, rs)
	if err != nil {
		return nil, err
	}
	v.stock()
	v.parts()
	v.fibre()
	v.skinLines()
	v.members()
	v.kerf()
	v.outlines()
	v.rapids()
	v.clamps()
	v.border()
	v.symbols()
	v.callOuts()
	v.numbers()
	v.names()
	v.skinFigures()
	v.foot()
	v.column()
	return v.page, nil
}

// planView is a plan view in the making.
type planView struct {
	Scene
	*page
	runs    []run
	order   []ordered
	window  geom.Box // machine
	frame   geom.Box // paper
	deepest float64
	labels  *labels
	lines   []skinLine
	hidden  int // labels for which there was no room
}

func newPlanView(s Scene, rs []run) (*planView, error) {
	frame := geom.Box{Min: geom.Pt(10, 18), Max: geom.Pt(columnX-6, 194)}
	p, err := newPage(paperW, paperH, s.window(rs), frame)
	if err != nil {
		return nil, err
	}
	// The frame may show more than was asked for, since paper has its own shape.
	shown := geom.Box{Min: p.machine(frame.Min), Max: p.machine(frame.Max)}
	return &planView{Scene: s, page: p, runs: rs, order: order(rs), window: shown, frame: frame,
		deepest: deepestOf(rs), labels: newLabels(frame)}, nil
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

// clipped returns what of the regions lies in the window, so that no path leaves
// the paper by metres. Where that fails the whole is drawn; the border covers it.
func (v *planView) clipped(gs ...geom.Region) []geom.Region {
	w := v.window.Grow(2 / v.scale)
	out := []geom.Region{}
	for _, g := range gs {
		b := g.Bounds()
		switch {
		case !b.Overlaps(w):
		case w.Contains(b.Min) && w.Contains(b.Max):
			out = append(out, g)
		default:
			in, err := geom.Intersect([]geom.Region{g}, []geom.Region{{Outer: geom.Rect(w.Min.X, w.Min.Y, w.Max.X, w.Max.Y)}})
			if err != nil {
				in = []geom.Region{g}
			}
			out = append(out, in...)
		}
	}
	return out
}

func (v *planView) stock() {
	for _, g := range v.clipped(v.Work.Stock...) {
		v.brush(stockC, stockEdgeC, 0.2)
		v.draw(v.contours(g.Contours()...))
	}
}

// Strokes of the fibre on the sheet, mm of paper.
const (
	fibreStroke = 5.0
	fibreApart  = 9.0
)

// fibre strews short strokes along the 0° fibre over the sheet, so that each part
// is seen with the fibre that runs through it.
func (v *planView) fibre() {
	if v.Work.Fibre == nil {
		return
	}
	u := geom.Polar(geom.Point{}, 1, *v.Work.Fibre)
	half := u.Mul(fibreStroke / 2)
	path := &canvas.Path{}
	for _, g := range v.Work.Stock {
		b := geom.Box{Min: v.at(g.Bounds().Min), Max: v.at(g.Bounds().Max)}
		mid, reach := b.Center(), b.Size().Len()/2
		n := int(reach / fibreApart)
		for i := -n; i <= n; i++ {
			for k := -n; k <= n; k++ {
				q := mid.Add(u.Mul(float64(i)*fibreApart + fibreApart/2*float64((k+2*n)%2))).Add(u.Left().Mul(float64(k) * fibreApart / 2))
				a, e := q.Sub(half), q.Add(half)
				if v.frame.Contains(a) && v.frame.Contains(e) && g.ContainsInterior(v.machine(a)) && g.ContainsInterior(v.machine(e)) {
					path.MoveTo(a.X, a.Y)
					path.LineTo(e.X, e.Y)
				}
			}
		}
	}
	v.pen(fibreC, 0.15)
	v.draw(path)
}

// parts tints what stays, and outlines what is kept of the sheet.
func (v *planView) parts() {
	for _, p := range v.Work.Parts {
		for _, g := range v.clipped(p.Region) {
			v.fill(partC)
			v.draw(v.contours(g.Contours()...))
		}
	}
	for _, g := range v.clipped(v.Remnants...) {
		v.pen(remnantC, 0.3, 2.4, 1.2, 0.5, 1.2)
		v.draw(v.contours(g.Contours()...))
	}
}

func (v *planView) outlines() {
	for _, c := range v.Work.Cuts {
		v.pen(outlineC, 0.2)
		for _, g := range c.Regions {
			v.draw(v.contours(g.Contours()...))
			for _, o := range g.Contours() {
				for _, s := range o.Segs() {
					v.labels.mark(v.at(s.A), v.at(s.Mid()), 0)
					v.labels.mark(v.at(s.Mid()), v.at(s.B), 0)
				}
			}
		}
		for _, ch := range c.Chains {
			v.draw(v.chain(ch))
		}
	}
}

func (v *planView) rapids() {
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
	v.pen(rapidC, 0.22, 2, 1.2)
	v.draw(path)
}

// border hides what sticks out of the window and draws the frame.
func (v *planView) border() {
	lo, hi := v.frame.Min, v.frame.Max
	v.fill(canvas.White)
	v.draw(canvas.Rectangle(lo.X, paperH))
	v.draw(canvas.Rectangle(paperW-hi.X, paperH).Translate(hi.X, 0))
	v.draw(canvas.Rectangle(paperW, lo.Y))
	v.draw(canvas.Rectangle(paperW, paperH-hi.Y).Translate(0, hi.Y))
	v.pen(ink, 0.3)
	v.rect(v.frame)
}
