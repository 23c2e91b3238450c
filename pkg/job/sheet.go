package job

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"sparclear/pkg/diag"
	"sparclear/pkg/drawing"
	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/nest"
	"sparclear/pkg/skin"
	"sparclear/pkg/work"
)

// Defaults of a sheet job; common practice, no source.
const (
	defaultMargin = 5.0       // kept free along the edge of the sheet, mm
	defaultSpoil  = 0.5       // how deep the spoilboard may be cut, mm
	defaultWeb    = 2.0       // narrowest web between two kerfs, mm
	nestBudget    = 2_000_000 // positions that nesting tries when the job names no budget
	boreDiameters = 4.0       // largest bored hole in diameters of its cutter
	bigSlug       = 60.0      // a slug above this area gets tabs, mm²
)

// placement is one copy of a part on the sheet, in program coordinates.
type placement struct {
	part int
	copy int
	// frame takes the part's drawing to program coordinates.
	frame geom.Rigid
}

// useSheet lays out stock and height of a sheet job. One job cuts one sheet; the
// others of the list are stock that nesting may choose instead.
func (s *state) useSheet(n int) {
	s.sheet = n
	sh := s.file.Sheets[n]
	key := fmt.Sprintf("sheet.%d", n)
	s.w.Members = slices.DeleteFunc(s.w.Members, func(v keepout.Volume) bool { return v.Kind == keepout.Flaw })
	s.w.Fibre = nil
	if len(sh.Measured) > 0 {
		s.measuredSheet(key, &sh)
	}
	if sh.Thickness == nil {
		s.stop(key, "thickness-missing", "the thickness of the sheet is not given", "measure it at four corners and add thickness = …")
		return
	}
	if !s.positive(key+".thickness", "thickness", float64(*sh.Thickness)) {
		return
	}
	s.w.Thickness, s.w.ThickTol = float64(*sh.Thickness), lengthOr(sh.ThicknessTol, 0)
	s.w.Floor = s.w.Thickness + lengthOr(sh.Spoil, defaultSpoil)
	z := 0.0
	if s.w.Zero == "table" {
		z = s.w.Thickness
	}
	s.w.Skin = skin.FlatWithin(z, s.heightU(), s.w.Machine.ReversalZ)
	if sh.FibreDeg != nil {
		a := *sh.FibreDeg * math.Pi / 180
		s.w.Fibre = &a
	}
	g, ok := s.sheetRegion(n, sh)
	if !ok {
		return
	}
	s.w.Stock = []geom.Region{g}
	for i, f := range sh.Flaws {
		if len(f) != 4 {
			s.stop(key+".flaws", "flaw-broken", fmt.Sprintf("flaw %d has %d numbers, 4 needed", i+1, len(f)), "write [x0, y0, x1, y1] on the sheet")
			return
		}
		at := s.sheetAt(sh)
		r := geom.Rect(float64(f[0])+at.X, float64(f[1])+at.Y, float64(f[2])+at.X, float64(f[3])+at.Y)
		s.w.Members = append(s.w.Members, keepout.Volume{Name: fmt.Sprintf("flaw %d", i+1), Kind: keepout.Flaw, Footprint: []geom.Region{geom.NewRegion(r)}, From: 0, To: math.Inf(1)})
	}
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
		s.stop(key+".size", "sheet-size", "the sheet has no size", "add size = [x, y], both above 0, or drawing and layer")
		return geom.Region{}, false
	}
	return geom.NewRegion(geom.Rect(at.X, at.Y, at.X+float64(sh.Size[0]), at.Y+float64(sh.Size[1]))), true
}

// partShape reads the outline of a part from its drawing.
func (s *state) partShape(i int) (geom.Region, bool) {
	p := s.file.Parts[i]
	key := fmt.Sprintf("part.%d", i)
	d := s.drawings[p.Drawing+"|"+p.Units]
	ly, ok := s.layer(key+".layer", d, p.Layer)
	if !ok {
		return geom.Region{}, false
	}
	if len(ly.Outlines) != 1 {
		s.stop(key+".layer", "part-outline", fmt.Sprintf("layer %s holds %d separate outlines, a part has one", p.Layer, len(ly.Outlines)), "put each part on a layer of its own")
		return geom.Region{}, false
	}
	return ly.Outlines[0].Region, true
}

