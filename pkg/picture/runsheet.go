package picture

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"sort"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/work"
)

// RunSheet returns the sheet for the wall beside the machine as PDF: what to fix
// and where, what to touch and what to expect, which cutter with which stick-out,
// the programs with time, stops and hash, what is cut in how many passes, how much
// room is left, what was accepted, what was checked and what was not, and cautions
// with their sources. For sheets also the parts and how much of the sheet they use.
// It fails when a program cannot be read back.
func RunSheet(s Scene) ([]byte, error) {
	d, err := s.runSheet()
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := d.pdf.Output(&b); err != nil {
		return nil, fmt.Errorf("run sheet: %w", err)
	}
	return b.Bytes(), nil
}

func (s Scene) runSheet() (*sheet, error) {
	if s.Work == nil {
		return nil, errors.New("run sheet: no work")
	}
	rs, err := s.runs()
	if err != nil {
		return nil, err
	}
	d := newSheet(s.Work.Title)
	d.brief(s, rs)
	d.setUp(s)
	d.datums(s)
	d.cutters(s)
	d.cautions(s)
	d.remarks(s)
	d.programs(s, rs)
	d.steps(s, rs)
	d.parts(s)
	d.margins(s)
	d.data(s, rs)
	d.wear(s)
	d.fits(s)
	d.fibre(s)
	d.checks(s)
	return d, nil
}

// brief answers in one line each what people ask first.
func (d *sheet) brief(s Scene, rs []run) {
	low, high, stops := 0.0, 0.0, len(filmStops(rs))
	for _, r := range rs {
		low, high = low+r.times.Low, high+r.times.High
	}
	text := "On the machine " + span(low, high)
	switch {
	case stops == 1:
		text += ", and 1 stop that waits for you"
	case stops > 1:
		text += fmt.Sprintf(", and %d stops that wait for you", stops)
	}
	d.line("%s.", text)
	if m, ok := s.tightest(s.Work.Members); ok {
		d.line("Closest to a member: %.2f mm to %s (%.2f mm needed), %s line %d.", m.MarginMM, m.Member, m.NeededMM, m.File, m.Line)
	}
	if m, ok := s.tightest(s.Work.Clamps); ok {
		d.line("Closest to a clamp: %.2f mm to %s (%.2f mm needed), %s line %d.", m.MarginMM, m.Member, m.NeededMM, m.File, m.Line)
	}
}

func (d *sheet) setUp(s Scene) {
	w := s.Work
	d.numbered("Set up")
	if w.Sheet {
		if b := w.Blank; b.Name != "" {
			text := "Take " + blankName(b)
			if b.Of > 1 {
				text += fmt.Sprintf(": sheet %d of the %d of this job, each has its own programs and run sheet", b.Number, b.Of)
			}
			d.tick("%s", text)
		}
		d.tick("Sheet: %s, %.2f ± %.2f mm thick (measured: ________), flat on the spoilboard, held everywhere", w.Material.Title, w.Thickness, w.ThickTol)
		for i, g := range w.Stock {
			size := g.Bounds().Size()
			d.tick("Sheet %d: %.1f by %.1f mm, lower left corner at X %.2f Y %.2f", i+1, size.X, size.Y, g.Bounds().Min.X, g.Bounds().Min.Y)
		}
		if w.Fibre != nil {
			d.tick("0° fibre of the sheet at %.0f° from +X", *w.Fibre*180/math.Pi)
		}
	} else {
		d.tick("Panel: %s, side up: %s - check it twice, the other one is scrap", orDash(w.Panel), orDash(w.SideUp))
		d.tick("Panel in its cradle, supported right under each opening; skin %.2f ± %.2f mm (measured: ________)", w.Thickness, w.ThickTol)
		if w.Hollow {
			d.tick("Hollow: wires pulled back, nothing within %.1f mm below the skin except the members on the plan", w.Floor)
		}
	}
	d.tick("Machine: %s", w.Machine.Title)
	for _, c := range w.Clamps {
		b := c.Bounds()
		d.tick("Clamp %s: within X %.1f to %.1f, Y %.1f to %.1f mm, no higher than %.1f mm above the skin", c.Name, b.Min.X, b.Max.X, b.Min.Y, b.Max.Y, -c.From)
	}
	switch {
	case len(w.Clamps) == 0 && w.ClampsSaid:
		d.tick("No clamps: the job says that nothing stands above the work anywhere between the cuts")
	case len(w.Clamps) == 0:
		d.tick("The job says nothing about clamps: nothing may stand above the work anywhere")
	}
	if w.Zero == "table" {
		d.tick("Z zero: top of the table (spoilboard). Rapids across at Z %.2f mm", w.SafeZ)
	} else {
		d.tick("Z zero: on the skin, where the height is 0.00 mm in the job. Rapids across at Z %.2f mm", w.SafeZ)
	}
	d.layout(s)
}

