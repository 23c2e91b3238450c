package job

import (
	"context"
	"fmt"
	"math"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/proof"
	"sparclear/pkg/rs274"
	"sparclear/pkg/skin"
	"sparclear/pkg/work"
)

// Measuring says what is to be touched, and between which heights.
type Measuring struct {
	Top     float64 // program height that nothing of the work rises above, mm
	Reach   float64 // how far below Top the lowest skin may lie, mm
	Spacing float64 // of the touches at the openings, mm; 0 = that of skin.TouchPlan
	Coarse  float64 // of the touches between and around them, mm; 0 = none there
	// More, mm, plans only the heights that are still missing: where those of the
	// job do not give the skin to within it. 0 = all heights anew, and the datums.
	More float64
}

const (
	// probeFeedMost is the fastest probe that a painted skin is trusted with,
	// mm/min; common practice, no source.
	probeFeedMost = 150.0
	// repeatEvery and repeatMost say how many heights are touched once more at the
	// end, when the work has warmed, sagged or moved if it ever does.
	repeatEvery = 10
	repeatMost  = 4
)

// Measure plans the touches of a wing job: a list to fill in by hand
// (touch-list.csv), and, where the controller can probe, a touch-off program that
// is proven to be gentle. Both hold the datums, then the heights, some of them
// twice. Datums that nobody has touched yet come first, by eye and alone: without
// them no other place is known. Heights need not be known yet.
func Measure(ctx context.Context, req Request, m Measuring) (*Result, error) {
	s := &state{req: req, lib: req.Library, res: &Result{}, measuring: true}
	s.begin()
	err := s.plans(ctx, m)
	if s.res.Findings.Blocks() {
		s.res.Outputs = nil
	}
	s.res.Findings = s.res.Findings.Sorted()
	return s.res, err
}

func (s *state) plans(ctx context.Context, m Measuring) error {
	if readJob(ctx, s); !s.proceeds() {
		return ctx.Err()
	}
	if list := s.untouched(); list != nil {
		s.add(diag.Finding{Code: "datums-first", Severity: diag.Note, Subject: s.req.Name,
			Message: "datums are not touched yet: touch them by eye, read them back, then measure again"})
		s.res.Outputs = []Output{{"touch-list.csv", list}}
		return nil
	}
	regions, ok := s.measurable(ctx)
	if err := ctx.Err(); err != nil || !ok {
		return err
	}
	if !(m.Reach > 0) || math.IsInf(m.Top+m.Reach, 0) || math.IsNaN(m.Top) {
		s.add(diag.Finding{Code: "touch-heights", Severity: diag.Stop, Input: true, Subject: s.req.Name,
			Message: "the heights between which the skin lies are not given", Help: "give --top and --reach: the probe comes down to top by rapid and goes at most reach further"})
		return nil
	}
	plan := s.touchPlan(m.Spacing)
	if m.Coarse > 0 {
		all := geom.EmptyBox()
		for _, g := range regions {
			all = all.Union(g.Bounds())
		}
		all = all.Grow(plan.Around + plan.Margin + 1)
		plan.Coarse, plan.Within = m.Coarse, []geom.Region{geom.NewRegion(geom.Rect(all.Min.X, all.Min.Y, all.Max.X, all.Max.Y))}
	}
	var touches []rs274.Touch
	var rooms []proof.TouchRoom
	places := skin.PlanTouches(regions, plan)
	if m.More > 0 {
		if places, ok = s.missing(regions, m.More, plan); !ok {
			return nil
		}
	} else {
		touches, rooms = s.sideTouches(m)
	}
	if s.topHolds(places, m.Top); stops(s.res.Findings) {
		return nil
	}
	s.w.Skin = skin.FlatWithin(m.Top, 0, 0)
	s.w.SafeZ = math.Ceil((m.Top+clampTop(s)+lengthOr(s.file.Safe, defaultSafe))*10) / 10
	touches = append(touches, heightTouches(places, m)...)
	s.res.Outputs = []Output{{"touch-list.csv", s.touchList(touches, m.More == 0)}}
	if s.w.Machine.Controller.Probe && len(touches) > 0 {
		s.touchProgram(ctx, touches, proof.TouchLimits{Reach: m.Reach, Feed: probeFeedMost, Back: rs274.UsualTouch().Back, Rooms: rooms})
	}
	return ctx.Err()
}

