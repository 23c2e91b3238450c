package plan

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// tabCap is the greatest depth allowed over a tab, along a track: free before
// at[0], rising to top at at[1], level to at[2], free again after at[3].
type tabCap struct {
	at       [4]float64
	top, low float64 // depth over the tab, and where the cap ends
	centre   geom.Point
}

// depthAt returns the cap's depth at s on the stretch that holds mid.
func (c *tabCap) depthAt(s, mid float64) float64 {
	switch {
	case mid < c.at[1]:
		return c.low + float64((c.top-c.low)*(s-c.at[0])/(c.at[1]-c.at[0]))
	case mid > c.at[2]:
		return c.top + float64((c.low-c.top)*(s-c.at[2])/(c.at[3]-c.at[2]))
	}
	return c.top
}

// capsBetween lists the caps that lie between a and b, shifted by whole rounds,
// when the depth reaches below them at all.
func (r *runner) capsBetween(a, b, deepest float64) []tabCap {
	var out []tabCap
	for m := math.Floor(a/r.t.len) - 1; m*r.t.len < b; m++ {
		for _, c := range r.caps {
			if deepest <= c.top {
				continue
			}
			for i := range c.at {
				c.at[i] += m * r.t.len
			}
			if c.at[3] > a && c.at[0] < b {
				out = append(out, c)
			}
		}
	}
	return out
}

// capOver returns the cap's depth at both ends of a stretch that no cap breaks.
func capOver(cs []tabCap, u, v float64) (cu, cv float64, ok bool) {
	mid := (u + v) / 2
	for i := range cs {
		if c := &cs[i]; mid > c.at[0] && mid < c.at[3] {
			return c.depthAt(u, mid), c.depthAt(v, mid), true
		}
	}
	return 0, 0, false
}

// risingTab is how steeply a cutter may rise onto a tab: it cuts nothing with
// its end there.
const risingTab = 45 * math.Pi / 180

// tabs places the tabs of a contour, or none.
func (j *job) tabs(t *track, e edge) ([]tabCap, bool) {
	n := j.tabCount(t, e)
	if j.c.Onion > 0 && j.c.Tabs.Count > 0 {
		j.stop("tabs-and-onion", "tabs and an onion skin are both asked for", "leave out one of them")
		return nil, false
	}
	if n == 0 {
		return nil, true
	}
	if j.c.Visible {
		j.stop("tab-visible", "tabs are asked for on an edge that is marked visible", "leave an onion skin instead, or put the tabs on another edge")
		return nil, false
	}
	// The tab keeps its height under the whole footprint, on a slope too.
	top := j.d.face - j.c.Tabs.Height - j.d.spread
	if j.c.Tabs.Width <= 0 || j.c.Tabs.Height <= 0 {
		return nil, j.refuseNumber("tab width or height", math.Min(j.c.Tabs.Width, j.c.Tabs.Height), "above 0")
	}
	if top <= j.d.surface() {
		top = j.d.surface() + hair // as high as the skin: the cutter lifts out
	}
	z, ok := j.tabZone(top)
	if !ok {
		return nil, false
	}
	if gentle := z; !j.cutter.CentreCutting && !j.w.Skin.Flat() { // downhill adds to the ramp
		gentle.down = (j.d.bottom - top) / math.Tan(j.c.Ramp)
		if at := gentle.place(t, e, n, true); at != nil {
			return gentle.caps(t, at), true
		}
	}
	for n0 := n; n > 0; n-- {
		if at := z.place(t, e, n, false); at != nil {
			if n < n0 {
				sev := diag.Stop
				if j.c.Tabs.Auto {
					sev = diag.Warn
				}
				f := j.finding(sev, "tabs-too-many", fmt.Sprintf("only %d of %d tabs of %.2f mm fit", n, n0, j.c.Tabs.Width), "ask for fewer tabs, or narrower or lower ones")
				j.add(j.at(f.With(float64(n0), float64(n), ""), t.segs[0].A))
			}
			return z.caps(t, at), true
		}
	}
	f := j.finding(diag.Stop, "tab-too-wide", fmt.Sprintf("a tab of %.2f mm needs %.1f mm of the path with its ramps, the path is %.1f mm long", j.c.Tabs.Width, z.span(), t.len),
		"make the tabs narrower or lower, use an onion skin, or a centre-cutting cutter that can step down after a tab")
	j.add(j.at(f.With(z.span(), t.len-2*z.start, "mm"), t.segs[0].A))
	return nil, false
}

