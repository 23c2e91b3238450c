package proof

import (
	"math"

	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/rs274"
	"sparclear/pkg/skin"
)

// micron is how far apart the certified bound and the witness may lie, mm.
const micron = 0.001

// near is what a search found for one volume: everywhere on all moves the
// distance less what is needed is at least room.
type near struct {
	room    float64 // certified lower bound of distance - needed, mm
	seen    float64 // the same at the witness, an upper bound of the smallest
	need    float64 // at the witness, mm
	move    int     // index into the replay, -1 none
	prog    int
	tip     [3]float64
	at      geom.Point // the nearest place of the footprint
	body    string
	heights bool    // the need includes the errors of height
	shares  []Share // of the need, by kind
	full    bool    // the search ran out of budget before the bound was tight
}

// hunt is a branch and bound over moves, stretches of moves and boxes of the
// footprint for the smallest room between the swept bodies and one volume.
// Nothing is sampled: a branch is left only when a bound that holds everywhere
// in it says that it cannot matter.
type hunt struct {
	vol    *keepout.Volume
	field  *keepout.Field
	skin   skin.Model
	flat   bool
	level  float64 // of a flat skin
	tool   *tool
	budget *budget
	tree   *moveTree
	best   near
	cert   float64             // smallest bound of the branches that were left
	work   int                 // evaluations still allowed
	stop   float64             // branches with at least this much room are not looked into
	u0, e0 float64             // error of a flat skin
	only   func(move int) bool // nil: every move
}

// gap is how much the certified bound may lie below the witness: 1 µm where it
// decides, 5 % of the room where that is more, be it spare or lacking.
func gap(room float64) float64 { return math.Max(micron, 0.05*math.Abs(room)) }

// heights returns bounds of the skin over the box.
func (h *hunt) heights(b geom.Box) (lo, hi, u, e float64) {
	if h.flat {
		return h.level, h.level, h.u0, h.e0
	}
	lo, hi = h.skin.Range(b)
	u, e = h.skin.Error(b)
	// What is not a number is not known: then only the plane keeps them apart.
	if math.IsNaN(lo) || math.IsNaN(hi) {
		lo, hi = math.Inf(-1), math.Inf(1)
	}
	if math.IsNaN(u + e) {
		u, e = 0, math.Inf(1)
	}
	return lo, hi, u, e
}

// bound returns a lower bound of the room when the volume is no nearer in the
// plane than r to the axis, and its skin lies between lo and hi over the box.
func (h *hunt) bound(r, zlo, zhi, lo, hi, u, e, slack float64, box geom.Box) float64 {
	a, b := lo-h.vol.To-zhi, hi-h.vol.From-zlo
	flat := h.vol.Clearance + h.budget.flat(box) + slack
	full := h.vol.Clearance + h.budget.full(box, u, e) + slack
	room := math.Inf(1)
	for i := range h.tool.solids {
		s := &h.tool.solids[i]
		d := r - s.reach() - flat
		if d < room {
			room = math.Min(room, math.Max(d, s.dist(r, a, b)-full))
		}
	}
	return room
}

// run searches every move of the tree.
func (h *hunt) run() {
	top := len(h.tree.level) - 1
	if top < 0 || h.field.Bounds().Empty() {
		return
	}
	for i := range h.tree.level[top] {
		h.descend(top, i, h.nodeBound(top, i))
	}
}

func (h *hunt) leave(room float64) { h.cert = math.Min(h.cert, room) }

func (h *hunt) idle(room float64) bool {
	if room >= h.stop || room >= h.best.seen-gap(h.best.seen) || math.IsInf(room, 1) {
		h.leave(room)
		return true
	}
	return false
}

