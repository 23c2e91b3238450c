package plan

import (
	"fmt"

	"sparclear/pkg/diag"
	"sparclear/pkg/work"
)

// Option is a number that a cut may carry in its options beside the keys that
// every cut has.
type Option struct {
	Name    string
	Unit    string // "mm", "°", "×D" (parts of the diameter), "yes/no" (0 or 1), "" for a count
	Default string // what holds when it is absent
	Help    string
	Kinds   []work.Kind
}

// Options lists every option there is, with the kinds of cut that read it.
func Options() []Option {
	rings := []work.Kind{work.Opening, work.PartCut, work.Door, work.Chamfer}
	areas := []work.Kind{work.Pocket, work.Rebate, work.Slot, work.Opening}
	walls := []work.Kind{work.Opening, work.PartCut, work.Pocket, work.Rebate, work.Slot}
	ringsAndAreas := append(append([]work.Kind(nil), rings...), work.Pocket, work.Rebate, work.Slot)
	return []Option{
		{"start_x", "mm", "middle of the longest straight", "where the cut begins, on the drawing; with start_y", ringsAndAreas},
		{"start_y", "mm", "middle of the longest straight", "where the cut begins, on the drawing; with start_x", ringsAndAreas},
		{"lead_radius", "mm", "the diameter, at least 1", "radius of the arcs in and out; halved until they fit", walls},
		{"overlap", "mm", "the radius, at least 1", "how far a round goes on past where it began", ringsAndAreas},
		{"finish_climb", "yes/no", "as the cut", "whether the finish pass climbs", walls},
		{"finish_passes", "", "1", "how often the finished edge is gone round", walls},
		{"tab_ramp_deg", "°", "20; 10 when the cutter does not cut at its centre", "how steeply the cutter goes down after a tab", rings},
		{"tab_step", "yes/no", "0", "straight up and down beside a tab; needs a centre-cutting cutter", rings},
		{"skin", "mm", "0; 0.3 where a finish pass would else cut what is loose", "left under the contour until a last, light pass after all else of the piece", []work.Kind{work.Opening, work.PartCut, work.Door}},
		{"clear", "yes/no", "0", "clears the whole opening, so that no slug comes loose", []work.Kind{work.Opening}},
		{"stepover", "×D", "0.45", "distance of the rings, at most 0.5", areas},
		{"ledge", "mm", "0, the whole outline", "width of the ledge along the outline; past the edge of the opening, or a ridge stays", []work.Kind{work.Rebate}},
		{"doubler", "mm", "0", "thickness of what lies below the skin by declaration", []work.Kind{work.Rebate, work.Score}},
		{"width", "mm", "the diameter", "width of a slot along its centre line, or of a groove", []work.Kind{work.Slot, work.Score}},
		{"cut", "mm", "3", "length of the slots of a perforation, at their ends", []work.Kind{work.Score}},
		{"bridge", "mm", "0, a groove", "length of the bridges of a perforation", []work.Kind{work.Score}},
		{"spot", "mm", "0", "depth of a first touch before drilling", []work.Kind{work.Drill}},
		{"gap", "mm", "1", "widest gap round a door that is not warned of", []work.Kind{work.Door}},
		{"x", "mm", "the first point of the layer", "where a text begins, on the drawing; with y", []work.Kind{work.Mark}},
		{"y", "mm", "the first point of the layer", "where a text begins, on the drawing; with x", []work.Kind{work.Mark}},
		{"height", "mm", "3", "height of the letters", []work.Kind{work.Mark}},
		{"turn_deg", "°", "0", "direction of the text, from the X axis of the drawing", []work.Kind{work.Mark}},
	}
}

// optionsFor lists the names that a kind of cut reads.
func optionsFor(k work.Kind) []string {
	var out []string
	for _, o := range Options() {
		for _, kind := range o.Kinds {
			if kind == k {
				out = append(out, o.Name)
			}
		}
	}
	return out
}

// optionsHold refuses options that this kind of cut does not read: a mistyped
// name would be passed over in silence.
func (j *job) optionsHold() bool {
	if len(j.c.Options) == 0 {
		return true
	}
	names := optionsFor(j.c.Kind)
	known := map[string]bool{}
	for _, n := range names {
		known[n] = true
	}
	ok := true
	for _, k := range sortedKeys(j.c.Options) {
		if known[k] {
			continue
		}
		help := diag.DidYouMean(k, names)
		if help == "" {
			help = "leave it out: this kind of cut has no options"
		}
		f := j.finding(diag.Stop, "option-unknown", fmt.Sprintf("a cut of kind %s has no option %q", j.c.Kind, k), help)
		f.Input = true
		j.add(f)
		ok = false
	}
	return ok
}
