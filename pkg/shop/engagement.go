package shop

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
)

// Engagement says how a cutter is used: what Data works from. Lengths mm. Zero
// values mean "not said"; Data then chooses from the material's rule.
type Engagement struct {
	Slot      bool    // full width; Width is then the diameter
	Width     float64 // working engagement ae, 0 = slot
	Depth     float64 // depth of the whole cut or hole below the surface, 0 = one pass of the rule
	Pass      float64 // depth per pass ap that is asked for, 0 = choose
	Tolerance float64 // how far the finished edge may lie from the drawn one, 0 = not checked
	Drill     bool    // straight down with a drill
	Plunge    bool    // goes straight down into full material (not a ramp or helix)
	Through   bool    // comes out below
	Backed    bool    // firm backing under the exit
	RPM       float64 // asked for, 0 = choose
	Feed      float64 // feed along the path asked for, mm/min, 0 = choose; of a drill, its feed down
	Finish    bool    // a finish pass: full depth, light engagement
	Block     float64 // typical length of a block of the path, 0 = long
}

// mode returns the words for the engagement that listings use.
func (e Engagement) mode() string {
	switch {
	case e.Drill:
		return "drilling"
	case e.Slot:
		return "slot"
	case e.Finish:
		return "finish pass"
	}
	return "side cut"
}

// resolved returns e with a missing width filled in.
func (e Engagement) resolved(c Cutter) Engagement {
	if e.Drill {
		e.Slot, e.Width = false, c.Diameter
		return e
	}
	if e.Slot || e.Width == 0 {
		e.Slot, e.Width = true, c.Diameter
	}
	return e
}

// inputs refuses numbers that nothing can be worked out from.
func inputs(m Machine, c Cutter, mat Material, e Engagement) diag.List {
	var list diag.List
	for _, q := range []struct {
		name, unit string
		v          float64
		zeroOK     bool
	}{
		{"diameter of the cutter", "mm", c.Diameter, false},
		{"flute length of the cutter", "mm", c.FluteLength, false},
		{"stick-out of the cutter", "mm", c.StickOut, false},
		{"shank of the cutter", "mm", c.Shank, true},
		{"core of the cutter", "D", c.Core, true},
		{"top speed of the cutter", "rpm", c.MaxRPM, false},
		{"life of the cutter", "m", c.Life, true},
		{"number of teeth of the cutter", "", float64(c.Flutes), true},
		{"up-cut length of the cutter", "mm", c.UpcutLength, true},
		{"fastest feed in X and Y", "mm/min", m.FeedXY, false},
		{"fastest feed in Z", "mm/min", m.FeedZ, false},
		{"acceleration of the machine", "mm/s²", m.Accel, false},
		{"lowest speed of the spindle", "rpm", m.SpindleMin, true},
		{"top speed of the spindle", "rpm", m.SpindleMax, false},
		{"power of the spindle", "W", m.Power, false},
		{"runout of the machine", "mm", m.Runout, true},
		{"specific cutting force of the material", "N/mm²", mat.Kc, false},
		{"width of the cut", "mm", e.Width, true},
		{"depth of the cut", "mm", e.Depth, true},
		{"depth per pass", "mm", e.Pass, true},
		{"tolerance", "mm", e.Tolerance, true},
		{"spindle speed asked for", "rpm", e.RPM, true},
		{"feed asked for", "mm/min", e.Feed, true},
		{"length of a block", "mm", e.Block, true},
	} {
		bad := ""
		switch {
		case math.IsNaN(q.v) || math.IsInf(q.v, 0):
			bad = "is not finite"
		case q.v < 0:
			bad = "is negative"
		case q.v == 0 && !q.zeroOK:
			bad = "is 0"
		}
		if bad != "" {
			list.Add(diag.Finding{Code: "number-bad", Severity: diag.Stop, Input: true,
				Message: q.name + " " + bad, Help: "give the " + q.name + " as a number above 0"}.With(q.v, 0, q.unit))
		}
	}
	if !list.Blocks() && e.Width > c.Diameter*(1+1e-9) {
		list.Add(diag.Finding{Code: "engagement-wide", Severity: diag.Stop, Input: true,
			Message: fmt.Sprintf("width of the cut %.3g mm is more than the cutter's diameter %.3g mm", e.Width, c.Diameter),
			Help:    "take a wider cutter or several passes side by side"}.With(e.Width, c.Diameter, "mm"))
	}
	return list
}

// RuleFor returns the row of cutting data for a form of cutter. Where there is
// none of that very form, down-cut and compression cutters use the row of end
// mills; exact tells whether the row is of the form itself.
func (m Material) RuleFor(form string) (r Rule, exact, ok bool) {
	for _, r := range m.Rules {
		if r.Form == form {
			return r, true, true
		}
	}
	if form == FormDownCut || form == FormCompression {
		r, _, ok := m.RuleFor(FormEndMill)
		return r, false, ok
	}
	return Rule{}, false, false
}

// feedRange returns the feed per tooth (per revolution for burrs and drills) that
// a rule gives for a cutter, mm, and whether it gives one.
func (r Rule) feedRange(c Cutter) (span [2]float64, ok bool) {
	perRev := c.Flutes == 0 || c.Kind == Drill
	switch {
	case perRev && r.FeedRev[1] > 0:
		return r.FeedRev, true
	case perRev:
		return span, false
	case r.FeedToothMM[1] > 0:
		return r.FeedToothMM, true
	case r.FeedTooth[1] > 0:
		return [2]float64{r.FeedTooth[0] * c.Diameter, r.FeedTooth[1] * c.Diameter}, true
	case r.FeedRev[1] > 0:
		z := float64(c.Flutes)
		return [2]float64{r.FeedRev[0] / z, r.FeedRev[1] / z}, true
	}
	return span, false
}

// ForceAt returns the specific cutting force in N/mm² at the chip thickness h mm:
// Kienzle's where the material has its two numbers, else the constant.
func (m Material) ForceAt(h float64) float64 {
	if m.Kc11 > 0 && h > 0 {
		return Kienzle(m.Kc11, m.KcExp, h)
	}
	return m.Kc
}

// Measured returns the material with a measured specific cutting force kc in N/mm²
// in place of an estimate: taken as it is, whatever the chip, and as its own range.
// A value that is no force makes Data refuse it.
func (m Material) Measured(kc float64) Material {
	m = m.clone()
	m.Kc, m.KcLow, m.KcHigh, m.Kc11, m.KcExp = kc, kc, kc, 0, 0
	if m.Source == nil {
		m.Source = map[string]string{}
	}
	m.Source["kc_n_mm2"] = "measured, as given"
	return m
}