// tabZone is the room that one tab takes along the path of the centre.
type tabZone struct {
	half     float64 // from the middle to where the cutter is up: half the width and the radius
	flat     float64 // half the width: what should lie on a straight
	up, down float64 // lengths of the ramps
	corner   float64 // wanted distance of a tab from a corner
	start    float64 // kept free on both sides of the start
	top, low float64
}

// tabZone computes the ramps. After a tab the cutter goes down by no more than
// the height of the tab, so it may do that more steeply than it enters: 20° when
// it cuts at its centre, otherwise 10° (common practice, no source), or as the
// option tab_ramp_deg says, or straight down by the option tab_step.
func (j *job) tabZone(top float64) (tabZone, bool) {
	d := j.d.bottom - top
	steep := 10.0
	if j.cutter.CentreCutting {
		steep = 20
	}
	down := j.option("tab_ramp_deg", math.Max(j.c.Ramp*180/math.Pi, steep)) * math.Pi / 180
	step := j.option("tab_step", 0) != 0
	if (step || down > steep*math.Pi/180+hair && down > j.c.Ramp+hair) && !j.cutter.CentreCutting {
		f := j.finding(diag.Stop, "plunge-not-centre-cutting", fmt.Sprintf("stepping down after a tab is a plunge, and %s does not cut at its centre", j.cutter.Name),
			"leave out tab_step and tab_ramp_deg, or use a centre-cutting cutter")
		j.add(f)
		return tabZone{}, false
	}
	if down <= 0 || down > math.Pi/2 {
		return tabZone{}, j.refuseNumber("tab_ramp_deg", down*180/math.Pi, "above 0° and at most 90°")
	}
	z := tabZone{half: j.c.Tabs.Width/2 + j.r, flat: j.c.Tabs.Width / 2, corner: 2 * j.cutter.Diameter, start: j.r + 1,
		up: d / math.Tan(math.Max(down, risingTab)), down: d / math.Tan(down), top: top, low: j.d.bottom}
	if step {
		z.up, z.down = 0, 0
	}
	return z, true
}

func (z *tabZone) span() float64 { return z.up + 2*z.half + z.down }

// caps makes the caps of tabs whose middles lie at the given positions.
func (z *tabZone) caps(t *track, at []float64) []tabCap {
	out := make([]tabCap, len(at))
	for i, s := range at {
		out[i] = tabCap{at: [4]float64{s - z.half - z.up, s - z.half, s + z.half, s + z.half + z.down}, top: z.top, low: z.low, centre: t.point(s)}
	}
	return out
}

// place finds n positions, evenly spread, so that the middle of the part lies
// well inside their polygon; nil when they do not fit. Straights away from
// corners are tried first, then whole straights, then all stretches without a
// corner, then anything; the first that spreads the tabs well is taken, or else
// the best of all. strict asks for a good spread without corners, or nothing.
func (z *tabZone) place(t *track, e edge, n int, strict bool) []float64 {
	var best []float64
	bestScore := math.Inf(-1)
	for rank, m := range [...]room{{corner: z.corner, ramps: true, straight: true}, {ramps: true, straight: true}, {ramps: true}, {straight: true}, {anywhere: true}} {
		free := z.middles(t, m)
		if len(free) == 0 || strict && !m.ramps {
			continue
		}
		at, gap, score := z.spread(t, e, free, n)
		if at == nil {
			continue
		}
		if n == 1 || gap >= 0.5*t.len/float64(n) {
			return at
		}
		if strict {
			continue
		}
		if score -= 0.1 * float64(rank); score > bestScore {
			best, bestScore = at, score
		}
	}
	return best
}

// room says where tabs may lie.
type room struct {
	corner   float64 // distance of the tab from the end of its stretch, mm
	ramps    bool    // the ramps too lie within the stretch
	straight bool    // on straights; otherwise on stretches without a corner
	anywhere bool
}

// stretchOf is where the middle of a tab may lie.
type stretchOf struct{ a, b float64 }