func (d *sheet) datums(s Scene) {
	w := s.Work
	if len(w.Datums) == 0 {
		if w.Sheet {
			d.numbered("X and Y zero")
			d.tick("X0 Y0 as on the plan view; jog to the far corner of each sheet and see that it is there")
		}
		return
	}
	d.numbered("Touch the datums again, in this order, and expect these figures")
	var rows [][]string
	for i, p := range w.Datums {
		q := w.Frame.Apply(p.Drawn)
		rows = append(rows, []string{fmt.Sprintf("%d  %s", i+1, p.Name), pair(p.Drawn.X, p.Drawn.Y), pair(q.X, q.Y), pair(p.Touched.X, p.Touched.Y), fmt.Sprintf("%.3f", p.Touched.Dist(q)), "X ______ Y ______"})
	}
	d.table([]float64{36, 32, 34, 34, 16, 28}, []string{"datum", "drawn, mm", "expected, mm", "was touched, mm", "off, mm", "today"}, rows)
	d.line("Where today's figures are further off than the residuals, stop: the panel has moved.")
}

func pair(x, y float64) string { return fmt.Sprintf("X%.2f Y%.2f", x, y) }

func (d *sheet) cutters(s Scene) {
	d.numbered("Cutters: measure diameter and stick-out before they go in")
	var rows [][]string
	for i, c := range s.Work.Cutters {
		rpm := 0.0
		for _, k := range s.Work.Cuts {
			if k.Cutter == i {
				rpm = math.Max(rpm, k.RPM)
			}
		}
		rows = append(rows, []string{fmt.Sprintf("T%d", c.Number), c.Name, fmt.Sprintf("%.3f ± %.3f", c.Diameter, c.DiameterTol), fmt.Sprintf("%.1f", c.StickOut), fmt.Sprintf("%.0f", rpm), fmt.Sprintf("%.0f", c.MaxRPM), "Ø ______ l ______"})
	}
	d.table([]float64{12, 46, 32, 24, 18, 20, 28}, []string{"no.", "cutter", "diameter, mm", "stick-out, mm", "rpm", "top rpm", "measured"}, rows)
}

func (d *sheet) programs(s Scene, rs []run) {
	if s.Certificate == nil {
		return
	}
	d.numbered("Programs, in this order")
	for _, p := range s.Certificate.Programs {
		d.tick("%s: %d moves, %s", p.File, p.Moves, span(p.TimeS[0], p.TimeS[1]))
		d.mono("sha256 " + p.SHA256)
		for _, r := range rs {
			if r.file == p.File {
				d.stops(r)
			}
		}
	}
}

// stops lists the lines of a program at which the operator is needed, with the
// time until then in the slow case.
func (d *sheet) stops(r run) {
	for _, f := range filmStops([]run{r}) {
		t, waits := 0.0, waitsOf(r)
		line := 0
		for i := range r.moves {
			if i >= f.Move {
				break
			}
			t += waits[i] + float64(r.times.Moves[i])
			line = r.moves[i].line
		}
		d.tick("  not to be missed, after line %d (%s): %s", line, minutes(t), f.Text)
	}
}

func (d *sheet) steps(s Scene, rs []run) {
	d.numbered("What is cut, in order")
	var rows [][]string
	for i, o := range order(rs) {
		c := s.cutOf(o.name)
		if c == nil {
			continue
		}
		rows = append(rows, []string{fmt.Sprintf("%d  %s", i+1, c.Name), string(c.Kind), fmt.Sprintf("T%d", s.Work.Cutters[c.Cutter].Number), fmt.Sprintf("%.2f", c.Depth), fmt.Sprintf("%.2f", c.Limit), fmt.Sprint(passesOf(*c)), fmt.Sprintf("%.0f", c.Feed), held(*c)})
	}
	d.table([]float64{56, 18, 13, 20, 20, 14, 17, 22}, []string{"cut", "kind", "cutter", "depth, mm", "limit, mm", "passes", "mm/min", "held by"}, rows)
	for _, c := range s.Work.Cuts {
		if c.Kind == work.Score {
			d.tick("%s: a cut from one side cannot finish a skin hinge. Break the resin that is left on the inside by flexing; cut the chordwise ends last.", c.Name)
		}
	}
}

