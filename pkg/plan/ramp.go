package plan

import (
	"fmt"
	"math"
	"sort"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// runner runs a cutter along a track: s is where it is, nominal how deep it
// would be were there no tabs.
type runner struct {
	legs
	job     *job
	t       *track
	caps    []tabCap
	s       float64
	nominal float64
	lead    []geom.Seg // still to be run before the track begins
	arcFeed bool       // correct the feed on inner arcs
	climb   bool       // sense of the track, for arcFeed
	thin    *thinChip  // where the feed may be raised, nil nowhere
}

// begin stands above the start, at the height of the highest material.
func (r *runner) begin(lead []geom.Seg) {
	r.lead = lead
	r.nominal = r.job.entry()
	p := r.t.segs[0].A
	if len(lead) > 0 {
		p = lead[0].A
	}
	r.legs.begin(p, r.nominal)
}

// mostRounds is how often a ramp may go round a short path.
const mostRounds = 30

// rampTo goes down to depth d along the path at the ramp angle, as many rounds
// as it takes. Where the path is too short for that, a cutter that cuts at its
// centre plunges; any other is refused.
func (r *runner) rampTo(d float64) bool {
	j := r.job
	slope := math.Tan(j.c.Ramp)
	need := (d - r.nominal) / slope
	if need > mostRounds*r.t.len {
		if !j.cutter.CentreCutting {
			f := j.finding(diag.Stop, "ramp-too-long",
				fmt.Sprintf("a ramp of %.1f mm does not fit on a path of %.2f mm, and %s does not cut at its centre", need, r.t.len, j.cutter.Name),
				"use a centre-cutting cutter, a steeper ramp, or a thinner cutter")
			j.add(j.at(f.With(need, mostRounds*r.t.len, "mm"), r.t.segs[0].A))
			return false
		}
		r.lead = nil
		r.line(r.t.point(r.s), d, j.c.Plunge)
		r.nominal = d
		return true
	}
	feed := j.slopeFeed(math.Sin(j.c.Ramp))
	for _, g := range r.lead {
		l := g.Length()
		r.nominal = math.Min(d, r.nominal+float64(l*slope))
		r.to(g, r.nominal, feed)
	}
	r.lead = nil
	if need = (d - r.nominal) / slope; need > hair {
		r.run(r.t.clearOfEnds(r.s, need), d, feed)
	}
	r.nominal = d
	return true
}

// slopeFeed is the feed along a path that goes down with the given sine: its
// part straight down stays within the plunge feed.
func (j *job) slopeFeed(sine float64) float64 {
	f := j.c.Feed
	if sine*f > j.c.Plunge {
		f = j.c.Plunge / sine
	}
	return f
}

// round goes once around at depth d.
func (r *runner) round(d float64) { r.run(r.t.len, d, r.job.c.Feed) }

// run goes on by length l, the depth changing evenly to d, raised over tabs.
func (r *runner) run(l, d, feed float64) {
	for _, b := range r.breaks(r.s, r.s+l, d) {
		r.stretch(b, feed)
	}
	r.s += l
	r.nominal = d
}

// bend is a stretch of the track over which the depth changes evenly.
type bend struct {
	a, b, da, db float64
	onTab        bool
}

func (r *runner) stretch(b bend, feed float64) {
	c := r.job.c
	r.tab = b.onTab
	defer func() { r.tab = false }()
	if math.Abs(r.d-b.da) > hair {
		r.line(r.at, b.da, c.Plunge) // a stepped tab
	}
	run := b.b - b.a
	if run <= hair {
		return
	}
	if sine := (b.db - b.da) / math.Hypot(run, b.db-b.da); sine > 0 {
		feed = math.Min(feed, r.job.slopeFeed(sine))
	}
	done := 0.0
	segs := r.t.section(b.a, b.b)
	for i, g := range segs {
		done += g.Length()
		d := b.da + float64((b.db-b.da)*math.Min(done/run, 1))
		if i == len(segs)-1 {
			d = b.db
		}
		if r.thin != nil && b.da == b.db && !b.onTab {
			r.straight(g, d, r.arc(g, feed))
			continue
		}
		r.to(g, d, r.arc(g, feed))
	}
}

// arc slows down on inner arcs, so that the feed at the edge is what was asked
// for: centre feed = feed·ρ/(ρ+r) on a centre path of radius ρ, but never so that
// the cutter rubs.
func (r *runner) arc(g geom.Seg, feed float64) float64 {
	if !r.arcFeed || g.IsLine() || (g.Bulge > 0) != r.climb {
		return feed
	}
	rho := g.Radius()
	return math.Max(feed*math.Max(0.25, rho/(rho+r.job.r)), math.Min(feed, r.job.rubbing()))
}

// breaks divides the way from a to b, on which the nominal depth goes evenly
// from where it is to d, into stretches of even depth under the tab caps.
func (r *runner) breaks(a, b, d float64) []bend {
	d0 := r.nominal
	lin := func(s float64) float64 { return d0 + float64((d-d0)*((s-a)/(b-a))) }
	cs := r.capsBetween(a, b, math.Max(d0, d))
	if len(cs) == 0 {
		return []bend{{a: a, b: b, da: d0, db: d}}
	}
	cuts := []float64{a, b}
	for _, c := range cs {
		for _, s := range c.at {
			if s > a && s < b {
				cuts = append(cuts, s)
			}
		}
	}
	sort.Float64s(cuts)
	var out []bend
	for i := 0; i+1 < len(cuts); i++ {
		u, v := cuts[i], cuts[i+1]
		if v-u <= hair {
			continue
		}
		du, dv := lin(u), lin(v)
		cu, cv, ok := capOver(cs, u, v)
		switch {
		case !ok || cu >= du && cv >= dv:
			out = append(out, bend{a: u, b: v, da: du, db: dv})
		case cu <= du && cv <= dv:
			out = append(out, bend{u, v, cu, cv, cu == cv})
		default: // they cross
			k := (du - cu) / ((du - cu) - (dv - cv))
			m := u + float64((v-u)*k)
			dm := du + float64((dv-du)*k)
			out = append(out, bend{a: u, b: m, da: math.Min(du, cu), db: dm}, bend{a: m, b: v, da: dm, db: math.Min(dv, cv)})
		}
	}
	return out
}
