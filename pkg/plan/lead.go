package plan

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// waste returns the direction away from the kept side at position s: left of
// travel when climbing, since the kept side then lies on the right.
func waste(t *track, s float64, climb bool) geom.Point {
	if climb {
		return t.tangent(s).Left()
	}
	return t.tangent(s).Right()
}

// leadIn is a quarter circle from the waste side that ends on the start of the
// track in its direction, as large as fits, or nothing. A roughing cut that
// leaves an allowance needs none.
func (j *job) leadIn(t *track, e edge) []geom.Seg {
	if j.c.Finish > 0 {
		return nil
	}
	p, dir, side := t.segs[0].A, t.segs[0].TangentA(), waste(t, 0, j.c.Climb)
	for _, rho := range j.leadRadii() {
		c := p.Add(side.Mul(rho))
		s := geom.ArcThrough(c.Sub(dir.Mul(rho)), p, c, dir.Cross(side) > 0)
		if j.clearOf(s, e) {
			return []geom.Seg{s}
		}
	}
	return nil
}

// leadRadii are tried one after the other; the option lead_radius sets the first.
func (j *job) leadRadii() []float64 {
	r := j.option("lead_radius", math.Max(j.cutter.Diameter, 1))
	if r <= 0 {
		return nil
	}
	return []float64{r, r / 2, r / 4}
}

// clearOf tells whether the cutter, its centre on s, stays off the kept side of
// the edge and off every other part.
func (j *job) clearOf(s geom.Seg, e edge) bool {
	const samples = 16
	var others []int
	if !e.inside {
		reach := s.Bounds().Grow(j.r)
		for i, b := range j.partBox {
			if i != j.c.Part && b.Overlaps(reach) {
				others = append(others, i)
			}
		}
	}
	for k := range samples + 1 {
		q := s.At(float64(k) / samples)
		d := e.outline.SignedDist(q)
		if e.inside {
			d = -d
		}
		if d < j.r-1e-6 {
			return false
		}
		for _, i := range others {
			if j.w.Parts[i].Region.SignedDist(q) < j.r {
				return false
			}
		}
	}
	return true
}

// closeUp goes a little further round, so that no mark stays where the pass
// began, rising meanwhile: the cutter leaves without dwelling.
func (r *runner) closeUp() {
	over := math.Min(r.job.option("overlap", math.Max(r.job.r, 1)), r.t.len)
	if over <= 0 {
		return
	}
	r.run(over, r.nominal, r.job.c.Feed)
	r.run(over, math.Max(r.nominal-over/2, r.job.d.top()), r.job.c.Feed)
}

// finish crosses to the finished edge on a gentle arc at full depth, goes once
// around and a little further, and leaves the same way.
func (r *runner) finish(e edge) {
	j := r.job
	climb := j.c.Climb
	if v, ok := j.c.Options["finish_climb"]; ok {
		climb = v != 0
	}
	f := j.c.Finish
	near := newNearness([]geom.Contour{e.rough})
	if leaves(near, e.final, 2*f+0.02) {
		r.finishInSteps(e, climb)
		return
	}
	r.newPass()
	rho := math.Max(j.option("lead_radius", math.Max(j.cutter.Diameter, 1)), 2*f)
	ahead := math.Sqrt(math.Max(0, 2*rho*f-f*f)) // of an arc that crosses f sideways
	// on through what is cut already, to where the arc fits
	if rest := r.nextStraight(2 * ahead); rest > hair {
		r.run(rest, r.nominal, j.c.Feed)
	}
	q := r.legs.at
	t := j.startTrack(e.final, climb)
	p, _ := t.nearest(q)
	start := p + ahead
	t = newTrack(t.section(p, p+t.len))
	start -= p
	arc, ok := j.crossing(&t, start, rho, f, climb, near, q)
	if !ok {
		start = 0
	}
	next := runner{legs: r.legs, job: j, t: &t, s: start, nominal: r.nominal, arcFeed: true, climb: climb}
	next.caps = j.sameTabs(&t, r.caps)
	if ok {
		next.to(arc, next.nominal, j.c.Feed)
	} else {
		next.line(t.point(0), next.nominal, j.c.Feed)
	}
	next.thin = j.thinChip(r.deepest())
	for range j.finishRounds() {
		next.round(next.nominal)
	}
	next.thin = nil
	over := math.Min(math.Max(0, j.option("overlap", math.Max(j.r, 1))), t.len)
	if over > hair {
		next.run(over, next.nominal, j.c.Feed)
	}
	if out, ok := j.leaving(&t, next.s, rho, f, climb, near); ok && next.d == next.nominal {
		next.to(out, next.nominal, j.c.Feed)
	}
	r.legs = next.legs
}

