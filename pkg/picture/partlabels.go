package picture

import (
	"bytes"
	"fmt"
	"math"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

// A sheet of labels: A4 upright, three across and eight down, so that each is 70 by
// 37 mm, cut along the lines or printed on sheets of labels of that size.
const (
	labelsAcross, labelsDown = 3, 8
	labelW, labelH           = 70.0, 37.0
	labelTop                 = 0.5 // of the first row, mm
	labelArt                 = 25.0
)

// Labels returns a label for every part of a sheet as PDF: its outline as drawn with
// the direction of its fibre, name, number, material, thickness, what it weighs, and
// the job and sheet that it comes from. It fails when there is no work.
func Labels(s Scene) ([]byte, error) {
	if s.Work == nil {
		return nil, fmt.Errorf("labels: no work")
	}
	var b bytes.Buffer
	if err := s.labelSheet().pdf.Output(&b); err != nil {
		return nil, fmt.Errorf("labels: %w", err)
	}
	return b.Bytes(), nil
}

func (s Scene) labelSheet() *sheet {
	p := fpdf.New("P", "mm", "A4", "")
	fixed := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC) // the same job gives the same bytes
	p.SetCreationDate(fixed)
	p.SetModificationDate(fixed)
	p.SetCatalogSort(true)
	p.SetProducer("sparclear", true)
	p.SetTitle(s.Work.Title, true)
	p.SetMargins(0, 0, 0)
	p.SetAutoPageBreak(false, 0)
	d := &sheet{pdf: p, tr: p.UnicodeTranslatorFromDescriptor("")}
	for i, part := range s.Work.Parts {
		at := i % (labelsAcross * labelsDown)
		if at == 0 {
			p.AddPage()
		}
		d.label(s.Work, part, labelW*float64(at%labelsAcross), labelTop+labelH*float64(at/labelsAcross))
	}
	return d
}

// label draws one label with its upper left corner at x, y of the paper.
func (d *sheet) label(w *work.Work, q work.Part, x, y float64) {
	p := d.pdf
	p.SetDrawColor(190, 190, 190)
	p.SetLineWidth(0.1)
	p.Rect(x, y, labelW, labelH, "D")
	d.labelOutline(w, q, geom.Pt(x+3+labelArt/2, y+labelH/2))
	left, width := x+labelArt+6, labelW-labelArt-9
	at := y + 4.0
	line := func(style string, size, high float64, text string) {
		if text == "" {
			return
		}
		p.SetFont("Helvetica", style, size)
		p.SetTextColor(0, 0, 0)
		p.SetXY(left, at)
		p.CellFormat(width, high, d.fit(text, width+2), "", 0, "L", false, 0, "")
		at += high
	}
	name := q.Kind
	if name == "" {
		name = q.Name
	}
	line("B", 11, 5, name)
	number := ""
	switch {
	case q.Of > 1:
		number = fmt.Sprintf("no. %d of %d", q.Copy, q.Of)
	case q.Of == 0 && q.Copy > 0:
		number = fmt.Sprintf("no. %d", q.Copy)
	}
	if q.Mark != "" {
		if number != "" {
			number += ", "
		}
		number += "mark " + q.Mark
	}
	line("B", 9, 4.4, number)
	line("", 7.5, 3.5, w.Material.Title)
	thick := fmt.Sprintf("%.2f mm thick", w.Thickness)
	if g, ok := weight(w, q.Region.Area()); ok {
		thick += ", " + grams(g)
	}
	line("", 7.5, 3.5, thick)
	line("", 7.5, 3.5, d.fibreOf(w, q))
	job := q.Job
	if job == "" {
		job = w.Title
	}
	line("", 7.5, 3.5, job)
	if w.Blank.Name != "" {
		line("", 7.5, 3.5, "from "+blankName(w.Blank))
	}
}

// fibreOf says how the fibre runs on the part as it is drawn.
func (d *sheet) fibreOf(w *work.Work, q work.Part) string {
	if w.Fibre == nil {
		return ""
	}
	text := fmt.Sprintf("fibre at %.0f° of the drawing", fibreOn(w, q)*180/math.Pi)
	if q.Frame.Mirror {
		text += ", turned over"
	}
	return text
}

// fibreOn is the direction of the 0° fibre on the drawing of a part, rad, in
// [0, π): a fibre has no head.
func fibreOn(w *work.Work, q work.Part) float64 {
	a := q.Frame.Inverse().ApplyVector(geom.Polar(geom.Point{}, 1, *w.Fibre)).Angle()
	a = math.Mod(a+2*math.Pi, math.Pi)
	if math.Pi-a < 0.5*math.Pi/180 { // reads as 0°, not as 180°
		a = 0
	}
	return a
}

// labelOutline draws the part as on its drawing, and a line with two heads along
// its fibre.
func (d *sheet) labelOutline(w *work.Work, q work.Part, mid geom.Point) {
	g := q.Region.Transform(q.Frame.Inverse())
	b := g.Bounds()
	size := b.Size()
	if !(size.X > 0) || !(size.Y > 0) {
		return
	}
	k := math.Min(labelArt/size.X, (labelH-8)/size.Y)
	at := func(q geom.Point) geom.Point { // paper counts down
		v := q.Sub(b.Center()).Mul(k)
		return geom.Pt(mid.X+v.X, mid.Y-v.Y)
	}
	d.pdf.SetDrawColor(0, 0, 0)
	d.pdf.SetFillColor(225, 225, 225)
	d.pdf.SetLineWidth(0.2)
	for i, ring := range rings(g.Contours()) {
		style := "FD"
		if i > 0 {
			d.pdf.SetFillColor(255, 255, 255)
		}
		var pts []fpdf.PointType
		for k := 0; k+1 < len(ring); k += 2 {
			q := at(geom.Pt(ring[k], ring[k+1]))
			pts = append(pts, fpdf.PointType{X: q.X, Y: q.Y})
		}
		if len(pts) > 2 {
			d.pdf.Polygon(pts, style)
		}
	}
	if w.Fibre == nil {
		return
	}
	u := geom.Polar(geom.Point{}, 1, fibreOn(w, q))
	u.Y = -u.Y
	half := 0.42 * math.Min(labelArt, labelH-8)
	a, e := mid.Sub(u.Mul(half)), mid.Add(u.Mul(half))
	d.pdf.SetDrawColor(200, 40, 0)
	d.pdf.SetLineWidth(0.35)
	d.pdf.Line(a.X, a.Y, e.X, e.Y)
	for _, tip := range []struct{ p, u geom.Point }{{e, u}, {a, u.Mul(-1)}} {
		for _, side := range []float64{1, -1} {
			q := tip.p.Sub(tip.u.Mul(2)).Add(tip.u.Left().Mul(0.9 * side))
			d.pdf.Line(tip.p.X, tip.p.Y, q.X, q.Y)
		}
	}
}

// weight is what an area of the sheet weighs, g; false when the density is unknown.
func weight(w *work.Work, area float64) (float64, bool) {
	if !(w.Material.Density > 0) || !(w.Thickness > 0) {
		return 0, false
	}
	return area * w.Thickness * w.Material.Density / 1e6, true
}

func grams(g float64) string {
	if g < 9.95 {
		return fmt.Sprintf("%.1f g", g)
	}
	return fmt.Sprintf("%.0f g", g)
}

func blankName(b work.Blank) string {
	if b.Pieces > 1 {
		return fmt.Sprintf("%s, piece %d", b.Name, b.Piece)
	}
	return b.Name
}
