package job

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/proof"
	"sparclear/pkg/rs274"
	"sparclear/pkg/skin"
)

// Measuring says what is to be touched, and between which heights.
type Measuring struct {
	Top     float64 // program height that nothing of the work rises above, mm
	Reach   float64 // how far below Top the lowest skin may lie, mm
	Spacing float64 // of the touches at the openings, mm; 0 = that of skin.TouchPlan
}

// probeFeedMost is the fastest probe that a painted skin is trusted with, mm/min;
// common practice, no source.
const probeFeedMost = 150.0

// Measure plans the touches of a wing job whose datums are touched: a list to
// fill in by hand (touch-list.csv), and, where the controller can probe, a
// touch-off program that is proven to be gentle. Heights need not be known yet.
func Measure(ctx context.Context, req Request, m Measuring) (*Result, error) {
	s := &state{req: req, lib: req.Library, res: &Result{}}
	s.begin()
	regions, ok := s.measurable(ctx)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if !ok {
		s.res.Findings = s.res.Findings.Sorted()
		return s.res, nil
	}
	if !(m.Reach > 0) || math.IsInf(m.Top+m.Reach, 0) || math.IsNaN(m.Top) {
		s.add(diag.Finding{Code: "touch-heights", Severity: diag.Stop, Input: true, Subject: req.Name,
			Message: "the heights between which the skin lies are not given", Help: "give --top and --reach: the probe comes down to top by rapid and goes at most reach further"})
		return s.res, nil
	}
	plan := skin.TouchPlan{Spacing: m.Spacing}
	for _, c := range s.w.Clamps {
		plan.Away = append(plan.Away, c.Footprint...)
	}
	s.w.Skin = skin.FlatWithin(m.Top, 0, 0)
	s.w.SafeZ = math.Ceil((m.Top+clampTop(s)+lengthOr(s.file.Safe, defaultSafe))*10) / 10
	var touches []rs274.Touch
	for i, p := range skin.PlanTouches(regions, plan) {
		touches = append(touches, rs274.Touch{Name: fmt.Sprintf("touch %d", i+1), At: p, Top: m.Top, Low: m.Top - m.Reach})
	}
	s.res.Outputs = []Output{{"touch-list.csv", s.touchList(touches)}}
	if s.w.Machine.Controller.Probe {
		s.touchProgram(ctx, touches, m)
	}
	if s.res.Findings.Blocks() {
		s.res.Outputs = nil
	}
	s.res.Findings = s.res.Findings.Sorted()
	return s.res, ctx.Err()
}

// measurable resolves what touching needs: where the drawing lies, what is cut,
// and what stands above the work.
func (s *state) measurable(ctx context.Context) ([]geom.Region, bool) {
	for _, st := range []func(context.Context, *state){readJob, readDrawings, locateWork} {
		st(ctx, s)
		s.acceptAll()
		if stops(s.res.Findings) {
			return nil, false
		}
	}
	if s.w.Sheet {
		s.stop("", "not-a-wing-job", "a sheet is measured with a caliper at four corners", "measure is for jobs with [skin]")
		return nil, false
	}
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
	s.w.ClampsSaid = s.file.NoClamps || len(s.file.Clamps) > 0
	return regions, !stops(s.res.Findings)
}

func clampTop(s *state) float64 {
	top := 0.0
	for _, c := range s.w.Clamps {
		top = math.Max(top, c.Clearance-c.From)
	}
	return top
}

// touchList is a table to fill in: datums with where they are expected, then
// the heights without their z.
func (s *state) touchList(touches []rs274.Touch) []byte {
	var b strings.Builder
	b.WriteString("# Fill in the last column by what the display shows and read it back with\n# sparclear measure JOB --read FILE. Datums: the tip of the probe over the mark.\n")
	for _, d := range s.w.Datums {
		q := s.w.Frame.Apply(d.Drawn)
		fmt.Fprintf(&b, "# datum %s: expected X %.3f Y %.3f, was touched at X %.3f Y %.3f\n", d.Name, q.X, q.Y, d.Touched.X, d.Touched.Y)
	}
	b.WriteString("x,y,z,name\n")
	for _, t := range touches {
		fmt.Fprintf(&b, "%.3f,%.3f,,%s\n", t.At.X, t.At.Y, t.Name)
	}
	return []byte(b.String())
}

// touchProgram writes and proves the probing routine.
func (s *state) touchProgram(ctx context.Context, touches []rs274.Touch, m Measuring) {
	// Any cutter stands for the probe: its own size does not matter above the work.
	if len(s.w.Cutters) == 0 && len(s.file.Cuts) > 0 {
		s.cutter("cut.0.cutter", s.file.Cuts[0].Cutter)
	}
	text, l := rs274.WriteTouch("sparclear "+s.req.Version+": "+s.w.Title+", heights", touches, s.w, rs274.UsualTouch())
	s.add(l...)
	if stops(s.res.Findings) {
		return
	}
	src := []proof.Source{{File: s.w.Name + "-touch.nc", Text: text}}
	cert, l := proof.ProveTouch(ctx, s.w, proof.TouchLimits{Reach: m.Reach, Feed: probeFeedMost, Back: rs274.UsualTouch().Back}, src)
	s.add(l...)
	s.res.Certificate, s.res.Programs = cert, src
	s.seal("touch-certificate.json", "the touch-off is not proven")
}

// ReadMeasured takes a filled-in list or the log of a touch-off back: heights.csv
// for the job, a check of repeated touches, and what more to touch to know the
// height within limit mm at the cuts (0: not asked).
func ReadMeasured(ctx context.Context, req Request, name string, log []byte, limit float64) (*Result, []geom.Point, error) {
	s := &state{req: req, lib: req.Library, res: &Result{}}
	s.begin()
	regions, ok := s.measurable(ctx)
	if err := ctx.Err(); err != nil || !ok {
		s.res.Findings = s.res.Findings.Sorted()
		return s.res, nil, err
	}
	touches, l := skin.ReadHeights(bytes.NewReader(log), name)
	s.add(l...)
	if stops(s.res.Findings) {
		return s.res, nil, nil
	}
	model, l := skin.Points(touches, skin.Options{TouchU: s.heightU()})
	s.add(l...)
	if n, dof := skin.Repeatability(touches); dof > 0 {
		s.add(diag.Finding{Code: "touch-repeat", Severity: diag.Note, Subject: name,
			Message: fmt.Sprintf("repeated touches agree within %.3f mm (standard deviation, %d degrees of freedom)", n, dof)}.With(n, s.w.Machine.RepeatZ, "mm"))
	}
	var more []geom.Point
	if model != nil && limit > 0 {
		wide := 1.0
		for _, c := range s.file.Cuts {
			if i, ok := s.cutter("cut", c.Cutter); ok {
				wide = math.Max(wide, s.w.Cutters[i].Radius())
			}
		}
		more, l = skin.MoreTouches(model, regions, limit, wide, skin.TouchPlan{})
		s.add(l...)
	}
	var b strings.Builder
	b.WriteString("x,y,z\n")
	for _, t := range touches {
		fmt.Fprintf(&b, "%.3f,%.3f,%.3f\n", t.X, t.Y, t.Z)
	}
	if !stops(s.res.Findings) {
		s.res.Outputs = []Output{{"heights.csv", []byte(b.String())}}
	}
	s.res.Findings = s.res.Findings.Sorted()
	return s.res, more, nil
}
