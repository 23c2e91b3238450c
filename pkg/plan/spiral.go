package plan

import (
	"math"

	"sparclear/pkg/geom"
)

const (
	spiralFit   = 0.004 // how far lines and arcs may stray from the spiral, mm
	spiralShy   = 0.01  // how far the last turn stays off the outermost ring, mm: more than it may stray
	spiralMost  = 4000  // edges of a ring beyond which rings are joined instead
	spiralLeast = 1e-4  // length below which a piece is none, mm
	spiralSlack = 1.02  // engagement of a turn against that of the rings
)

// turnKey names one turn: from ring inner of level k+1 to ring outer of level k,
// begun at a place.
type turnKey struct {
	k, inner, outer int
	from            geom.Point
}

// spiralled is a turn that was tried: its segments, nil where none is possible.
type spiralled struct {
	segs []geom.Seg
	end  geom.Point
}

// chain tells how far a spiral is possible: the levels from k down to 0 whose
// rings lie in each other one to one. It returns the ring of each further level.
func (c *clearing) chain(k, i int) []int {
	var out []int
	for k > 0 {
		o := c.only(k, i)
		if o < 0 {
			return out
		}
		out = append(out, o)
		k, i = k-1, o
	}
	return out
}

// only returns the ring of level k-1 that lies one to one beside ring i of level
// k: every place of the one is nearer to the other than to any further ring. -1
// where rings branch.
func (c *clearing) only(k, i int) int {
	if n := len(c.onlyOf); n == 0 {
		c.onlyOf = make([][]int, len(c.levels))
		for l := range c.levels {
			c.onlyOf[l] = make([]int, len(c.levels[l].rings))
			for r := range c.onlyOf[l] {
				c.onlyOf[l][r] = -2
			}
		}
	}
	if v := c.onlyOf[k][i]; v > -2 {
		return v
	}
	in, out := c.levels[k].rings, c.levels[k-1].rings
	found := -1
	ring := in[i].c
	for o := range out {
		if len(out[o].c) > spiralMost || found >= 0 {
			continue
		}
		if out[o].c.Dist(ring[0].Point) <= c.step*1.001 && nearestAlways(ring, out, o) && nearestAlways(out[o].c, in, i) {
			found = o
		}
	}
	c.onlyOf[k][i] = found
	return found
}

// nearestAlways tells whether ring number want is the nearest of rings all along c.
func nearestAlways(c geom.Contour, rings []ringAt, want int) bool {
	if len(rings) == 1 {
		return true
	}
	for v := range c {
		for _, q := range [...]geom.Point{c[v].Point, c.Seg(v).Mid()} {
			d := rings[want].c.Dist(q)
			for o := range rings {
				if o != want && rings[o].c.Dist(q) < d {
					return false
				}
			}
		}
	}
	return true
}

// spiral goes on from a ring that the cutter has just gone round to the
// outermost ring that lies one to one about it, in one continuous path: between
// two rings the distance from the walls shrinks evenly with the way along the
// outer one, so that each turn lies a stepover beside the turn before it, and the
// last ring is gone round whole. It returns where it ended; false where the rings
// must be joined instead.
func (c *clearing) spiral(k, i int, d float64) (int, int, bool) {
	rings := c.chain(k, i)
	if len(rings) == 0 || c.levels[k].rings[i].c.Dist(c.at) > 1e-6 {
		return k, i, false
	}
	turns, n := c.turns(k, i, rings)
	if n == 0 {
		return k, i, false
	}
	for t := range n {
		for _, s := range turns[t].segs {
			c.to(s, d, c.job.c.Feed)
		}
		k, i = k-1, rings[t]
		c.levels[k].rings[i].done = true
	}
	t := c.trackAt(k, i, c.at)
	c.once(&t, d)
	return k, i, true
}

// turns makes the turns of a chain, as many as hold what is asked of them.
func (c *clearing) turns(k, i int, rings []int) ([]spiralled, int) {
	last := k - len(rings)
	outermost := newTurner(c, last, rings[len(rings)-1])
	var out []spiralled
	at := c.at
	before := c.levels[k].rings[i].c.Segs()
	for t, o := range rings {
		level := k - 1 - t
		key := turnKey{level, i, o, at}
		s, ok := c.cache[key]
		if !ok {
			s = outermost.turn(level, i, o, at, before)
			if c.cache == nil {
				c.cache = map[turnKey]spiralled{}
			}
			c.cache[key] = s
		}
		if s.segs == nil {
			return out, t
		}
		out = append(out, s)
		at, before, i = s.end, s.segs, o
	}
	return out, len(rings)
}

// turner makes turns that count their way on one outermost ring.
type turner struct {
	c     *clearing
	level int   // of the outermost ring
	far   track // the outermost ring, run as it is cut
	index *geom.Index
}

func newTurner(c *clearing, level, ring int) *turner {
	t := &turner{c: c, level: level}
	contour := c.levels[level].rings[ring].c
	if !c.job.c.Climb {
		contour = contour.Reverse()
	}
	t.far = newTrack(contour.Segs())
	t.index = geom.NewSegIndex(t.far.segs...)
	return t
}

