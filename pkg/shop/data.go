package shop

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
)

// Limits of the trade that Data warns at. Common practice, no source, unless
// another source is named.
const (
	// PowerLimit is the largest share of the spindle's power at the speed used.
	PowerLimit = 0.8
	// DeflectionLimit is the largest share of the tolerance that the cutter may bend.
	DeflectionLimit = 0.5
	// RubbingChip is the thinnest largest chip that is still cut, mm.
	RubbingChip = 0.005
	// RunoutLimit is the largest runout in parts of the feed per tooth.
	RunoutLimit = 0.5
	// DullFactor is by how much forces are taken to rise on a dull cutter.
	DullFactor = 2
	// PlungeShare is the feed straight down in parts of the feed along the path.
	PlungeShare = 1.0 / 3
	// RampShare is the feed on a ramp in parts of the feed along the path.
	RampShare = 0.5
)

// ruptureStrength is the bending strength of cutter materials, N/mm² (from
// memory: usual transverse rupture strength of micrograin carbide).
func ruptureStrength(material string) float64 {
	if material == "hss" {
		return 2500
	}
	return 3000
}

// CuttingData is how fast and how deep a cutter goes, and what follows from it.
// Forces, power and bending are estimates from the specific cutting force, which
// for composites, wood and foam is known to ±100 % at best.
type CuttingData struct {
	Machine, Cutter, Material string
	Mode                      string     // "slot", "side cut", "finish pass", "drilling"
	Engagement                Engagement // as used, with the width filled in
	Rule                      Rule       // row of cutting data used
	RuleExact                 bool       // the row is of the cutter's own form

	RPM         float64    // spindle speed n
	Speed       float64    // cutting speed vc, m/min
	FeedXY      float64    // feed along the path, mm/min; of a drill, its feed down
	FeedRamp    float64    // feed along a ramp or helix, mm/min
	FeedPlunge  float64    // feed straight down, mm/min
	FeedTooth   float64    // fz, mm; 0 for a burr, which has no countable teeth
	FeedRev     float64    // f, mm
	Step        float64    // depth of each of the equal passes, mm
	Passes      int        // their number, 0 when the depth was not said
	Peck        float64    // depth of a peck, mm, 0 = one stroke
	ChipFactor  float64    // by how much the feed is raised for the thinner chip of a light side cut
	ChipMax     float64    // largest chip h, mm; the feed per revolution for a burr
	ChipMean    float64    // mean chip hm, mm
	RunoutSplit [2]float64 // chip of the least and of the most loaded tooth, mm

	RemovalRate    float64    // Q, cm³/min
	Kc             float64    // specific cutting force used, N/mm²
	KcRange        [2]float64 // its range
	Power          float64    // cutting power, kW
	PowerAvailable float64    // what the spindle gives at RPM, kW: torque constant below its top speed
	PowerShare     float64    // Power over PowerAvailable
	Torque         float64    // N·m
	ForceSharp     float64    // mean tangential force, N
	ForceDull      float64    // the same, dull cutter
	ForcePeak      float64    // force of the most loaded tooth at its largest chip, sharp, N

	Deflection      float64 // bend of the cutter's tip under ForceSharp, mm
	DeflectionDull  float64 // under ForceDull, mm
	DeflectionShare float64 // Deflection over the tolerance, 0 without tolerance
	Stress          float64 // bending stress under DullFactor·ForcePeak, N/mm²
	Slenderness     float64 // stick-out over diameter

	Life         float64 // cutting length until blunt, m, 0 unknown
	FeedAchieved float64 // feed reached on blocks of the typical length, mm/min
	ChipAchieved float64 // largest chip at that feed, mm

	tool                 Cutter // for the listing
	kcSource, lifeSource string
}

