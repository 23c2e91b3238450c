package proof

import (
	"fmt"
	"math"
	"sync"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/rs274"
	"sparclear/pkg/work"
)

// verdict is what one move does to the material. 8 bytes a move.
type verdict struct {
	cut  int32   // to which it belongs, -1 when it stays out of the material
	deep float32 // an upper bound of the depth of its lowest place, mm
}

// offence is the worst place at which one rule is broken.
type offence struct {
	code  string
	cut   int // -1 none
	by    float64
	value float64
	limit float64
	prog  int
	move  int
	tip   [3]float64
	count int // moves
	last  int // the last of them, so that each counts once
}

// crawl looks at the moves of one program, in pieces.
type crawl struct {
	p     *prover
	prog  int
	tool  int
	t     *tool
	b     *budget
	out   map[string]*offence // by code and cut
	order []string
	over  []float64 // largest overcut of each cut
	room  []float64 // smallest room above the limit of each cut
	roomT [][3]float64
	roomM []int
	floor float64 // smallest room above the floor
	seen  []seenEdge
	spare int // refinements of failing moves still allowed
}

// chunk is how many moves one unit of work holds. Results of chunks are merged
// in order, so that they do not depend on how many processors there are.
const chunk = 4096

// depth certifies that no move goes below limit or floor anywhere under its
// footprint, that every move in the material stays in the area of a cut, and
// that no rapid touches the material.
func (p *prover) depth() {
	n := len(p.w.Cuts)
	total := &crawl{p: p, out: map[string]*offence{}, over: fill(n, math.Inf(-1)), room: fill(n, math.Inf(1)), roomT: make([][3]float64, n), roomM: make([]int, n), floor: math.Inf(1)}
	roomP := make([]int, n)
	p.verdicts = make([][]verdict, len(p.progs))
	for k, pr := range p.progs {
		m := len(pr.replay.Moves)
		p.bottom = append(p.bottom, p.bottoms(pr))
		p.verdicts[k] = make([]verdict, m)
		parts := make([]*crawl, (m+chunk-1)/chunk)
		p.each(len(parts), func(i int) {
			c := &crawl{p: p, prog: k, out: map[string]*offence{}, over: fill(n, math.Inf(-1)), room: fill(n, math.Inf(1)), roomT: make([][3]float64, n), roomM: make([]int, n), floor: math.Inf(1), spare: 20000}
			for j := i * chunk; j < min(m, (i+1)*chunk); j++ {
				c.move(j)
			}
			parts[i] = c
		})
		if p.ctx.Err() != nil {
			return
		}
		for _, c := range parts {
			for i := range c.over {
				total.over[i] = math.Max(total.over[i], c.over[i])
				if c.room[i] < total.room[i] {
					total.room[i], total.roomT[i], total.roomM[i], roomP[i] = c.room[i], c.roomT[i], c.roomM[i], k
				}
			}
			total.floor = math.Min(total.floor, c.floor)
			for _, key := range c.order {
				total.merge(key, c.out[key])
			}
		}
	}
	p.engages = ahead(p.engage)
	p.past = total.over
	for i := range p.w.Cuts {
		c := &p.w.Cuts[i]
		if !math.IsInf(total.room[i], 0) {
			at := total.roomT[i]
			d := c.Frame.Inverse().Apply(geom.Pt(at[0], at[1]))
			pr := p.progs[roomP[i]]
			p.cert.Margins = append(p.cert.Margins, Margin{Check: "depth", Member: "limit of " + c.Name, Cut: c.Name, MarginMM: total.room[i], File: pr.src.File, Line: pr.lineOf(total.roomM[i]), At: &at, Drawing: &[2]float64{d.X, d.Y}})
		}
		if !math.IsInf(total.over[i], 0) {
			p.cert.Margins = append(p.cert.Margins, Margin{Check: "shape", Member: "edge of " + c.Name, Cut: c.Name, MarginMM: p.areas.list[i].tol - total.over[i]})
		}
	}
	p.envelopes(total.over)
	if !math.IsInf(total.floor, 0) {
		p.cert.Margins = append(p.cert.Margins, Margin{Check: "depth", Member: "floor", MarginMM: total.floor})
		p.say("depth", "smallest room above the floor %.3f mm, errors of height included", total.floor)
	}
	for _, key := range total.order {
		p.report(total.out[key])
	}
}

