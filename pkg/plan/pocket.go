package plan

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// level is one ring of a pocket: the contours of the region that the centre of
// the cutter may reach, shrunk once more by the stepover.
type level struct {
	rings []ringAt
	near  *nearness // to all contours of the level
}

type ringAt struct {
	c    geom.Contour // kept side on the right
	done bool
}

// mostLevels bounds the rings of one pocket.
const mostLevels = 2000

// pocket clears the inside of every region down to the depth, islands left
// standing. Rings are parallel to the walls, a stepover of at most the cutter's
// radius apart: every place lies within one stepover of a ring, so nothing is
// left between them whatever the shape. Where rings lie in each other one to one
// they are run as one spiral (see spiral), elsewhere they are joined. The
// innermost ring is cut first and is the only one that cuts its full width; the
// walls come last, at full depth when a finish allowance was left.
//
// wide limits how far from the walls is cleared (the ledge of a rebate); 0
// clears everything.
func (j *job) pocket(name string, rank int, wide float64) []op {
	step := j.option("stepover", 0.45)
	if step <= 0 || step > 0.5 {
		j.refuseNumber("stepover", step, "above 0 and at most 0.5 of the diameter, or strips stay between the rings")
		return nil
	}
	if _, ok := j.passes(); !ok {
		return nil
	}
	var out []op
	for _, g := range j.c.Regions {
		o, ok := j.pocketOf(g, rank, step*j.cutter.Diameter, wide)
		if !ok {
			return nil
		}
		if len(o.legs) == 0 {
			f := j.finding(diag.Note, "cleared-before", "nothing is left to clear here: another cut clears all of it as deep", "leave this cut out, or cut it deeper")
			j.add(j.at(f, g.Bounds().Center()))
			continue
		}
		o.name, o.rank, o.size, o.around = name, rank, math.Abs(g.Outer.Area()), geom.Region{Outer: g.Outer}
		o.measure(j.r)
		out = append(out, o)
	}
	return out
}

func (j *job) pocketOf(g geom.Region, rank int, step, wide float64) (op, bool) {
	o := op{cut: j.index, cutter: j.c.Cutter, rpm: j.c.RPM, base: j.d.base, area: true}
	edges, ok := j.edges(g, true)
	if !ok {
		return o, false
	}
	levels, ok := j.levels(g, step, wide)
	if !ok {
		return o, false
	}
	if j.c.Finish == 0 {
		strike(levels, edges)
	}
	fs := j.floors(rank)
	j = j.onFloor(fs, func(f *floor) bool { return f.underAll(rough(edges), j.r) && f.underAll(finals(edges), j.r) })
	passes := j.d.steps(j.c.Step)
	whole := &clearing{job: j, levels: levels, step: step, edges: edges, room: newNearness(rough(edges))}
	layers, ok := j.layers(g, whole, passes, fs, wide)
	if !ok {
		return o, false
	}
	size, n := 0, 0
	for _, l := range layers {
		for _, c := range l {
			size += c.size()
		}
	}
	if !j.sizeHolds(float64(size)) {
		return o, false
	}
	var at cutting
	at.above = j.entry()
	for n, d := range passes {
		above := at.above
		for _, c := range layers[n] {
			c.cutting, c.above, c.last = at, above, n == len(passes)-1
			if !c.layer(d) {
				return o, false
			}
			at = c.cutting
		}
		at.above = d
	}
	o.legs = at.list
	for _, l := range levels {
		n += len(l.rings)
	}
	from := ""
	if j.d.floor > 0 {
		from = fmt.Sprintf(" from the floor at %.3f mm", j.d.floor)
	}
	o.notes = []string{fmt.Sprintf("%d passes to %.3f mm%s, %d rings %.3f mm apart", len(passes), j.d.bottom, from, n, step)}
	return o, true
}

// strike puts the strokes into corners that the finished edges have into the
// outermost rings.
func strike(levels []level, edges []edge) {
	type stroke struct{ at, to geom.Point }
	var strokes []stroke
	for _, e := range edges {
		for i, c := 0, e.final; i < len(c); i++ {
			if at, to := c[i].Point, c[(i+1)%len(c)].Point; at == c[(i+2)%len(c)].Point && len(c) > 2 {
				strokes = append(strokes, stroke{at, to})
			}
		}
	}
	if len(levels) == 0 || len(strokes) == 0 {
		return
	}
	for i := range levels[0].rings {
		var out geom.Contour
		for _, v := range levels[0].rings[i].c {
			out = append(out, v)
			for _, s := range strokes {
				if s.at.Dist(v.Point) < 1e-6 {
					out[len(out)-1].Bulge = 0
					out = append(out, geom.Vertex{Point: s.to}, v)
					break
				}
			}
		}
		levels[0].rings[i].c = out
	}
}

func finals(es []edge) []geom.Contour {
	out := make([]geom.Contour, len(es))
	for i, e := range es {
		out[i] = e.final
	}
	return out
}

func rough(es []edge) []geom.Contour {
	out := make([]geom.Contour, len(es))
	for i, e := range es {
		out[i] = e.rough
	}
	return out
}