// Data works out the cutting data of a cutter in a material on a machine. Where
// the engagement asks for a speed, feed or pass that is used and judged; else
// the choice is a cutting speed in the lower quarter of its range for abrasive
// materials and in the middle for others, a feed in the middle, and passes in the
// middle of their range for slots and at its upper end for side cuts, made
// shallower where power or bending ask for it. Every choice keeps to the limits
// of cutter and machine and is rounded down. When the list blocks, the data are
// not to be used; without usable inputs they are zero.
func Data(m Machine, c Cutter, mat Material, e Engagement) (CuttingData, diag.List) {
	list := inputs(m, c, mat, e)
	if e.Drill && c.Kind != Drill { // a centre-cutting end mill used as a drill
		e.Drill, e.Slot, e.Plunge = false, true, true
	}
	e = e.resolved(c)
	d := CuttingData{Machine: m.Name, Cutter: c.Name, Material: mat.Name, Engagement: e, Mode: e.mode(), tool: c}
	if list.Blocks() {
		return d, labelled(list, d)
	}
	list.Add(use(c, mat, e)...)
	list.Add(d.chooseRule(c, mat)...)
	if list.Blocks() {
		return d, labelled(list, d)
	}
	list.Add(d.chooseSpeed(m, c, mat)...)
	if list.Blocks() {
		return d, labelled(list, d)
	}
	list.Add(d.chooseFeed(m, c)...)
	list.Add(d.chooseStep(c)...)
	if list.Blocks() {
		return d, labelled(list, d)
	}
	d.loads(m, c, mat)
	d.easeStep(c)
	d.loads(m, c, mat)
	list.Add(d.judge(m, c, mat)...)
	return d, labelled(list, d)
}

// chooseRule finds the row of cutting data. Without one the data must be asked
// for in full, and then nothing is there to judge them by.
func (d *CuttingData) chooseRule(c Cutter, mat Material) diag.List {
	e := d.Engagement
	rule, exact, ok := mat.RuleFor(c.Form)
	if ok {
		_, ok = rule.feedRange(c)
	}
	help := fmt.Sprintf("take another form of cutter, add [[material.%s.rule]] with form = %q to your profiles, or give speed, feed and depth per pass", mat.Name, c.Form)
	switch {
	case !ok && e.RPM > 0 && e.Feed > 0 && (e.Pass > 0 || e.Drill):
		d.Rule.Source = "asked for"
		return diag.List{{Code: "data-unjudged", Severity: diag.Warn, Help: help,
			Message: fmt.Sprintf("%s has no cutting data for a %s, speed and feed are as asked for and not judged", mat.Name, c.Form)}}
	case !ok:
		return diag.List{{Code: "data-missing", Severity: diag.Stop, Help: help,
			Message: fmt.Sprintf("%s has no cutting data for a %s", mat.Name, c.Form)}}
	}
	d.Rule, d.RuleExact = rule, exact
	if !exact {
		return diag.List{{Code: "data-borrowed", Severity: diag.Note,
			Message: fmt.Sprintf("cutting data of a %s are used for a %s", rule.Form, c.Form)}}
	}
	return nil
}

// labelled names the cutter and material that the findings are about.
func labelled(list diag.List, d CuttingData) diag.List {
	for i := range list {
		if list[i].Subject == "" {
			list[i].Subject = d.Cutter + " in " + d.Material
		}
	}
	return list
}

// use refuses what the cutter is not made for.
func use(c Cutter, mat Material, e Engagement) diag.List {
	var list diag.List
	if e.Depth > c.FluteLength || e.Pass > c.FluteLength {
		v := math.Max(e.Depth, e.Pass)
		list.Add(diag.Finding{Code: "flute-short", Severity: diag.Stop,
			Message: fmt.Sprintf("cut is %.3g mm deep, the flutes are %.3g mm long", v, c.FluteLength),
			Help:    "take a cutter with longer flutes or cut less deep"}.With(v, c.FluteLength, "mm"))
	}
	if e.Depth > c.StickOut {
		list.Add(diag.Finding{Code: "stickout-short", Severity: diag.Stop,
			Message: fmt.Sprintf("cut is %.3g mm deep, the cutter stands out %.3g mm", e.Depth, c.StickOut),
			Help:    "let the cutter stand out further"}.With(e.Depth, c.StickOut, "mm"))
	}
	if e.Plunge && !c.CentreCutting {
		list.Add(diag.Finding{Code: "plunge-not-centre-cutting", Severity: diag.Stop,
			Message: "plunges straight down with a cutter that does not cut at its centre",
			Help:    "enter by a ramp or helix, pre-drill the entry, or take a centre-cutting cutter"})
	}
	if c.Kind == Drill && !e.Drill {
		list.Add(diag.Finding{Code: "drill-sideways", Severity: diag.Stop,
			Message: "a drill cannot cut sideways", Help: "take an end mill or a burr for this cut"})
	}
	if e.Drill && e.Through && !e.Backed && mat.Laminate() {
		list.Add(diag.Finding{Code: "drill-unbacked", Severity: diag.Warn,
			Message: "drills through a laminate with nothing behind it, the exit splinters",
			Help:    "put firm backing under the exit, or open the hole by a helix (kind = \"bore\")"})
	}
	return list
}