// envelopes warns where runout and tolerance of the cutter may take an edge past
// its tolerance although the path keeps it.
func (p *prover) envelopes(over []float64) {
	for i, o := range over {
		c, a := &p.w.Cuts[i], &p.areas.list[i]
		if math.IsInf(o, 0) || a.inside == nil && a.outside == nil || o > a.tol {
			continue
		}
		wide := o + p.w.Machine.Runout/2 + p.w.Cutters[c.Cutter].DiameterTol/2
		if wide <= a.tol {
			continue
		}
		f := diag.Finding{Code: "edge-unsure", Severity: diag.Warn, Subject: p.progs[0].src.File, Cut: c.Name,
			Message: fmt.Sprintf("%s: with runout and cutter tolerance the edge may lie %.3f mm past the drawn one, %.3f mm asked for", c.Name, wide, a.tol),
			Help:    "measure the cutter, clean the collet, or allow more"}.With(wide, a.tol, "mm")
		p.fault("shape", f)
	}
}

// ahead begins to work f out beside what follows, and returns where to wait for it.
func ahead[T any](f func() T) func() T {
	done := make(chan T, 1)
	go func() { done <- f() }()
	return sync.OnceValue(func() T { return <-done })
}

func fill(n int, v float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = v
	}
	return out
}

func (c *crawl) merge(key string, o *offence) {
	have := c.out[key]
	if have == nil {
		k := *o
		c.out[key] = &k
		c.order = append(c.order, key)
		return
	}
	n, last := have.count+o.count, o.last
	if o.by > have.by {
		*have = *o
	}
	have.count, have.last = n, last
}

func (c *crawl) offend(o offence) {
	o.prog, o.count, o.last = c.prog, 1, o.move
	c.spare = min(c.spare, 500) // refused anyway: the rest need not be exact
	key := fmt.Sprintf("%s %d", o.code, o.cut)
	if have := c.out[key]; have != nil && have.last == o.move {
		o.count = 0
	}
	c.merge(key, &o)
}

// deepest returns an upper bound of how far the cutter reaches below the skin
// anywhere under its footprint during the piece, the bound of the error of that
// depth, mm.
func (c *crawl) deepest(cv *curve, p *piece, t0, t1 float64) (deep, err float64) {
	w := c.p.w
	if c.p.flat {
		u, e := w.Skin.Error(p.box)
		return c.p.level - p.zlo + p.slack, c.b.depth(u, e)
	}
	foot := p.box.Grow(c.t.cutter.Diameter/2 + p.slack)
	u, e := w.Skin.Error(foot)
	_, hi := w.Skin.Range(foot)
	deep = hi - p.zlo + p.slack
	err = c.b.depth(u, e)
	if math.IsNaN(deep + err) {
		return math.Inf(1), 0
	}
	if p.rect || deep+err <= 0 {
		return deep, err
	}
	// Along the piece the depth of the tip strays from its chord by the bend of
	// the skin alone; under the footprint the slope adds what the form of the
	// cutter lets it.
	slope := w.Skin.Slope(foot)
	bend := w.Skin.Bend(foot)
	l := p.seg.Length()
	if r := p.seg.Radius(); !math.IsInf(r, 1) && r > 0 {
		bend += slope / r
	}
	a, b := cv.at(t0), cv.at(t1)
	da := w.Skin.Height(geom.Pt(a[0], a[1])) - a[2]
	db := w.Skin.Height(geom.Pt(b[0], b[1])) - b[2]
	if cv.plane == 0 {
		if d2 := math.Max(da, db) + stray(bend, l) + c.t.lift(slope) + p.slack*(1+slope); d2 < deep {
			deep = d2
		}
	}
	return deep, err
}

