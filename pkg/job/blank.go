package job

import (
	"fmt"
	"math"
	"slices"

	"sparclear/pkg/diag"
	"sparclear/pkg/drawing"
	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/shop"
	"sparclear/pkg/skin"
)

// Defaults of a sheet; common practice, no source.
const (
	defaultMargin = 5.0 // kept free along the edge of the sheet, mm
	defaultSpoil  = 0.5 // how deep the spoilboard may be cut, mm
)

// blank is one sheet of the job file, resolved, in program coordinates.
type blank struct {
	name      string
	region    geom.Region
	flaws     []geom.Region
	thickness float64
	thickTol  float64
	floor     float64
	margin    float64
	fibre     *float64 // rad, nil not said
	material  shop.Material
	cost      *float64 // of one piece, nil unknown
	quantity  int
}

// readBlanks resolves every sheet of the job once; false when one has a fault.
func (s *state) readBlanks() bool {
	if s.blanks != nil {
		return true
	}
	names := map[string]bool{}
	ok := true
	var out []blank
	for i := range s.file.Sheets {
		sh := &s.file.Sheets[i]
		if sh.Name == "" {
			sh.Name = fmt.Sprintf("sheet %d", i+1)
		}
		if names[sh.Name] {
			s.stop(fmt.Sprintf("sheet.%d.name", i), "name-twice", fmt.Sprintf("two sheets are named %q", sh.Name), "give each sheet a name of its own; several equal pieces are one sheet with quantity")
			ok = false
		}
		names[sh.Name] = true
		if len(sh.Measured) > 0 {
			s.measuredSheet(fmt.Sprintf("sheet.%d", i), sh)
		}
		b, whole := s.blankOf(i, *sh)
		out = append(out, b)
		ok = ok && whole
	}
	if ok {
		s.blanks = out
	}
	return ok
}

func (s *state) blankOf(i int, sh Sheet) (blank, bool) {
	key := fmt.Sprintf("sheet.%d", i)
	b := blank{name: sh.Name, margin: lengthOr(sh.Margin, defaultMargin), material: s.w.Material, cost: sh.Cost}
	if sh.Thickness == nil {
		s.stop(key, "thickness-missing", "the thickness of the sheet is not given", "measure it at four corners and add thickness = …")
		return b, false
	}
	if !s.positive(key+".thickness", "thickness", float64(*sh.Thickness)) {
		return b, false
	}
	b.thickness, b.thickTol = float64(*sh.Thickness), lengthOr(sh.ThicknessTol, 0)
	b.floor = b.thickness + lengthOr(sh.Spoil, defaultSpoil)
	if sh.FibreDeg != nil {
		a := *sh.FibreDeg * math.Pi / 180
		b.fibre = &a
	}
	if sh.Material != nil {
		m, l := s.lib.MaterialFrom("", sh.Material, s.placeOf(key+".material"))
		s.addInput(l)
		b.material = m
		if stops(l) {
			return b, false
		}
	}
	if b.quantity = countOf(sh.Quantity); sh.Quantity != nil && *sh.Quantity < 0 && *sh.Quantity != Many {
		s.stop(key+".quantity", "quantity-wrong", fmt.Sprintf("%s: %d pieces are at hand", sh.Name, *sh.Quantity), "give how many pieces there are, or \"unlimited\"")
		return b, false
	}
	if sh.Cost != nil && *sh.Cost < 0 {
		s.stop(key+".cost", "cost-wrong", fmt.Sprintf("%s costs %g", sh.Name, *sh.Cost), "give what one piece costs, 0 for an offcut that is paid for, or leave it out when nobody knows")
		return b, false
	}
	var ok bool
	if b.region, ok = s.sheetRegion(i, sh); !ok {
		return b, false
	}
	if b.cost == nil && b.material.Cost > 0 {
		c := b.material.Cost * b.region.Area() / 1e6
		b.cost = &c
	}
	b.flaws, ok = s.flawsOf(key, sh)
	return b, ok
}

