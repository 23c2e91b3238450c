package job

import (
	"fmt"
	"math"

	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

const (
	boreDiameters = 4.0  // largest bored hole in diameters of its cutter; common practice, no source
	bigSlug       = 60.0 // a slug above this area gets tabs, mm²; common practice, no source
)

// partCuts asks for the cuts of one copy: round holes bored, other holes cut
// inside, the outline last and outside.
func (s *state) partCuts(pl placement, g geom.Region) {
	p := s.file.Parts[pl.part]
	key := fmt.Sprintf("part.%d", pl.part)
	name := fmt.Sprintf("%s %d", p.Name, pl.copy+1)
	s.w.Parts = append(s.w.Parts, work.Part{Name: name, Mark: p.Mark, Region: g.Transform(pl.frame), Frame: pl.frame, FileRef: p.Drawing,
		Kind: p.Name, Copy: pl.copy + 1, Of: max(0, countOf(p.Quantity)), Job: p.job})
	part := len(s.w.Parts) - 1
	s.w.Parts[part].Fibre = s.partFibre(s.w.Parts[part].Region)
	s.judgeHoles(key, name, s.w.Parts[part])
	s.judgeFibre(p.Name, g, pl.frame)
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
		if c.TabSlot = p.TabSlots.of(hr); c.TabSlot != nil {
			c.Fit = nil // its slip is all that it gets
		}
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