// stray is how far a line of length l on a surface may lie from its chord.
func stray(bend, l float64) float64 {
	if l == 0 {
		return 0
	}
	return float64(bend*l*l) / 8
}

func (c *crawl) move(j int) {
	pr := c.p.progs[c.prog]
	m := &pr.replay.Moves[j]
	v := &c.p.verdicts[c.prog][j]
	v.cut = -1
	c.tool = pr.toolOf(j)
	if c.tool < 0 {
		return // reported already
	}
	c.t, c.b = &c.p.tools[c.tool], &c.p.budgets[c.tool]
	cv := newCurve(m)
	if cv.rapid {
		c.rapid(j, &cv)
		return
	}
	n := cv.parts()
	for i := 0; i < n; i++ {
		c.feed(j, &cv, float64(i)/float64(n), float64(i+1)/float64(n), v, 0)
	}
	if pr.blend > 0 && j > 0 && v.cut >= 0 {
		c.blended(j, &pr.replay.Moves[j-1], m, v)
	}
}

// blended certifies that a corner which the controller cuts stays in the area of
// its cut. The rounded path lies between the two legs and passes the corner no
// further off than it may: within the chord at that distance, which is held against
// the edge.
func (c *crawl) blended(j int, a, b *rs274.Move, v *verdict) {
	if a.Motion == rs274.Rapid || a.Plane != rs274.XY && a.Arc() || b.Plane != rs274.XY && b.Arc() {
		return // a rapid before it only lowers the tip
	}
	ca, cb := newCurve(a), newCurve(b)
	la, lb := ca.length(), cb.length()
	if la == 0 || lb == 0 {
		return
	}
	ta, tb := ca.heading(1), cb.heading(0)
	half := math.Atan2(math.Abs(ta.Cross(tb)), ta.Dot(tb)) / 2
	if half < 1e-3 || ta == (geom.Point{}) || tb == (geom.Point{}) {
		return
	}
	s := c.p.progs[c.prog].blend / math.Sin(half)
	at := geom.Pt(b.From[0], b.From[1])
	p := piece{seg: geom.Line(at.Sub(ta.Mul(math.Min(s, la))), at.Add(tb.Mul(math.Min(s, lb)))), zlo: b.From[2], zhi: b.From[2]}
	p.box = p.seg.Bounds()
	deep, err := c.deepest(&cb, &p, 0, 0)
	if deep+err <= 0 || !c.stocked(&p) {
		return
	}
	area := &c.p.areas.list[v.cut]
	if o := area.over(&p, c.radius(&p, deep+err)); o > area.tol {
		c.offend(offence{code: "gouge", cut: int(v.cut), by: o - area.tol, value: o, limit: area.tol, move: j, tip: b.From})
	}
}

// finest is the length below which a piece is judged as it stands, mm.
const finest = 1e-4