func (s *state) sheetAt(sh Sheet) geom.Point {
	if len(sh.At) == 2 {
		return geom.Pt(float64(sh.At[0]), float64(sh.At[1]))
	}
	return geom.Point{}
}

// sheetRegion is the stock in program coordinates.
func (s *state) sheetRegion(i int, sh Sheet) (geom.Region, bool) {
	key := fmt.Sprintf("sheet.%d", i)
	at := s.sheetAt(sh)
	if sh.Outline != "" {
		return s.sheetMade(key, sh)
	}
	if sh.Drawing != "" {
		ly, ok := s.layer(key+".layer", s.drawingOf(key+".drawing", sh.Drawing, drawing.Options{Units: sh.Units}), sh.Layer)
		if !ok {
			return geom.Region{}, false
		}
		if len(ly.Outlines) != 1 {
			s.stop(key+".layer", "sheet-outline", fmt.Sprintf("layer %s holds %d outlines, a sheet has one", sh.Layer, len(ly.Outlines)), "draw the outline of the sheet alone on a layer")
			return geom.Region{}, false
		}
		return ly.Outlines[0].Region.Transform(geom.Rigid{Shift: at}), true
	}
	if len(sh.Size) != 2 || !(sh.Size[0] > 0) || !(sh.Size[1] > 0) {
		s.stop(key+".size", "sheet-size", "the sheet has no size", "add size = [x, y], both above 0, or drawing and layer, or outline and sizes")
		return geom.Region{}, false
	}
	return geom.NewRegion(geom.Rect(at.X, at.Y, at.X+float64(sh.Size[0]), at.Y+float64(sh.Size[1]))), true
}

// sheetMade is stock of a built-in outline, in program coordinates.
func (s *state) sheetMade(key string, sh Sheet) (geom.Region, bool) {
	if len(sh.Size) > 0 || sh.Layer != "" {
		s.stop(key+".outline", "sheet-outline", fmt.Sprintf("%s is given by an outline and by a size or a layer as well", sh.Name), "leave one of them")
		return geom.Region{}, false
	}
	g, ok := s.regionMade(key, made{name: sh.Name, outline: sh.Outline, sizes: sh.Sizes}, "a sheet")
	if !ok {
		return g, false
	}
	g = g.Transform(geom.Rigid{Turn: sh.TurnDeg * math.Pi / 180})
	at := g.Bounds().Min.Mul(-1)
	if sh.Center != nil {
		if at, ok = s.point(key+".center", sh.Center); !ok {
			return g, false
		}
	}
	return g.Transform(geom.Rigid{Shift: s.sheetAt(sh).Add(at)}), true
}

// flawsMade are flaws given as built-in outlines, in program coordinates.
func (s *state) flawsMade(key string, sh Sheet) ([]geom.Region, bool) {
	var out []geom.Region
	for i, f := range sh.FlawShapes {
		shape, t, ok := s.placed(fmt.Sprintf("%s.flaw.%d", key, i), made{fmt.Sprintf("flaw %d of %s", i+1, sh.Name), f.Outline, f.Sizes, f.Center, f.TurnDeg})
		if !ok {
			return nil, false
		}
		t.Shift = t.Shift.Add(s.sheetAt(sh))
		for _, g := range shape.Regions {
			out = append(out, geom.NewRegion(g.Outer).Transform(t))
		}
	}
	return out, true
}

