package plan

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
)

// overfly is how far above the skin the cutter passes over a bridge, mm.
const overfly = 0.5

// score cuts a groove along lines, or, by the options cut and bridge, a
// perforation: slots of length cut, bridges of length bridge between them. What
// is kept below is held against what the height is known to. Of several lines
// the longest (the hinge line) comes first, its chordwise ends after it.
func (j *job) score() []op {
	if !j.residual("groove", j.option("doubler", 0)) {
		return nil
	}
	j.strokes = drawnLines(j.c)
	if w := j.option("width", 0); w > j.cutter.Diameter+hair {
		f := j.finding(diag.Stop, "groove-wider", fmt.Sprintf("a groove of %.3f mm is wider than the cutter of %.3f mm", w, j.cutter.Diameter), "use a cutter of the width of the groove, or kind = \"pocket\"")
		j.add(f.With(w, j.cutter.Diameter, "mm"))
		return nil
	}
	bridge := j.option("bridge", 0)
	var out []op
	if bridge > 0 {
		out = j.perforation(j.option("cut", 3), bridge)
	} else {
		out = j.lines("score", rankSlot)
	}
	longest := -1.0
	for i := range out {
		longest = math.Max(longest, out[i].size)
	}
	for i := range out {
		if out[i].size < longest-hair {
			out[i].rank = rankScoreEnd
		}
	}
	return out
}

// perforation cuts dashes. A dash is cut long measured at its ends, so that the
// centre runs cut minus the diameter.
func (j *job) perforation(cut, bridge float64) []op {
	run := cut - j.cutter.Diameter
	if run < 0 {
		f := j.finding(diag.Stop, "cutter-too-wide", fmt.Sprintf("a slot of %.3f mm is shorter than the cutter is wide (%.3f mm)", cut, j.cutter.Diameter), "make the slots longer, or use a thinner cutter")
		j.add(f.With(j.cutter.Diameter, cut, "mm"))
		return nil
	}
	passes, ok := j.passes()
	if !ok {
		return nil
	}
	var out []op
	for _, ch := range j.strokes {
		t := newTrack(ch.Segs())
		if t.len <= hair {
			continue
		}
		n := max(1, int((t.len-run)/(run+j.cutter.Diameter+bridge))+1)
		if n > 20000 {
			j.stop("passes-too-many", fmt.Sprintf("the perforation would have %d slots", n), "make slots or bridges longer")
			return nil
		}
		gap := 0.0
		if n > 1 {
			gap = (t.len - float64(n)*run) / float64(n-1)
		}
		l := legs{}
		l.begin(t.segs[0].A, j.d.surface())
		for i := range n {
			a := float64(i) * (run + gap)
			b := math.Min(a+run, t.len)
			if i > 0 {
				j.along(&l, &t, a-gap, a, l.d) // over the bridge
			}
			if !j.dash(&l, &t, a, b, passes) {
				return nil
			}
			l.line(l.at, j.d.surface()-overfly, j.c.Feed)
		}
		out = append(out, j.lineOp("score", rankSlot, l.list, ch))
	}
	return out
}

// dash cuts from a to b on the track and ends at b.
func (j *job) dash(l *legs, t *track, a, b float64, passes []float64) bool {
	l.line(l.at, j.d.surface(), j.c.Plunge)
	if b-a <= hair {
		if !j.cutter.CentreCutting {
			j.stop("plunge-not-centre-cutting", fmt.Sprintf("a slot as long as the cutter is wide needs a plunge, and %s does not cut at its centre", j.cutter.Name), "make the slots longer, or use a centre-cutting cutter")
			return false
		}
		l.line(l.at, passes[len(passes)-1], j.c.Plunge)
		return true
	}
	d := newTrack(t.section(a, b))
	if !j.follow(l, d, passes) {
		return false
	}
	if len(passes)%2 == 0 { // ended where it began
		j.along(l, &d, 0, d.len, l.d)
	}
	return true
}
