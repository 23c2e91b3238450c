package picture

import (
	"fmt"
	"image/color"
	"math"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

// sheet is a PDF in the making: A4 upright, standard fonts only.
type sheet struct {
	pdf *fpdf.Fpdf
	tr  func(string) string
	// said is every text in the order in which it was written, whole lines, for
	// tests and for those who read it aloud.
	said  []string
	count int // headings with a number so far
}

const (
	sheetWidth = 180.0 // between the margins, mm
	lowest     = 284.0 // where the foot of a page begins, mm from its top
)

func newSheet(title string) *sheet {
	p := fpdf.New("P", "mm", "A4", "")
	fixed := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC) // the same job gives the same bytes
	p.SetCreationDate(fixed)
	p.SetModificationDate(fixed)
	p.SetCatalogSort(true)
	p.SetProducer("sparclear", true)
	p.SetTitle(title, true)
	p.SetMargins(15, 12, 15)
	p.SetAutoPageBreak(true, 13)
	d := &sheet{pdf: p, tr: p.UnicodeTranslatorFromDescriptor("")}
	p.SetFooterFunc(func() {
		p.SetY(-10)
		p.SetFont("Helvetica", "", 7)
		p.CellFormat(0, 4, d.tr(fmt.Sprintf("%s - page %d of {n}", title, p.PageNo())), "", 0, "C", false, 0, "")
	})
	p.AliasNbPages("{n}")
	p.AddPage()
	p.SetFont("Helvetica", "B", 15)
	p.MultiCell(0, 7, d.say(title), "", "L", false)
	return d
}

// say notes a text and turns it into the letters of the standard fonts. Letters
// that these lack become plain ones.
func (d *sheet) say(s string) string {
	d.said = append(d.said, s)
	return d.tr(strings.NewReplacer("≤", "<=", "≥", ">=", "→", "->", "−", "-", "√", "sqrt").Replace(s))
}

func (d *sheet) heading(s string) {
	if d.pdf.GetY() > lowest-14 { // a heading alone at the foot of a page helps nobody
		d.pdf.AddPage()
	}
	d.pdf.Ln(1.6)
	d.pdf.SetFont("Helvetica", "B", 10)
	d.pdf.SetFillColor(230, 230, 230)
	d.pdf.CellFormat(0, 5.4, " "+d.say(s), "", 1, "L", true, 0, "")
	d.pdf.Ln(0.6)
}

// numbered begins the next step of the set-up.
func (d *sheet) numbered(s string) {
	d.count++
	d.heading(fmt.Sprintf("%d  %s", d.count, s))
}

func (d *sheet) line(format string, a ...any) {
	d.pdf.SetFont("Helvetica", "", 8.8)
	d.pdf.MultiCell(0, 4.3, d.say(fmt.Sprintf(format, a...)), "", "L", false)
}

func (d *sheet) mono(s string) {
	d.pdf.SetFont("Courier", "", 7)
	d.pdf.SetX(21)
	d.pdf.CellFormat(0, 3.4, d.say(s), "", 1, "L", false, 0, "")
}

// small writes a line of fine print.
func (d *sheet) small(format string, a ...any) {
	d.pdf.SetFont("Helvetica", "", 6.8)
	d.pdf.MultiCell(0, 3.2, d.say(fmt.Sprintf(format, a...)), "", "L", false)
}

// tick writes a line with a box to tick.
func (d *sheet) tick(format string, a ...any) {
	if d.pdf.GetY() > lowest-6 {
		d.pdf.AddPage()
	}
	y := d.pdf.GetY()
	d.pdf.SetLineWidth(0.25)
	d.pdf.Rect(16, y+0.7, 3, 3, "D")
	d.pdf.SetX(21)
	d.pdf.SetFont("Helvetica", "", 8.8)
	d.pdf.MultiCell(sheetWidth-6, 4.3, d.say(fmt.Sprintf(format, a...)), "", "L", false)
}

// table writes rows under a head, which stands again on each page that they run
// on to; the columns share sheetWidth as widths has it.
func (d *sheet) table(widths []float64, head []string, rows [][]string) {
	all := 0.0
	for _, w := range widths {
		all += w
	}
	row := func(style string, cells []string) {
		d.pdf.SetFont("Helvetica", style, 8.2)
		for i, c := range cells {
			w := widths[i] * sheetWidth / all
			d.pdf.CellFormat(w, 4.5, d.fit(c, w), "B", 0, "L", false, 0, "")
		}
		d.pdf.Ln(-1)
	}
	d.pdf.SetLineWidth(0.15)
	row("B", head)
	for _, r := range rows {
		if d.pdf.GetY() > lowest-4.5 {
			d.pdf.AddPage()
			row("B", head)
		}
		row("", r)
	}
	d.pdf.Ln(0.8)
}

// fit cuts a text to the width of its cell.
func (d *sheet) fit(s string, width float64) string {
	t := d.say(s)
	if d.pdf.GetStringWidth(t) <= width-2 {
		return t
	}
	for len(t) > 1 && d.pdf.GetStringWidth(t+"..") > width-2 {
		t = t[:len(t)-1]
	}
	return t + ".."
}

// Size of the map of the set-up, mm of paper.
const mapHigh = 48.0