// feed certifies one piece of a move at feed.
func (c *crawl) feed(j int, cv *curve, t0, t1 float64, v *verdict, level int) {
	w := c.p.w
	p := cv.piece(t0, t1)
	deep, err := c.deepest(cv, &p, t0, t1)
	floorRoom := w.Floor - deep - err
	inMaterial := deep+err > 0 && c.stocked(&p)
	r := c.radius(&p, deep+err)
	cut, over, fault := -1, 0.0, offence{}
	if inMaterial {
		cut, over, fault = c.place(&p, r, deep, err)
	}
	if fault.code == "" {
		fault = c.collars(cv, &p, t0, t1, err)
	}
	if floorRoom >= 0 && fault.code == "" {
		c.floor = math.Min(c.floor, floorRoom)
		if inMaterial {
			c.note(j, cut, over, deep, err, v, cv.at(t1))
		}
		return
	}
	if level < 40 && (p.box.Size().Len() > finest || p.zhi-p.zlo > finest) && c.spare > 0 {
		c.spare--
		mid := (t0 + t1) / 2
		c.feed(j, cv, t0, mid, v, level+1)
		c.feed(j, cv, mid, t1, v, level+1)
		return
	}
	tip := cv.at((t0 + t1) / 2)
	v.deep = float32(math.Max(float64(v.deep), deep))
	if math.IsInf(deep+err, 1) {
		c.offend(offence{code: "height-unknown", cut: cut, move: j, tip: tip})
		return
	}
	if floorRoom < 0 {
		c.floor = math.Min(c.floor, floorRoom)
		c.offend(offence{code: "floor-passed", cut: cut, by: -floorRoom, value: deep + err, limit: w.Floor, move: j, tip: tip})
	}
	if fault.code != "" {
		v.cut = int32(max(fault.cut, 0))
		fault.move, fault.tip = j, tip
		c.offend(fault)
	}
}

// radius returns the largest radius at which the cutter is in the material, whose
// surface lies deep mm above the tip at most and may rise uphill by its slope: from
// the whole radius down, each step an upper bound.
func (c *crawl) radius(p *piece, deep float64) float64 {
	if c.p.flat || deep <= 0 {
		return c.t.radiusAt(deep)
	}
	r := c.t.cutter.Diameter / 2
	slope := c.p.w.Skin.Slope(p.box.Grow(r + p.slack))
	for range 20 {
		q := math.Min(r, c.t.radiusAt(deep+float64(slope*r)))
		if q == r {
			break
		}
		r = q
	}
	return r
}

// collars certifies that shank and holder, where they are wider than the cutter,
// stay above the skin.
func (c *crawl) collars(cv *curve, p *piece, t0, t1, err float64) offence {
	for i := range c.t.collar {
		s := &c.t.collar[i]
		low := p.zlo - p.slack + s.low
		if c.p.flat {
			if d := c.p.level + err - low; d > 0 && c.stockedWithin(p, s.reach()) {
				return offence{code: "holder-in-work", cut: -1, by: d, value: d}
			}
			continue
		}
		foot := p.box.Grow(s.reach() + p.slack)
		_, hi := c.p.w.Skin.Range(foot)
		d := hi + err - low
		if d <= 0 || !c.stockedWithin(p, s.reach()) {
			continue
		}
		if !p.rect && cv.plane == rs274.XY {
			// along a draped path the depth of the tip says more than heights over boxes
			_, most := c.p.tipDepth(cv, p, t0, t1)
			d = math.Min(d, most+float64(c.p.w.Skin.Slope(foot)*s.reach())+err-s.low)
		}
		if d > 0 {
			return offence{code: "holder-in-work", cut: -1, by: d, value: d}
		}
	}
	return offence{}
}

// note keeps the verdict of a piece that is allowed.
func (c *crawl) note(j, cut int, over, deep, err float64, v *verdict, tip [3]float64) {
	a := &c.p.areas.list[cut]
	c.over[cut] = math.Max(c.over[cut], over)
	if room := a.cut.Limit - deep - err; room < c.room[cut] {
		c.room[cut], c.roomM[cut], c.roomT[cut] = room, j, tip
	}
	v.cut = int32(cut)
	v.deep = max(v.deep, float32(deep))
}

// stocked tells whether there may be material under the footprint.
func (c *crawl) stocked(p *piece) bool { return c.stockedWithin(p, c.t.cutter.Diameter/2) }

// stockedWithin is stocked for a body of radius r.
func (c *crawl) stockedWithin(p *piece, r float64) bool {
	s := c.p.areas.stock
	if s == nil {
		return true
	}
	r += p.slack
	if p.rect {
		return s.DistBox(p.box) <= r
	}
	return s.DistSeg(p.seg) <= r
}

