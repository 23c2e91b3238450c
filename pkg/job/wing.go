package job

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"math"
	"path"
	"slices"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/drawing"
	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/locate"
	"sparclear/pkg/work"
)

// drawingOf reads a drawing once and keeps it.
func (s *state) drawingOf(key, file string, o drawing.Options) *drawing.Drawing {
	id := file + "|" + o.Units
	if d, ok := s.drawings[id]; ok {
		return d
	}
	src, err := s.readFile("drawing", file)
	if err != nil {
		s.stop(key, "drawing-missing", fmt.Sprintf("cannot read drawing %q: %s", file, plainError(err)),
			"check the name; it is looked for beside the job file")
		s.drawings[id] = nil
		return nil
	}
	read := drawing.Read
	if strings.EqualFold(path.Ext(file), ".svg") {
		read = drawing.ReadSVG
	}
	d, l := read(bytes.NewReader(src), file, o)
	l = s.concerning(l)
	s.add(l...)
	if stops(l) {
		d = nil
	}
	s.drawings[id] = d
	return d
}

// concerning keeps of a drawing's findings what matters to this job: what lies on
// layers that it does not use becomes a note, and open lines are no fault where
// open lines are asked for (the cut itself says when they are one).
func (s *state) concerning(l diag.List) diag.List {
	used := s.namedLayers()
	var out diag.List
	for _, f := range l {
		layer := ""
		for _, p := range f.At {
			if p.Layer != "" {
				layer = p.Layer
			}
		}
		if f.Code == "outline-open" && f.Severity <= diag.Warn {
			continue
		}
		switch f.Code {
		case "block-missing", "block-external": // what it holds may lie on any layer
			f.Severity = max(f.Severity, diag.Confirm)
		case "block-cycle", "drawing-too-large": // the rest of the drawing is not whole
		default:
			if layer != "" && !used[strings.ToLower(layer)] {
				f.Severity = diag.Note
			}
		}
		out = append(out, f)
	}
	return out
}

// namedLayers are the layers that the job names, in lower case.
func (s *state) namedLayers() map[string]bool {
	used := map[string]bool{}
	for _, k := range s.file.Keepouts {
		used[strings.ToLower(k.Layer)] = true
	}
	for _, c := range s.file.Clamps {
		used[strings.ToLower(c.Layer)] = true
	}
	for _, c := range s.file.Cuts {
		used[strings.ToLower(c.Layer)] = true
	}
	for _, p := range s.file.Parts {
		used[strings.ToLower(p.Layer)] = true
	}
	for _, sh := range s.file.Sheets {
		used[strings.ToLower(sh.Layer)], used[strings.ToLower(sh.FlawLayer)] = true, true
	}
	return used
}

func readDrawings(_ context.Context, s *state) {
	if d := s.file.Drawing; d != nil {
		if d.File == "" {
			s.stop("drawing", "drawing-missing", "[drawing] names no file", "add file = \"panel.dxf\"")
			return
		}
		s.drawingOf("drawing.file", d.File, s.drawingOptions())
	}
	for i, p := range s.file.Parts {
		if p.Drawing != "" {
			s.drawingOf(fmt.Sprintf("part.%d.drawing", i), p.Drawing, drawing.Options{Units: p.Units})
		}
	}
	for i, sh := range s.file.Sheets {
		if sh.Drawing != "" {
			s.drawingOf(fmt.Sprintf("sheet.%d.drawing", i), sh.Drawing, drawing.Options{Units: sh.Units})
		}
	}
	s.questionUnits()
}

func (s *state) drawingOptions() drawing.Options {
	d := s.file.Drawing
	return drawing.Options{Units: d.Units, JoinTol: lengthOr(d.JoinTol, 0), CurveTol: lengthOr(d.CurveTol, 0),
		Hidden: d.Hidden, Paper: d.Paper, Hatches: d.Hatches, WideOutlines: d.Wide}
}

// wingDrawing is the drawing of a wing job, already read.
func (s *state) wingDrawing() *drawing.Drawing {
	if s.file.Drawing == nil {
		return nil
	}
	return s.drawings[s.file.Drawing.File+"|"+s.file.Drawing.Units]
}