func passesOf(c work.Cut) int {
	if c.Step <= 0 {
		return 1
	}
	return max(1, int(math.Ceil(c.Depth/c.Step-1e-9)))
}

// held tells what keeps the slug or part from coming loose.
func held(c work.Cut) string {
	switch {
	case c.Tabs.Count > 0:
		return fmt.Sprintf("%d tabs", c.Tabs.Count)
	case c.Tabs.Auto:
		return "tabs"
	case c.Onion > 0:
		return fmt.Sprintf("skin %.2f mm", c.Onion)
	case c.Open:
		return "drops loose!"
	}
	return "-"
}

// parts lists what comes out of each sheet and how much of it is used.
func (d *sheet) parts(s Scene) {
	w := s.Work
	if !w.Sheet || len(w.Parts) == 0 {
		return
	}
	d.numbered("Parts")
	var rows [][]string
	used, stock := 0.0, 0.0
	for _, g := range w.Stock {
		stock += g.Area()
	}
	for _, p := range w.Parts {
		b, mass, job := p.Region.Bounds(), "-", "this one"
		if p.Job != "" {
			job = p.Job
		}
		used += p.Region.Area()
		if g, ok := weight(w, p.Region.Area()); ok {
			mass = grams(g)
		}
		size := b.Size()
		rows = append(rows, []string{p.Name, p.Mark, fmt.Sprintf("%.1f × %.1f", size.X, size.Y), pair(b.Min.X, b.Min.Y), mass, job})
	}
	d.table([]float64{56, 14, 30, 32, 20, 28}, []string{"part", "mark", "size, mm", "lower left, mm", "mass", "from job"}, rows)
	if a := stock; a > 0 {
		d.line("Parts take %.1f %% of %.0f cm².", 100*used/a, a/100)
		d.worth(w, used, a)
	}
	for i, g := range s.Remnants {
		size := g.Bounds().Size()
		d.tick("Keep remnant %d: within %.0f by %.0f mm, %.0f cm²; mark the direction of its fibre on it", i+1, size.X, size.Y, g.Area()/100)
	}
}

// worth says what the parts and the sheet weigh and cost, or that nobody knows.
func (d *sheet) worth(w *work.Work, used, stock float64) {
	if g, ok := weight(w, used); ok {
		all, _ := weight(w, stock)
		d.line("The parts weigh %s, the sheet %s.", grams(g), grams(all))
	} else {
		d.line("Weight: not known, the material has no density.")
	}
	if c := w.Blank.Cost; c != nil {
		d.line("The sheet costs %.2f, the parts' share by area is %.2f.", *c, *c*used/stock)
	} else {
		d.line("Cost: not known, neither the sheet nor its material names a price.")
	}
}

func (d *sheet) margins(s Scene) {
	if s.Certificate == nil || len(s.Certificate.Margins) == 0 {
		return
	}
	d.numbered("Room that is left, at least")
	var rows [][]string
	var alike []int // how many more say the same as a row
	more := 0
	for _, m := range s.Certificate.Margins {
		where := "-"
		if m.Line > 0 {
			where = fmt.Sprintf("line %d", m.Line)
			if len(s.Programs) > 1 {
				where = m.File + " " + where
			}
		}
		row := []string{m.Check, m.Member, m.Cut, fmt.Sprintf("%.2f", m.MarginMM), fmt.Sprintf("%.2f", m.NeededMM), where}
		if k := len(rows) - 1; k >= 0 && m.Check != "members" && rows[k][0] == row[0] && rows[k][3] == row[3] && rows[k][4] == row[4] {
			alike[k]++ // the cuts of one sheet go as deep as each other
			continue
		}
		rows, alike = append(rows, row), append(alike, 0)
	}
	for k, n := range alike {
		if n > 0 {
			rows[k][1] += fmt.Sprintf(", %d alike", n)
		}
	}
	const most = 14
	if len(rows) > most {
		more += len(rows) - most
		rows = rows[:most]
	}
	d.table([]float64{18, 50, 40, 20, 22, 30}, []string{"check", "against", "cut", "found, mm", "needed, mm", "where"}, rows)
	if more > 0 {
		d.line("and %d more in the certificate", more)
	}
	d.budgets(s)
	d.places(s)
}