// place finds the cut in whose area the piece lies, whose limit it keeps and
// whose cutter it uses, and by how much it passes the edge; otherwise what is wrong.
func (c *crawl) place(p *piece, r, deep, err float64) (int, float64, offence) {
	best, key, past := -1, math.Inf(1), 0.0
	inner, innerSize := -1, math.Inf(1) // smallest place that holds the piece but is not as deep
	wrong, deepCut, nearCut := -1, -1, -1
	deepLimit, over := math.Inf(-1), math.Inf(1)
	try := func(i int) {
		a := &c.p.areas.list[i]
		o := c.overIn(i, a, p, r)
		switch {
		case o > a.tol:
			if o-a.tol < over {
				over, nearCut = o-a.tol, i
			}
		case deep+err > math.Min(a.cut.Limit, c.bottomOf(a.cut, p)+err)+1e-9:
			if l := math.Min(a.cut.Limit, c.bottomOf(a.cut, p)+err); l > deepLimit {
				deepLimit, deepCut = l, i
			}
			if a.inside != nil && a.size < innerSize {
				inner, innerSize = i, a.size
			}
		case a.cut.Cutter != c.tool:
			wrong = i
		default:
			// The smallest outline around it is the one meant; failing that, the
			// nearest part.
			k := a.size
			if a.outside != nil {
				k = 1e12 + a.own.DistSeg(p.seg)
			}
			if k < key {
				best, key, past = i, k, o
			}
		}
	}
	c.p.areas.boxes.visit(p.box, try)
	if w := c.p.areas.waste; w >= 0 && best < 0 && wrong < 0 && deepCut < 0 && nearCut < 0 {
		try(w)
	}
	if best >= 0 && inner >= 0 && innerSize < key {
		// A deeper cut around it does not license to pass the bottom of a shallower one within.
		l := math.Min(c.p.w.Cuts[inner].Limit, c.bottomOf(&c.p.w.Cuts[inner], p)+err)
		return -1, 0, offence{code: "depth-limit", cut: inner, by: deep + err - l, value: deep + err, limit: l}
	}
	if best >= 0 {
		if other, by := c.p.areas.intrudes(best, p, r); other >= 0 {
			t := c.p.areas.list[other].tol
			return -1, 0, offence{code: "gouge", cut: other, by: by, value: by + t, limit: t}
		}
	}
	switch {
	case best >= 0:
		return best, past, offence{}
	case wrong >= 0:
		return -1, 0, offence{code: "wrong-cutter", cut: wrong, by: 1, value: float64(c.t.cutter.Number), limit: float64(c.p.tools[c.p.areas.list[wrong].cut.Cutter].cutter.Number)}
	case deepCut >= 0:
		return -1, 0, offence{code: "depth-limit", cut: deepCut, by: deep + err - deepLimit, value: deep + err, limit: deepLimit}
	case nearCut >= 0:
		return -1, 0, offence{code: "gouge", cut: nearCut, by: over, value: over + c.p.areas.list[nearCut].tol, limit: c.p.areas.list[nearCut].tol}
	}
	return -1, 0, offence{code: "gouge", cut: -1, by: deep + err, value: deep + err}
}

// seenEdge is how far the nearest edge of an area lies from one place inside.
type seenEdge struct {
	at geom.Point
	d  float64 // lower bound, mm
}

// wellInside is how far inside its area a footprint may be said to lie by a bound
// alone, mm: the margin that is reported is that of what comes nearest.
const wellInside = 1.0