func locateWork(_ context.Context, s *state) {
	if s.w.Sheet {
		return
	}
	if len(s.file.Datums)+len(s.file.Edges) == 0 {
		s.stop("", "datum-missing", "no datum is touched, so nobody knows where the wing lies",
			"touch two or more marks and add a [[datum]] with name, drawn and touched for each")
		return
	}
	pairs, ok1 := s.datumPairs()
	lines, ok2 := s.edgePairs()
	if !ok1 || !ok2 {
		return
	}
	fit, l := locate.Fit(pairs, lines, locate.Options{Mirrored: s.file.Drawing.Mirrored,
		HandSaid: s.w.Panel != "" && s.w.SideUp != "" && s.mirrorSaid(), DatumU: s.datumU()})
	for i := range l {
		if l[i].Code == "handedness-unknown" && !s.mirrorSaid() {
			l[i].Help = "touch a third datum well away from the line through the others; or look which panel the drawing shows and say mirrored = true or false under [drawing], with panel and side_up"
		}
		if l[i].Subject == "" {
			l[i].Subject = s.req.Name
		}
		if s.measuring {
			l[i] = rough(l[i])
		}
	}
	s.add(l...)
	if stops(l) {
		return
	}
	s.w.Frame = fit.Frame
	s.add(diag.Finding{Code: "located", Severity: diag.Note, Subject: s.req.Name,
		Message: fmt.Sprintf("the drawing lies turned by %.3f°, residuals %.3f mm (rms), worst %.3f mm at %s, best-fit scale %.5f; mirrored, the residuals would be %.3f mm", fit.Turn*180/math.Pi, fit.RMS, fit.Worst, fit.WorstName, fit.Scale, fit.MirroredRMS)}.With(fit.Worst, locate.ResidualWarn, "mm"))
	for i, p := range pairs {
		s.w.Datums = append(s.w.Datums, work.Datum{Name: p.Name, Drawn: p.Drawn, Touched: p.Touched, Residual: fit.Residuals[i].Distance})
	}
	u := fit.Uncertainty(s.datumU(), s.w.Machine.Reversal)
	s.byResiduals = fit.Scatter() > s.datumU()
	s.w.Register = work.Registration{Base: u.Base, Centroid: u.Centroid, Spread: u.Spread, Fixed: u.Fixed}
}

// mirrorSaid tells whether the job says, one way or the other, whether the drawing is
// of the other panel: what is not said was perhaps not looked at.
func (s *state) mirrorSaid() bool {
	return s.file.Drawing.Mirrored || s.pos.Has("drawing.mirrored")
}

// rough lets pass, with a warning, what datums touched by eye are off by: they are
// about to be touched again.
func rough(f diag.Finding) diag.Finding {
	const percent = 2 // a scale that is off by more was not misread but mistaken
	if f.Code == "datum-residual" || f.Code == "datum-scale" && f.Value != nil && *f.Value < percent {
		f.Severity, f.Input = diag.Warn, false
	}
	return f
}

// datumU is the standard uncertainty of one touched coordinate: what the job
// says, or the worse of hand and machine.
func (s *state) datumU() float64 {
	return lengthOr(s.file.TouchU, math.Max(locate.DefaultDatumU, s.w.Machine.Repeat))
}

// datumPairs reads the touched datums.
func (s *state) datumPairs() ([]locate.Pair, bool) {
	var out []locate.Pair
	for i, d := range s.file.Datums {
		key := fmt.Sprintf("datum.%d", i)
		drawn, ok1 := s.point(key+".drawn", d.Drawn)
		touched, ok2 := s.point(key+".touched", d.Touched)
		if !ok1 || !ok2 {
			return nil, false
		}
		out = append(out, locate.Pair{Name: d.Name, Drawn: drawn, Touched: touched, Weight: numberOr(d.Weight, 1)})
	}
	return out, true
}

// edgePairs reads the touches along drawn lines.
func (s *state) edgePairs() ([]locate.LinePair, bool) {
	var out []locate.LinePair
	for i, d := range s.file.Edges {
		key := fmt.Sprintf("edge.%d", i)
		a, ok1 := s.point(key+".from", d.From)
		b, ok2 := s.point(key+".to", d.To)
		touched, ok3 := s.point(key+".touched", d.Touched)
		if !ok1 || !ok2 || !ok3 {
			return nil, false
		}
		out = append(out, locate.LinePair{Name: d.Name, A: a, B: b, Touched: touched, Offset: lengthOr(d.Offset, 0), Weight: numberOr(d.Weight, 1)})
	}
	return out, true
}