// boxBound bounds the room of all moves under a box, by boxes alone.
func (h *hunt) boxBound(b *box3) float64 {
	fb := h.field.Bounds()
	r := keepout.BoxDist(b.xy, fb)
	strip := fb
	if far := h.far(fb); !math.IsInf(far, 1) {
		// What lies further off has more room in the plane alone than the best
		// answer so far.
		if r-far > -keepout.Slack {
			return h.best.seen
		}
		if !h.flat {
			strip = overlap(fb, b.xy.Grow(far+keepout.Slack))
			if strip.Empty() {
				return h.best.seen
			}
		}
	}
	lo, hi, u, e := h.heights(strip)
	return math.Min(h.best.seen, h.bound(r, b.zlo, b.zhi, lo, hi, u, e, 0, fb))
}

// nodeBound bounds the room of all moves under a box of the tree: by boxes, and
// where that says too little by how deep the tip runs below the local skin.
func (h *hunt) nodeBound(level, i int) float64 {
	b := &h.tree.level[level][i]
	room := h.boxBound(b)
	if h.flat || room >= h.stop || room >= h.best.seen-gap(h.best.seen) {
		return room
	}
	deep := h.tree.deep[level][i]
	if math.IsInf(deep, 1) {
		return room
	}
	box := h.field.Bounds()
	if far := h.far(box); !math.IsInf(far, 1) {
		box = overlap(box, b.xy.Grow(math.Max(0, far)+keepout.Slack))
		if box.Empty() {
			return room
		}
	}
	r := math.Max(0, keepout.BoxDist(b.xy, box)-keepout.Slack)
	u, e := h.skin.Error(box)
	if math.IsNaN(u + e) {
		return room
	}
	all := box.Union(b.xy)
	slope, bend := h.skin.Slope(all), h.skin.Bend(all)
	p := piece{box: b.xy}
	side := h.rise(&p, box, slope, bend)
	cone := h.coneRoom(deep-h.vol.From, side, r, h.vol.Clearance+h.budget.flat(box), h.vol.Clearance+h.budget.full(box, u, e))
	if math.IsNaN(cone) {
		return room
	}
	return math.Max(room, math.Min(h.best.seen, cone))
}

// far is the distance in the plane from which on a place has at least as much
// room as the best answer so far, whatever its height.
func (h *hunt) far(box geom.Box) float64 {
	return h.best.seen + h.vol.Clearance + h.tool.reach + h.budget.flat(box)
}

func overlap(a, b geom.Box) geom.Box {
	return geom.Box{
		Min: geom.Pt(math.Max(a.Min.X, b.Min.X), math.Max(a.Min.Y, b.Min.Y)),
		Max: geom.Pt(math.Min(a.Max.X, b.Max.X), math.Min(a.Max.Y, b.Max.Y)),
	}
}

func (h *hunt) descend(level, i int, room float64) {
	if h.idle(room) {
		return
	}
	if level == 0 {
		for k := i * leafMoves; k < min(len(h.tree.moves), (i+1)*leafMoves); k++ {
			if h.only == nil || h.only(h.tree.base+k) {
				h.move(k)
			}
		}
		return
	}
	var rooms [fanOut]float64
	lo, hi := i*fanOut, min(len(h.tree.level[level-1]), (i+1)*fanOut)
	for k := lo; k < hi; k++ {
		rooms[k-lo] = h.nodeBound(level-1, k)
	}
	var done [fanOut]bool
	for n := lo; n < hi; n++ { // the most promising first
		m := -1
		for k := 0; k < hi-lo; k++ {
			if !done[k] && (m < 0 || rooms[k] < rooms[m]) {
				m = k
			}
		}
		done[m] = true
		h.descend(level-1, lo+m, rooms[m])
	}
}

func (h *hunt) move(k int) {
	c := newCurve(&h.tree.moves[k])
	n := c.parts()
	for i := 0; i < n; i++ {
		t0, t1 := float64(i)/float64(n), float64(i+1)/float64(n)
		p := c.piece(t0, t1)
		if h.idle(h.pieceBound(&p)) {
			continue
		}
		h.stretch(k, &c, t0, t1, h.field.Bounds(), 0)
	}
}

// pieceBound is a cheap first bound for a stretch.
func (h *hunt) pieceBound(p *piece) float64 {
	b := p.bounds()
	return h.boxBound(&b)
}

