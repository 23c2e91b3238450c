package shop

import "fmt"

// Row is one figure as it is shown: name, symbol of ISO 3002, value and unit,
// where it is from, and its range where one is known.
type Row struct {
	Name   string  `json:"name"`
	Symbol string  `json:"symbol,omitempty"`
	Value  float64 `json:"value"`
	Unit   string  `json:"unit,omitempty"`
	Source string  `json:"source"`
	Range  string  `json:"range,omitempty"`
}

// closedForm marks what follows from the other figures.
const closedForm = "closed form"

// commonPractice marks what has no source.
const commonPractice = "common practice, no source"

// between writes a range, "" when there is none.
func between(lo, hi float64) string {
	if hi == 0 && lo == 0 {
		return ""
	}
	return fmt.Sprintf("%.4g to %.4g", lo, hi)
}

// Rows lists the figures in the order of the work: speed, feed, depth, chip,
// load, bending, life. Figures that do not apply are left out.
func (d CuttingData) Rows() []Row {
	e := d.Engagement
	rule, estimate := d.Rule.Source, "estimate from kc"
	asked := func(by float64, otherwise string) string {
		if by > 0 {
			return "asked for"
		}
		return otherwise
	}
	var out []Row
	add := func(name, symbol string, v float64, unit, source, span string) {
		out = append(out, Row{name, symbol, v, unit, source, span})
	}
	scale := func(lo, hi float64) (float64, float64) {
		if d.Kc == 0 || d.KcRange[1] == 0 {
			return 0, 0
		}
		return lo * d.KcRange[0] / d.Kc, hi * d.KcRange[1] / d.Kc
	}
	add("spindle speed", "n", d.RPM, "rpm", asked(e.RPM, rule), "")
	add("cutting speed", "v_c", d.Speed, "m/min", asked(e.RPM, rule), between(d.Rule.Speed[0], d.Rule.Speed[1]))
	if e.Drill {
		add("feed down", "v_f", d.FeedPlunge, "mm/min", asked(e.Feed, rule), "")
	} else {
		add("feed", "v_f", d.FeedXY, "mm/min", asked(e.Feed, rule), "")
		add("feed on a ramp", "", d.FeedRamp, "mm/min", commonPractice, "")
		add("feed straight down", "", d.FeedPlunge, "mm/min", commonPractice, "")
	}
	span, _ := d.Rule.feedRange(d.tool)
	ofFeed := between(span[0]*d.ChipFactor, span[1]*d.ChipFactor)
	if d.FeedTooth > 0 && !e.Drill {
		add("feed per tooth", "f_z", d.FeedTooth, "mm", asked(e.Feed, rule), ofFeed)
		add("feed per revolution", "f", d.FeedRev, "mm", closedForm, "")
		add("feed factor for thin chips", "", d.ChipFactor, "", closedForm, "")
	} else {
		add("feed per revolution", "f", d.FeedRev, "mm", asked(e.Feed, rule), ofFeed)
	}
	if !e.Drill {
		add("width of cut", "a_e", e.Width, "mm", "asked for", "")
		add("depth per pass", "a_p", d.Step, "mm", asked(e.Pass, rule), between(d.Rule.Step[0]*d.tool.Diameter, d.Rule.Step[1]*d.tool.Diameter))
	}
	if d.Passes > 0 && !e.Drill {
		add("passes", "", float64(d.Passes), "", closedForm, "")
	}
	if d.Peck > 0 {
		add("depth of a peck", "", d.Peck, "mm", rule, "")
	}
	add("largest chip", "h", d.ChipMax, "mm", closedForm, "")
	add("mean chip", "h_m", d.ChipMean, "mm", closedForm, "")
	if d.RunoutSplit[1] > d.RunoutSplit[0] {
		add("chip of the most loaded tooth", "", d.RunoutSplit[1], "mm", closedForm, "")
		add("chip of the least loaded tooth", "", d.RunoutSplit[0], "mm", closedForm, "")
	}
	if d.FeedAchieved < d.FeedXY {
		add("feed reached on short blocks", "", d.FeedAchieved, "mm/min", closedForm, "")
		add("largest chip at that feed", "", d.ChipAchieved, "mm", closedForm, "")
	}
	add("removal rate", "Q", d.RemovalRate, "cm³/min", closedForm, "")
	add("specific cutting force", "k_c", d.Kc, "N/mm²", d.kcSource, between(d.KcRange[0], d.KcRange[1]))
	add("power", "P_c", d.Power, "kW", estimate, between(scale(d.Power, d.Power)))
	add("share of spindle power", "", d.PowerShare*100, "%", estimate, between(scale(d.PowerShare*100, d.PowerShare*100)))
	add("torque", "M", d.Torque, "N·m", estimate, between(scale(d.Torque, d.Torque)))
	add("force, sharp", "F_c", d.ForceSharp, "N", estimate, between(scale(d.ForceSharp, d.ForceSharp)))
	add("force, dull", "", d.ForceDull, "N", estimate, between(scale(d.ForceDull, d.ForceDull)))
	if !e.Drill {
		add("largest force of a tooth, sharp", "", d.ForcePeak, "N", estimate, between(scale(d.ForcePeak, d.ForcePeak)))
		add("bend of the cutter, sharp", "", d.Deflection, "mm", estimate, between(scale(d.Deflection, d.Deflection)))
		add("bend of the cutter, dull", "", d.DeflectionDull, "mm", estimate, "")
		if e.Tolerance > 0 {
			add("bend in parts of the tolerance", "", d.DeflectionShare*100, "%", estimate, between(scale(d.DeflectionShare*100, d.DeflectionShare*100)))
		}
		add("bending stress, dull", "", d.Stress, "N/mm²", estimate, "")
	}
	add("stick-out over diameter", "", d.Slenderness, "", closedForm, "")
	if d.Life > 0 {
		add("cutter life", "", d.Life, "m", d.lifeSource, between(d.Rule.Life[0], d.Rule.Life[1]))
	}
	return out
}