// levels makes the rings, from the walls inwards.
func (j *job) levels(g geom.Region, step, wide float64) ([]level, bool) {
	off, err := geom.NewOffsetter(g)
	if err != nil {
		_, ok := j.offset(g, -j.r) // the same fault, as a finding
		return nil, ok
	}
	var out []level
	for k := 0; ; k++ {
		in := j.r + j.c.Finish + float64(k)*step
		if wide > 0 && k > 0 && in-step+j.r >= wide {
			return out, true
		}
		gs, err := off.Offset(-in, j.offsetTol())
		if err != nil {
			_, ok := j.offset(g, -in)
			return nil, ok
		}
		if len(gs) == 0 {
			return out, true
		}
		if k == mostLevels {
			f := j.finding(diag.Stop, "rings-too-many", fmt.Sprintf("the pocket needs more than %d rings", mostLevels), "use a wider cutter")
			j.add(f.With(float64(k), mostLevels, ""))
			return nil, false
		}
		l := level{}
		cs := contours(gs, true)
		for _, c := range cs {
			l.rings = append(l.rings, ringAt{c: c})
		}
		l.near = newNearness(cs)
		out = append(out, l)
	}
}

// cutting is where the cutter of a pocket is.
type cutting struct {
	legs
	on    bool    // the cutter is somewhere already
	above float64 // depth of the layer before
}

// size is how many motions a layer has at most.
func (c *clearing) size() int {
	n := 0
	for _, l := range c.levels {
		for _, r := range l.rings {
			n += len(r.c)
		}
	}
	return n
}

// clearing runs the rings of one pocket, or of what is left of it in some layers.
type clearing struct {
	cutting
	job    *job
	levels []level
	step   float64
	room   *nearness // to the outermost paths: how far the centre may still go
	edges  []edge
	last   bool    // this is the last layer: walls are finished as they come
	onlyOf [][]int // see only
	cache  map[turnKey]spiralled
}

// layer clears one depth: from each innermost ring outwards, over a link where
// one ring lies beside the next, otherwise lifted over.
func (c *clearing) layer(d float64) bool {
	c.newPass()
	if !c.on {
		c.at = c.levels[len(c.levels)-1].rings[0].c[0].Point
	}
	for k := range c.levels {
		for i := range c.levels[k].rings {
			c.levels[k].rings[i].done = false
		}
	}
	for {
		k, i := c.deepestLeft()
		if k < 0 {
			return true
		}
		if !c.enter(k, i, d) {
			return false
		}
		for {
			c.levels[k].rings[i].done = true
			if k > 0 {
				k, i, _ = c.spiral(k, i, d)
			}
			if k == 0 && c.last {
				c.wall(i)
			}
			if k, i = c.beside(k); k < 0 {
				break
			}
			c.link(k, i, d)
		}
	}
}

// deepestLeft returns an uncut ring of the innermost level that has one.
func (c *clearing) deepestLeft() (int, int) {
	for k := len(c.levels) - 1; k >= 0; k-- {
		best, dist := -1, math.Inf(1)
		for i := range c.levels[k].rings {
			r := &c.levels[k].rings[i]
			if r.done {
				continue
			}
			if n := r.c.Dist(c.at); n < dist {
				best, dist = i, n
			}
		}
		if best >= 0 {
			return k, best
		}
	}
	return -1, -1
}

// beside returns an uncut ring of the next level outwards that lies one
// stepover from where the cutter is.
func (c *clearing) beside(k int) (int, int) {
	if k == 0 {
		return -1, -1
	}
	for i := range c.levels[k-1].rings {
		r := &c.levels[k-1].rings[i]
		if !r.done && r.c.Dist(c.at) <= c.step*1.0001 {
			return k - 1, i
		}
	}
	return -1, -1
}

// link goes straight across to a ring, at depth, and once around.
func (c *clearing) link(k, i int, d float64) {
	t := c.trackAt(k, i, c.at)
	c.line(t.segs[0].A, d, c.job.c.Feed)
	c.once(&t, d)
}

// trackAt is the ring, run from its place nearest to q.
func (c *clearing) trackAt(k, i int, q geom.Point) track {
	ring := c.levels[k].rings[i].c
	if !c.job.c.Climb {
		ring = ring.Reverse()
	}
	t := newTrack(ring.Segs())
	s, _ := t.nearest(q)
	return newTrack(t.section(s, s+t.len))
}

func (c *clearing) once(t *track, d float64) {
	for _, s := range t.segs {
		c.to(s, d, c.job.c.Feed)
	}
}

