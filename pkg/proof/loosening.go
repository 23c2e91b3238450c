package proof

import (
	"math"

	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/rs274"
	"sparclear/pkg/work"
)

// loosening is what the material about one cut does over time.
type loosening struct {
	left float64 // area of the largest piece that lies loose at the end, mm²
	dust bool    // nothing of what the outline holds is left at the end
	harm bool    // a move cuts in what is loose
	prog int     // of that move
	move int
	over bool // too large to be followed
}

// loosenCells is how many cells the material about one cut may be divided into.
const loosenCells = 4 << 20

// window is the material about one cut, in square cells, while time is wound back:
// a cell is there from the beginning until the move that first takes it through.
type window struct {
	p      *prover
	min    geom.Point
	h      float64
	nx, ny int
	wide   float64 // largest radius of a cutter, mm
	steps  []step  // in the order in which they run
	taken  []int32 // of each cell: index into steps that takes it, never, or absent
	parent []int32 // union-find over cells, -1 not there
	size   []int32 // of the piece, by root
	firm   []bool  // reaches the rim of the window, by root
	island bool    // no material reaches the rim: then the edge of the stock holds
}

// step is a stretch of one move, no longer than a few cells.
type step struct {
	prog, move int32
	t0, t1     float32
}

const (
	never  = math.MaxInt32
	absent = -1
)

// loosen follows the material about cut i. A piece is loose from the step on that
// cuts its last bridge to the rim of the window. Cells are a quarter of the
// cutter's radius; a bridge thinner than a cell counts as none. Every step that
// is in the material is then held against what was loose before it. What only
// follows an earlier way through at the same place takes nothing, and within a
// diameter of path after a piece came loose the cutter still does no more than
// take the cusps of the bridge away.
func (p *prover) loosen(i int) loosening {
	w := p.windowOf(i)
	if w == nil {
		return loosening{over: true}
	}
	w.forward()
	out := w.backward()
	out.dust = p.w.Cuts[i].Kind == work.Opening && w.empty(p.w.Cuts[i].Regions, p.radiusOf(p.w.Cuts[i].Cutter))
	return out
}

// empty tells whether next to nothing is left within the outlines.
func (w *window) empty(regions []geom.Region, r float64) bool {
	f := keepout.NewField(regions)
	left := 0.0
	for y := range w.ny {
		for x := range w.nx {
			if q := w.at(x, y); w.taken[y*w.nx+x] == never && f.Inside(q) && f.EdgeDist(q) > w.h {
				left += w.h * w.h
			}
		}
	}
	return left < r*r/4
}

// windowOf prepares the cells and the moves of a cut; nil when they are too many.
func (p *prover) windowOf(i int) *window {
	c := &p.w.Cuts[i]
	box := geom.EmptyBox()
	for _, g := range c.Regions {
		box = box.Union(g.Bounds())
	}
	for _, ch := range c.Chains {
		box = box.Union(ch.Bounds())
	}
	if box.Empty() {
		return &window{p: p, h: 1}
	}
	w := &window{p: p, h: p.radiusOf(c.Cutter) / 4}
	for k := range p.tools {
		w.wide = math.Max(w.wide, p.radiusOf(k))
	}
	box = box.Grow(2*w.wide + 4*w.h)
	s := box.Size()
	if n := s.X / w.h * s.Y / w.h; n > loosenCells {
		w.h *= math.Sqrt(n / loosenCells)
		if w.h > p.radiusOf(c.Cutter)/1.5 {
			return nil
		}
	}
	w.min, w.nx, w.ny = box.Min, 2+int(s.X/w.h), 2+int(s.Y/w.h)
	for k, pr := range p.progs {
		for _, t := range pr.trees {
			t.within(box.Grow(w.wide), func(j int) { w.take(k, j, box) })
		}
	}
	w.taken = make([]int32, w.nx*w.ny)
	w.island = true
	stock, mid := p.areas.stock, box.Center()
	edge := stock != nil && (!stock.Inside(mid) || stock.EdgeDist(mid) <= s.Len()/2+2*w.h)
	for y := range w.ny {
		for x := range w.nx {
			k := y*w.nx + x
			w.taken[k] = never
			if edge && !stock.Inside(w.at(x, y)) {
				w.taken[k] = absent
			}
			if w.rim(x, y) && w.taken[k] != absent {
				w.island = false
			}
		}
	}
	return w
}