// topRPM is the highest speed allowed and whose limit it is.
func topRPM(m Machine, c Cutter) (float64, string) {
	if c.MaxRPM < m.SpindleMax {
		return c.MaxRPM, "cutter"
	}
	return m.SpindleMax, "spindle"
}

func (d *CuttingData) chooseSpeed(m Machine, c Cutter, mat Material) diag.List {
	var list diag.List
	top, whose := topRPM(m, c)
	n := d.Engagement.RPM
	asked := n > 0
	if !asked {
		share := 0.5
		if mat.Abrasive {
			share = 0.25
		}
		vc := d.Rule.Speed[0] + float64(share*(d.Rule.Speed[1]-d.Rule.Speed[0]))
		n = math.Max(m.SpindleMin, roundDown(math.Min(SpindleSpeed(vc, c.Diameter), top), 100))
	}
	switch {
	case n > top*(1+1e-9):
		list.Add(diag.Finding{Code: "rpm-high", Severity: diag.Stop,
			Message: fmt.Sprintf("spindle speed %.0f rpm is above the top speed of the %s, %.0f rpm", n, whose, top),
			Help:    fmt.Sprintf("run at %.0f rpm or slower, or take another cutter", top)}.With(n, top, "rpm"))
	case n < m.SpindleMin*(1-1e-9):
		list.Add(diag.Finding{Code: "rpm-low", Severity: diag.Stop,
			Message: fmt.Sprintf("spindle speed %.0f rpm is below what the spindle can run at, %.0f rpm", n, m.SpindleMin),
			Help:    fmt.Sprintf("run at %.0f rpm or faster", m.SpindleMin)}.With(n, m.SpindleMin, "rpm"))
	}
	d.RPM = n
	d.Speed = CuttingSpeed(c.Diameter, n)
	return list
}

// teeth is what the feed is counted by: teeth, or revolutions for burrs and drills.
func teeth(c Cutter) float64 {
	if c.Flutes == 0 || c.Kind == Drill {
		return 1
	}
	return float64(c.Flutes)
}