// topHolds refuses a top that lies below the skin as the job knows it: the probe
// comes down to it by rapid.
func (s *state) topHolds(places []geom.Point, top float64) {
	if s.file.Skin == nil {
		return
	}
	told := len(s.res.Findings)
	model, _ := s.heightModel(s.file.Skin)
	s.res.Findings = s.res.Findings[:told] // whatever is wrong with old heights, new ones are being touched
	if model == nil {
		return
	}
	worst, at := math.Inf(-1), geom.Point{}
	for _, p := range places {
		u, e := model.Error(geom.Box{Min: p, Max: p})
		if z := model.Height(p) + 2*u + e; z > worst {
			worst, at = z, p
		}
	}
	if worst > top {
		s.add(diag.Finding{Code: "touch-top", Severity: diag.Stop, Input: true, Subject: s.req.Name,
			Message: fmt.Sprintf("the probe would come down by rapid to %.2f mm, and the skin lies at up to %.2f mm by the heights of the job", top, worst),
			Help:    "give a --top that nothing rises above; if the heights are of another set-up, take them out of the job"}.With(worst, top, "mm").AtMachine(at.X, at.Y, worst))
	}
}

// touchPlan is where the skin may be touched: clear of clamps, and beyond the
// openings by what the widest cutter stands on.
func (s *state) touchPlan(spacing float64) skin.TouchPlan {
	plan := skin.TouchPlan{Spacing: spacing, Around: math.Max(3, s.widest()+1), Margin: 3}
	for _, c := range s.w.Clamps {
		plan.Away = append(plan.Away, c.Footprint...)
		plan.Margin = math.Max(plan.Margin, s.probeBody().Radius()+c.Clearance+clearSpare)
	}
	return plan
}

// proceeds accepts what the job accepts and tells whether no stop is left.
func (s *state) proceeds() bool {
	s.acceptAll()
	return !stops(s.res.Findings)
}

// heightTouches are the touches from above; some come once more at the end.
func heightTouches(places []geom.Point, m Measuring) []rs274.Touch {
	var out, again []rs274.Touch
	for i, p := range places {
		t := rs274.Touch{Name: fmt.Sprintf("touch %d", i+1), At: p, Top: m.Top, Low: m.Top - m.Reach}
		out = append(out, t)
		if i%repeatEvery == 0 && len(again) < repeatMost {
			t.Name += " again"
			again = append(again, t)
		}
	}
	return append(out, again...)
}

// missing returns where to touch besides what the job has.
func (s *state) missing(regions []geom.Region, limit float64, plan skin.TouchPlan) ([]geom.Point, bool) {
	if s.file.Skin == nil || s.file.Skin.Heights == "" {
		s.stop("skin", "heights-missing", "the job has no touched heights that more could be added to", "measure without --more first, and read it back")
		return nil, false
	}
	s.w.Thickness = lengthOr(s.file.Skin.Thickness, 0)
	m, _ := s.heightModel(s.file.Skin)
	if s.acceptAll(); m == nil {
		return nil, false
	}
	more, l := skin.MoreTouches(m, regions, limit, s.widest(), plan)
	s.add(l...)
	if len(more) == 0 {
		s.add(s.enough(limit))
	}
	return more, true
}

func (s *state) enough(limit float64) diag.Finding {
	return diag.Finding{Code: "heights-enough", Severity: diag.Note, Subject: s.req.Name,
		Message: fmt.Sprintf("the height of the skin is known within %.2f mm at every cut", limit)}
}

// widest is the radius of the widest cutter of the job, mm.
func (s *state) widest() float64 {
	wide := 1.0
	for i, c := range s.file.Cuts {
		if k, ok := s.knownCutter(fmt.Sprintf("cut.%d.cutter", i), c.Cutter); ok {
			wide = math.Max(wide, k.Radius())
		}
	}
	return wide
}

// measurable resolves what touching needs: where the drawing lies, what is cut,
// and what stands above the work. The job is read already.
func (s *state) measurable(ctx context.Context) ([]geom.Region, bool) {
	for _, st := range []func(context.Context, *state){readDrawings, locateWork} {
		if st(ctx, s); !s.proceeds() {
			return nil, false
		}
	}
	if s.w.Sheet {
		s.stop("", "not-a-wing-job", "a sheet is measured with a caliper at four corners", "measure is for jobs with [skin]")
		return nil, false
	}
	s.features()
	var regions []geom.Region
	for i, c := range s.file.Cuts {
		key := fmt.Sprintf("cut.%d", i)
		sh, ok := s.shape(key, c, s.wingDrawing())
		if !ok {
			continue
		}
		f := s.featureFrame(key, c, sh)
		for _, g := range sh.regions {
			regions = append(regions, g.Transform(f))
		}
		for _, ch := range sh.chains {
			b := ch.Transform(f).Bounds()
			regions = append(regions, geom.NewRegion(geom.Rect(b.Min.X-1, b.Min.Y-1, b.Max.X+1, b.Max.Y+1)))
		}
		for _, p := range sh.points {
			regions = append(regions, geom.NewRegion(geom.Circle(f.Apply(p), 1)))
		}
	}
	for i, c := range s.file.Clamps {
		if v, ok := s.clamp(fmt.Sprintf("clamp.%d", i), c, s.wingDrawing()); ok {
			s.w.Clamps = append(s.w.Clamps, v)
		}
	}
	// What a cut accepts holds here, too, though nothing is cut.
	for _, c := range s.file.Cuts {
		s.w.Cuts = append(s.w.Cuts, work.Cut{Name: c.Name, Accept: c.Accept})
	}
	s.acceptAll()
	s.w.Cuts = nil
	return regions, !stops(s.res.Findings)
}