func placeParts(ctx context.Context, s *state) {
	if !s.w.Sheet {
		return
	}
	shapes := make([]geom.Region, len(s.file.Parts))
	var free []int
	laid, ok := s.readLayout()
	if !ok {
		return
	}
	names := map[string]bool{}
	for i, p := range s.file.Parts {
		key := fmt.Sprintf("part.%d", i)
		if p.Name == "" {
			s.file.Parts[i].Name = fmt.Sprintf("part %d", i+1)
		}
		if n := s.file.Parts[i].Name; names[n] {
			s.stop(key+".name", "name-twice", fmt.Sprintf("two parts are named %q", n), "give each part a name of its own")
			continue
		}
		names[s.file.Parts[i].Name] = true
		var ok bool
		if shapes[i], ok = s.partShape(i); !ok {
			continue
		}
		if p.Quantity != nil && *p.Quantity == 0 {
			s.stop(key+".quantity", "quantity-zero", s.file.Parts[i].Name+": quantity is 0", "give at least 1, or leave the part out")
			continue
		}
		if at := laid[s.file.Parts[i].Name]; len(at) > 0 {
			for n, f := range at {
				s.layout = append(s.layout, placement{part: i, copy: n, frame: f})
			}
			continue
		}
		if len(p.Place) == 0 {
			free = append(free, i)
			continue
		}
		for n, at := range p.Place {
			if len(at) != 2 && len(at) != 3 {
				s.stop(key+".place", "place-broken", fmt.Sprintf("%s: copy %d has %d numbers", s.file.Parts[i].Name, n+1, len(at)), "write [x, y] or [x, y, turn in degrees]")
				continue
			}
			f := geom.Rigid{Shift: geom.Pt(float64(at[0]), float64(at[1])).Add(s.sheetAt(s.file.Sheets[s.sheet]))}
			if len(at) == 3 {
				f.Turn = float64(at[2]) * math.Pi / 180
			}
			s.layout = append(s.layout, placement{part: i, copy: n, frame: f})
		}
	}
	if stops(s.res.Findings) {
		return
	}
	if len(free) > 0 && !s.nestParts(ctx, shapes, free) {
		return
	}
	for _, pl := range s.layout {
		s.partCuts(pl, shapes[pl.part])
	}
}

// nestParts places what is not placed by hand; what is stands fixed.
func (s *state) nestParts(ctx context.Context, shapes []geom.Region, free []int) bool {
	var parts []nest.Part
	var index []int
	wide := 0.0
	for i, p := range s.file.Parts {
		if c, ok := s.cutter(fmt.Sprintf("part.%d.cutter", i), p.Cutter); ok {
			wide = math.Max(wide, s.w.Cutters[c].Diameter+s.w.Cutters[c].DiameterTol+s.w.Machine.Runout)
		}
	}
	for _, pl := range s.layout {
		parts = append(parts, nest.Part{Name: s.file.Parts[pl.part].Name, Region: shapes[pl.part], Quantity: 1, Locked: []nest.Lock{{Frame: pl.frame}}})
		index = append(index, -1)
	}
	for _, i := range free {
		p := s.file.Parts[i]
		q := 1
		if p.Quantity != nil {
			q = *p.Quantity
		}
		np := nest.Part{Name: p.Name, Region: shapes[i], Quantity: q, Free: p.AnyTurn, Mirror: p.MayFlip}
		for _, t := range p.TurnsDeg {
			np.Turns = append(np.Turns, t*math.Pi/180)
		}
		parts = append(parts, np)
		index = append(index, i)
	}
	// The cheapest sheet that takes all parts is cut; without costs the first.
	order := make([]int, len(s.file.Sheets))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(s.file.Sheets[a].Cost, s.file.Sheets[b].Cost) })
	if len(s.layout) > 0 { // what is placed by hand lies on the first
		order = []int{0}
	}
	var full *diag.Finding
	for _, n := range order {
		if len(order) > 1 {
			s.useSheet(n)
		}
		if stops(s.res.Findings) {
			return false
		}
		layout, ok := s.nestOn(ctx, parts, wide)
		if !ok {
			return false
		}
		if full = s.leftOver(layout, parts, n); full != nil {
			continue
		}
		s.res.Layout = layout
		for _, p := range layout.Placements {
			if i := index[p.Part]; i >= 0 {
				s.layout = append(s.layout, placement{part: i, copy: p.Copy, frame: p.Frame})
			}
		}
		if len(order) > 1 {
			s.add(diag.Finding{Code: "sheet-chosen", Severity: diag.Note, Subject: s.req.Name, Message: fmt.Sprintf("all parts are cut from sheet %d (%s)", n+1, s.file.Sheets[n].Name)})
		}
		return true
	}
	s.fault("sheet", *full)
	return false
}