// stretch looks into the part t0..t1 of a move against the part of the
// footprint in box.
func (h *hunt) stretch(k int, c *curve, t0, t1 float64, box geom.Box, depth int) {
	p := c.piece(t0, t1)
	whole := box == h.field.Bounds()
	var r float64
	if p.rect {
		r = h.field.DistBox(p.box)
	} else {
		r = h.field.DistSeg(p.seg)
	}
	// Only the part of the footprint that the best answer so far does not beat
	// can matter: points further off have more room in the plane alone.
	if far := h.far(box) + p.slack; !math.IsInf(far, 1) {
		h.leave(h.best.seen)
		box = overlap(box, p.box.Grow(math.Max(0, far)+keepout.Slack))
		if box.Empty() {
			return
		}
	}
	if !whole {
		m, half := box.Center(), box.Size().Len()/2
		if !h.field.Inside(m) && h.field.EdgeDist(m) > half {
			return // no part of the footprint lies in the box
		}
	}
	if p.rect {
		r = math.Max(r, keepout.BoxDist(p.box, box)-keepout.Slack)
	} else {
		r = math.Max(r, keepout.SegBoxDist(p.seg, box)-keepout.Slack)
	}
	r = math.Max(0, r)
	lo, hi, u, e := h.heights(box)
	room := h.bound(r, p.zlo, p.zhi, lo, hi, u, e, p.slack, box)
	if h.idle(room) {
		return
	}
	h.work--
	if !h.flat && !p.rect {
		if v := h.overhead(c, &p, t0, t1, r, box, u, e); v > room {
			room = v
			if h.idle(room) {
				return
			}
		}
	}
	h.witness(k, c, (t0+t1)/2, &p, box)
	if h.idle(room) {
		return
	}
	if h.work <= 0 || depth > 200 {
		h.best.full = true
		h.leave(room)
		return
	}
	// Halve whatever blurs the bound most: the height of the tip, or the height
	// of the skin and the uncertainty of the place.
	m := box.Center()
	zspan := p.zhi - p.zlo + p.slack
	sspan := hi - lo + coverage*(h.budget.place(box)-h.budget.place(geom.Box{Min: m, Max: m}))
	size := box.Size()
	side := math.Max(size.X, size.Y)
	splitBox := p.rect || sspan > zspan
	if !p.rect && !h.flat {
		splitBox = side > math.Max(p.box.Size().Len(), 3*zspan)
	}
	if !p.rect && math.Max(zspan, sspan) < micron/8 {
		splitBox = p.box.Size().Len() < 1e-6
	}
	if splitBox {
		if side < 1e-9 {
			h.leave(room)
			return
		}
		a, b := box, box
		if size.X >= size.Y {
			a.Max.X, b.Min.X = m.X, m.X
		} else {
			a.Max.Y, b.Min.Y = m.Y, m.Y
		}
		h.stretch(k, c, t0, t1, a, depth+1)
		h.stretch(k, c, t0, t1, b, depth+1)
		return
	}
	if t1-t0 < 1e-12 {
		h.leave(room)
		return
	}
	mid := (t0 + t1) / 2
	h.stretch(k, c, t0, mid, box, depth+1)
	h.stretch(k, c, mid, t1, box, depth+1)
}

// overhead bounds the room of a stretch from how deep its tip runs below the
// local skin: along the stretch that depth strays from its chord by the bend of
// the skin alone, and at the distance r from the axis the skin is higher by no
// more than slope·r. So the top of the volume lies below a cone about the axis,
// and what is left is the distance of each body from that cone. It is tight for
// paths that follow the skin, where heights over boxes are not.
func (h *hunt) overhead(c *curve, p *piece, t0, t1, r float64, box geom.Box, u, e float64) float64 {
	if c.plane != rs274.XY {
		return math.Inf(-1)
	}
	all := box.Union(p.box).Grow(p.slack)
	slope, bend := h.skin.Slope(all), h.skin.Bend(all)
	side := h.rise(p, box, slope, bend)
	if q := p.seg.Radius(); !math.IsInf(q, 1) && q > 0 {
		bend += slope / q
	}
	l := p.seg.Length()
	a, b := c.at(t0), c.at(t1)
	da := h.skin.Height(geom.Pt(a[0], a[1])) - a[2]
	db := h.skin.Height(geom.Pt(b[0], b[1])) - b[2]
	top := math.Max(da, db) + stray(bend, l) + float64(p.slack*slope) - h.vol.From
	flat := h.vol.Clearance + h.budget.flat(box) + p.slack
	full := h.vol.Clearance + h.budget.full(box, u, e) + p.slack
	return h.coneRoom(top, side, r, flat, full)
}