// middles lists where the middle of a tab may lie.
func (z *tabZone) middles(t *track, m room) []stretchOf {
	lo := z.start + z.half + z.up
	hi := t.len - z.start - z.half - z.down
	if lo > hi {
		return nil
	}
	if m.anywhere {
		return []stretchOf{{lo, hi}}
	}
	left, right := z.flat+m.corner, z.flat+m.corner
	if m.ramps {
		left, right = math.Max(left, z.half+z.up), math.Max(right, z.half+z.down)
	}
	var out []stretchOf
	for _, s := range stretches(t, m.straight) {
		if a, b := math.Max(s.a+left, lo), math.Min(s.b-right, hi); a <= b {
			out = append(out, stretchOf{a, b})
		}
	}
	return out
}

// stretches lists the straights of a track, or its stretches without a corner.
// The one that the start of the track lies in is listed at both ends, whole.
func stretches(t *track, straight bool) []stretchOf {
	n := len(t.segs)
	same := func(i, k int) bool { // k goes on as i ends
		a, b := t.segs[i], t.segs[k]
		if straight && (!a.IsLine() || !b.IsLine()) {
			return false
		}
		limit := sharpTurn
		if straight {
			limit = 1e-6
		}
		u, v := a.TangentB(), b.TangentA()
		return math.Abs(math.Atan2(u.Cross(v), u.Dot(v))) < limit
	}
	var out []stretchOf
	first := []int{}
	for i := 0; i < n; {
		k := i
		for k+1 < n && same(k, k+1) {
			k++
		}
		if !straight || t.segs[i].IsLine() {
			out = append(out, stretchOf{t.at[i], t.at[k] + t.segs[k].Length()})
			first = append(first, i)
		}
		i = k + 1
	}
	if m := len(out); m > 0 && first[0] == 0 && out[m-1].b >= t.len-hair && same(n-1, 0) {
		if m == 1 { // no end at all
			return []stretchOf{{-t.len, 2 * t.len}}
		}
		head, tail := out[0].b, t.len-out[m-1].a
		out[0].a = -tail
		out[m-1].b = t.len + head
	}
	return out
}

// spread tries a number of phases and takes the best; it returns the smallest
// way from tab to tab and how good that is.
func (z *tabZone) spread(t *track, e edge, free []stretchOf, n int) (best []float64, bestGap, bestScore float64) {
	const phases = 24
	bestScore = math.Inf(-1)
	for k := range phases {
		at := make([]float64, n)
		for i := range at {
			at[i] = snap(free, t.wrap((float64(i)+float64(k)/phases)*t.len/float64(n)))
		}
		sortFloats(at)
		gap := t.len
		for i := range at {
			next := at[0] + t.len
			if i+1 < n {
				next = at[i+1]
			}
			gap = math.Min(gap, next-at[i])
		}
		if n > 1 && gap < z.span() {
			continue
		}
		score := gap*float64(n)/t.len + balance(t, e, at)
		if score > bestScore+1e-9 {
			best, bestGap, bestScore = at, gap, score
		}
	}
	return best, bestGap, bestScore
}

// snap moves a position to the nearest allowed one.
func snap(free []stretchOf, s float64) float64 {
	best, dist := free[0].a, math.Inf(1)
	for _, f := range free {
		q := math.Min(math.Max(s, f.a), f.b)
		if d := math.Abs(q - s); d < dist {
			best, dist = q, d
		}
	}
	return best
}

// balance tells how well the middle of what is held lies inside the polygon of
// its tabs: the distance to the nearest side over the size, at most 0.3,
// negative outside. Two tabs or one have no polygon: 0.
func balance(t *track, e edge, at []float64) float64 {
	if len(at) < 3 {
		return 0
	}
	c := make(geom.Contour, len(at))
	for i, s := range at {
		c[i].Point = t.point(s)
	}
	d := geom.NewRegion(c).SignedDist(centroid(e.outline.Outer))
	size := math.Sqrt(math.Abs(e.outline.Outer.Area()))
	return math.Min(0.3, -d/size)
}

// centroid of the polygon through the vertices and the middles of arcs; near
// enough to judge a balance.
func centroid(c geom.Contour) geom.Point {
	var pts []geom.Point
	for i := range c {
		s := c.Seg(i)
		pts = append(pts, s.A)
		if !s.IsLine() {
			pts = append(pts, s.Mid())
		}
	}
	o := pts[0]
	a, sum := 0.0, geom.Point{}
	for i := range pts {
		u, v := pts[i].Sub(o), pts[(i+1)%len(pts)].Sub(o)
		k := u.Cross(v)
		a += k
		sum = sum.Add(u.Add(v).Mul(k))
	}
	if a == 0 {
		return o
	}
	return o.Add(sum.Mul(1 / (3 * a)))
}