// flawsOf are the rectangles of the job, its built-in outlines and the outlines of
// the flaw layer. They may overlap.
func (s *state) flawsOf(key string, sh Sheet) ([]geom.Region, bool) {
	at := s.sheetAt(sh)
	var out []geom.Region
	for i, f := range sh.Flaws {
		if len(f) != 4 || f[0] == f[2] || f[1] == f[3] {
			s.stop(key+".flaws", "flaw-broken", fmt.Sprintf("flaw %d is no rectangle", i+1), "write [x0, y0, x1, y1] on the sheet, two corners that differ in both")
			return nil, false
		}
		x0, x1 := math.Min(float64(f[0]), float64(f[2])), math.Max(float64(f[0]), float64(f[2]))
		y0, y1 := math.Min(float64(f[1]), float64(f[3])), math.Max(float64(f[1]), float64(f[3]))
		out = append(out, geom.NewRegion(geom.Rect(x0+at.X, y0+at.Y, x1+at.X, y1+at.Y)))
	}
	shapes, ok := s.flawsMade(key, sh)
	if out = append(out, shapes...); !ok || sh.FlawLayer == "" {
		return out, ok
	}
	d := s.drawingOf(key+".drawing", sh.Drawing, drawing.Options{Units: sh.Units})
	if d == nil {
		s.stop(key+".flaw_layer", "drawing-missing", "flaw_layer needs the drawing of the sheet", "add drawing = … or give flaws = [[x0, y0, x1, y1]]")
		return nil, false
	}
	ly, f := d.Layer(sh.FlawLayer)
	if f != nil && !onlyOverlaps(ly) {
		s.fault(key+".flaw_layer", *f)
		return nil, false
	}
	if len(ly.Open) > 0 {
		s.add(openOutline(s.req.Name, Cut{Name: sh.Name}, ly.Open[0]).AtLine(s.req.Name, first(s.pos.Of(key)), 0))
		return nil, false
	}
	for _, o := range ly.Outlines { // what is drawn within a flaw is no good place either
		out = append(out, geom.NewRegion(o.Region.Outer).Transform(geom.Rigid{Shift: at}))
	}
	return out, true
}

// onlyOverlaps tells whether all that is wrong with a layer is that outlines lie
// over one another, which flaws may: every crossing lies on the edges of two of them.
func onlyOverlaps(ly drawing.Content) bool {
	for _, f := range ly.Findings {
		if f.Severity < diag.Confirm {
			continue
		}
		if f.Code != "contour-crosses" && f.Code != "outlines-cross" || len(f.At) == 0 {
			return false
		}
		on := 0
		for _, o := range ly.Outlines {
			if p := f.At[0].Drawing; p != nil && o.Region.Outer.Dist(geom.Pt(p[0], p[1])) < drawing.DefaultJoinTol {
				on++
			}
		}
		if on < 2 {
			return false
		}
	}
	return true
}

// useSheet lays out stock and height of the work for one sheet.
func (s *state) useSheet(n int) {
	if !s.readBlanks() {
		return
	}
	b := s.blanks[n]
	s.sheet = n
	s.w.Members = slices.Clone(s.keepouts)
	s.w.Thickness, s.w.ThickTol, s.w.Floor = b.thickness, b.thickTol, b.floor
	s.w.Material, s.w.Fibre = b.material, b.fibre
	z := 0.0
	if s.w.Zero == "table" {
		z = b.thickness
	}
	s.w.Skin = skin.FlatWithin(z, s.heightU(), s.w.Machine.ReversalZ)
	s.w.Stock = []geom.Region{b.region}
	s.w.Blank.Name, s.w.Blank.Cost = b.name, b.cost
	for i, f := range b.flaws {
		s.w.Members = append(s.w.Members, keepout.Volume{Name: fmt.Sprintf("flaw %d", i+1), Kind: keepout.Flaw, Footprint: []geom.Region{f}, From: 0, To: math.Inf(1)})
	}
}

// fibreSaid warns where a rule about the fibre stands on a sheet that does not say
// how its fibre runs.
func (s *state) fibreSaid() {
	ruled := false
	for _, p := range s.file.Parts {
		ruled = ruled || !p.AnyTurn && len(p.Place) == 0
	}
	for i, b := range s.blanks {
		if !ruled || b.fibre != nil || !b.material.Fibre {
			continue
		}
		line, col := s.pos.Of(fmt.Sprintf("sheet.%d", i))
		s.add(diag.Finding{Code: "fibre-unsaid", Severity: diag.Warn, Subject: s.req.Name,
			Message: fmt.Sprintf("%s does not say how its fibre runs; turns are counted from +X", b.name), Help: "add fibre_deg = … from +X, or any_turn = true under the parts"}.AtLine(s.req.Name, line, col))
	}
}