// take adds the steps of a move that may touch the box.
func (w *window) take(k, j int, box geom.Box) {
	m := &w.p.progs[k].replay.Moves[j]
	if w.p.verdicts[k][j].cut < 0 || m.Motion == rs274.Rapid || !boundsOf(m).xy.Grow(w.wide).Overlaps(box) {
		return
	}
	n := 1 + int(math.Min(m.Length()/(2*w.h), 20_000))
	for i := range n {
		w.steps = append(w.steps, step{int32(k), int32(j), float32(float64(i) / float64(n)), float32(float64(i+1) / float64(n))})
	}
}

func (w *window) rim(x, y int) bool { return x == 0 || y == 0 || x == w.nx-1 || y == w.ny-1 }

func (w *window) at(x, y int) geom.Point {
	return geom.Pt(w.min.X+(float64(x)+0.5)*w.h, w.min.Y+(float64(y)+0.5)*w.h)
}

// least is the depth from which a step takes material to the lower face, as thin
// as the sheet may be, mm.
func (w *window) least() float64 { return w.p.w.Thickness - w.p.w.ThickTol - 1e-4 }

// line returns a step as a line from end to end, and the curve it is part of.
func (w *window) line(s step) (geom.Seg, curve) {
	cv := newCurve(&w.p.progs[s.prog].replay.Moves[s.move])
	a, b := cv.at(float64(s.t0)), cv.at(float64(s.t1))
	return geom.Line(geom.Pt(a[0], a[1]), geom.Pt(b[0], b[1])), cv
}

func (w *window) radius(s step) float64 {
	return w.p.radiusOf(w.p.progs[s.prog].toolOf(int(s.move)))
}

// through tells whether a step takes material to the lower face anywhere.
func (w *window) through(s step) bool {
	if float64(w.p.verdicts[s.prog][s.move].deep)+1e-4 < w.least() {
		return false
	}
	_, cv := w.line(s)
	pc := cv.piece(float64(s.t0), float64(s.t1))
	_, most := w.p.tipDepth(&cv, &pc, float64(s.t0), float64(s.t1))
	return most >= w.least()
}

// capsule calls f with the cells whose middle lies within r of the line.
func (w *window) capsule(s geom.Seg, r float64, f func(cell int32)) {
	b := s.Bounds().Grow(r)
	x0, x1 := max(0, int((b.Min.X-w.min.X)/w.h)), min(w.nx-1, int((b.Max.X-w.min.X)/w.h))
	y0, y1 := max(0, int((b.Min.Y-w.min.Y)/w.h)), min(w.ny-1, int((b.Max.Y-w.min.Y)/w.h))
	d := s.B.Sub(s.A)
	l2 := d.Dot(d)
	for y := y0; y <= y1; y++ {
		for x := x0; x <= x1; x++ {
			v := w.at(x, y).Sub(s.A)
			if l2 > 0 {
				v = v.Sub(d.Mul(clamp(v.Dot(d)/l2, 0, 1)))
			}
			if v.Dot(v) <= r*r {
				f(int32(y*w.nx + x))
			}
		}
	}
}

// forward finds which move first takes each cell.
func (w *window) forward() {
	for n, t := range w.steps {
		if !w.through(t) {
			continue
		}
		l, _ := w.line(t)
		w.capsule(l, w.radius(t), func(c int32) {
			if w.taken[c] == never {
				w.taken[c] = int32(n)
			}
		})
	}
}

// doubt is a step that touches a piece which is loose before it: harm when the
// piece came loose further back than the bridge explains.
type doubt struct {
	step int
	cell int32   // of the piece
	path float64 // from where it came loose, as far as time is wound back, mm
}

// backward puts the cells back, move by move from the last, and looks before each
// whether it cuts in a piece that is loose by then.
func (w *window) backward() loosening {
	n := len(w.taken)
	w.parent, w.size, w.firm = make([]int32, n), make([]int32, n), make([]bool, n)
	for c := range w.parent {
		w.parent[c] = -1
	}
	first := make([]int32, len(w.steps)+1) // cells by the step that takes them
	for _, t := range w.taken {
		if t >= 0 && t != never {
			first[t+1]++
		}
	}
	for i := range w.steps {
		first[i+1] += first[i]
	}
	cells := make([]int32, first[len(w.steps)])
	next := append([]int32(nil), first...)
	for c, t := range w.taken {
		switch {
		case t == never:
			w.add(int32(c))
		case t >= 0:
			cells[next[t]] = int32(c)
			next[t]++
		}
	}
	var out loosening
	for c := range w.parent {
		if w.parent[c] == int32(c) && !w.firm[c] {
			out.left = math.Max(out.left, float64(w.size[c])*w.h*w.h)
		}
	}
	var doubts []doubt
	for i := len(w.steps) - 1; i >= 0; i-- {
		for _, c := range cells[first[i]:first[i+1]] {
			w.add(c)
		}
		t := w.steps[i]
		l, _ := w.line(t)
		keep := doubts[:0]
		for _, d := range doubts {
			if w.firm[w.root(d.cell)] {
				continue // came loose with this step
			}
			s := w.steps[d.step]
			if d.path += l.Length(); d.path > 2*w.radius(s)+4*w.h {
				out.harm, out.prog, out.move = true, int(s.prog), int(s.move)
				return out
			}
			keep = append(keep, d)
		}
		doubts = keep
		if len(doubts) > 200 {
			continue
		}
		loose := int32(-1)
		w.capsule(l, w.radius(t)+w.h/2, func(c int32) {
			if loose < 0 && w.parent[c] >= 0 && !w.firm[w.root(c)] {
				loose = c
			}
		})
		if loose >= 0 && !w.retraced(i) {
			doubts = append(doubts, doubt{step: i, cell: loose})
		}
	}
	return out
}