func clampTop(s *state) float64 {
	top := 0.0
	for _, c := range s.w.Clamps {
		top = math.Max(top, c.Clearance-c.From)
	}
	return top
}

const listHead = `# Fill in what is empty by what the display shows, and read the list back with
# sparclear measure JOB --read FILE. A line that begins with # is passed over.
`

// untouched returns a list for the datums that nobody has touched yet, nil when
// there are none.
func (s *state) untouched() []byte {
	var rows strings.Builder
	for i, d := range s.file.Datums {
		if len(d.Touched) == 0 {
			fmt.Fprintf(&rows, ",,,%s\n", touchName("datum", i, d.Name))
		}
	}
	for i, e := range s.file.Edges {
		if len(e.Touched) == 0 {
			fmt.Fprintf(&rows, ",,,%s\n", touchName("edge", i, e.Name))
		}
	}
	if rows.Len() == 0 {
		return nil
	}
	head, _ := s.listUnits()
	return []byte(listHead + "# Datums: x and y with the tip over the mark; edges: with the tip against the edge.\n" + head + rows.String())
}

// listUnits returns the head of a table to fill in and how its numbers are written:
// as the display of the machine shows them, in inches with the unit in the head.
func (s *state) listUnits() (head string, number func(mm float64) string) {
	if s.inch() {
		return "x_in,y_in,z_in,name\n", func(mm float64) string { return fmt.Sprintf("%.4f", mm/25.4) }
	}
	return "x,y,z,name\n", func(mm float64) string { return fmt.Sprintf("%.3f", mm) }
}

// touchList is a table to fill in: datums, then the heights without their z. What
// was touched by eye before is offered behind a #.
func (s *state) touchList(touches []rs274.Touch, datums bool) []byte {
	var b strings.Builder
	b.WriteString(listHead)
	if datums {
		b.WriteString("# Datums: x and y with the tip over the mark, or against the edge; take the # away\n# from those that you touch again.\n")
	}
	head, n := s.listUnits()
	b.WriteString(head)
	byEye := func(what string, i int, name string, touched []Length) {
		if datums && len(touched) == 2 {
			fmt.Fprintf(&b, "#%s,%s,,%s\n", n(float64(touched[0])), n(float64(touched[1])), touchName(what, i, name))
		}
	}
	for i, d := range s.file.Datums {
		if !d.probed() {
			byEye("datum", i, d.Name, d.Touched)
		}
	}
	for i, e := range s.file.Edges {
		if e.SideZ == nil {
			byEye("edge", i, e.Name, e.Touched)
		}
	}
	for _, t := range touches {
		switch t.Side.Axis {
		case 'X':
			fmt.Fprintf(&b, ",%s,%s,%s\n", n(t.At.Y), n(t.Low), t.Name)
		case 'Y':
			fmt.Fprintf(&b, "%s,,%s,%s\n", n(t.At.X), n(t.Low), t.Name)
		default:
			fmt.Fprintf(&b, "%s,%s,,%s\n", n(t.At.X), n(t.At.Y), t.Name)
		}
	}
	return []byte(b.String())
}

// touchProgram writes and proves the probing routine.
func (s *state) touchProgram(ctx context.Context, touches []rs274.Touch, limits proof.TouchLimits) {
	s.clampsSaid()
	s.w.Cutters = append(s.w.Cutters[:0], s.probeBody())
	text, l := rs274.WriteTouch("sparclear "+s.req.Version+": "+s.w.Title+", touch-off", touches, s.w, rs274.UsualTouch())
	s.add(l...)
	if stops(s.res.Findings) {
		return
	}
	src := []proof.Source{{File: s.w.Name + "-touch.nc", Text: text}}
	cert, l := proof.ProveTouch(ctx, s.w, limits, src)
	s.add(l...)
	s.res.Certificate, s.res.Programs = cert, src
	s.seal("touch-certificate.json", "the touch-off is not proven")
}
