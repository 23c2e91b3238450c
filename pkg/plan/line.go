package plan

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

// lines cuts along the open lines of the cut, the centre of the cutter on the
// line, one operation each.
func (j *job) lines(name string, rank int) []op {
	passes, ok := j.passes()
	if !ok {
		return nil
	}
	var out []op
	for _, ch := range j.chains() {
		t := newTrack(ch.Segs())
		if t.len <= hair {
			continue
		}
		k, passes := j, passes
		if j.c.Kind == work.Slot {
			if k = j.onFloor(j.floors(rank), func(f *floor) bool { return f.underPath(t.segs, j.r) }); k.d.floor > 0 {
				passes = k.d.steps(k.c.Step)
			}
		}
		l := legs{}
		l.begin(t.segs[0].A, k.entry())
		if !k.follow(&l, t, passes) {
			return nil
		}
		out = append(out, j.lineOp(name, rank, l.list, ch))
	}
	return out
}

// chains are the lines of the cut: its open chains, or the strokes of a mark.
func (j *job) chains() []geom.Chain {
	if j.strokes != nil {
		return j.strokes
	}
	return j.c.Chains
}

func (j *job) lineOp(name string, rank int, ls []leg, ch geom.Chain) op {
	o := op{cut: j.index, name: name, cutter: j.c.Cutter, rpm: j.c.RPM, base: j.d.base, legs: ls, rank: rank, size: ch.Length(), line: ch}
	o.measure(j.r)
	return o
}

// follow runs along an open track to and fro, one pass each way. Every pass
// ramps in.
func (j *job) follow(l *legs, t track, passes []float64) bool {
	for n, d := range passes {
		if n > 0 {
			t = t.reversed()
		}
		l.newPass()
		if !j.enterLine(l, &t, d) {
			return false
		}
	}
	return true
}

func (t *track) reversed() track {
	segs := make([]geom.Seg, len(t.segs))
	for i, s := range t.segs {
		segs[len(segs)-1-i] = s.Reverse()
	}
	return newTrack(segs)
}

// mostStrokes is how often a ramp goes to and fro on a short line before a cutter
// that cuts at its centre plunges instead.
const mostStrokes = 8

// enterLine goes down to d from the start of the track, and to its end. The ramp
// goes out and comes back to the start, so that it leaves no wedge: the next pass
// comes the other way and would meet it over two steps.
func (j *job) enterLine(l *legs, t *track, d float64) bool {
	need := (d - l.d) / math.Tan(j.c.Ramp)
	if need > mostStrokes*t.len && j.cutter.CentreCutting {
		l.line(l.at, d, j.c.Plunge) // too short for a ramp
		j.along(l, t, 0, t.len, d)
		return true
	}
	if need > mostRounds*t.len {
		f := j.finding(diag.Stop, "ramp-too-long", fmt.Sprintf("a ramp of %.1f mm does not fit on a line of %.2f mm, and %s does not cut at its centre", need, t.len, j.cutter.Name),
			"use a centre-cutting cutter or a steeper ramp")
		j.add(j.at(f.With(need, mostRounds*t.len, "mm"), t.segs[0].A))
		return false
	}
	if need > hair {
		n := 2 * math.Max(1, math.Ceil(need/t.len/2-hair))
		out := newTrack(t.section(0, need/n))
		back := out.reversed()
		d0 := l.d
		for i := range int(n) {
			cur := &out
			if i%2 == 1 {
				cur = &back
			}
			j.along(l, cur, 0, cur.len, d0+float64((d-d0)*float64(i+1)/n))
		}
	}
	j.along(l, t, 0, t.len, d)
	return true
}

// along runs from a to b on the track while the depth changes evenly to d.
func (j *job) along(l *legs, t *track, a, b, d float64) {
	if b-a <= hair {
		return
	}
	feed := j.c.Feed
	d0 := l.d
	if d > d0 {
		feed = math.Min(feed, j.slopeFeed((d-d0)/math.Hypot(b-a, d-d0)))
	}
	done := 0.0
	segs := t.section(a, b)
	for i, s := range segs {
		done += s.Length()
		z := d0 + float64((d-d0)*math.Min(done/(b-a), 1))
		if i == len(segs)-1 {
			z = d
		}
		l.to(s, z, feed)
	}
}