func (d *CuttingData) chooseFeed(m Machine, c Cutter) diag.List {
	var list diag.List
	e := d.Engagement
	limit, axis := m.FeedXY, "X and Y"
	if e.Drill {
		limit, axis = m.FeedZ, "Z"
	}
	d.ChipFactor = 1
	if c.Flutes > 0 && !e.Drill {
		// Below a twentieth of the diameter the factor is held: common practice,
		// since runout and bending are then larger than the chip.
		d.ChipFactor = ChipFactor(math.Max(e.Width, c.Diameter/20), c.Diameter)
	}
	span, _ := d.Rule.feedRange(c)
	vf := e.Feed
	if vf == 0 {
		f := (span[0] + span[1]) / 2 * d.ChipFactor
		if e.RPM == 0 { // a machine too slow for the speed turns slower, so that it still cuts
			// not below its range of speed, unless even the least feed per tooth asks for it
			slow := math.Min(SpindleSpeed(d.Rule.Speed[0], c.Diameter), limit/(teeth(c)*span[0]*d.ChipFactor))
			slow = math.Max(m.SpindleMin, roundDown(slow, 100))
			if n := roundDown(limit/(teeth(c)*f), 100); n < d.RPM {
				d.RPM = math.Min(d.RPM, math.Max(n, slow))
				d.Speed = CuttingSpeed(c.Diameter, d.RPM)
			}
		}
		vf = math.Min(d.RPM*teeth(c)*f, limit)
		vf = roundFeed(vf)
	} else if vf > limit*(1+1e-9) {
		list.Add(diag.Finding{Code: "feed-limit", Severity: diag.Stop,
			Message: fmt.Sprintf("feed %.0f mm/min is above what %s can do, %.0f mm/min", vf, axis, limit),
			Help:    fmt.Sprintf("feed at %.0f mm/min or slower", limit)}.With(vf, limit, "mm/min"))
	}
	d.FeedXY = vf
	d.FeedRamp = roundFeed(vf * RampShare)
	d.FeedPlunge = roundFeed(math.Min(vf*PlungeShare, m.FeedZ))
	if e.Drill {
		d.FeedRamp, d.FeedPlunge = vf, vf
	}
	d.FeedRev = vf / d.RPM
	switch {
	case e.Drill:
		d.FeedTooth = d.FeedRev / 2
		d.ChipMax, d.ChipMean = d.FeedTooth, d.FeedTooth
	case c.Flutes == 0:
		d.ChipMax, d.ChipMean = d.FeedRev, ChipMean(d.FeedRev, e.Width, c.Diameter)
	default:
		d.FeedTooth = d.FeedRev / float64(c.Flutes)
		d.ChipMax = ChipMax(d.FeedTooth, e.Width, c.Diameter)
		d.ChipMean = ChipMean(d.FeedTooth, e.Width, c.Diameter)
	}
	return list
}

// roundDown rounds to a multiple of unit, downwards; values below unit stay.
func roundDown(v, unit float64) float64 {
	if v < unit {
		return v
	}
	return math.Floor(v/unit+1e-9) * unit
}

func roundFeed(v float64) float64 {
	if v >= 100 {
		return roundDown(v, 10)
	}
	return roundDown(v, 1)
}

// stepRange is the depth per pass that the rule gives, mm.
func (r Rule) stepRange(c Cutter) [2]float64 {
	lo, hi := r.Step[0]*c.Diameter, r.Step[1]*c.Diameter
	if r.StepMax > 0 {
		if hi == 0 {
			hi = r.StepMax
		}
		lo, hi = math.Min(lo, r.StepMax), math.Min(hi, r.StepMax)
	}
	return [2]float64{math.Min(lo, c.FluteLength), math.Min(hi, c.FluteLength)}
}

func (d *CuttingData) chooseStep(c Cutter) diag.List {
	var list diag.List
	e := d.Engagement
	if e.Drill {
		d.Peck = d.Rule.Peck * c.Diameter
		d.Step, d.Passes = e.Depth, 1
		return nil
	}
	span := d.Rule.stepRange(c)
	ap := e.Pass
	switch {
	case ap > 0:
		if span[1] > 0 && ap > span[1]*(1+1e-9) && !e.Finish {
			list.Add(diag.Finding{Code: "step-high", Severity: diag.Warn,
				Message: fmt.Sprintf("passes of %.3g mm are deeper than the %.3g mm that the material's data give", ap, span[1]),
				Help:    "take shallower passes, or a stiffer cutter"}.With(ap, span[1], "mm"))
		}
	case e.Finish && e.Depth > 0:
		ap = e.Depth
	case e.Slot:
		ap = (span[0] + span[1]) / 2
	default:
		ap = span[1]
	}
	d.setStep(ap)
	if !(d.Step > 0) {
		list.Add(diag.Finding{Code: "number-bad", Severity: diag.Stop, Input: true,
			Message: "depth per pass is 0 or far too small", Help: "give a depth per pass above 0"}.With(ap, 0, "mm"))
	}
	return list
}

// setStep divides the depth into equal passes of at most ap.
func (d *CuttingData) setStep(ap float64) {
	d.Step, d.Passes = ap, 0
	if d.Engagement.Depth > 0 {
		d.Passes, d.Step = Passes(d.Engagement.Depth, ap)
	}
}

