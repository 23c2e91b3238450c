package picture

import (
	"bytes"
	"fmt"
	"math"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"sparclear/pkg/diag"
)

// RunSheet returns the sheet for the wall beside the machine as PDF: what to
// fix, where zero is, which cutter and stick-out, what the programs do, how long,
// with what margin, what was accepted, what was checked and what was not, and
// cautions with their sources.
func RunSheet(s Scene) ([]byte, error) {
	if _, err := s.runs(); err != nil {
		return nil, err
	}
	d := newSheet(s.Work.Title)
	d.setUp(s)
	d.cutters(s)
	d.programs(s)
	d.steps(s)
	d.margins(s)
	d.remarks(s)
	d.cautions(s)
	var b bytes.Buffer
	if err := d.pdf.Output(&b); err != nil {
		return nil, fmt.Errorf("run sheet: %w", err)
	}
	return b.Bytes(), nil
}

// sheet is a PDF in the making: A4 upright, standard fonts only.
type sheet struct {
	pdf *fpdf.Fpdf
	tr  func(string) string
}

const sheetWidth = 180.0 // between the margins, mm

func newSheet(title string) *sheet {
	p := fpdf.New("P", "mm", "A4", "")
	fixed := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC) // the same job gives the same bytes
	p.SetCreationDate(fixed)
	p.SetModificationDate(fixed)
	p.SetCatalogSort(true)
	p.SetProducer("sparclear", true)
	p.SetTitle(title, true)
	p.SetMargins(15, 14, 15)
	p.SetAutoPageBreak(true, 14)
	d := &sheet{pdf: p, tr: p.UnicodeTranslatorFromDescriptor("")}
	p.SetFooterFunc(func() {
		p.SetY(-11)
		p.SetFont("Helvetica", "", 7)
		p.CellFormat(0, 4, d.tr(fmt.Sprintf("%s - page %d of {n}", title, p.PageNo())), "", 0, "C", false, 0, "")
	})
	p.AliasNbPages("{n}")
	p.AddPage()
	p.SetFont("Helvetica", "B", 16)
	p.MultiCell(0, 8, d.tr(title), "", "L", false)
	return d
}

func (d *sheet) heading(s string) {
	d.pdf.Ln(2)
	d.pdf.SetFont("Helvetica", "B", 10.5)
	d.pdf.SetFillColor(230, 230, 230)
	d.pdf.CellFormat(0, 6, d.tr(" "+s), "", 1, "L", true, 0, "")
	d.pdf.Ln(0.6)
}

func (d *sheet) line(format string, a ...any) {
	d.pdf.SetFont("Helvetica", "", 9)
	d.pdf.MultiCell(0, 4.6, d.tr(fmt.Sprintf(format, a...)), "", "L", false)
}

// tick writes a line with a box to tick.
func (d *sheet) tick(format string, a ...any) {
	y := d.pdf.GetY()
	d.pdf.Rect(16, y+0.8, 3, 3, "D")
	d.pdf.SetX(21)
	d.pdf.SetFont("Helvetica", "", 9)
	d.pdf.MultiCell(sheetWidth-6, 4.6, d.tr(fmt.Sprintf(format, a...)), "", "L", false)
}

// table writes rows under a head; widths in mm add up to sheetWidth.
func (d *sheet) table(widths []float64, head []string, rows [][]string) {
	row := func(style string, cells []string) {
		d.pdf.SetFont("Helvetica", style, 8.5)
		for i, c := range cells {
			d.pdf.CellFormat(widths[i], 5, d.fit(c, widths[i]), "B", 0, "L", false, 0, "")
		}
		d.pdf.Ln(-1)
	}
	row("B", head)
	for _, r := range rows {
		row("", r)
	}
}

// fit cuts a text to the width of its cell.
func (d *sheet) fit(s string, width float64) string {
	t := d.tr(s)
	for len(t) > 1 && d.pdf.GetStringWidth(t) > width-2 {
		t = t[:len(t)-1]
	}
	return t
}

func (d *sheet) setUp(s Scene) {
	w := s.Work
	d.heading("Set up")
	if w.Sheet {
		d.tick("Sheet: %s, %.2f mm thick (measured?), on the spoilboard", w.Material.Title, w.Thickness)
	} else {
		d.tick("Panel: %s, side up: %s - check it twice, the other one is scrap", orDash(w.Panel), orDash(w.SideUp))
	}
	d.tick("Machine: %s", w.Machine.Title)
	for _, c := range w.Clamps {
		b := c.Bounds()
		d.tick("Clamp %s: within X %.1f to %.1f, Y %.1f to %.1f mm, no higher than %.1f mm above the skin", c.Name, b.Min.X, b.Max.X, b.Min.Y, b.Max.Y, -c.From)
	}
	if len(w.Clamps) == 0 {
		d.tick("Nothing may stand above the work anywhere between the cuts")
	}
	if w.Zero == "table" {
		d.tick("Z zero: top of the table (spoilboard)")
	} else {
		d.tick("Z zero: on the skin, where the height is 0.00 mm in the job")
	}
	d.line("Rapids across at Z %.2f mm.", w.SafeZ)
	if len(w.Datums) > 0 {
		d.heading("Datums: touch again, expect these figures")
		var rows [][]string
		for _, p := range w.Datums {
			q := w.Frame.Apply(p.Drawn)
			rows = append(rows, []string{p.Name, fmt.Sprintf("%.3f, %.3f", p.Drawn.X, p.Drawn.Y), fmt.Sprintf("%.3f, %.3f", q.X, q.Y), fmt.Sprintf("%.3f, %.3f", p.Touched.X, p.Touched.Y), fmt.Sprintf("%.3f", p.Residual)})
		}
		d.table([]float64{44, 36, 38, 38, 24}, []string{"datum", "drawn, mm", "expected, mm", "was touched, mm", "residual"}, rows)
	}
}

