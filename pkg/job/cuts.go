package job

import (
	"context"
	"fmt"
	"math"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/drawing"
	"sparclear/pkg/geom"
	"sparclear/pkg/plan"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

var kinds = []string{"opening", "part", "pocket", "rebate", "bore", "drill", "slot", "score", "mark", "chamfer", "door"}

func resolveCuts(_ context.Context, s *state) {
	if s.w.Sheet {
		return // cuts of a sheet follow from where its parts lie
	}
	names := map[string]bool{}
	for i, c := range s.file.Cuts {
		key := fmt.Sprintf("cut.%d", i)
		if c.Name == "" {
			c.Name = fmt.Sprintf("cut %d", i+1)
		}
		if names[c.Name] {
			s.stop(key+".name", "name-twice", fmt.Sprintf("two cuts are named %q", c.Name), "give each cut a name of its own")
			continue
		}
		names[c.Name] = true
		d := s.wingDrawing()
		sh, ok := s.shape(key, c, d)
		if !ok {
			continue
		}
		if out, ok := s.cut(key, c, sh, s.featureFrame(key, c, sh)); ok {
			s.w.Cuts = append(s.w.Cuts, out)
		}
	}
	s.enclosed()
	s.unnamed()
}

const (
	// blindSlop is what a blind cut may be deeper than asked for, height errors
	// apart, mm: rounding and the points of a polyline.
	blindSlop = 0.05
	// leastTab and leastTabHeight are the smallest tab that holds anything, mm;
	// common practice, no source.
	leastTab       = 1.0
	leastTabHeight = 0.2
)

// closedKinds are the kinds of cut that an open chain on their layer spoils.
var closedKinds = map[string]bool{"opening": true, "part": true, "pocket": true, "rebate": true, "door": true}

// openOutline refuses an open chain where a closed outline is needed.
func openOutline(job string, c Cut, o drawing.OpenChain) diag.Finding {
	a, b := o.Chain[0], o.Chain[len(o.Chain)-1]
	f := diag.Finding{Code: "outline-open", Severity: diag.Stop, Input: true, Subject: job, Cut: c.Name,
		Message: fmt.Sprintf("%s: an outline on layer %s is open, its ends are %.3f mm apart", c.Name, o.Layer, o.Gap),
		Help:    "close it in the drawing, or widen [drawing] join if the gap is drawn by mistake"}
	f = f.With(o.Gap, 0, "mm").On(a.X, a.Y).On(b.X, b.Y)
	f.At[0].Layer, f.At[0].Handle = o.Layer, o.Handle
	return f
}

// shapeOf is what a cut is made from, on the drawing.
type shapeOf struct {
	regions []geom.Region
	chains  []geom.Chain
	points  []geom.Point
	mirrors bool // looks different in a mirror, and it matters (a servo)
}

func (s *state) shape(key string, c Cut, d *drawing.Drawing) (shapeOf, bool) {
	if c.Outline != "" {
		return s.builtIn(key, c)
	}
	if c.Layer == "" && c.Kind == "mark" {
		return shapeOf{}, true
	}
	ly, ok := s.layer(key+".layer", d, c.Layer)
	if !ok {
		return shapeOf{}, false
	}
	var sh shapeOf
	for _, o := range ly.Outlines {
		sh.regions = append(sh.regions, o.Region)
	}
	if closedKinds[c.Kind] {
		for _, o := range ly.Open {
			s.add(openOutline(s.req.Name, c, o).AtLine(s.req.Name, first(s.pos.Of(key)), 0))
		}
		if len(ly.Open) > 0 {
			return sh, false
		}
	}
	for _, o := range ly.Open {
		sh.chains = append(sh.chains, o.Chain)
	}
	for _, p := range ly.Points {
		sh.points = append(sh.points, p.Point)
	}
	sh.mirrors = strings.Contains(strings.ToLower(c.Name+" "+c.Layer), "servo") && len(sh.regions) > 0 && c.Kind == "opening"
	if len(sh.regions)+len(sh.chains)+len(sh.points) == 0 {
		s.stop(key+".layer", "layer-empty", fmt.Sprintf("layer %s holds nothing to cut", c.Layer), "draw the outline there, or name another layer")
		return sh, false
	}
	return sh, true
}

// boxOf bounds outlines, lines and points together.
func boxOf(regions []geom.Region, chains []geom.Chain, points []geom.Point) geom.Box {
	b := geom.EmptyBox()
	for _, g := range regions {
		b = b.Union(g.Bounds())
	}
	for _, ch := range chains {
		b = b.Union(ch.Bounds())
	}
	for _, p := range points {
		b = b.Extend(p)
	}
	return b
}

func withPlace(f diag.Finding, p diag.Place) diag.Finding {
	f.At = append(append([]diag.Place(nil), f.At...), p)
	return f
}

func first(a, _ int) int { return a }

// cut resolves every number of one cut. sh lies in the drawing's frame.
func (s *state) cut(key string, c Cut, sh shapeOf, frame geom.Rigid) (work.Cut, bool) {
	out := work.Cut{Name: c.Name, Kind: work.Kind(c.Kind), Part: -1, Frame: frame, Layer: c.Layer, Accept: c.Accept,
		File: s.req.Name, Line: first(s.pos.Of(key)), Visible: c.Visible, Relief: c.Relief, Open: c.Loose, Text: c.Text, Options: c.Options}
	if !has(kinds, c.Kind) {
		s.stop(key+".kind", "kind-unknown", fmt.Sprintf("kind %q is not known", c.Kind), diag.DidYouMean(c.Kind, kinds))
		return out, false
	}
	if !s.keysHold(key, c) {
		return out, false
	}
	if strings.HasPrefix(key, "cut.") {
		s.uselessKeys(key, c)
	}
	if c.TabSlot != nil && c.Relief == "" {
		out.Relief = c.TabSlot.relief()
	}
	var ok bool
	if out.Cutter, ok = s.cutter(key+".cutter", c.Cutter); !ok {
		return out, false
	}
	if !s.place(key, c, sh, &out) || !s.ledge(key, c, &out) || !s.widened(key, c, &out) || !s.trimBack(key, c, &out) || !s.depths(key, c, &out) || !s.holding(key, c, &out) {
		return out, false
	}
	s.roomFor(key, c, &out)
	return out, s.knownHeights(key, &out) && s.speeds(key, c, &out)
}

// place moves the outlines of a cut to where they are cut.
func (s *state) place(key string, c Cut, sh shapeOf, out *work.Cut) bool {
	for _, g := range sh.regions {
		g, ok := s.tabSlot(key, c, g, out)
		if !ok {
			return false
		}
		gs, ok := s.fitted(key, c, g, out)
		if !ok {
			return false
		}
		for _, g := range gs {
			out.Regions = append(out.Regions, g.Transform(out.Frame))
		}
	}
	for _, ch := range sh.chains {
		out.Chains = append(out.Chains, ch.Transform(out.Frame))
	}
	for _, p := range sh.points {
		out.Points = append(out.Points, out.Frame.Apply(p))
	}
	if out.Kind == work.Mark { // planner and proof see the same strokes
		strokes, err := plan.Strokes(out)
		if err != nil {
			s.geomFault(key+".text", c.Name, err)
			return false
		}
		out.Chains, out.Regions = strokes, nil
	}
	switch out.Kind {
	case work.Drill:
		return s.drillPlaces(key, c, out)
	case work.Bore:
		return s.borePlaces(key, c, out)
	case work.Slot:
		return s.fittedWidth(key, c, out)
	case work.Opening, work.PartCut, work.Pocket, work.Rebate, work.Door, work.Chamfer:
		if len(out.Regions) == 0 {
			s.stop(key+".layer", "outline-missing", fmt.Sprintf("%s needs a closed outline; layer %s holds none", c.Name, c.Layer), "close the outline in the drawing")
			return false
		}
	}
	return true
}

// ledge turns the outline of a rebate into the ring of the width asked for, so
// that planner and proof see the same area.
func (s *state) ledge(key string, c Cut, out *work.Cut) bool {
	w := c.Options["ledge"]
	if out.Kind != work.Rebate || w == 0 {
		return true
	}
	if !s.positive(key+".options", "ledge", w) {
		return false
	}
	var rings []geom.Region
	for _, g := range out.Regions {
		inner, err := g.Offset(-w, 0.001)
		if err == nil {
			inner, err = geom.Subtract([]geom.Region{g}, inner)
		}
		if err != nil {
			s.geomFault(key+".options", c.Name, err)
			return false
		}
		rings = append(rings, inner...)
	}
	out.Regions = rings
	rest := map[string]float64{}
	for k, v := range c.Options {
		if k != "ledge" {
			rest[k] = v
		}
	}
	out.Options = rest
	return true
}

// drillPlaces turns drawn circles into points; their diameter must be the drill's.
func (s *state) drillPlaces(key string, c Cut, out *work.Cut) bool {
	out.Diameter = s.w.Cutters[out.Cutter].Diameter
	for _, g := range out.Regions {
		p, r, ok := circleOf(g)
		if !ok {
			at := out.Frame.Inverse().Apply(g.Bounds().Center())
			s.fault(key, diag.Finding{Code: "not-a-circle", Severity: diag.Stop, Cut: c.Name, Message: fmt.Sprintf("%s: an outline on layer %s is not a circle and cannot be drilled", c.Name, c.Layer), Help: "draw circles or points, or use kind = \"opening\""}.On(at.X, at.Y))
			return false
		}
		if d := 2 * r; math.Abs(d-out.Diameter) > 0.05 {
			at := out.Frame.Inverse().Apply(p)
			s.fault(key, diag.Finding{Code: "drill-size", Severity: diag.Stop, Cut: c.Name, Message: fmt.Sprintf("%s: a hole of %.3f mm is drawn, the drill is %.3f mm", c.Name, d, out.Diameter),
				Help: "use kind = \"bore\" with a smaller cutter, or the right drill"}.With(d, out.Diameter, "mm").On(at.X, at.Y))
			return false
		}
		out.Points = append(out.Points, p)
	}
	out.Regions = nil
	if len(out.Points) == 0 {
		s.stop(key+".layer", "outline-missing", c.Name+" has no circle or point to drill", "draw circles or points on the layer")
		return false
	}
	return true
}

func (s *state) borePlaces(key string, c Cut, out *work.Cut) bool {
	if c.Diameter != nil {
		if !s.positive(key+".diameter", "diameter", float64(*c.Diameter)) {
			return false
		}
		f, ok := s.fitOf(key, c, float64(*c.Diameter))
		if !ok {
			return false
		}
		out.Diameter = float64(*c.Diameter)
		if f != nil {
			out.Fit = f
			out.Diameter += 2 * f.Side
		}
	}
	for _, g := range out.Regions {
		p, r, ok := circleOf(g)
		if !ok {
			at := out.Frame.Inverse().Apply(g.Bounds().Center())
			s.fault(key, diag.Finding{Code: "not-a-circle", Severity: diag.Stop, Cut: c.Name, Message: fmt.Sprintf("%s: an outline on layer %s is not a circle and cannot be bored", c.Name, c.Layer), Help: "draw a circle, or use kind = \"opening\""}.On(at.X, at.Y))
			return false
		}
		if c.Diameter == nil {
			if out.Diameter != 0 && math.Abs(out.Diameter-2*r) > 1e-3 {
				s.stop(key, "bore-sizes", fmt.Sprintf("%s: circles of %.3f and %.3f mm stand on one layer", c.Name, out.Diameter, 2*r), "put each diameter on a layer of its own, or give diameter")
				return false
			}
			out.Diameter = 2 * r
		}
		out.Points = append(out.Points, p)
	}
	out.Regions = nil
	for _, p := range out.Points {
		out.Regions = append(out.Regions, geom.NewRegion(geom.Circle(p, out.Diameter/2)))
	}
	if len(out.Points) == 0 || out.Diameter <= 0 {
		s.stop(key+".layer", "outline-missing", c.Name+" has no circle to bore, or points without diameter", "draw circles on the layer, or add diameter")
		return false
	}
	return true
}

// circleOf tells centre and radius when the region is one full circle.
func circleOf(g geom.Region) (geom.Point, float64, bool) {
	if len(g.Holes) > 0 {
		return geom.Point{}, 0, false
	}
	return g.Outer.AsCircle(1e-6)
}

// depths settles how deep the cut goes and what it may never pass.
func (s *state) depths(key string, c Cut, out *work.Cut) bool {
	out.Through = c.Through
	out.Overcut = lengthOr(c.Overcut, defaultOvercut+s.heightError(out))
	out.Onion = lengthOr(c.Onion, 0)
	switch {
	case c.Through && c.Depth != nil:
		s.stop(key+".depth", "depth-twice", c.Name+" is through and has a depth", "give through = true or depth, not both")
		return false
	case c.Through:
		out.Depth = s.w.Thickness + s.w.ThickTol + out.Overcut
		if out.Onion > 0 {
			out.Through, out.Depth = false, s.w.Thickness-out.Onion
		}
	case c.Depth != nil:
		out.Depth = float64(*c.Depth)
	default:
		s.stop(key, "depth-missing", c.Name+" says neither through = true nor depth", "add one of them")
		return false
	}
	if !s.positive(key+".depth", "depth of "+c.Name, out.Depth) {
		return false
	}
	out.Limit = math.Min(s.w.Floor, lengthOr(c.Limit, s.w.Floor))
	if !c.Through { // a layer is kept: nothing may go deeper than was asked for, errors apart
		out.Limit = math.Min(out.Limit, out.Depth+s.heightError(out)+s.w.HeightTol+blindSlop)
	}
	if c.Limit == nil && math.IsInf(out.Limit, 1) {
		out.Limit = out.Depth + 1
	}
	return true
}

// heightError is how far the depth below the skin may be off anywhere on the
// cut, mm: what always holds added to what is random at coverage factor 2. The
// proof reckons it again on its own.
func (s *state) heightError(out *work.Cut) float64 {
	b := boxOf(out.Regions, out.Chains, out.Points)
	if b.Empty() {
		return 0
	}
	u, e := s.w.Skin.Error(b.Grow(s.w.Cutters[out.Cutter].Diameter))
	return 2*u + math.Max(e, s.w.Machine.ReversalZ)
}

// holding settles tabs and edges.
func (s *state) holding(key string, c Cut, out *work.Cut) bool {
	out.Finish = lengthOr(c.Finish, 0)
	var ok bool
	if out.Tol, ok = s.tolerance(key, c, out); !ok {
		return false
	}
	if out.Tol <= 0 || out.Finish < 0 {
		s.stop(key, "not-positive", c.Name+": tolerance must be above 0 and finish at least 0", "correct the value")
		return false
	}
	if t := c.Tabs; t != nil {
		out.Tabs = work.Tabs{Count: t.Count, Auto: t.Auto, Width: lengthOr(t.Width, 4), Height: lengthOr(t.Height, s.w.Thickness/2)}
		if t.Count < 0 || out.Tabs.Width < leastTab || out.Tabs.Height < leastTabHeight {
			s.stop(key+".tabs", "tabs-broken", fmt.Sprintf("%s: tabs need a count, a width of at least %g mm and a height of at least %g mm", c.Name, leastTab, leastTabHeight), "for example tabs = { count = 3, width = 4, height = 0.5 }")
			return false
		}
	}
	return true
}

// speeds takes cutting data from the shop where the job gives none.
func (s *state) speeds(key string, c Cut, out *work.Cut) bool {
	t := s.w.Cutters[out.Cutter]
	e := shop.Engagement{Slot: out.Kind != work.Chamfer, Width: t.Diameter, Depth: out.Depth, Pass: lengthOr(c.Step, 0), Tolerance: out.Tol,
		Drill: out.Kind == work.Drill, Through: out.Through, Backed: s.w.Sheet, RPM: numberOr(c.RPM, 0), Feed: numberOr(c.Feed, 0)}
	d, ok := s.cuttingData(c.Name, out.Cutter, e)
	if !ok {
		return false
	}
	s.life[out.Cutter] = d.Life
	s.judgeFit(c, out, d)
	s.cutFibre(out)
	out.RPM, out.Feed, out.Step, out.Data = d.RPM, d.FeedXY, d.Step, d
	s.judgeCorners(out)
	out.Plunge = numberOr(c.Plunge, d.FeedPlunge)
	out.Ramp = numberOr(c.RampDeg, defaultRampDeg) * math.Pi / 180
	out.Peck = lengthOr(c.Peck, d.Peck)
	out.Climb = c.Climb != nil && *c.Climb
	return s.speedsHold(key, c, out)
}

// judgeCorners warns when the controller may cut corners by more than half of the
// tolerance: what it is allowed to, or what speed and acceleration come to where
// that is less.
func (s *state) judgeCorners(out *work.Cut) {
	m := s.w.Machine
	if m.Controller.PathMode != shop.PathBlend && m.Controller.PathMode != shop.PathUnstated || out.Kind == work.Drill {
		return
	}
	e := shop.CornerRounding(out.Feed, m.Accel)
	if b := m.Controller.BlendTol; b > 0 {
		e = math.Min(e, b)
	}
	f := diag.Finding{Code: "corners-rounded", Severity: diag.Warn, Subject: s.w.Machine.Name,
		Message: fmt.Sprintf("at %.0f mm/min the machine may round a square corner by %.3f mm, more than half of the tolerance %.3g mm", out.Feed, e, out.Tol),
		Help:    "feed slower, let the controller stop at corners (path_mode), or allow more"}.With(e, out.Tol/2, "mm")
	if e > out.Tol/2 && !s.said(f) {
		s.add(f)
	}
}

func numberOr(p *float64, other float64) float64 {
	if p == nil {
		return other
	}
	return *p
}

// speedsHold refuses what machine or cutter cannot do.
func (s *state) speedsHold(key string, c Cut, out *work.Cut) bool {
	m, t := s.w.Machine, s.w.Cutters[out.Cutter]
	top := m.SpindleMax
	if t.MaxRPM > 0 {
		top = math.Min(top, t.MaxRPM)
	}
	ok := true
	limit := func(k, what string, v, lo, hi float64, unit string) {
		if v >= lo && v <= hi { // false for NaN
			return
		}
		ok = false
		line, col := s.pos.Of(key + "." + k)
		s.add(diag.Finding{Code: "speed-out-of-range", Severity: diag.Stop, Input: true, Subject: s.req.Name, Cut: c.Name,
			Message: fmt.Sprintf("%s: %s is %g %s, possible is %g to %g", c.Name, what, v, unit, lo, hi), Help: "stay within machine and cutter, or leave the key out"}.
			With(v, hi, unit).AtLine(s.req.Name, line, col))
	}
	tiny := math.SmallestNonzeroFloat64
	limit("rpm", "spindle speed", out.RPM, math.Max(m.SpindleMin, tiny), top, "rpm")
	limit("feed_mm_min", "feed", out.Feed, tiny, m.FeedXY, "mm/min")
	limit("plunge_mm_min", "plunge feed", out.Plunge, tiny, m.FeedZ, "mm/min")
	limit("ramp_deg", "ramp angle", out.Ramp*180/math.Pi, 0.1, 90, "°")
	limit("step", "depth per pass", out.Step, 0.01, math.Max(t.FluteLength, 0.01), "mm")
	return ok
}