// enter begins a new ring at depth d: down in what is cleared already beside
// it, or into the solid by a helix where one fits, by a ramp along the ring
// otherwise.
func (c *clearing) enter(k, i int, d float64) bool {
	j := c.job
	from := c.above
	if !j.cutter.CentreCutting {
		from = j.d.surface() // such a cutter goes down by ramps alone, be it through air
	} else if q, ok := c.clearedBeside(k, i); ok {
		c.goTo(q, d)
		c.link(k, i, d)
		return true
	}
	q, room := c.middle(k, i)
	h := math.Min(0.9*j.r, room)
	turn := 2 * math.Pi * h * math.Tan(j.c.Ramp)
	t := c.trackAt(k, i, q)
	if h >= 0.4*j.r && c.straight(q, t.segs[0].A) && (d-from)/turn <= 2*mostRounds {
		c.goTo(q, from)
		c.spiralDown(q, t.segs[0].A, h, d)
		c.line(t.segs[0].A, d, j.c.Feed) // on the line that was looked at
		c.once(&t, d)
		return true
	}
	t = c.trackAt(k, i, c.at)
	c.goTo(t.segs[0].A, from)
	r := runner{legs: c.legs, job: j, t: &t, nominal: c.d}
	if !r.rampTo(d) {
		return false
	}
	r.round(d)
	c.legs = r.legs
	return true
}

// goTo stands over q at depth d, through the air when it is elsewhere.
func (c *clearing) goTo(q geom.Point, d float64) {
	if !c.on {
		c.begin(q, d)
		c.on = true
		return
	}
	switch {
	case c.at == q && c.d == d:
	case c.d == c.above && c.d >= d && c.straight(c.at, q):
		c.line(q, c.d, c.job.c.Feed)
	default:
		c.hop(q, d, c.job.c.Plunge)
	}
}

// straight tells whether the cutter can go straight from a to q off every wall.
func (c *clearing) straight(a, q geom.Point) bool {
	l := a.Dist(q)
	step := c.job.r / 4
	n := int(math.Ceil(l / step))
	for i := 1; i < n; i++ {
		m := a.Lerp(q, float64(i)/float64(n))
		if !c.inside(m) || c.room.dist(m) < step/2 {
			return false
		}
	}
	return true
}

// inside tells whether the centre may stand at q.
func (c *clearing) inside(q geom.Point) bool { return c.within(0, q) }

// wall finishes the wall beside ring i of the outermost level.
func (c *clearing) wall(i int) {
	j := c.job
	if j.c.Finish <= 0 {
		return
	}
	for _, e := range c.edges {
		if e.rough.Dist(c.levels[0].rings[i].c[0].Point) > 1e-6 {
			continue
		}
		t := j.startTrack(e.rough, j.c.Climb)
		r := runner{legs: c.legs, job: j, t: &t, nominal: c.d}
		r.s, _ = t.nearest(c.at)
		layer := c.pass
		r.finish(e)
		for i := range r.list { // a wall belongs to its layer: it is resumed with it
			r.list[i].pass = min(r.list[i].pass, layer)
		}
		r.pass = layer
		c.legs = r.legs
		return
	}
}

// clearedBeside finds a place on a ring of the next level inwards, cut in this
// layer already, that lies one stepover from ring i of level k.
func (c *clearing) clearedBeside(k, i int) (geom.Point, bool) {
	if k+1 >= len(c.levels) {
		return geom.Point{}, false
	}
	ring := c.levels[k].rings[i].c
	for n := range c.levels[k+1].rings {
		r := &c.levels[k+1].rings[n]
		if !r.done {
			continue
		}
		for v := range r.c {
			for _, q := range [...]geom.Point{r.c[v].Point, r.c.Seg(v).Mid()} {
				if ring.Dist(q) <= c.step*1.0001 {
					return q, true
				}
			}
		}
	}
	return geom.Point{}, false
}

// middle returns a place for a helix inside ring i of level k, and how far the
// centre may stray from it.
func (c *clearing) middle(k, i int) (geom.Point, float64) {
	ring := c.levels[k].rings[i].c
	best, room := ring[0].Point, 0.0
	try := func(q geom.Point) {
		if ring.Dist(q) > c.step*1.01 || !c.inside(q) && c.room.dist(q) > 1e-9 {
			return // in another bay, or on an island
		}
		if d := c.room.dist(q); d > room {
			best, room = q, d
		}
	}
	try(centroid(ring))
	for v := 0; v < len(ring); v += 1 + len(ring)/16 {
		try(ring[v].Point)
		try(ring.Seg(v).Mid())
	}
	return best, room
}

// spiralDown goes down on a helix of radius h about q to depth d, begun on the
// side of to, clears the step at its bottom and ends on the helix.
func (c *clearing) spiralDown(q, to geom.Point, h, d float64) {
	j := c.job
	dir := to.Sub(q).Unit()
	if q.Dist(to) < hair { // the middle lies on the ring
		dir = j.c.Frame.ApplyVector(geom.Pt(1, 0))
	}
	c.line(q.Add(dir.Mul(h)), c.d, j.c.Feed)
	pitch := 2 * math.Pi * h * math.Tan(j.c.Ramp)
	half := int(math.Max(1, math.Ceil(2*(d-c.d)/pitch-hair)))
	feed := j.slopeFeed(math.Sin(j.c.Ramp))
	d0 := c.d
	for i := range half + 2 {
		across := q.Add(q.Sub(c.at))
		z := d
		if i < half-1 {
			z = d0 + float64((d-d0)*float64(i+1)/float64(half))
		}
		c.to(halfCircle(c.at, across, j.c.Climb), z, feed)
	}
}