// leaves tells whether the finished path goes where the roughing path has not
// been: into a relief, or a place too narrow for the allowance.
func leaves(near *nearness, final geom.Contour, lim float64) bool {
	for _, s := range final.Segs() {
		for _, q := range [...]geom.Point{s.A, s.Mid()} {
			if near.beyond(q, lim) != 0 {
				return true
			}
		}
	}
	return false
}

// finishInSteps goes round the finished edge pass by pass, since it meets
// material over the full depth somewhere.
func (r *runner) finishInSteps(e edge, climb bool) {
	j := r.job
	passes, ok := j.passes()
	if !ok {
		return
	}
	t := j.startTrack(e.final, climb)
	next := runner{legs: r.legs, job: j, t: &t, nominal: j.entry(), arcFeed: true, climb: climb}
	next.caps = j.sameTabs(&t, r.caps)
	next.hop(t.segs[0].A, j.entry(), j.c.Plunge)
	for _, d := range passes {
		next.newPass()
		if !next.rampTo(d) {
			return
		}
		next.round(d)
	}
	next.closeUp()
	r.legs = next.legs
}

// nextStraight returns how far it is to the next place of the track from which
// it goes straight on for the given length and no tab is near: usually nothing.
// Where there is none, or the job says where cuts begin, it is the way to the
// start of the track.
func (r *runner) nextStraight(length float64) float64 {
	round := math.Floor(r.s/r.t.len+1e-9) * r.t.len
	start := round
	if r.s > round+hair {
		start += r.t.len
	}
	if _, ok := r.job.c.Options["start_x"]; ok {
		return math.Max(0, start-r.s)
	}
	over := length + math.Max(r.job.option("overlap", math.Max(r.job.r, 1)), 0)
	i, _ := r.t.find(r.t.wrap(r.s))
	base := round
	for range len(r.t.segs) + 1 {
		a, b := math.Max(r.s, base+r.t.at[i]), base+r.t.at[i]+r.t.segs[i].Length()
		if r.t.segs[i].IsLine() && b-a >= length && len(r.capsBetween(a-length, a+over, r.nominal)) == 0 {
			return a - r.s
		}
		if i++; i == len(r.t.segs) {
			i = 0
			base += r.t.len
		}
	}
	return math.Max(0, start-r.s)
}

// finishRounds is how often the finished edge is gone round: once, or as the
// option finish_passes says. Going round again takes what the cutter bent away
// from, but in fibre composites and soft plastics it only rubs and heats.
func (j *job) finishRounds() int {
	n := int(math.Min(math.Max(j.option("finish_passes", 1), 1), 5))
	why := ""
	switch j.w.Material.Family {
	case "cfrp", "gfrp", "sandwich":
		why = "in fibre composites a further pass rubs and heats"
	case "abs":
		why = "in a soft plastic a further pass rubs and melts the edge"
	}
	if n > 1 && why != "" {
		j.add(j.finding(diag.Warn, "spring-pass", fmt.Sprintf("the finish pass is run %d times; %s", n, why), "leave out finish_passes").With(float64(n), 1, ""))
	}
	return n
}

// crossing is the arc from q on the roughing path to the track at position s,
// tangent to the track there. It is refused when it does not begin at q.
func (j *job) crossing(t *track, s, rho, f float64, climb bool, near *nearness, q geom.Point) (geom.Seg, bool) {
	side, dir, p := waste(t, s, climb), t.tangent(s), t.point(s)
	c := p.Add(side.Mul(rho))
	sin := math.Sqrt(math.Max(0, 2*rho*f-f*f)) / rho
	a := c.Sub(side.Mul(rho - f)).Sub(dir.Mul(rho * sin))
	if a.Dist(q) > 1e-3 || near.beyond(a, 1e-3) != 0 {
		return geom.Seg{}, false
	}
	return geom.ArcThrough(q, p, c, dir.Cross(side) > 0), true
}

// leaving is the mirror image of crossing.
func (j *job) leaving(t *track, s, rho, f float64, climb bool, near *nearness) (geom.Seg, bool) {
	side, dir, p := waste(t, s, climb), t.tangent(s), t.point(s)
	c := p.Add(side.Mul(rho))
	sin := math.Sqrt(math.Max(0, 2*rho*f-f*f)) / rho
	b := c.Sub(side.Mul(rho - f)).Add(dir.Mul(rho * sin))
	if near.beyond(b, 1e-3) != 0 {
		return geom.Seg{}, false
	}
	return geom.ArcThrough(p, b, c, dir.Cross(side) > 0), true
}

// sameTabs finds the tabs of the roughing path again on the finished edge.
func (j *job) sameTabs(t *track, caps []tabCap) []tabCap {
	out := make([]tabCap, 0, len(caps))
	for _, c := range caps {
		s, _ := t.nearest(c.centre)
		m := (c.at[1] + c.at[2]) / 2
		for i := range c.at {
			c.at[i] += s - m
		}
		out = append(out, c)
	}
	return out
}
