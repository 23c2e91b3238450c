package plan

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

// outline cuts along outlines: inside of an opening, outside of a part. Holes
// that a part's outline brings along are cut inside, before it.
func (j *job) outline() []op {
	j.tightCorners()
	inside := j.c.Kind == work.Opening
	if inside && j.option("clear", 0) != 0 {
		return j.pocket("opening", rankOpening, 0)
	}
	var out []op
	for _, g := range j.c.Regions {
		var es []edge
		if inside {
			e, ok := j.edges(g, true)
			if !ok {
				return nil
			}
			es = e
		} else {
			for _, h := range g.Holes {
				e, ok := j.edges(geom.NewRegion(h), true)
				if !ok {
					return nil
				}
				es = append(es, e...)
			}
			e, ok := j.edges(geom.Region{Outer: g.Outer}, false)
			if !ok {
				return nil
			}
			es = append(es, e...)
		}
		for _, e := range es {
			os, ok := j.ring(e)
			if !ok {
				return nil
			}
			out = append(out, os...)
		}
	}
	return out
}

// ring plans one contour: down to what is cleared there already, ramp in, one round for each pass, the finish pass,
// out again; and where a skin is left until the end, the last pass through it as
// an operation of its own.
func (j *job) ring(e edge) ([]op, bool) {
	rank := rankPart
	if e.inside {
		rank = rankOpening
	}
	if j.c.Kind != work.Chamfer { // which runs along edges and not in the floor
		j = j.overFloor(e, rank)
	}
	passes, ok := j.passes()
	if !ok {
		return nil, false
	}
	t := j.startTrack(e.rough, j.c.Climb)
	if !j.sizeHolds(float64(len(passes)) * float64(len(t.segs))) {
		return nil, false
	}
	caps, ok := j.tabs(&t, e)
	if !ok || !j.holds(e, len(caps)) {
		return nil, false
	}
	skin, ok := j.lastSkin(e, len(caps))
	if !ok {
		return nil, false
	}
	whole := j
	if skin > 0 {
		if j.d.floor > 0 && j.bottomAbove(skin) <= j.d.top()+skinEntry { // the floor lies in the skin
			k := *j
			k.d.floor, j = 0, &k
		}
		if j, ok = j.aboveSkin(skin); !ok {
			return nil, false
		}
		passes = j.d.steps(j.c.Step)
	}
	r := runner{job: j, t: &t, caps: caps}
	lead := j.leadIn(&t, e)
	r.begin(lead)
	for _, d := range passes {
		r.newPass()
		if !r.rampTo(d) {
			return nil, false
		}
		r.round(d)
	}
	if j.c.Finish > 0 {
		r.finish(e)
	} else {
		r.closeUp()
	}
	o := op{cut: j.index, name: "contour", cutter: j.c.Cutter, rpm: j.c.RPM, base: j.d.base, legs: r.list,
		rank: rank, size: math.Abs(e.outline.Outer.Area()), around: e.outline, rise: j.d.rise(), notes: j.notes(len(passes), len(caps))}
	o.measure(j.r)
	if skin <= 0 {
		return []op{o}, true
	}
	last, ok := whole.free(e, o, skin)
	return []op{o, last}, ok
}

func (j *job) notes(passes, tabs int) []string {
	n := fmt.Sprintf("%d passes to %.3f mm", passes, j.d.bottom)
	if passes == 1 {
		n = fmt.Sprintf("1 pass to %.3f mm", j.d.bottom)
	}
	if j.d.floor > 0 {
		n += fmt.Sprintf(" from the floor at %.3f mm", j.d.floor)
	}
	if tabs > 0 {
		n += fmt.Sprintf(", %d tabs %.2f x %.2f mm", tabs, j.c.Tabs.Width, j.c.Tabs.Height)
	}
	if j.c.Through && j.d.bottom < j.w.Thickness {
		n += ", a skin is left for the last pass"
	}
	if j.c.Finish > 0 {
		n += fmt.Sprintf(", finish allowance %.3f mm", j.c.Finish)
	}
	return []string{n}
}

// mostPasses is more than any real cut has; beyond it the depth per pass is a
// slip of the pen.
const mostPasses = 500

// passes returns the depth of each pass.
func (j *job) passes() ([]float64, bool) {
	if n := (j.d.bottom - j.d.top()) / j.c.Step; n > mostPasses {
		f := j.finding(diag.Stop, "passes-too-many", fmt.Sprintf("%.4f mm per pass would take %.0f passes", j.c.Step, math.Ceil(n)),
			"give a larger depth per pass")
		f.Input = true
		j.add(f.With(math.Ceil(n), mostPasses, ""))
		return nil, false
	}
	return j.d.steps(j.c.Step), true
}

// startTrack makes the path of the centre along c (kept side on the right),
// run so that the cutter climbs or not. It starts in the middle of the longest
// straight, where entry and lead leave the least mark, or near the point that
// the options start_x and start_y (on the drawing) name.
func (j *job) startTrack(c geom.Contour, climb bool) track {
	if !climb {
		c = c.Reverse()
	}
	t := newTrack(c.Segs())
	x, okX := j.c.Options["start_x"]
	y, okY := j.c.Options["start_y"]
	if okX && okY {
		s, _ := t.nearest(j.c.Frame.Apply(geom.Pt(x, y)))
		return newTrack(t.section(s, s+t.len))
	}
	best, long := 0, -1.0
	for i, s := range t.segs {
		l := s.Length()
		if !s.IsLine() {
			l *= 1e-3 // any straight is better than an arc
		}
		if l > long*(1+1e-6) {
			best, long = i, l
		}
	}
	s := t.at[best] + t.segs[best].Length()/2
	return newTrack(t.section(s, s+t.len))
}
