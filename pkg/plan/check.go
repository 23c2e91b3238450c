package plan

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// Bounds that no real job comes near; they keep a slip of the pen from filling
// the memory.
const (
	mostTabs = 200
	mostLegs = 2_000_000 // motions of one operation
	farthest = 2e5       // size of what one cut touches, mm
)

// sizeHolds refuses an operation of more than mostLegs motions.
func (j *job) sizeHolds(legs float64) bool {
	if legs <= mostLegs {
		return true
	}
	f := j.finding(diag.Stop, "path-too-long", fmt.Sprintf("the path would have about %.0f motions", legs), "use a wider cutter, larger passes, or fewer points in the outline")
	j.add(f.With(legs, mostLegs, ""))
	return false
}

// workHolds refuses a work that cannot be planned at all.
func (p *planner) workHolds() bool {
	w := p.w
	bad := func(code, message, help string) bool {
		p.add(diag.Finding{Code: code, Severity: diag.Stop, Input: true, Subject: w.Name, Message: message, Help: help})
		return false
	}
	switch {
	case w.Skin == nil:
		return bad("skin-missing", "the height of the work is not known", "add [skin] or [[sheet]]")
	case !finite(w.SafeZ, w.Thickness, w.ThickTol, w.HeightTol, w.ChordTol):
		return bad("number-not-finite", "a height or thickness of the work is not a finite number", "correct the value in the job")
	case w.Thickness < 0 || w.ThickTol < 0 || w.HeightTol < 0 || w.ChordTol < 0:
		return bad("not-positive", "a thickness or tolerance of the work is below 0", "correct the value in the job")
	case !w.Skin.Flat() && w.HeightTol == 0:
		return bad("not-positive", "a curved skin needs a height tolerance above 0", "set height_tolerance, for example 0.005")
	}
	return true
}