// leftOver names the first part that found no room on a sheet, nil when all did.
func (s *state) leftOver(l *nest.Layout, parts []nest.Part, sheet int) *diag.Finding {
	for i, n := range l.Unplaced {
		if n > 0 && parts[i].Quantity != nest.Fill {
			return &diag.Finding{Code: "sheet-full", Severity: diag.Stop, Message: fmt.Sprintf("%d of %s find no room on sheet %d", n, parts[i].Name, sheet+1),
				Help: "use a larger sheet, a second job, more turns, or a smaller margin and web"}
		}
	}
	return nil
}

// nestOn places the parts on the sheet in use.
func (s *state) nestOn(ctx context.Context, parts []nest.Part, wide float64) (*nest.Layout, bool) {
	o := nest.Options{Budget: nestBudget}
	web := math.Max(defaultWeb, s.w.Thickness)
	if n := s.file.Nest; n != nil {
		o.Seed = n.Seed
		if n.Budget > 0 {
			o.Budget = n.Budget
		}
		web = lengthOr(n.Web, web)
	}
	o.Spacing = wide + web
	if n := s.file.Nest; n != nil && n.Spacing != nil {
		o.Spacing = float64(*n.Spacing)
	}
	sh := s.file.Sheets[s.sheet]
	sheet := nest.Sheet{Name: sh.Name, Region: s.w.Stock[0], Margin: lengthOr(sh.Margin, defaultMargin), Quantity: 1, Cost: sh.Cost}
	if s.w.Fibre != nil {
		sheet.Fibre = *s.w.Fibre
	}
	for _, m := range s.w.Members {
		sheet.Zones = append(sheet.Zones, m.Footprint...)
	}
	for _, c := range s.w.Clamps {
		sheet.Zones = append(sheet.Zones, c.Footprint...)
	}
	layout, l := nest.Nest(ctx, parts, []nest.Sheet{sheet}, o)
	several := len(s.file.Sheets) > 1
	for i := range l {
		if l[i].Subject == "" {
			l[i].Subject = s.req.Name
		}
	}
	if several && layout == nil && stops(l) && !l.Has("cancelled") { // perhaps the next one takes them
		return &nest.Layout{Unplaced: unplaced(parts)}, true
	}
	s.add(l...)
	return layout, layout != nil && !stops(l)
}

// unplaced counts every copy of every part.
func unplaced(parts []nest.Part) []int {
	out := make([]int, len(parts))
	for i, p := range parts {
		out[i] = max(1, p.Quantity)
	}
	return out
}

