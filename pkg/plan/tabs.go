package plan

import (
	"fmt"
	"math"
	"sort"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

// tabCap is the greatest depth allowed over a tab, along a track: free before
// at[0], rising to top at at[1], level to at[2], down to mid at at[3] and to low
// at at[4], free again after that.
type tabCap struct {
	at            [5]float64
	top, mid, low float64 // depth over the tab, where the steep way down ends, and where the cap ends
	centre        geom.Point
}

// depthAt returns the cap's depth at s on the stretch that holds mid.
func (c *tabCap) depthAt(s, mid float64) float64 {
	switch {
	case mid < c.at[1]:
		return c.low + float64((c.top-c.low)*(s-c.at[0])/(c.at[1]-c.at[0]))
	case mid > c.at[3]:
		return c.mid + float64((c.low-c.mid)*(s-c.at[3])/(c.at[4]-c.at[3]))
	case mid > c.at[2]:
		return c.top + float64((c.mid-c.top)*(s-c.at[2])/(c.at[3]-c.at[2]))
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
			if c.at[4] > a && c.at[0] < b {
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
		if c := &cs[i]; mid > c.at[0] && mid < c.at[4] {
			return c.depthAt(u, mid), c.depthAt(v, mid), true
		}
	}
	return 0, 0, false
}

// risingTab is how steeply a cutter may rise onto a tab: it cuts nothing with
// its end there.
const risingTab = 45 * math.Pi / 180

// leastTabShare is the part of its height that a tab must keep where the slope of the
// skin takes from it (common practice, no source).
const leastTabShare = 0.25

// tabs places the tabs of a contour, or none.
func (j *job) tabs(t *track, e edge) ([]tabCap, bool) {
	n := j.tabCount(t, e)
	if j.c.Through && e.inside && !e.onPath && (j.c.Tabs.Count > 0 || j.c.Tabs.Auto) && j.slugVanishes(e) {
		j.stop("tabs-needless", fmt.Sprintf("tabs are asked for, but the %.2f mm cutter clears the whole opening and leaves nothing to hold", j.cutter.Diameter), "leave out the tabs of this cut")
		return nil, false
	}
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
	// The tab has its height where the sheet has its thickness; on a slope it has
	// it under the centre of the cutter, where the base lies lower at most by rise.
	top := j.w.Thickness + j.tip() - j.c.Tabs.Height - j.d.rise()
	if j.c.Tabs.Width <= 0 || j.c.Tabs.Height <= 0 {
		return nil, j.refuseNumber("tab width or height", math.Min(j.c.Tabs.Width, j.c.Tabs.Height), "above 0")
	}
	if least := 1.05 * j.d.rise() / (1 - leastTabShare); j.c.Tabs.Height < least {
		f := j.finding(diag.Stop, "tab-thin", fmt.Sprintf("on a slope of %.1f° a tab of %.2f mm is only %.2f mm thick at its side uphill", math.Atan(j.d.slope)*180/math.Pi, j.c.Tabs.Height, math.Max(0, j.c.Tabs.Height-j.d.rise())),
			fmt.Sprintf("make the tabs at least %.2f mm high, or use a thinner cutter", math.Ceil(least*100)/100))
		j.add(j.at(f.With(j.c.Tabs.Height, least, "mm"), t.segs[0].A))
		return nil, false
	}
	if top <= j.d.top() {
		top = j.d.top() + hair // as high as the material: the cutter lifts out
	}
	z, ok := j.tabZone(top)
	if !ok {
		return nil, false
	}
	z.tol = j.c.Tol
	if j.c.Kind != work.Door { // a door has no corner that stays
		z.shut = j.cornersThatStay(t)
	}
	if gentle := z; !j.cutter.CentreCutting && !j.w.Skin.Flat() { // downhill adds to the ramp
		gentle.down = (j.d.bottom - top) / math.Tan(j.c.Ramp)
		gentle.steep, gentle.mid = gentle.down, gentle.low
		if caps := gentle.place(t, e, n, true); caps != nil {
			return caps, true
		}
	}
	for n0 := n; n > 0; n-- {
		for _, z := range j.narrower(z) {
			caps := z.place(t, e, n, false)
			if caps == nil {
				continue
			}
			if n < n0 {
				sev := diag.Stop
				if j.c.Tabs.Auto {
					sev = diag.Warn
				}
				f := j.finding(sev, "tabs-too-many", fmt.Sprintf("only %d of %d tabs of %.2f mm fit", n, n0, j.c.Tabs.Width), "ask for fewer tabs, or narrower or lower ones")
				j.add(j.at(f.With(float64(n0), float64(n), ""), t.segs[0].A))
			}
			return caps, true
		}
	}
	f := j.finding(diag.Stop, "tab-too-wide", fmt.Sprintf("a tab of %.2f mm needs %.1f mm of the path with its ramps, the path is %.1f mm long", j.c.Tabs.Width, z.span(), t.len),
		"make the tabs narrower or lower, use an onion skin, or a centre-cutting cutter that can step down after a tab")
	j.add(j.at(f.With(z.span(), t.len-2*z.start, "mm"), t.segs[0].A))
	return nil, false
}

// tabZone is the room that one tab takes along the path of the centre.
type tabZone struct {
	half          float64 // from the middle to where the cutter is up: half the width and the radius
	flat          float64 // half the width: what should lie on a straight
	up, down      float64 // lengths of the ramps
	steep         float64 // length of the steep part of the ramp down, at most down
	corner        float64 // wanted distance of a tab from a corner
	start         float64 // kept free on both sides of the start
	top, mid, low float64
	tol           float64   // of the edge
	shut          []float64 // corners that stay, where no tab may lie: positions on the track
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
		up: d / math.Tan(math.Max(down, risingTab)), down: d / math.Tan(down), top: top, mid: j.d.bottom, low: j.d.bottom}
	z.steep = z.down
	if !j.cutter.CentreCutting && down > j.c.Ramp {
		j.twoRamps(&z, down)
	}
	if step {
		z.up, z.down = 0, 0
	}
	return z, true
}

// narrower lists what is tried where a tab has little room: as asked for, then
// straight up and down beside it by a cutter that can, then, where the tabs are
// left to us, narrower ones: several share the load.
func (j *job) narrower(z tabZone) []tabZone {
	out := []tabZone{z}
	_, said := j.c.Options["tab_ramp_deg"]
	if _, step := j.c.Options["tab_step"]; j.cutter.CentreCutting && !said && !step {
		z.up, z.down, z.steep, z.mid = 0, 0, 0, z.low
		out = append(out, z)
	}
	if j.c.Tabs.Auto {
		z.half -= j.c.Tabs.Width / 5
		z.flat -= j.c.Tabs.Width / 5
		out = append(out, z)
	}
	return out
}

// twoRamps ends the steep way down of a cutter that does not cut at its centre
// where it has gone down by the height of the tab and the overcut; on a sloping
// skin the rest is as gentle as any other ramp.
func (j *job) twoRamps(z *tabZone, down float64) {
	most := 0.98 * (j.c.Depth - j.w.Thickness + j.c.Tabs.Height)
	steep := most / (math.Tan(down) + j.d.slope) // what the skin falls by meanwhile counts too
	if most <= 0 {
		steep = 0
	}
	if steep >= z.down {
		return
	}
	z.steep, z.mid = steep, z.top+float64(steep*math.Tan(down))
	z.down = steep + (z.low-z.mid)/math.Tan(j.c.Ramp)
}

func (z *tabZone) span() float64 { return z.up + 2*z.half + z.down }

// caps makes the caps of tabs whose middles lie at the given positions; nil when
// they do not fit beside each other, the start and the corners that stay.
func (z *tabZone) caps(t *track, e edge, at []float64) []tabCap {
	out := make([]tabCap, len(at))
	for i, s := range at {
		left, right := z.width(t, e, s)
		if left < 0 {
			return nil
		}
		out[i] = tabCap{at: [5]float64{s - left - z.up, s - left, s + right, s + right + z.steep, s + right + z.down}, top: z.top, mid: z.mid, low: z.low, centre: t.point(s)}
		c := &out[i]
		if left == z.half && right == z.half {
			continue // as it was placed
		}
		if c.at[0] < z.start || c.at[4] > t.len-z.start || i > 0 && c.at[0] < out[i-1].at[4] {
			return nil
		}
		for _, v := range z.shut {
			if v > c.at[0] && v < c.at[4] {
				return nil
			}
		}
	}
	for i := 1; i < len(out); i++ {
		if out[i].at[0] < out[i-1].at[4] {
			return nil
		}
	}
	return out
}

// width returns how far to both sides of s the cutter stays up, so that the tab
// has its width on the outline: half the width and the radius on a straight, more
// where the path goes round a corner or an arc of the part, or where its other
// side is near. left < 0 tells that no reasonable length does.
func (z *tabZone) width(t *track, e edge, s float64) (left, right float64) {
	if e.onPath {
		return z.half, z.half
	}
	p, d := t.point(s), t.tangent(s)
	path := newTrack(e.final.Segs()) // the last to pass the edge
	s, _ = path.nearest(p)
	if path.tangent(s).Dot(d) < 0 {
		path = path.reversed()
		s = path.len - s
	}
	outline := newTrack(nearestContour(e.outline.Contours(), p).Segs())
	o, _ := outline.nearest(path.point(s))
	sense := 1.0
	if outline.tangent(o).Dot(d) < 0 {
		sense = -1
	}
	r := z.half - z.flat
	reach := r + z.tol
	need := z.half - math.Sqrt(float64(2*r*z.tol)+float64(z.tol*z.tol)) // of outline that no deep stroke reaches, to each side
	left, right = z.half, z.half
	most := 2*z.half + 4*r
	const step = 0.1
	for range 40 {
		if left > most || right > most || left+right > path.len-2*step {
			return -1, -1
		}
		deep := nearness{}
		deep.fill(path.section(s+right, s+path.len-left))
		free := func(sense float64) float64 {
			for d := 0.0; d < need; d += step {
				if deep.beyond(outline.point(o+float64(sense*d)), reach) == 0 {
					return d
				}
			}
			return need
		}
		l, g := free(-sense), free(sense)
		if l >= need && g >= need {
			return left, right
		}
		left += math.Max(0, need-l)
		right += math.Max(0, need-g)
	}
	return -1, -1
}

// place finds n positions, evenly spread, so that the middle of the part lies
// well inside their polygon; nil when they do not fit. Straights away from
// corners are tried first, then whole straights, then all stretches without a
// corner, then anything; the first that spreads the tabs well is taken, or else
// the best of all. strict asks for a good spread without corners, or nothing.
func (z *tabZone) place(t *track, e edge, n int, strict bool) []tabCap {
	var best []tabCap
	bestScore := math.Inf(-1)
	for rank, m := range [...]room{{corner: z.corner, ramps: true, straight: true}, {ramps: true, straight: true}, {ramps: true}, {straight: true}, {anywhere: true}} {
		free := z.middles(t, m)
		if len(free) == 0 || strict && !m.ramps {
			continue
		}
		for _, c := range z.spread(t, e, free, n) { // the best that leaves every tab its width
			caps := z.caps(t, e, c.at)
			if caps == nil {
				continue
			}
			if n == 1 || c.gap >= 0.5*t.len/float64(n) {
				return caps
			}
			if score := c.score - 0.1*float64(rank); !strict && score > bestScore {
				best, bestScore = caps, score
			}
			break
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
		return z.open([]stretchOf{{lo, hi}}, t.len)
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
	return z.open(out, t.len)
}

// open takes from the stretches the places from which a tab or its ramps would
// reach a corner that stays: what is kept there could not be told from the tab.
func (z *tabZone) open(in []stretchOf, length float64) []stretchOf {
	const beside = 0.5 // mm
	for _, s := range z.shut {
		for _, m := range [...]float64{-length, 0, length} {
			lo, hi := s+m-z.half-z.down-beside, s+m+z.half+z.up+beside
			var out []stretchOf
			for _, f := range in {
				if f.b <= lo || f.a >= hi {
					out = append(out, f)
					continue
				}
				if f.a < lo {
					out = append(out, stretchOf{f.a, lo})
				}
				if f.b > hi {
					out = append(out, stretchOf{hi, f.b})
				}
			}
			in = out
		}
	}
	return in
}

// cornersThatStay lists the corners of the track that turn towards the kept side
// so sharply that the cutter leaves more than the tolerance in them.
func (j *job) cornersThatStay(t *track) []float64 {
	var out []float64
	n := len(t.segs)
	for i := range t.segs {
		in, on := t.segs[(i+n-1)%n].TangentB(), t.segs[i].TangentA()
		turn := math.Atan2(in.Cross(on), in.Dot(on))
		if !j.c.Climb { // the kept side lies on the left
			turn = -turn
		}
		if turn >= sharpTurn && j.r*(1/math.Sin((math.Pi-turn)/2)-1) > j.c.Tol/2 {
			out = append(out, t.at[i])
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

// spacing is one way to place tabs: the smallest way from tab to tab, and how good
// that is.
type spacing struct {
	at         []float64
	gap, score float64
}

// spread tries a number of phases and lists them, the best first.
func (z *tabZone) spread(t *track, e edge, free []stretchOf, n int) []spacing {
	const phases = 24
	var out []spacing
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
		out = append(out, spacing{at, gap, gap*float64(n)/t.len + balance(t, e, at)})
	}
	sort.SliceStable(out, func(i, k int) bool { return out[i].score > out[k].score+1e-9 })
	return out
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
