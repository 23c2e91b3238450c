package plan

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

// depths is how deep a cut goes. Depths are measured from the base.
type depths struct {
	base   base
	bottom float64 // of the tip, mm
	spread float64 // how much higher than the base the skin may stand under the cutter, mm
	err    float64 // bound of the height error, coverage factor 2, mm
	slope  float64 // largest under the cut
	floor  float64 // depth below the skin that another cut has cleared before, mm
}

// hair keeps equal steps from being counted one too many, mm.
const hair = 1e-9

// steps divides the depth from the highest material to the bottom into equal passes
// of at most step: n = ceil(depth/step - 1e-9). The result is the depth of each
// pass, the last one exactly the bottom.
func (d depths) steps(step float64) []float64 {
	total := d.bottom - d.top()
	n := int(math.Max(1, math.Ceil(total/step-hair)))
	out := make([]float64, n)
	for i := range out {
		out[i] = float64(total*float64(i+1)/float64(n)) + d.top()
	}
	out[n-1] = d.bottom
	return out
}

// rise is how far the base of a through cut lies below the skin under the centre
// of the cutter at most, mm; 0 for any other cut.
func (d depths) rise() float64 {
	if d.base != atLowest {
		return 0
	}
	return d.spread / 2
}

// surface is the depth at which the cutter touches the highest skin.
func (d depths) surface() float64 { return -d.spread }

// top is the depth at which the cutter touches the highest material: the skin, or
// the floor that another cut has left.
func (d depths) top() float64 { return d.floor - d.spread }

// entry is the depth at which the cutter begins. One that does not cut at its
// centre goes down by ramps alone, be it through air.
func (j *job) entry() float64 {
	if j.cutter.CentreCutting {
		return j.d.top()
	}
	return j.d.surface()
}

// bounds is the box of everything that the cut touches, grown by g.
func (j *job) bounds(g float64) geom.Box {
	b := geom.EmptyBox()
	for _, r := range j.c.Regions {
		b = b.Union(r.Bounds())
	}
	for _, c := range j.c.Chains {
		b = b.Union(c.Bounds())
	}
	for _, c := range j.strokes {
		b = b.Union(c.Bounds())
	}
	for _, q := range j.c.Points {
		b = b.Extend(q)
	}
	if b.Empty() {
		return b
	}
	return b.Grow(g)
}

// settleDepths decides bottom and base of the cut and refuses what the limit
// does not allow: through everywhere under the footprint of the cutter, and
// never below the limit under any of it, height errors included.
func (j *job) settleDepths() bool {
	c, w := j.c, j.w
	b := j.bounds(j.r + c.Finish)
	if b.Empty() {
		j.stop("cut-empty", "there is nothing to cut", "name a layer that holds an outline, a line or a point")
		return false
	}
	if s := b.Size().Len(); !(s <= farthest) {
		f := j.finding(diag.Stop, "cut-too-large", fmt.Sprintf("what is to be cut spans %.0f mm", s), "check the units of the drawing")
		f.Input = true
		j.add(f.With(s, farthest, "mm"))
		return false
	}
	d := depths{bottom: c.Depth}
	u, e := w.Skin.Error(b)
	d.err = float64(2*u) + e
	if !(d.err >= 0) || math.IsInf(d.err, 0) {
		j.stop("height-unknown", "the height of the skin is not known here", "touch more points around this cut")
		return false
	}
	if !w.Skin.Flat() {
		d.err += w.HeightTol
		d.slope = w.Skin.Slope(b)
	}
	rise := riseUnder(j.cutter, d.slope)
	switch {
	case c.Through:
		d.base = atLowest
		d.bottom = math.Max(c.Depth, w.Thickness+w.ThickTol+d.err)
		d.bottom += j.tip()
		d.spread = 2 * rise
	default:
		d.base = atCentre
		d.spread = rise
	}
	j.d = d
	if stays := c.Onion - rise - d.err; c.Onion > 0 && stays <= 0 {
		f := j.finding(diag.Stop, "layer-unsure", fmt.Sprintf("an onion skin of %.3f mm is no more than slope and height error (%.3f mm) may take", c.Onion, rise+d.err),
			"leave a thicker skin, touch more heights, or use a thinner cutter")
		j.add(j.at(f.With(c.Onion, rise+d.err, "mm"), b.Center()))
		return false
	}
	return j.limitHolds(rise) && j.reachHolds()
}

// tip is how much deeper the tip of the cutter goes than the bottom that it
// leaves across its full diameter, mm.
func (j *job) tip() float64 {
	if j.c.Kind == work.Mark || j.c.Kind == work.Score {
		return 0
	}
	return tipLength(j.cutter)
}

// limitHolds compares the deepest place under the footprint with the limit.
func (j *job) limitHolds(rise float64) bool {
	deepest := j.d.bottom + j.d.spread + j.d.err
	limit := j.c.Limit
	if j.w.Floor > 0 {
		limit = math.Min(limit, j.w.Floor)
	}
	if deepest <= limit+hair {
		return true
	}
	room := limit - j.d.bottom - j.d.err
	if rise > 0 && room > 0 {
		largest := j.cutter.Diameter * room / j.d.spread
		f := j.finding(diag.Stop, "slope-too-steep",
			fmt.Sprintf("the skin slopes by %.1f° under the %.2f mm cutter: %.3f mm needed below the highest skin, the limit is %.3f mm",
				math.Atan(j.d.slope)*180/math.Pi, j.cutter.Diameter, deepest, limit),
			fmt.Sprintf("use a cutter of at most %.2f mm, or a deeper limit where nothing lies below", math.Floor(largest*100)/100))
		j.add(j.at(f.With(deepest, limit, "mm"), j.bounds(0).Center()))
		return false
	}
	f := j.finding(diag.Stop, "limit-passed",
		fmt.Sprintf("the cutter needs %.3f mm below the skin (height error %.3f mm and point included), the limit is %.3f mm", deepest, j.d.err, limit),
		"give a deeper limit where nothing lies below, a smaller overcut, a cutter with a shorter point, or touch more heights")
	j.add(j.at(f.With(deepest, limit, "mm"), j.bounds(0).Center()))
	return false
}
