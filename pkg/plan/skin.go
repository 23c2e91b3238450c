package plan

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
)

const (
	usualSkin = 0.3 // mm that are left for the last pass where nobody says how much (common practice, no source: 0.1 to 0.3)
	freeFeed  = 0.5 // feed of the last pass in parts of that of the cut (common practice, no source)
	skinEntry = 0.05
)

// lastSkin is the thickness of the skin that stays under a contour until all else
// of the piece is done: what the option skin says; and by itself where a finish
// pass follows and nothing holds the piece, since roughing through would have the
// finish pass cut what is loose. 0 for none. The key onion is another thing: a
// skin that stays for good and is cut by hand.
func (j *job) lastSkin(e edge, tabs int) (float64, bool) {
	skin, said := j.c.Options["skin"]
	unsure := j.d.err + j.d.rise() + j.w.ThickTol
	switch {
	case said && skin < 0:
		return 0, j.refuseNumber("skin", skin, "0 or more")
	case skin > 0 && (!j.c.Through || j.c.Onion > 0):
		j.stop("skin-and-onion", "a skin for the last pass is asked for on a cut that does not go through", "leave out skin where a skin stays for good (onion), or say through = true")
		return 0, false
	case skin > 0 && tabs > 0:
		j.stop("tabs-and-onion", "tabs and a skin for the last pass are both asked for", "leave out one of them")
		return 0, false
	case said && skin == 0 || !j.c.Through || j.c.Onion > 0 || tabs > 0:
		return 0, true
	case !said && (j.c.Finish <= 0 || e.onPath || e.inside && j.slugVanishes(e)):
		return 0, true
	case !said:
		skin = math.Max(usualSkin, unsure+0.1)
	}
	if skin <= unsure {
		f := j.finding(diag.Stop, "layer-unsure", fmt.Sprintf("a skin of %.3f mm is no more than slope, thickness and height error (%.3f mm) may take", skin, unsure),
			"leave a thicker skin, touch more heights, or use a thinner cutter")
		j.add(j.at(f.With(skin, unsure, "mm"), e.outline.Bounds().Center()))
		return 0, false
	}
	if skin >= j.w.Thickness-skinEntry {
		if !said { // so thin a sheet is cut in one go
			return 0, true
		}
		f := j.finding(diag.Stop, "skin-thick", fmt.Sprintf("a skin of %.3f mm is all of the %.3f mm", skin, j.w.Thickness), "leave a thinner skin")
		j.add(f.With(skin, j.w.Thickness, "mm"))
		return 0, false
	}
	return skin, true
}

// bottomAbove is the bottom that leaves the skin.
func (j *job) bottomAbove(skin float64) float64 {
	return j.w.Thickness + j.tip() - skin - j.d.rise()
}

// aboveSkin is the cut as deep as the skin allows: it keeps its thickness under
// the centre of the cutter wherever the skin of the work slopes less.
func (j *job) aboveSkin(skin float64) (*job, bool) {
	k := *j
	k.d.bottom = j.bottomAbove(skin)
	if k.d.bottom <= j.d.top()+skinEntry {
		f := j.finding(diag.Stop, "skin-thick", fmt.Sprintf("above a skin of %.3f mm nothing is left to cut on this slope", skin), "leave a thinner skin, or use a thinner cutter")
		j.add(f.With(skin, j.w.Thickness, "mm"))
		return nil, false
	}
	return &k, true
}

// free is the last pass through the skin: down in the kerf, by a ramp where the
// cutter does not cut at its centre, round once at half the feed, and a little
// further.
func (j *job) free(e edge, contour op, skin float64) (op, bool) {
	c := *j.c
	c.Feed *= freeFeed
	k := *j
	k.c = &c
	t := k.startTrack(e.final, c.Climb)
	above := j.bottomAbove(skin)
	r := runner{job: &k, t: &t, climb: c.Climb}
	r.nominal = above - skinEntry
	if !j.cutter.CentreCutting {
		r.nominal = j.d.surface() // such a cutter goes down by ramps alone, be it through air
	}
	r.legs.begin(t.segs[0].A, r.nominal)
	n := int(math.Max(1, math.Ceil((j.d.bottom-above)/c.Step-hair)))
	for i := range n {
		r.newPass()
		d := above + float64((j.d.bottom-above)*float64(i+1)/float64(n))
		if i == n-1 {
			d = j.d.bottom
		}
		if !r.rampTo(d) {
			return op{}, false
		}
		r.round(d)
	}
	r.closeUp()
	o := contour
	o.name, o.legs, o.rank = "free", r.list, contour.rank+1
	o.notes = []string{fmt.Sprintf("last pass through %.2f mm of skin, feed %.0f mm/min", skin, c.Feed)}
	if e.onPath {
		o.rank = rankOpeningFree
	}
	o.measure(j.r)
	return o, true
}