// retrace is how far beside an earlier way through a cutter may run without
// being said to cut, mm.
const retrace = 0.02

// retraced tells whether a step follows ways through that were made before it, so
// that it takes nothing.
func (w *window) retraced(i int) bool {
	t := w.steps[i]
	r := w.radius(t)
	_, cv := w.line(t)
	for _, u := range [3]float32{t.t0, (t.t0 + t.t1) / 2, t.t1} {
		q := cv.at(float64(u))
		if !w.wasThere(i, geom.Pt(q[0], q[1]), r) {
			return false
		}
	}
	return true
}

// wasThere tells whether the axis of a cutter at least as wide went through at a
// place before step i.
func (w *window) wasThere(i int, q geom.Point, r float64) bool {
	// The way that took the cell comes by its middle within a diameter of path.
	x, y := int((q.X-w.min.X)/w.h), int((q.Y-w.min.Y)/w.h)
	if x < 0 || y < 0 || x >= w.nx || y >= w.ny {
		return false
	}
	t := w.taken[y*w.nx+x]
	if t != absent && int(t) >= i {
		return false // nobody was there
	}
	for k := max(0, int(t)); k < min(i, int(t)+64); k++ {
		if w.passes(k, q, r) {
			return true
		}
	}
	for k := i - 1; k >= 0 && k >= i-4000; k-- {
		if w.passes(k, q, r) {
			return true
		}
	}
	return false
}

// passes tells whether step k took a cutter at least as wide through at a place.
func (w *window) passes(k int, q geom.Point, r float64) bool {
	t := w.steps[k]
	if w.radius(t) < r-retrace {
		return false
	}
	l, cv := w.line(t)
	reach := retrace
	if cv.arc {
		reach += w.h // of the chord; looked at closely below
	}
	if l.Bounds().Dist(q) > reach || l.Dist(q) > reach || !w.through(t) {
		return false
	}
	pc := cv.piece(float64(t.t0), float64(t.t1))
	return pc.seg.Dist(q) <= retrace+pc.slack
}

func (w *window) root(c int32) int32 {
	for w.parent[c] != c {
		w.parent[c] = w.parent[w.parent[c]]
		c = w.parent[c]
	}
	return c
}

// add puts a cell back and joins it to its four neighbours.
func (w *window) add(c int32) {
	x, y := int(c)%w.nx, int(c)/w.nx
	w.parent[c], w.size[c] = c, 1
	w.firm[c] = w.rim(x, y) || w.island && (w.taken[c-1] == absent || w.taken[c+1] == absent || w.taken[int(c)-w.nx] == absent || w.taken[int(c)+w.nx] == absent)
	join := func(d int32) {
		if w.parent[d] < 0 {
			return
		}
		a, b := w.root(c), w.root(d)
		if a == b {
			return
		}
		if w.size[a] < w.size[b] {
			a, b = b, a
		}
		w.parent[b] = a
		w.size[a] += w.size[b]
		w.firm[a] = w.firm[a] || w.firm[b]
	}
	if x > 0 {
		join(c - 1)
	}
	if x < w.nx-1 {
		join(c + 1)
	}
	if y > 0 {
		join(c - int32(w.nx))
	}
	if y < w.ny-1 {
		join(c + int32(w.nx))
	}
}

// frees tells whether a cut goes round a part or slug.
func frees(c *work.Cut) bool {
	return (c.Kind == work.PartCut || c.Kind == work.Opening || c.Kind == work.Door) && (c.Through || c.Onion > 0)
}

// parts tells whether a cut may free a piece without being asked to.
func parts(c *work.Cut) bool {
	return (c.Kind == work.Slot || c.Kind == work.Score) && (c.Through || c.Onion > 0)
}