// partCuts asks for the cuts of one copy: round holes bored, other holes cut
// inside, the outline last and outside.
func (s *state) partCuts(pl placement, g geom.Region) {
	p := s.file.Parts[pl.part]
	key := fmt.Sprintf("part.%d", pl.part)
	name := fmt.Sprintf("%s %d", p.Name, pl.copy+1)
	s.w.Parts = append(s.w.Parts, work.Part{Name: name, Mark: p.Mark, Region: g.Transform(pl.frame), Frame: pl.frame, FileRef: p.Drawing})
	part := len(s.w.Parts) - 1
	s.judgeFibre(name, g, pl.frame)
	hole := p.Hole
	if hole == "" {
		hole = p.Cutter
	}
	if p.TabSlots != nil && p.TabSlots.Drawn == nil {
		s.stop(key+".tab_slots", "tab-drawn", p.Name+": which holes take tabs is not said", "add drawn = …: the width that the slots are drawn with")
		return
	}
	base := Cut{Layer: p.Layer, Through: true, Tol: p.Tol, Relief: p.Relief, Accept: p.Accept}
	add := func(c Cut, sh shapeOf) {
		if out, ok := s.cut(key, c, sh, pl.frame); ok {
			out.Part = part
			s.w.Cuts = append(s.w.Cuts, out)
		}
	}
	holeFit := p.HoleFit
	if holeFit == nil {
		holeFit = p.Fit.opposite()
	}
	rounds := map[float64][]geom.Region{}
	var sizes []float64
	openings := 0
	for _, h := range g.Holes {
		hr := geom.NewRegion(h)
		if _, r, ok := circleOf(hr); ok && 2*r <= s.boreMost(key, hole) {
			d := math.Round(2*r*1e4) / 1e4
			if rounds[d] == nil {
				sizes = append(sizes, d)
			}
			rounds[d] = append(rounds[d], hr)
			continue
		}
		openings++
		c := base
		c.Name, c.Kind, c.Cutter, c.Fit, c.Finish = fmt.Sprintf("%s opening %d", name, openings), "opening", hole, holeFit, p.Finish
		c.TabSlot = p.TabSlots.of(hr)
		if hr.Area() > bigSlug {
			c.Tabs = tabsOr(p.Tabs)
		} else {
			c.Loose = true
		}
		add(c, shapeOf{regions: []geom.Region{hr}})
	}
	for _, d := range sizes {
		c := base
		c.Name, c.Kind, c.Cutter, c.Fit = fmt.Sprintf("%s holes %.2f", name, d), "bore", hole, p.HoleFit
		add(c, shapeOf{regions: rounds[d]})
	}
	for i, c := range s.file.Cuts { // what the job asks for on other layers of this part
		if c.Part != p.Name {
			continue
		}
		ck := fmt.Sprintf("cut.%d", i)
		if sh, ok := s.shape(ck, c, s.drawings[p.Drawing+"|"+p.Units]); ok {
			c.Name = name + " " + c.Name
			add(c, sh)
		}
	}
	c := base
	c.Name, c.Kind, c.Cutter, c.Fit, c.Finish, c.Tabs = name, "part", p.Cutter, p.Fit, p.Finish, tabsOr(p.Tabs)
	add(c, shapeOf{regions: []geom.Region{{Outer: g.Outer}}})
}

// boreMost is the largest round hole that is bored, mm: a larger one is cut along
// its edge like any opening, not turned to dust.
func (s *state) boreMost(key, cutter string) float64 {
	i, ok := s.cutter(key+".cutter", cutter)
	if !ok {
		return 0
	}
	return boreDiameters * s.w.Cutters[i].Diameter
}

// tabsOr gives a part that says nothing as many tabs as it needs.
func tabsOr(t *Tabs) *Tabs {
	if t != nil {
		return t
	}
	return &Tabs{Auto: true}
}

// settleHeights fixes the height of rapids when everything that stands on the
// table is known.
func settleHeights(_ context.Context, s *state) {
	if s.w.Skin == nil {
		return
	}
	box := geom.EmptyBox()
	for _, c := range s.w.Cuts {
		box = box.Union(boxOf(c.Regions, c.Chains, c.Points))
	}
	if box.Empty() {
		s.stop("", "cuts-missing", "the job asks for no cut", "add a [[cut]] or a [[part]]")
		return
	}
	// The first rapid comes from wherever the tip stands: the program's zero and
	// the datums are where operators leave it.
	across := box.Extend(geom.Point{})
	for _, d := range s.w.Datums {
		across = across.Extend(d.Touched)
	}
	_, top := s.w.Skin.Range(across.Grow(20))
	u, bound := s.w.Skin.Error(across.Grow(20))
	top += 2*u + bound
	for _, c := range s.w.Clamps {
		_, z := s.w.Skin.Range(c.Bounds())
		top = math.Max(top, z-c.From+c.Clearance)
	}
	s.w.SafeZ = math.Ceil((top+lengthOr(s.file.Safe, defaultSafe))*10) / 10
	if v := s.file.Safe; v != nil && !(*v > 0) {
		s.stop("safe", "not-positive", fmt.Sprintf("safe is %g mm", float64(*v)), "give the height of rapids above the highest thing, above 0")
	}
	if len(s.w.Cutters) == 0 {
		s.add(diag.Finding{Code: "cutter-missing", Severity: diag.Stop, Input: true, Subject: s.req.Name, Message: "no cutter is used", Help: "name a cutter"})
	}
}