// overIn is area.over, short where the last look at the edges of an area says
// that this piece lies well inside, or further in than another one.
func (c *crawl) overIn(i int, a *area, p *piece, r float64) float64 {
	f := a.inside
	if f == nil {
		f = a.outside
	}
	if f == nil || a.inside != nil && a.outside != nil || len(a.strict) > 0 || p.rect || p.seg.Bulge != 0 {
		return a.over(p, r)
	}
	if c.seen == nil {
		c.seen = make([]seenEdge, len(c.p.areas.list))
	}
	s := &c.seen[i]
	if s.d > 0 {
		d := s.d - math.Max(s.at.Dist(p.seg.A), s.at.Dist(p.seg.B))
		if o := r - d + p.slack; d > r && o <= math.Max(c.over[i], -wellInside) {
			return o
		}
	}
	o := a.over(p, r)
	if o < -wellInside-r { // worth a look at how far the edges are
		s.at, s.d = p.seg.B, f.EdgeDist(p.seg.B)
	}
	return o
}

// bottomOf returns how deep the footprint may go in a cut that leaves material
// below it, mm: its depth, the tolerances of draping and of the bottom, and what
// the slope of the skin adds under the footprint; of an onion skin at least half
// stays. +Inf for a cut that goes through and has a limit.
func (c *crawl) bottomOf(k *work.Cut, p *piece) float64 {
	if k.Through && k.Onion <= 0 && !math.IsInf(k.Limit, 1) {
		return math.Inf(1)
	}
	lift := 0.0
	if !c.p.flat {
		lift = c.t.lift(c.p.w.Skin.Slope(p.box.Grow(c.t.cutter.Diameter/2 + p.slack)))
	}
	depth := k.Depth
	if k.Onion > 0 {
		depth = math.Min(depth, c.p.w.Thickness-k.Onion)
		lift = math.Min(lift, k.Onion/2)
	}
	return depth + c.p.w.HeightTol + depthSlop + lift
}

// rapid certifies that no path that the axes may take touches the material. A
// rapid straight up leaves what was cut; one straight down may go as deep as the
// moves before it went at the same place.
func (c *crawl) rapid(j int, cv *curve) {
	p := cv.piece(0, 1)
	up := p.box.Min == p.box.Max && cv.to[2] >= cv.from[2]
	deep, err := c.deepest(cv, &p, 0, 1)
	if math.IsInf(deep+err, 1) {
		c.offend(offence{code: "height-unknown", cut: -1, move: j, tip: cv.to})
		return
	}
	if room := c.p.w.Floor - deep - err; room < 0 {
		c.offend(offence{code: "floor-passed", cut: -1, by: -room, value: deep + err, limit: c.p.w.Floor, move: j, tip: cv.to})
	}
	if o := c.collars(cv, &p, 0, 1, err); o.code != "" && !up {
		o.move, o.tip = j, [3]float64{cv.to[0], cv.to[1], p.zlo}
		c.offend(o)
	}
	blend := 0.0
	if p.box.Min != p.box.Max { // the corners at both ends may be cut
		blend = c.p.progs[c.prog].blend
		err += blend
	}
	if up || deep+err <= 0 || !c.stocked(&p) {
		return
	}
	if p.box.Min == p.box.Max && cv.to[2] >= c.p.bottom[c.prog][j]-1e-9 {
		return
	}
	if c.overSkin(&p, p.box, blend, 0) {
		return
	}
	c.offend(offence{code: "rapid-in-material", cut: c.p.cutAt(geom.Pt(cv.to[0], cv.to[1])), by: deep + err, value: -deep, limit: err, move: j, tip: [3]float64{cv.to[0], cv.to[1], p.zlo}})
}

// overSkin certifies by halving the box that a rapid stays more mm above the skin.
func (c *crawl) overSkin(p *piece, box geom.Box, more float64, level int) bool {
	q := *p
	q.box = box
	deep, err := c.deepest(nil, &q, 0, 1)
	if deep+err+more <= 0 || !c.stocked(&q) {
		return true
	}
	s := box.Size()
	if c.p.flat && c.p.areas.stock == nil || level > 16 || math.Max(s.X, s.Y) < 0.05 || c.spare <= 0 {
		return false
	}
	c.spare--
	a, b, m := box, box, box.Center()
	if s.X >= s.Y {
		a.Max.X, b.Min.X = m.X, m.X
	} else {
		a.Max.Y, b.Min.Y = m.Y, m.Y
	}
	return c.overSkin(p, a, more, level+1) && c.overSkin(p, b, more, level+1)
}