func resolveMembers(_ context.Context, s *state) {
	d := s.wingDrawing()
	names := map[string]bool{}
	for i, k := range s.file.Keepouts {
		key := fmt.Sprintf("keepout.%d", i)
		v, ok := s.member(key, k, d)
		if names[v.Name] {
			s.stop(key+".name", "name-twice", fmt.Sprintf("two keep-outs are named %q", v.Name), "give each a name of its own: what is accepted of one must not be accepted of the other")
		}
		if names[v.Name] = true; ok {
			each := apart(v)
			s.w.Members = append(s.w.Members, each...)
			s.keepouts = append(s.keepouts, each...)
		}
	}
	if !s.w.Sheet && s.w.Hollow && len(s.file.Keepouts) == 0 {
		s.confirm("", "no-members", "no keep-out is declared: nothing inside the wing is protected",
			"add a [[keepout]] for every spar, rib and wire run near the cuts, or accept = [\"no-members\"]")
	}
	for i, c := range s.file.Clamps {
		key := fmt.Sprintf("clamp.%d", i)
		if v, ok := s.clamp(key, c, d); ok {
			s.w.Clamps = append(s.w.Clamps, v)
			s.clampOn = append(s.clampOn, c.Sheets)
		}
		if len(c.Sheets) > 0 && !s.w.Sheet {
			s.stop(key+".sheets", "sheet-unknown", fmt.Sprintf("clamp %d stands on %q, and the job has no sheets", i+1, c.Sheets[0]), "leave sheets out")
		}
	}
	s.clampsSaid()
}

// clampsSaid asks where the job is silent about clamps.
func (s *state) clampsSaid() {
	s.w.ClampsSaid = s.file.NoClamps || len(s.file.Clamps) > 0
	if !s.w.ClampsSaid {
		s.confirm("", "no-clamps", "no clamps are declared: rapids are checked against nothing that stands above the work",
			"add a [[clamp]] for each clamp, strap and weight, or say no_clamps = true")
	}
}

// apart makes a member of its own of every outline of a keep-out that can be accepted,
// numbered along the drawing's X, then Y: who accepts that one rib is entered has not
// looked at the next one on its layer.
func apart(v keepout.Volume) []keepout.Volume {
	if v.Kind == keepout.Primary || v.Accept || len(v.Footprint) < 2 {
		return []keepout.Volume{v}
	}
	type drawn struct {
		at geom.Point
		g  geom.Region
	}
	var all []drawn
	back := v.Frame.Inverse()
	for _, g := range v.Footprint {
		all = append(all, drawn{back.Apply(g.Bounds().Center()), g})
	}
	slices.SortStableFunc(all, func(a, b drawn) int {
		const step = 0.1 // mm; what lies on one line along Y is numbered along it
		return cmp.Or(cmp.Compare(math.Round(a.at.X/step), math.Round(b.at.X/step)), cmp.Compare(a.at.Y, b.at.Y))
	})
	var out []keepout.Volume
	for i, d := range all {
		one := v
		one.Name, one.Footprint = fmt.Sprintf("%s %d", v.Name, i+1), []geom.Region{d.g}
		out = append(out, one)
	}
	return out
}

func (s *state) member(key string, k Keepout, d *drawing.Drawing) (keepout.Volume, bool) {
	v := keepout.Volume{Name: k.Name, Layer: k.Layer, Frame: s.w.Frame, To: math.Inf(1)}
	if v.Name == "" {
		v.Name = k.Layer
	}
	switch k.Member {
	case "", "primary":
		v.Kind = keepout.Primary
	case "rib":
		v.Kind = keepout.Rib
	case "wire":
		v.Kind = keepout.Wire
	case "other":
		v.Kind = keepout.Other
	default:
		s.stop(key+".member", "member-unknown", fmt.Sprintf("member %q is not known", k.Member),
			diag.DidYouMean(k.Member, []string{"primary", "rib", "wire", "other"}))
		return v, false
	}
	// Where nothing is said it begins at the inner face of the thinnest skin there is.
	begins := s.w.Thickness - s.w.ThickTol
	if s.w.Sheet { // an insert, or a screw that holds the sheet down
		begins = 0
	}
	v.From = lengthOr(k.From, begins)
	if k.To != nil {
		v.To = float64(*k.To)
	}
	if v.To <= v.From {
		s.stop(key+".to", "depths-swapped", fmt.Sprintf("%s ends at depth %.2f mm, above where it begins at %.2f mm", v.Name, v.To, v.From), "give from < to, both below the skin")
		return v, false
	}
	v.Clearance = lengthOr(k.Clearance, 1)
	if v.Clearance < 0 {
		s.stop(key+".clearance", "clearance-negative", fmt.Sprintf("clearance %.2f mm is negative", v.Clearance), "give 0 or more")
		return v, false
	}
	for _, code := range k.Accept {
		if code != "rib-entered" || v.Kind == keepout.Primary {
			s.stop(key+".accept", "accept-unknown", fmt.Sprintf("%s cannot accept %q", v.Name, code), "a rib, a wire or another secondary member can accept \"rib-entered\"; a primary member accepts nothing")
			return v, false
		}
	}
	v.Accept = len(k.Accept) > 0
	ly, ok := s.drawn(key, d, k.Layer, made{v.Name, k.Outline, k.Sizes, k.Center, k.TurnDeg})
	if !ok || !s.protective(key, v.Name, ly) {
		return v, false
	}
	if k.Outline == "" {
		v.Clearance += s.drawnLoosely()
	}
	if w := k.Width; w != nil && !s.positive(key+".width", "width of "+v.Name, float64(*w)) {
		return v, false
	}
	for _, o := range ly.Outlines {
		v.Footprint = append(v.Footprint, o.Region.Transform(s.w.Frame))
	}
	for _, c := range ly.Open {
		if k.Width == nil {
			s.stop(key, "width-missing", fmt.Sprintf("%s is drawn as an open line on layer %s; its width is not given", v.Name, k.Layer), "add width = … (thickness of the web)")
			return v, false
		}
		gs, err := c.Chain.Sweep(float64(*k.Width) / 2)
		if err != nil {
			s.geomFault(key, v.Name, err)
			return v, false
		}
		for _, g := range gs {
			v.Footprint = append(v.Footprint, g.Transform(s.w.Frame))
		}
	}
	if len(v.Footprint) == 0 {
		s.stop(key+".layer", "layer-empty", fmt.Sprintf("layer %s holds no outline for %s", k.Layer, v.Name), "draw the member there, or name another layer")
		return v, false
	}
	return v, true
}