// places says how far the edge of each cut in a wing may lie from where it is drawn,
// and who contributes what: the worst placed first.
func (d *sheet) places(s Scene) {
	var cuts []work.Cut
	for _, c := range s.Work.Cuts {
		if len(c.Place) > 0 {
			cuts = append(cuts, c)
		}
	}
	if len(cuts) == 0 {
		return
	}
	sort.SliceStable(cuts, func(i, j int) bool { return cuts[i].Tol-cuts[i].Astray() < cuts[j].Tol-cuts[j].Astray() })
	const most = 12
	more := max(0, len(cuts)-most)
	head, widths := []string{"cut"}, []float64{50}
	for _, p := range cuts[0].Place {
		head, widths = append(head, p.Name), append(widths, 17)
	}
	head, widths = append(head, "together", "allowed"), append(widths, 17, 15)
	var rows [][]string
	for _, c := range cuts[:len(cuts)-more] {
		row := []string{c.Name}
		for _, p := range c.Place {
			row = append(row, fmt.Sprintf("%.3f", p.MM))
		}
		rows = append(rows, append(row, fmt.Sprintf("%.3f", c.Astray()), fmt.Sprintf("%.3f", c.Tol)))
	}
	d.heading("How far an edge may lie from where it is drawn on this wing, and what that is made of, mm")
	d.table(widths, head, rows)
	if more > 0 {
		d.line("and %d more that are placed better", more)
	}
}

// budgets says what the room needed towards members and clamps is made of: who
// contributes what, for each of them.
func (d *sheet) budgets(s Scene) {
	var rows [][]string
	for _, m := range s.Certificate.Margins {
		if m.Check != "members" || len(m.Budget) == 0 || len(rows) >= 6 {
			continue
		}
		var parts []string
		for _, b := range m.Budget {
			word := fmt.Sprintf("%s %.3f", b.Name, b.MM)
			if b.Kind == "random" {
				word += " (1 sigma)"
			}
			parts = append(parts, word)
		}
		rows = append(rows, []string{m.Member, m.Cut, strings.Join(parts, ", ")})
	}
	if len(rows) == 0 {
		return
	}
	d.heading("What the room needed is made of, beside the clearance, mm")
	for _, r := range rows {
		d.line("%s, %s: %s", r[0], orWhole(r[1]), r[2])
	}
	d.line("Bounds are added; random parts are combined as root of the sum of squares and doubled.")
}

func orWhole(cut string) string {
	if cut == "" {
		return "between cuts"
	}
	return cut
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
		d.heading("Accepted in the job")
		for _, a := range accepted {
			d.tick("%s   accepted by: ______________ date: ________", a)
		}
	}
	if len(warned) > 0 {
		d.heading("Warnings")
		for _, a := range warned {
			d.line("- %s", a)
		}
	}
}

// checks says what was checked, and what was not.
func (d *sheet) checks(s Scene) {
	if s.Certificate == nil {
		return
	}
	d.heading("Checked")
	for _, c := range s.Certificate.Checks {
		word := "holds"
		if !c.OK {
			word = "DOES NOT HOLD"
		}
		if c.Detail != "" {
			word += ": " + c.Detail
		}
		d.line("%s %s", c.Name, word)
	}
	d.heading("Not checked")
	for _, n := range s.Certificate.NotChecked {
		d.line("- %s", n)
	}
}

// minutes rounds a time up to what people plan with.
func minutes(s float64) string {
	if s < 90 {
		return fmt.Sprintf("%.0f s", math.Ceil(s))
	}
	return fmt.Sprintf("%.0f min", math.Ceil(s/60))
}

// span is a time between two bounds, one figure when both round to it.
func span(low, high float64) string {
	if minutes(low) == minutes(high) {
		return minutes(high)
	}
	return minutes(low) + " to " + minutes(high)
}

func orDash(s string) string {
	if s == "" {
		return "not said"
	}
	return s
}