func (d *sheet) cutters(s Scene) {
	d.heading("Cutters: measure diameter and stick-out")
	var rows [][]string
	for i, c := range s.Work.Cutters {
		rpm := 0.0
		for _, k := range s.Work.Cuts {
			if k.Cutter == i {
				rpm = math.Max(rpm, k.RPM)
			}
		}
		rows = append(rows, []string{fmt.Sprintf("T%d", c.Number), c.Name, fmt.Sprintf("%.3f ± %.3f", c.Diameter, c.DiameterTol), fmt.Sprintf("%.1f", c.StickOut), fmt.Sprintf("%.0f", rpm), fmt.Sprintf("%.0f", c.MaxRPM)})
	}
	d.table([]float64{14, 56, 36, 26, 24, 24}, []string{"no.", "cutter", "diameter, mm", "stick-out, mm", "rpm", "top rpm"}, rows)
}

func (d *sheet) programs(s Scene) {
	if s.Certificate == nil {
		return
	}
	d.heading("Programs, in this order")
	for _, p := range s.Certificate.Programs {
		d.tick("%s - %d moves, %s to %s", p.File, p.Moves, minutes(p.TimeS[0]), minutes(p.TimeS[1]))
		d.pdf.SetFont("Courier", "", 7)
		d.pdf.SetX(21)
		d.pdf.CellFormat(0, 3.6, "sha256 "+p.SHA256, "", 1, "L", false, 0, "")
	}
}

func minutes(s float64) string {
	if s < 90 {
		return fmt.Sprintf("%.0f s", math.Ceil(s))
	}
	return fmt.Sprintf("%.0f min", math.Ceil(s/60))
}

func (d *sheet) steps(s Scene) {
	d.heading("What is cut")
	var rows [][]string
	for _, c := range s.Work.Cuts {
		hold := "-"
		switch {
		case c.Tabs.Count > 0:
			hold = fmt.Sprintf("%d tabs", c.Tabs.Count)
		case c.Tabs.Auto:
			hold = "tabs"
		case c.Onion > 0:
			hold = fmt.Sprintf("skin %.2f", c.Onion)
		case c.Open:
			hold = "loose!"
		}
		passes := 1
		if c.Step > 0 {
			passes = int(math.Ceil(c.Depth/c.Step - 1e-9))
		}
		rows = append(rows, []string{c.Name, string(c.Kind), fmt.Sprintf("T%d", s.Work.Cutters[c.Cutter].Number), fmt.Sprintf("%.2f", c.Depth), fmt.Sprintf("%.2f", c.Limit), fmt.Sprint(passes), fmt.Sprintf("%.0f", c.Feed), hold})
	}
	d.table([]float64{52, 20, 12, 20, 20, 16, 20, 20}, []string{"cut", "kind", "cutter", "depth, mm", "limit, mm", "passes", "mm/min", "held by"}, rows)
}

func (d *sheet) margins(s Scene) {
	if s.Certificate == nil || len(s.Certificate.Margins) == 0 {
		return
	}
	d.heading("Room that is left")
	var rows [][]string
	for _, m := range s.Certificate.Margins {
		rows = append(rows, []string{m.Check, m.Member, m.Cut, fmt.Sprintf("%.3f", m.MarginMM), fmt.Sprintf("%.3f", m.NeededMM), fmt.Sprintf("%s:%d", m.File, m.Line)})
	}
	d.table([]float64{20, 44, 36, 22, 22, 36}, []string{"check", "against", "cut", "found, mm", "needed, mm", "where"}, rows)
}

func (d *sheet) remarks(s Scene) {
	var accepted, warned []string
	for _, f := range s.Findings {
		switch {
		case f.Accepted:
			accepted = append(accepted, f.Error())
		case f.Severity == diag.Warn:
			warned = append(warned, f.Error())
		}
	}
	if len(accepted) > 0 {
		d.heading("Accepted in the job - by whom?")
		for _, a := range accepted {
			d.tick("%s   signed: ____________", a)
		}
	}
	if len(warned) > 0 {
		d.heading("Warnings")
		for _, a := range warned {
			d.line("- %s", a)
		}
	}
	if s.Certificate == nil {
		return
	}
	d.heading("Checked")
	for _, c := range s.Certificate.Checks {
		d.line("%s: %s", c.Name, c.Detail)
	}
	d.heading("Not checked")
	for _, n := range s.Certificate.NotChecked {
		d.line("- %s", n)
	}
}

func orDash(s string) string {
	if s == "" {
		return "not said"
	}
	return s
}