// on returns the position on the outermost ring that lies beside q.
func (t *turner) on(q geom.Point) float64 {
	p, i, _ := t.index.Nearest(q)
	return t.far.at[i] + along(t.far.segs[i], p)
}

// turn makes the turn from ring inner of level k+1, begun at from, to ring outer
// of level k. before is the turn before it.
func (t *turner) turn(k, inner, outer int, from geom.Point, before []geom.Seg) spiralled {
	c := t.c
	path := c.trackAt(k, outer, from)
	b := bending{turner: t, k: k, inner: geom.NewIndex(c.levels[k+1].rings[inner].c), path: &path}
	end := path.segs[0].A
	b.zero = t.on(end.Add(b.outward(0, 0).Mul(b.depth())))
	cuts := b.cuts(c.levels[k+1].rings[inner].c)
	var segs []geom.Seg
	var fill []bool // whether a segment goes round a corner of the inner ring
	at, u := from, 0.0
	for i, g := range path.segs {
		l := g.Length()
		for n := 0; n+1 < len(cuts[i]); n++ {
			a, z := cuts[i][n]/l, cuts[i][n+1]/l
			ua := math.Max(u, b.share(i, a, i == 0 && n == 0, false))
			uz := math.Max(ua, b.share(i, z, false, i == len(path.segs)-1 && n == len(cuts[i])-2))
			if p := b.place(i, a, ua); p.Dist(at) >= spiralLeast { // along the bisector of a corner
				segs, fill = append(segs, geom.Line(at, p)), append(fill, true)
				at = p
			}
			segs = b.fit(segs, &at, i, a, z, ua, uz, 0)
			u = uz
			for around := b.around(i, a, z); len(fill) < len(segs); {
				fill = append(fill, around)
			}
		}
	}
	if n := len(segs); n > 0 && at.Dist(end) < spiralLeast {
		segs[n-1].B = end
	} else if at != end {
		segs = append(segs, geom.Line(at, end))
		fill = append(fill, false)
	}
	segs = mitred(segs, fill)
	if !b.holds(segs, before) {
		return spiralled{}
	}
	return spiralled{segs, end}
}

// mitred lets two lines run on to where they meet, in place of what goes round a
// corner between them, and makes one line of two that go straight on.
func mitred(segs []geom.Seg, fill []bool) []geom.Seg {
	out := make([]geom.Seg, 0, len(segs))
	for i := 0; i < len(segs); i++ {
		k := i
		for k < len(segs) && fill[k] {
			k++
		}
		if n := len(out); k > i && n > 0 && k < len(segs) && out[n-1].IsLine() && segs[k].IsLine() {
			if x, ok := meet(out[n-1], segs[k]); ok {
				out[n-1].B = x
				segs[k].A = x
				i = k
			}
		}
		out = joined(append(out, segs[i]))
	}
	return out
}

// meet is where line a goes on to and line b comes from.
func meet(a, b geom.Seg) (geom.Point, bool) {
	u, v := a.TangentA(), b.TangentA()
	x := u.Cross(v)
	if math.Abs(x) < 1e-3 {
		return geom.Point{}, false
	}
	w := b.A.Sub(a.B)
	s, t := w.Cross(v)/x, w.Cross(u)/x // a.B + s·u = b.A + t·v
	if s < -1e-6 || t > 1e-6 {
		return geom.Point{}, false
	}
	return a.B.Add(u.Mul(s)), true
}

// joined makes one line of the last two where they go straight on.
func joined(segs []geom.Seg) []geom.Seg {
	const same = 1e-5 // mm
	for n := len(segs); n > 1; n = len(segs) {
		a, b := segs[n-2], segs[n-1]
		if !a.IsLine() || !b.IsLine() || a.TangentA().Dot(b.TangentA()) < 0 || geom.Line(a.A, b.B).Dist(a.B) > same {
			break
		}
		segs = append(segs[:n-2], geom.Line(a.A, b.B))
	}
	return segs
}

// bending is one turn while it is made.
type bending struct {
	*turner
	k     int
	inner *geom.Index
	path  *track // the outer ring, from where the turn ends
	zero  float64
}

// depth is how far the outer ring of the turn lies inside the outermost one.
func (b *bending) depth() float64 { return float64(b.k-b.level) * b.c.step }

// outward is the direction from segment i of the outer ring to the wall.
func (b *bending) outward(i int, u float64) geom.Point {
	d := tangentAt(b.path.segs[i], u)
	if b.c.job.c.Climb {
		return d.Right()
	}
	return d.Left()
}

// tangentAt is the direction of s at parameter u.
func tangentAt(s geom.Seg, u float64) geom.Point {
	switch {
	case s.IsLine() || u <= 0:
		return s.TangentA()
	case u >= 1:
		return s.TangentB()
	}
	return part(s, u, 1).TangentA()
}

// around tells whether a piece of the outer ring lies beside one corner of the
// inner one.
func (b *bending) around(i int, a, z float64) bool {
	p, _, _ := b.inner.Nearest(at(b.path.segs[i], a+float64((z-a)*0.1)))
	q, _, _ := b.inner.Nearest(at(b.path.segs[i], z-float64((z-a)*0.1)))
	return p.Dist(q) < 1e-6
}