// bottoms finds, for every move straight down, the lowest Z at which the moves
// just before it, all at the same place and with the same cutter, were at feed.
func (p *prover) bottoms(pr *program) map[int]float64 {
	out := map[int]float64{}
	low, tool := math.Inf(1), -1
	var at [2]float64
	for j := range pr.replay.Moves {
		m := &pr.replay.Moves[j]
		t := pr.toolOf(j)
		if t != tool || m.From[0] != at[0] || m.From[1] != at[1] {
			low, tool, at = math.Inf(1), t, [2]float64{m.From[0], m.From[1]}
		}
		stays := m.From[0] == m.To[0] && m.From[1] == m.To[1]
		if stays && m.To[2] < m.From[2] {
			out[j] = low
		}
		if !stays {
			low, at = math.Inf(1), [2]float64{m.To[0], m.To[1]}
		}
		if m.Motion != rs274.Rapid {
			low = math.Min(low, m.To[2])
		}
	}
	return out
}

// report turns an offence into a finding.
func (p *prover) report(o *offence) {
	pr := p.progs[o.prog]
	f := diag.Finding{Code: o.code, Severity: diag.Stop, Subject: pr.src.File}
	frame := p.w.Frame
	name := "the tip"
	if o.cut >= 0 {
		f.Cut, name, frame = p.w.Cuts[o.cut].Name, p.w.Cuts[o.cut].Name, p.w.Cuts[o.cut].Frame
	}
	check := "depth"
	switch o.code {
	case "height-unknown":
		f.Message = "the height of the skin is not known here"
		f.Help = "touch more points around this place"
	case "floor-passed":
		f.Message = fmt.Sprintf("%s reaches %.3f mm below the skin, errors included; nothing may pass %.3f mm", name, o.value, o.limit)
		f.Help = fmt.Sprintf("raise the cut by %.3f mm, or measure again what lies below", o.by)
		f = f.With(o.value, o.limit, "mm")
	case "depth-limit":
		f.Message = fmt.Sprintf("%s goes %.3f mm below the skin, errors included; its limit is %.3f mm", name, o.value, o.limit)
		f.Help = fmt.Sprintf("raise the cut by %.3f mm, or give a deeper limit where nothing lies below", o.by)
		f = f.With(o.value, o.limit, "mm")
	case "gouge":
		check = "shape"
		if o.cut < 0 {
			f.Message = fmt.Sprintf("cuts %.3f mm deep where no cut is asked for", o.value)
			f.Help = "remove the move, or ask for a cut there"
			break
		}
		f.Message = fmt.Sprintf("cuts %.3f mm past the edge of %s, %.3f mm allowed", o.value, name, o.limit)
		f.Help = fmt.Sprintf("move the path %.3f mm away from the edge", o.by)
		f = f.With(o.value, o.limit, "mm")
	case "wrong-cutter":
		check = "sense"
		f.Message = fmt.Sprintf("%s is cut with T%.0f, it asks for T%.0f", name, o.value, o.limit)
		f.Help = fmt.Sprintf("call T%.0f before it", o.limit)
	case "holder-in-work":
		f.Message = fmt.Sprintf("shank or holder comes %.3f mm into the work", o.value)
		f.Help = "let the cutter stick out further, or cut less deep"
		f = f.With(o.value, 0, "mm")
	case "rapid-in-material":
		check = "rapids"
		f.Message = fmt.Sprintf("a rapid may come %.3f mm into the material", o.by)
		f.Help = "lift to safe height first, then go across, then down"
		f = f.With(o.value, o.limit, "mm")
	}
	if o.count > 1 {
		f.Message += fmt.Sprintf(" (worst of %d moves)", o.count)
	}
	p.fault(check, p.place(f, frame, o.tip, pr, o.move))
}