func finite(vs ...float64) bool {
	for _, v := range vs {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

// number is one value of a cut with what it must hold.
type number struct {
	name string
	v    float64
	zero bool // 0 is allowed
}

// numbersHold refuses a cut with a number that is not finite or out of its range.
func (j *job) numbersHold() bool {
	c := j.c
	drill := c.Kind == work.Drill
	for _, n := range []number{
		{"depth", c.Depth, false}, {"limit", c.Limit, false}, {"depth per pass", c.Step, drill}, {"spindle speed", c.RPM, false},
		{"feed", c.Feed, drill}, {"plunge feed", c.Plunge, false}, {"ramp angle", c.Ramp, drill}, {"overcut", c.Overcut, true},
		{"finish allowance", c.Finish, true}, {"onion skin", c.Onion, true}, {"peck", c.Peck, true}, {"tolerance", c.Tol, true},
		{"diameter", c.Diameter, true}, {"tab width", c.Tabs.Width, true}, {"tab height", c.Tabs.Height, true},
	} {
		if j.numberHolds(n) {
			continue
		}
		return false
	}
	for _, k := range sortedKeys(c.Options) {
		if v := c.Options[k]; !finite(v) {
			return j.numberHolds(number{"option " + k, v, true})
		}
	}
	if !j.optionsHold() {
		return false
	}
	if c.Ramp >= math.Pi/2 && !drill {
		return j.refuseNumber("ramp angle", c.Ramp*180/math.Pi, "below 90°")
	}
	if c.Tabs.Count < 0 || c.Tabs.Count > mostTabs {
		return j.refuseNumber("number of tabs", float64(c.Tabs.Count), fmt.Sprintf("0 to %d", mostTabs))
	}
	if c.Cutter < 0 || c.Cutter >= len(j.w.Cutters) {
		j.stop("cutter-missing", "the cut names no cutter of the job", "add cutter = …")
		return false
	}
	if c.Relief != "" && c.Relief != "dogbone" && c.Relief != "tbone" {
		f := j.finding(diag.Stop, "relief-unknown", fmt.Sprintf("relief = %q is not known", c.Relief), diag.DidYouMean(c.Relief, []string{"dogbone", "tbone"}))
		f.Input = true
		j.add(f)
		return false
	}
	return j.placesHold()
}

func (j *job) numberHolds(n number) bool {
	switch {
	case !finite(n.v):
		f := j.finding(diag.Stop, "number-not-finite", fmt.Sprintf("%s is %v", n.name, n.v), "give a finite number")
		f.Input = true
		j.add(f)
		return false
	case n.v < 0 || n.v == 0 && !n.zero:
		want := "above 0"
		if n.zero {
			want = "0 or more"
		}
		return j.refuseNumber(n.name, n.v, want)
	}
	return true
}

func (j *job) refuseNumber(name string, v float64, want string) bool {
	f := j.finding(diag.Stop, "not-positive", fmt.Sprintf("%s is %g", name, v), "it must be "+want)
	f.Input = true
	j.add(f.With(v, 0, ""))
	return false
}

// placesHold refuses coordinates that are not finite, and outlines and lines of
// no size.
func (j *job) placesHold() bool {
	fault := func(code, message, help string) bool {
		f := j.finding(diag.Stop, code, message, help)
		f.Input = true
		j.add(f)
		return false
	}
	all := true
	for _, q := range j.c.Points {
		all = all && q.Finite()
	}
	whole := true
	for _, g := range j.c.Regions {
		for _, c := range g.Contours() {
			for _, v := range c {
				all = all && v.Finite() && finite(v.Bulge)
			}
			whole = whole && len(c) > 1 && math.Abs(c.Area()) > 1e-6
		}
	}
	for _, c := range j.c.Chains {
		for _, v := range c {
			all = all && v.Finite() && finite(v.Bulge)
		}
		whole = whole && len(c) > 1 && c.Length() > 1e-6
	}
	switch {
	case !all:
		return fault("number-not-finite", "a coordinate of the outline is not a finite number", "mend the drawing")
	case !whole:
		return fault("outline-degenerate", "an outline or line of this cut has no size", "take it out of the drawing")
	}
	return true
}

// cutterHolds refuses a cutter that cannot do this kind of cut.
func (j *job) cutterHolds() bool {
	t, c := j.cutter, j.c
	if !finite(t.Diameter, t.FluteLength, t.StickOut, t.Shank, t.PointAngle, t.CornerRadius) || t.Diameter <= 0 {
		f := j.finding(diag.Stop, "number-not-finite", fmt.Sprintf("cutter %s has a diameter of %v mm", t.Name, t.Diameter), "correct the profile of the cutter")
		f.Input = true
		j.add(f)
		return false
	}
	if t.Kind == shop.Drill && c.Kind != work.Drill {
		j.stop("cutter-cannot-mill", fmt.Sprintf("%s is a drill and cannot cut sideways", t.Name), "name a milling cutter, or use kind = \"drill\"")
		return false
	}
	return true
}

// reachHolds refuses a cutter that is too short for the deepest place of the
// cut, the slope of the skin and the point of the cutter included.
func (j *job) reachHolds() bool {
	t, depth := j.cutter, j.d.bottom+j.d.spread
	if depth > t.FluteLength+hair {
		f := j.finding(diag.Stop, "flute-too-short", fmt.Sprintf("%.2f mm deep, but the flutes of %s are %.2f mm long", depth, t.Name, t.FluteLength),
			"use a cutter with longer flutes, or cut less deep")
		j.add(f.With(depth, t.FluteLength, "mm"))
		return false
	}
	if t.StickOut > 0 && depth+approach > t.StickOut {
		f := j.finding(diag.Stop, "stickout-too-short", fmt.Sprintf("%.2f mm deep, but %s stands only %.2f mm out of the collet nut", depth, t.Name, t.StickOut),
			fmt.Sprintf("let the cutter stand out by at least %.1f mm", depth+approach))
		j.add(f.With(t.StickOut, depth+approach, "mm"))
		return false
	}
	return true
}