// share is how far the turn has come out from the inner ring at a place of the
// outer one: the way along the outermost ring, from 0 to 1.
func (b *bending) share(i int, u float64, first, last bool) float64 {
	if first {
		return 0
	}
	if last {
		return 1
	}
	g := b.path.segs[i]
	s := b.on(at(g, u).Add(b.outward(i, u).Mul(b.depth()))) - b.zero
	if s < -1e-9 {
		s += b.far.len
	}
	s /= b.far.len
	if done := (b.path.at[i] + float64(u*g.Length())) / b.path.len; math.Abs(s-done) > 0.5 { // round the start
		return math.Round(done)
	}
	return s
}

// place is the turn beside a place of the outer ring.
func (b *bending) place(i int, u, share float64) geom.Point {
	p := at(b.path.segs[i], u)
	q, _, _ := b.inner.Nearest(p)
	if b.k == 0 {
		share = math.Min(share, 1-spiralShy/b.c.step)
	}
	return q.Lerp(p, share)
}

// cuts lists for every segment of the outer ring the lengths at which what lies
// beside it changes: its ends, and the places beside corners of the inner ring.
func (b *bending) cuts(inner geom.Contour) [][]float64 {
	out := make([][]float64, len(b.path.segs))
	ring := geom.NewSegIndex(b.path.segs...)
	for v := range inner {
		prev, next := inner.Seg((v+len(inner)-1)%len(inner)), inner.Seg(v)
		for _, d := range [...]geom.Point{prev.TangentB(), next.TangentA()} {
			q := inner[v].Point.Add(d.Right().Mul(b.c.step)) // the kept side lies on the right
			p, i, dist := ring.Nearest(q)
			if dist < 1e-3 {
				out[i] = append(out[i], along(b.path.segs[i], p))
			}
		}
	}
	for i := range out {
		l := b.path.segs[i].Length()
		sortFloats(out[i])
		list := []float64{0}
		for _, s := range out[i] {
			if s > list[len(list)-1]+1e-4 && s < l-1e-4 {
				list = append(list, s)
			}
		}
		out[i] = append(list, l)
	}
	return out
}

// fit adds lines and arcs that follow the turn beside segment i from a to z.
func (b *bending) fit(out []geom.Seg, from *geom.Point, i int, a, z, ua, uz float64, level int) []geom.Seg {
	on := func(f float64) geom.Point {
		return b.place(i, a+float64((z-a)*f), ua+float64((uz-ua)*f))
	}
	end := on(1)
	if end.Dist(*from) < spiralLeast {
		return out // the next piece begins where this one does
	}
	near := func(s geom.Seg) bool {
		for _, f := range [...]float64{0.25, 0.5, 0.75} {
			if s.Dist(on(f)) > spiralFit {
				return false
			}
		}
		return true
	}
	s := geom.Line(*from, end)
	if !near(s) {
		s = arcVia(*from, on(0.5), end)
		if !near(s) && level < 8 {
			m, um := (a+z)/2, (ua+uz)/2
			out = b.fit(out, from, i, a, m, ua, um, level+1)
			return b.fit(out, from, i, m, z, um, uz, level+1)
		}
	}
	*from = end
	return append(out, s)
}

// arcVia is the arc from a to c over b, a line where the three lie on one.
func arcVia(a, b, c geom.Point) geom.Seg {
	s := geom.Line(a, c)
	u, v := b.Sub(a), c.Sub(b)
	turn := math.Atan2(u.Cross(v), u.Dot(v)) // half of the sweep of the arc
	if math.Abs(turn) > 1e-6 && math.Abs(turn) < math.Pi/2 {
		s.Bulge = math.Tan(turn / 2)
	}
	return s
}

// holds tells whether a turn lies inside the outer ring of level k and nowhere
// further from the turn before it than the rings lie apart there: a stepover,
// more about a corner.
func (b *bending) holds(segs, before []geom.Seg) bool {
	was := geom.NewSegIndex(before...)
	ring := geom.NewSegIndex(b.path.segs...)
	type wide struct {
		at  geom.Point
		gap float64
	}
	var corners []wide
	for _, g := range b.path.segs {
		if d := b.inner.Dist(g.A); d > b.c.step*spiralSlack {
			corners = append(corners, wide{g.A, d})
		}
	}
	for _, s := range segs {
		for _, f := range [...]float64{0.5, 1} {
			q := at(s, f)
			gap := b.c.step
			for _, c := range corners {
				if c.at.Dist(q) < 2*c.gap {
					gap = math.Max(gap, c.gap)
				}
			}
			if was.Dist(q) > spiralSlack*gap || !b.c.within(b.k, q) && ring.Dist(q) > 1e-6 {
				return false
			}
		}
	}
	return true
}

// within tells whether q lies in the region that the rings of a level bound.
func (c *clearing) within(k int, q geom.Point) bool {
	w := 0
	for i := range c.levels[k].rings {
		w += c.levels[k].rings[i].c.Winding(q)
	}
	return w > 0
}