func (s *state) clamp(key string, c Clamp, d *drawing.Drawing) (keepout.Volume, bool) {
	h := lengthOr(c.Height, 0)
	if !s.positive(key+".height", "height of the clamp", h) {
		return keepout.Volume{}, false
	}
	v := keepout.Volume{Name: c.Name, Kind: keepout.Clamp, Layer: c.Layer, Frame: s.w.Frame, From: -h, To: 0, Clearance: lengthOr(c.Clearance, 3)}
	if v.Clearance < 0 {
		s.stop(key+".clearance", "clearance-negative", fmt.Sprintf("clearance %.2f mm is negative", v.Clearance), "give 0 or more")
		return v, false
	}
	if count(len(c.Rect) > 0, c.Layer != "", c.Outline != "") > 1 {
		s.stop(key, "clamp-place-twice", "the clamp has more than one place", "give rect, layer or outline, one of them")
		return v, false
	}
	switch {
	case len(c.Rect) > 0:
		r := c.Rect
		if len(r) != 4 || r[0] == r[2] || r[1] == r[3] {
			s.stop(key+".rect", "clamp-place-missing", "rect is no rectangle", "write rect = [x0, y0, x1, y1] in program coordinates, two opposite corners")
			return v, false
		}
		v.Frame = geom.Rigid{}
		v.Footprint = []geom.Region{geom.NewRegion(geom.Rect(float64(r[0]), float64(r[1]), float64(r[2]), float64(r[3])))}
	case c.Layer != "" || c.Outline != "":
		ly, ok := s.drawn(key, d, c.Layer, made{c.Name, c.Outline, c.Sizes, c.Center, c.TurnDeg})
		if !ok || !s.protective(key, orLayer(c), ly) {
			return v, false
		}
		if len(ly.Open) > 0 || len(ly.Outlines) == 0 {
			s.stop(key, "layer-empty", fmt.Sprintf("the clamp is not drawn as closed outlines: layer %s has %d of them and %d open lines", c.Layer, len(ly.Outlines), len(ly.Open)), "close the outline in the drawing, or give rect")
			return v, false
		}
		if c.Outline == "" {
			v.Clearance += s.drawnLoosely()
		}
		for _, o := range ly.Outlines {
			v.Footprint = append(v.Footprint, o.Region.Transform(s.w.Frame))
		}
	default:
		s.stop(key, "clamp-place-missing", "the clamp has no place", "add rect = [x0, y0, x1, y1] in program coordinates, layer, or outline")
		return v, false
	}
	return v, true
}

// orLayer is what a clamp is called.
func orLayer(c Clamp) string {
	if c.Name == "" {
		return c.Layer
	}
	return c.Name
}

// layer finds a layer of the drawing, with the nearest real name otherwise.
func (s *state) layer(key string, d *drawing.Drawing, name string) (drawing.Content, bool) {
	if d == nil {
		s.stop(key, "drawing-missing", "no drawing is given", "add [drawing] file = …")
		return drawing.Content{}, false
	}
	if name == "" {
		s.stop(key, "layer-missing", "no layer is named", "add layer = …")
		return drawing.Content{}, false
	}
	ly, f := d.Layer(name)
	if f != nil {
		s.fault(key, *f)
		return drawing.Content{}, false
	}
	return ly, true
}