// easeStep makes the passes shallower where power or bending ask for it: both
// grow with the depth of the pass. It never goes below the rule's own range.
func (d *CuttingData) easeStep(c Cutter) {
	e := d.Engagement
	if e.Drill || e.Pass > 0 || e.Finish {
		return
	}
	worst := math.Max(d.PowerShare/PowerLimit, d.DeflectionShare/DeflectionLimit)
	if worst <= 1 {
		return
	}
	ap := math.Max(d.Step/worst, d.Rule.stepRange(c)[0])
	if ap > 0 && ap < d.Step {
		d.setStep(ap)
	}
}

// loads works out removal, power, forces and bending from speed, feed and step.
func (d *CuttingData) loads(m Machine, c Cutter, mat Material) {
	e := d.Engagement
	d.Kc = mat.ForceAt(d.ChipMean)
	d.KcRange = [2]float64{d.Kc * mat.KcLow / mat.Kc, d.Kc * mat.KcHigh / mat.Kc}
	d.kcSource = mat.Source["kc_n_mm2"]
	if mat.Kc11 > 0 {
		d.kcSource = mat.Source["kc11_n_mm2"]
	}
	d.PowerAvailable = m.Power / 1000 * math.Min(1, d.RPM/m.SpindleMax)
	if e.Drill {
		d.RemovalRate = math.Pi / 4 * c.Diameter * c.Diameter * d.FeedXY / 1000
		d.Torque = DrillTorque(d.Kc, d.FeedRev, c.Diameter)
		d.Power = PowerOfTorque(d.Torque, d.RPM)
		d.ForceSharp = d.Torque * 2000 / c.Diameter
		d.ForcePeak = d.ForceSharp
	} else {
		d.RemovalRate = RemovalRate(d.Step, e.Width, d.FeedXY)
		d.Power = CuttingPower(d.Step, e.Width, d.FeedXY, d.Kc)
		d.Torque = SpindleTorque(d.Power, d.RPM)
		d.ForceSharp = TangentialForce(d.Power, d.Speed)
		d.ForcePeak = d.ForceSharp
		if c.Flutes > 0 {
			h := d.ChipMax * RunoutChip(d.FeedTooth, m.Runout, c.Flutes) / d.FeedTooth
			d.ForcePeak = math.Max(d.ForceSharp, mat.ForceAt(h)*d.Step*h)
		}
		d.Deflection = c.BendUnder(d.ForceSharp)
		d.DeflectionDull = c.BendUnder(d.ForceSharp * DullFactor)
		d.Stress = c.StressUnder(d.ForcePeak * DullFactor)
		if e.Tolerance > 0 {
			d.DeflectionShare = d.Deflection / e.Tolerance
		}
	}
	d.ForceDull = d.ForceSharp * DullFactor
	d.PowerShare = d.Power / d.PowerAvailable
	d.RunoutSplit = [2]float64{d.FeedTooth, d.FeedTooth}
	if c.Flutes > 1 && !e.Drill {
		most := RunoutChip(d.FeedTooth, m.Runout, c.Flutes)
		d.RunoutSplit = [2]float64{math.Max(0, 2*d.FeedTooth-most), most}
	}
	d.Slenderness = c.StickOut / c.Diameter
	d.Life, d.lifeSource = c.Life, c.Source["life_m"]
	if d.Life == 0 {
		d.Life, d.lifeSource = d.Rule.Life[0], d.Rule.Source
		if c.Material == "carbide-diamond-coated" || c.Material == "pcd" {
			d.Life *= 10 // 50 to 200 m against 5 to 20 m uncoated in CFRP: common practice, no source
		}
	}
	d.FeedAchieved, d.ChipAchieved = d.FeedXY, d.ChipMax
	if e.Block > 0 {
		d.FeedAchieved = AchievedFeed(e.Block, d.FeedXY, m.Accel)
		d.ChipAchieved = d.ChipMax * d.FeedAchieved / d.FeedXY
	}
}