// coneRoom bounds the room of bodies whose axis stands no nearer than r to the
// volume, while the volume's top, seen from the tip, lies below a cone about the
// axis that begins at top and rises by side.
func (h *hunt) coneRoom(top, side, r, flat, full float64) float64 {
	k := math.Hypot(1, math.Max(0, side))
	edge := top + float64(side*r) // height of the cone where the volume begins
	room := math.Inf(1)
	for i := range h.tool.solids {
		s := &h.tool.solids[i]
		d := 0.0
		switch {
		case s.cone:
			d = (math.Min(s.low, s.high-float64(math.Max(0, side)*s.radius)) - top) / k
		case s.low <= edge:
			d = math.Max(0, r-s.radius) - s.round
		case side <= 0: // the volume is highest where it begins
			d = math.Hypot(math.Max(0, r-s.radius), s.low-edge) - s.round
		case s.radius-r+float64((s.low-edge)*side) <= 0:
			d = math.Hypot(s.radius-r, s.low-edge) - s.round
		default: // straight above the slope
			d = (s.low-top-float64(side*s.radius))/k - s.round
		}
		room = math.Min(room, math.Max(r-s.reach()-flat, d-full))
	}
	return room
}

// rise bounds the slope of the skin from any place of the stretch towards any
// place of the box: (S(q) - S(c)) / |q - c|.
func (h *hunt) rise(p *piece, box geom.Box, slope, bend float64) float64 {
	v := geom.Box{Min: box.Min.Sub(p.box.Max), Max: box.Max.Sub(p.box.Min)}
	zero := geom.Point{}
	if math.IsInf(bend, 1) || v.Contains(zero) {
		return slope
	}
	const d = 0.01
	m := p.box.Center()
	g := geom.Pt(
		(h.skin.Height(geom.Pt(m.X+d, m.Y))-h.skin.Height(geom.Pt(m.X-d, m.Y)))/(2*d),
		(h.skin.Height(geom.Pt(m.X, m.Y+d))-h.skin.Height(geom.Pt(m.X, m.Y-d)))/(2*d))
	far, up, left, right := 0.0, math.Inf(-1), false, false
	for _, q := range [4]geom.Point{v.Min, v.Max, {X: v.Min.X, Y: v.Max.Y}, {X: v.Max.X, Y: v.Min.Y}} {
		l := q.Len()
		far = math.Max(far, l)
		up = math.Max(up, g.Dot(q)/l)
		if g.Cross(q) >= 0 {
			left = true
		}
		if g.Cross(q) <= 0 {
			right = true
		}
	}
	if left && right && up > 0 { // straight uphill lies between the corners
		up = g.Len()
	}
	reach := p.box.Size().Len()/2 + p.slack
	return math.Min(slope, up+float64(bend*(reach+far/2+2*d))+1e-9)
}

// witness evaluates the room at single places and keeps the smallest.
func (h *hunt) witness(k int, c *curve, t float64, p *piece, box geom.Box) {
	tip := c.at(t)
	if p.rect {
		h.rectWitness(k, p, box.Center())
		h.rectWitness(k, p, p.box.Center())
		return
	}
	h.try(k, tip, box)
	if p.seg.A != p.seg.B { // the place of the stretch that lies nearest to the footprint
		if q, _, ok := h.field.Nearest(p.box.Center()); ok {
			s := p.seg.Nearest(q)
			if l := p.seg.A.Dist(p.seg.B); l > 0 && !c.arc {
				f := s.Dist(p.seg.A) / l
				z := c.from[2] + float64((c.to[2]-c.from[2])*f)
				if p.zhi > p.zlo {
					a, b := p.zlo, p.zhi
					if c.to[2] < c.from[2] {
						a, b = b, a
					}
					z = a + float64((b-a)*f)
				}
				h.try(k, [3]float64{s.X, s.Y, z}, box)
			} else if p.zlo == p.zhi && p.slack < 1e-6 {
				h.try(k, [3]float64{s.X, s.Y, p.zlo}, box)
			}
		}
	}
}

