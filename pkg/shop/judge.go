package shop

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
)

// judge holds the finished data against the limits of the trade.
func (d *CuttingData) judge(m Machine, c Cutter, mat Material) diag.List {
	var list diag.List
	e := d.Engagement
	warn := func(sev diag.Severity, code string, v, limit float64, unit, message, help string) {
		list.Add(diag.Finding{Code: code, Severity: sev, Message: message, Help: help}.With(v, limit, unit))
	}
	lo, hi := d.Rule.Speed[0], d.Rule.Speed[1]
	if hi > 0 && d.Speed > hi*(1+1e-6) {
		warn(diag.Warn, "speed-high", d.Speed, hi, "m/min",
			fmt.Sprintf("cutting speed %.0f m/min is above the usual range up to %.0f m/min", d.Speed, hi),
			"turn slower or take a thinner cutter")
	}
	if d.Speed < lo*(1-1e-6) {
		warn(diag.Note, "speed-low", d.Speed, lo, "m/min",
			fmt.Sprintf("cutting speed %.0f m/min is below the usual range from %.0f m/min", d.Speed, lo),
			"the cut is clean as long as the feed per tooth is kept")
	}
	list.Add(d.judgeChip(m, c)...)
	if c.Form == FormCompression && d.Step < c.UpcutLength*(1-1e-9) && !e.Drill {
		warn(diag.Warn, "compression-shallow", d.Step, c.UpcutLength, "mm",
			fmt.Sprintf("passes of %.3g mm are shallower than the up-cut part of the compression cutter, %.3g mm: the top face frays", d.Step, c.UpcutLength),
			"cut at least that deep in one pass, or take another form of cutter")
	}
	if d.PowerShare > PowerLimit {
		warn(diag.Warn, "power-high", d.PowerShare*100, PowerLimit*100, "%",
			fmt.Sprintf("takes %.0f %% of the power that the spindle has at %.0f rpm, kc %.0f N/mm² assumed", d.PowerShare*100, d.RPM, d.Kc),
			"take shallower passes or a slower feed")
	}
	if e.Tolerance > 0 && d.DeflectionShare > DeflectionLimit {
		warn(diag.Warn, "deflection-high", d.Deflection, DeflectionLimit*e.Tolerance, "mm",
			fmt.Sprintf("cutter bends %.3f mm, more than half of the tolerance %.3g mm, kc %.0f N/mm² assumed", d.Deflection, e.Tolerance, d.Kc),
			"let the cutter stand out less, take shallower passes, a thicker cutter, or leave a finish pass")
	}
	if half := ruptureStrength(c.Material) / 2; d.Stress > half {
		warn(diag.Warn, "stress-high", d.Stress, half, "N/mm²",
			fmt.Sprintf("cutter is bent with %.0f N/mm² when dull, half of what breaks it is %.0f N/mm²", d.Stress, half),
			"take shallower passes, a slower feed or a thicker cutter")
	}
	return list
}

// judgeChip holds the chip against rubbing, the usual range and the runout.
func (d *CuttingData) judgeChip(m Machine, c Cutter) diag.List {
	var list diag.List
	add := func(sev diag.Severity, code string, v, limit float64, message, help string) {
		list.Add(diag.Finding{Code: code, Severity: sev, Message: message, Help: help}.With(v, limit, "mm"))
	}
	per, f := "tooth", d.FeedTooth
	if c.Flutes == 0 || c.Kind == Drill {
		per, f = "revolution", d.FeedRev
	}
	if h := math.Min(d.ChipMax, d.ChipAchieved); h < RubbingChip*(1-1e-9) {
		add(diag.Warn, "chip-rubbing", h, RubbingChip,
			fmt.Sprintf("largest chip is %.4f mm, below %.3f mm the cutter rubs and heats", h, RubbingChip),
			"feed faster or turn slower")
	}
	span, _ := d.Rule.feedRange(c)
	lo, hi := span[0]*d.ChipFactor, span[1]*d.ChipFactor
	switch {
	case hi > 0 && f > hi*(1+1e-6):
		add(diag.Warn, "feed-high", f, hi, fmt.Sprintf("feed per %s %.4f mm is above the usual range up to %.4f mm", per, f, hi), "feed slower or turn faster")
	case f < lo*0.98: // rounding down takes up to a hundredth
		add(diag.Note, "feed-low", f, lo, fmt.Sprintf("feed per %s %.4f mm is below the usual range from %.4f mm", per, f, lo), "feed faster or turn slower")
	}
	if c.Flutes > 1 && c.Kind != Drill && m.Runout > RunoutLimit*d.FeedTooth {
		add(diag.Warn, "runout-high", m.Runout, RunoutLimit*d.FeedTooth,
			fmt.Sprintf("runout %.3f mm against a feed per tooth of %.4f mm: one tooth takes up to %.4f mm", m.Runout, d.FeedTooth, d.RunoutSplit[1]),
			"clean or change the collet, or feed faster")
	}
	return list
}
