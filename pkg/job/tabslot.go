package job

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

const (
	// slotSlip is the play of a tab in its slot, both sides together, mm: common
	// practice for a slip fit, no source.
	slotSlip = 0.1
	// slotMatch is how far the width of a drawn slot may lie from the thickness it
	// was drawn for, mm.
	slotMatch = 0.05
	// sheetSpread is the largest difference of measured thicknesses that is not
	// warned of, mm; common practice, no source.
	sheetSpread = 0.2
)

// TabSlot says that an outline takes the tab of a sheet: it was drawn for a
// nominal thickness and is cut for the measured one.
type TabSlot struct {
	Drawn     *Length `toml:"drawn"`     // width that was drawn: the nominal thickness
	Thickness *Length `toml:"thickness"` // measured thickness of the sheet whose tab goes in; default: of this sheet
	Slip      *Length `toml:"slip"`      // play, both sides together
	Relief    string  `toml:"relief"`    // of its corners: "dogbone" (default), "tbone", "none"
}

// relief is how the corners of the slot are cleared, so that a square tab seats.
func (t *TabSlot) relief() string {
	switch t.Relief {
	case "":
		return "dogbone"
	case "none":
		return ""
	}
	return t.Relief
}

// of returns the slot when an outline has its drawn width, else nil: the other
// holes of a part are no slots.
func (t *TabSlot) of(g geom.Region) *TabSlot {
	if t == nil || t.Drawn == nil || math.Abs(sizeOf(g)-float64(*t.Drawn)) > slotMatch {
		return nil
	}
	return t
}

// tabWidth is how wide the slot is cut.
func (s *state) tabWidth(key string, t *TabSlot) (float64, bool) {
	thick := lengthOr(t.Thickness, s.w.Thickness)
	if t.Thickness == nil && !s.w.Sheet {
		s.stop(key, "tab-thickness", "the thickness of the tab is not given", "measure the sheet whose tab goes in and add thickness = …")
		return 0, false
	}
	slip := lengthOr(t.Slip, slotSlip)
	if !s.positive(key+".thickness", "thickness of the tab", thick) {
		return 0, false
	}
	if slip < 0 && s.w.Material.Laminate() {
		for _, f := range shop.JudgePress(s.w.Material, "tab in its slot", slip) {
			line, col := s.pos.Of(key)
			s.add(f.AtLine(s.req.Name, line, col))
		}
	}
	return thick + slip, true
}

// tabSlot widens a drawn slot across, its length kept, so that a tab of the
// measured thickness goes in.
func (s *state) tabSlot(key string, c Cut, g geom.Region, out *work.Cut) (geom.Region, bool) {
	if c.TabSlot == nil {
		return g, true
	}
	k := key + ".tab_slot"
	if c.Kind != "opening" && c.Kind != "pocket" && c.Kind != "slot" {
		s.stop(k, "fit-useless", fmt.Sprintf("%s: a cut of kind %s takes no tab", c.Name, c.Kind), "use it with kind = \"opening\", \"pocket\" or \"slot\"")
		return g, false
	}
	width, ok := s.tabWidth(k, c.TabSlot)
	if !ok {
		return g, false
	}
	drawn := sizeOf(g)
	if d := c.TabSlot.Drawn; d != nil && math.Abs(drawn-float64(*d)) > slotMatch {
		at := g.Bounds().Center()
		s.fault(k, diag.Finding{Code: "tab-drawn", Severity: diag.Stop, Cut: c.Name,
			Message: fmt.Sprintf("%s: a slot is drawn %.3f mm wide, not %.3f mm", c.Name, drawn, float64(*d)), Help: "correct drawn = …, or put the slots for tabs on a layer of their own"}.
			With(drawn, float64(*d), "mm").On(at.X, at.Y))
		return g, false
	}
	wide, ok := stretched(g, width-drawn)
	if !ok {
		at := g.Bounds().Center()
		s.fault(k, diag.Finding{Code: "tab-shape", Severity: diag.Stop, Cut: c.Name,
			Message: c.Name + ": the slot for a tab is not a rectangle, its corners apart", Help: "draw the slot with straight ends, or give its fit as a number"}.On(at.X, at.Y))
	}
	out.Fit = &work.Fit{Nominal: drawn, Side: (width - drawn) / 2, Tab: lengthOr(c.TabSlot.Thickness, s.w.Thickness)}
	return wide, ok
}

// stretched moves both long sides of a slot apart by by mm together; its ends stay
// straight. It fails when an arc crosses the middle line or the slot would close.
func stretched(g geom.Region, by float64) (geom.Region, bool) {
	size, frame := geom.MinAreaBox(1e-4, g.Outer)
	if len(g.Holes) > 0 || size.Y+by <= 0 {
		return g, false
	}
	mid := size.Y / 2
	c := g.Outer.Transform(frame)
	for i := range c {
		e := c.Seg(i)
		if b := e.Bounds(); !e.IsLine() && b.Min.Y < mid-1e-9 && b.Max.Y > mid+1e-9 {
			return g, false
		}
	}
	out := append(geom.Contour(nil), c...)
	for i := range out {
		switch y := out[i].Y; {
		case y > mid+1e-9:
			out[i].Y += by / 2
		case y < mid-1e-9:
			out[i].Y -= by / 2
		}
	}
	return geom.NewRegion(out.Transform(frame.Inverse())), true
}

// measuredSheet takes the thickness of a sheet from what was measured at its
// corners: the middle of what was found, and as tolerance how far it strays.
func (s *state) measuredSheet(key string, sh *Sheet) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, m := range sh.Measured {
		if !s.positive(key+".measured", "measured thickness", float64(m)) {
			return
		}
		lo, hi = math.Min(lo, float64(m)), math.Max(hi, float64(m))
	}
	if sh.Thickness != nil {
		s.stop(key+".measured", "thickness-twice", "the sheet has a thickness and measured ones", "leave thickness out: what was measured goes before it")
		return
	}
	mid, tol := Length((lo+hi)/2), Length(math.Max((hi-lo)/2, lengthOr(sh.ThicknessTol, 0)))
	sh.Thickness, sh.ThicknessTol = &mid, &tol
	if hi-lo > sheetSpread+1e-9 {
		line, col := s.pos.Of(key + ".measured")
		s.add(diag.Finding{Code: "sheet-uneven", Severity: diag.Warn, Subject: s.req.Name,
			Message: fmt.Sprintf("the sheet is %.2f to %.2f mm thick", lo, hi), Help: "cut slots and pockets where it was measured, or take an evener sheet"}.With(hi-lo, sheetSpread, "mm").AtLine(s.req.Name, line, col))
	}
}