// rectWitness takes the place of a rapid's box that is nearest to the place of
// the footprint nearest to m, at the heights where it may be worst.
func (h *hunt) rectWitness(k int, p *piece, m geom.Point) {
	q := m
	if !h.field.Inside(m) {
		n, _, ok := h.field.Nearest(m)
		if !ok {
			return
		}
		q = n
	}
	x := geom.Pt(clamp(q.X, p.box.Min.X, p.box.Max.X), clamp(q.Y, p.box.Min.Y, p.box.Max.Y))
	under := h.field.Inside(x)
	try := func(z float64) {
		tip := [3]float64{x.X, x.Y, clamp(z, p.zlo, p.zhi)}
		h.pair(k, tip, x, q)
		if under {
			h.pair(k, tip, x, x)
		}
	}
	try(p.zlo)
	if p.zhi == p.zlo {
		return
	}
	try(p.zhi)
	s := h.level
	if !h.flat {
		s = h.skin.Height(q)
	}
	for i := range h.tool.solids {
		sd := &h.tool.solids[i]
		try(s - h.vol.From - sd.low)
		try(s - h.vol.From - sd.high)
	}
}

func clamp(v, lo, hi float64) float64 { return math.Min(hi, math.Max(lo, v)) }

// try evaluates one place of the tip against the nearest place of the footprint
// and against the middle of the box.
func (h *hunt) try(k int, tip [3]float64, box geom.Box) {
	c := geom.Pt(tip[0], tip[1])
	q := c
	if !h.field.Inside(c) {
		n, _, ok := h.field.Nearest(c)
		if !ok {
			return
		}
		q = n
	}
	h.pair(k, tip, c, q)
	if h.flat {
		return
	}
	m := box.Center()
	if !h.field.Inside(m) {
		n, _, _ := h.field.Nearest(m)
		m = n
	}
	h.pair(k, tip, c, m)
	// The skin stands highest uphill, at the rim of each body.
	const d = 0.01
	s0 := h.skin.Height(c)
	g := geom.Pt(h.skin.Height(geom.Pt(c.X+d, c.Y))-s0, h.skin.Height(geom.Pt(c.X, c.Y+d))-s0)
	if g = g.Unit(); g == (geom.Point{}) {
		return
	}
	last := 0.0
	for i := range h.tool.solids {
		r := h.tool.solids[i].reach()
		if r == last {
			continue
		}
		last = r
		if q := c.Add(g.Mul(r)); h.field.Inside(q) {
			h.pair(k, tip, c, q)
		}
	}
}

func (h *hunt) pair(k int, tip [3]float64, c, q geom.Point) {
	r := c.Dist(q)
	one := geom.Box{Min: q, Max: q}
	s, u, e := h.level, h.u0, h.e0
	if !h.flat {
		s = h.skin.Height(q)
		u, e = h.skin.Error(one)
	}
	a, b := s-h.vol.To-tip[2], s-h.vol.From-tip[2]
	flat := h.vol.Clearance + h.budget.flat(one)
	full := h.vol.Clearance + h.budget.full(one, u, e)
	for i := range h.tool.solids {
		sd := &h.tool.solids[i]
		room, need, heights := r-sd.reach()-flat, flat, false
		if d := sd.dist(r, a, b) - full; d > room {
			room, need, heights = d, full, true
		}
		if room < h.best.seen {
			f := h.best.full
			h.best = near{seen: room, need: need, move: h.tree.base + k, tip: tip, at: q, body: sd.name, heights: heights, full: f}
			h.best.shares = nil
		}
	}
}