// layout draws clamps, datums in the order of touching, members, cuts and X0 Y0.
func (d *sheet) layout(s Scene) {
	b := s.whole()
	for _, g := range s.Work.Stock {
		b = b.Union(g.Bounds())
	}
	if b.Empty() {
		return
	}
	if near := b.Grow(0.5 * math.Max(b.Size().X, b.Size().Y)); near.Contains(geom.Point{}) {
		b = b.Extend(geom.Point{})
	}
	b = b.Grow(0.05 * math.Max(b.Size().X, b.Size().Y))
	if d.pdf.GetY() > lowest-22-mapHigh {
		d.pdf.AddPage()
	}
	y0 := d.pdf.GetY() + 1
	k := math.Min(sheetWidth/b.Size().X, mapHigh/b.Size().Y)
	x0 := 15 + (sheetWidth-k*b.Size().X)/2
	at := func(q geom.Point) (float64, float64) { return x0 + (q.X-b.Min.X)*k, y0 + (b.Max.Y-q.Y)*k }
	d.pdf.SetLineWidth(0.15)
	d.pdf.SetDrawColor(0, 0, 0)
	fx, fy := at(geom.Pt(b.Min.X, b.Max.Y))
	d.pdf.ClipRect(fx, fy, k*b.Size().X, k*b.Size().Y, true)
	shape := func(gs []geom.Region, fill color.RGBA, mode string) {
		d.pdf.SetFillColor(int(fill.R), int(fill.G), int(fill.B))
		for _, g := range gs {
			for _, r := range rings([]geom.Contour{g.Outer}) {
				var ps []fpdf.PointType
				for i := 0; i+1 < len(r); i += 2 {
					x, y := at(geom.Pt(r[i], r[i+1]))
					ps = append(ps, fpdf.PointType{X: x, Y: y})
				}
				d.pdf.Polygon(ps, mode)
			}
		}
	}
	shape(s.Work.Stock, stockC, "DF")
	for _, m := range s.Work.Members {
		shape(m.Footprint, clearC, "DF")
	}
	if len(s.Work.Parts) > 0 { // parts with their holes; what lies in a hole stays to be seen
		for _, p := range s.Work.Parts {
			shape([]geom.Region{{Outer: p.Region.Outer}}, partC, "DF")
			for _, h := range p.Region.Holes {
				shape([]geom.Region{{Outer: h}}, stockC, "DF")
			}
		}
		for _, p := range s.Work.Parts {
			if inHole(p, s.Work.Parts) {
				shape([]geom.Region{{Outer: p.Region.Outer}}, partC, "DF")
				for _, h := range p.Region.Holes {
					shape([]geom.Region{{Outer: h}}, stockC, "DF")
				}
			}
		}
	} else {
		for _, c := range s.Work.Cuts {
			shape(c.Regions, depthColour(0.8), "F")
		}
	}
	d.pdf.SetDashPattern([]float64{1.6, 1}, 0)
	for _, g := range s.Remnants {
		shape([]geom.Region{{Outer: g.Outer}}, stockC, "D")
	}
	d.pdf.SetDashPattern(nil, 0)
	for _, c := range s.Work.Clamps {
		shape(c.Footprint, clampFillC, "DF")
	}
	d.pdf.ClipEnd()
	d.pdf.SetFont("Helvetica", "B", 7.5)
	for _, c := range s.Work.Clamps {
		x, y := at(c.Bounds().Center())
		t := d.say(c.Name)
		w := d.pdf.GetStringWidth(t)
		d.pdf.SetFillColor(255, 255, 255)
		d.pdf.Rect(x-w/2-0.5, y-2.4, w+1, 3.4, "F")
		d.pdf.Text(x-w/2, y, t)
	}
	for _, p := range s.Work.Parts {
		if p.Mark != "" {
			x, y := at(p.Region.Bounds().Center())
			t := d.say(p.Mark)
			d.pdf.Text(x-d.pdf.GetStringWidth(t)/2, y+1, t)
		}
	}
	cross := func(q geom.Point, r float64, text string) {
		x, y := at(q)
		d.pdf.SetLineWidth(0.3)
		d.pdf.Line(x-r, y, x+r, y)
		d.pdf.Line(x, y-r, x, y+r)
		t := d.say(text)
		left := x + 1
		if w := d.pdf.GetStringWidth(t); left+w > fx+k*b.Size().X { // it would leave the map
			left = x - 1 - w
		}
		d.pdf.Text(left, y-1, t)
	}
	for i, p := range s.Work.Datums {
		x, y := at(p.Touched)
		d.pdf.Circle(x, y, 1.4, "D")
		cross(p.Touched, 2, fmt.Sprintf("%d %s", i+1, p.Name))
	}
	if b.Contains(geom.Point{}) {
		cross(geom.Point{}, 3, "X0 Y0")
	}
	d.pdf.SetY(y0 + k*b.Size().Y + 1)
	d.pdf.SetFont("Helvetica", "", 7)
	note := "Seen from above, X to the right, Y away from you. Grey: clamps; dark: cuts; light: members; crosses: datums in the order of touching."
	if s.Work.Sheet {
		note = "Seen from above, X to the right, Y away from you. Filled: parts with their marks; dashed: remnants to keep; light: flaws; grey: clamps."
	}
	d.pdf.CellFormat(0, 3.4, d.say(note), "", 1, "L", false, 0, "")
}

// inHole tells whether a part lies in a hole of another one.
func inHole(p work.Part, all []work.Part) bool {
	q := p.Region.Outer[0].Point
	for _, o := range all {
		for _, h := range o.Region.Holes {
			if h.Winding(q) != 0 {
				return true
			}
		}
	}
	return false
}
