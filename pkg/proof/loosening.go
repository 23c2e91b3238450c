package proof

import (
	"math"
	"slices"

	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/rs274"
	"sparclear/pkg/work"
)

// loosening is what the material about one kerf does over time.
type loosening struct {
	pieces []freed
	harm   bool       // a move cuts in what is loose
	at     geom.Point // within that
	prog   int        // of that move
	move   int
	cuts   []int   // whose moves go through here
	sure   float64 // thickness from which no piece goes unseen, mm
	over   bool    // too large to be followed
}

// freed is a piece that lies loose at the end.
type freed struct {
	area float64    // mm²
	box  geom.Box   // of the middles of its cells
	at   geom.Point // within it
	cuts []int      // that go through beside it, ascending
}

// loosenCells is how many cells the material about one kerf may be divided into,
// fineCells up to how many they are as small as can be.
const (
	loosenCells = 4 << 20
	fineCells   = 1 << 20
)

// window is the material about one kerf, in square cells, while time is wound back:
// a cell is there from the beginning until the move that first takes it through.
type window struct {
	p      *prover
	k      *kerfs
	g      *kerf
	min    geom.Point
	h      float64
	nx, ny int
	wide   float64 // largest radius of a cutter, mm
	steps  []step  // in the order in which they run
	taken  []int32 // of each cell: index into steps that takes it, never, or absent
	parent []int32 // union-find over cells, -1 not there
	size   []int32 // of the piece, by root
	firm   []bool  // is held, by root
}

// step is a stretch of one move, no longer than a few cells.
type step struct {
	prog, move int32
	t0, t1     float32
	through    float32 // radius within which it takes material to the lower face, mm; 0 none
	mine       bool    // it is part of the kerf that is looked at
}

const (
	never  = math.MaxInt32
	absent = -1
)

// loosen follows the material about one kerf. A piece is loose from the step on
// that cuts its last bridge to the rim of the window; about kerfs that run out of
// the stock, to its largest piece or to one that a clamp holds. Cells are a quarter
// of the cutter's radius, where there is room no more than a quarter of a
// millimetre; a bridge thinner than a cell and a foil counts as none, a piece
// thinner than a foil as chips. Every step that is in the material is then held
// against what was loose before it. What only follows an earlier way through at the
// same place takes nothing, and the rest of the last bridge may still go (see doubt).
func (k *kerfs) loosen(g *kerf) loosening {
	w := k.windowOf(g)
	if w == nil {
		return loosening{over: true, cuts: slices.Sorted(slices.Values(g.cuts))}
	}
	w.forward()
	out := w.backward()
	out.cuts = slices.Sorted(slices.Values(g.cuts))
	out.sure = foil + w.h*math.Sqrt2 // a disc that wide holds the middle of a cell
	return out
}

// dust tells whether an opening is cleared: next to nothing is left within it.
func (k *kerfs) dust(i int) bool {
	c := &k.p.w.Cuts[i]
	f := k.p.areas.list[i].inside
	if f == nil {
		return false
	}
	r := k.p.radiusOf(c.Cutter)
	for _, g := range c.Regions { // a place far from the edge says it soonest
		b := g.Bounds()
		for n := range 49 {
			q := geom.Pt(b.Min.X+b.Size().X*float64(n%7+1)/8, b.Min.Y+b.Size().Y*float64(n/7+1)/8)
			if f.Inside(q) && f.EdgeDist(q) > 2.5*r && !k.cutAway(q) {
				return false
			}
		}
	}
	left := 0.0
	for _, g := range c.Regions {
		w := k.frame(g.Bounds(), r, math.Inf(1))
		if w == nil {
			return false
		}
		w.forward()
		for y := range w.ny {
			for x := range w.nx {
				if q := w.at(x, y); w.taken[y*w.nx+x] == never && g.ContainsInterior(q) && f.EdgeDist(q) > w.h {
					left += w.h * w.h
				}
			}
		}
	}
	return left < r*r/4
}

// cutAway tells whether a way through passes over a place.
func (k *kerfs) cutAway(q geom.Point) bool {
	found := false
	for n, pr := range k.p.progs {
		for _, t := range pr.trees {
			r := k.p.radiusOf(t.tool)
			t.within(geom.Box{Min: q, Max: q}.Grow(r), func(j int) {
				if found || k.of(int32(n), int32(j)) < 0 {
					return
				}
				c := newCurve(&pr.replay.Moves[j])
				found = c.passes(q, r, math.Inf(1))
			})
		}
	}
	return found
}

// windowOf prepares the cells and the moves about a kerf; nil when they are too many.
func (k *kerfs) windowOf(g *kerf) *window {
	box := g.box.Grow(g.most)
	if g.edge {
		box = box.Union(k.p.areas.stock.Bounds())
	}
	w := k.frame(box, g.least, g.least/1.5)
	if w != nil {
		w.g = g
		for i := range w.steps {
			s := &w.steps[i]
			s.mine = s.through > 0 && k.of(s.prog, s.move) == g.number
		}
	}
	return w
}

// frame lays cells over a box, for a smallest cutter of radius r, and gathers the
// steps that meet them; nil when the cells would be larger than coarse.
func (k *kerfs) frame(box geom.Box, r, coarse float64) *window {
	p := k.p
	w := &window{p: p, k: k, h: math.Min(r/4, 0.25)}
	for i := range p.tools {
		w.wide = math.Max(w.wide, p.radiusOf(i))
	}
	box = box.Grow(4 * math.Max(w.h, r/4))
	s := box.Size()
	cells := func() float64 { return s.X / w.h * s.Y / w.h }
	if n := cells(); n > fineCells {
		w.h = math.Min(r/4, w.h*math.Sqrt(n/fineCells))
	}
	if n := cells(); n > loosenCells {
		if w.h *= math.Sqrt(n / loosenCells); w.h > coarse {
			return nil
		}
	}
	w.min, w.nx, w.ny = box.Min, 2+int(s.X/w.h), 2+int(s.Y/w.h)
	for n, pr := range p.progs {
		for _, t := range pr.trees {
			t.within(box.Grow(w.wide), func(j int) { w.take(n, j, box) })
		}
	}
	w.taken = make([]int32, w.nx*w.ny)
	stock, mid := p.areas.stock, box.Center()
	edge := stock != nil && (!stock.Inside(mid) || stock.EdgeDist(mid) <= s.Len()/2+2*w.h)
	for y := range w.ny {
		for x := range w.nx {
			c := y*w.nx + x
			w.taken[c] = never
			if edge && !stock.Inside(w.at(x, y)) {
				w.taken[c] = absent
			}
		}
	}
	return w
}

// take adds the steps of a move that may touch the box.
func (w *window) take(k, j int, box geom.Box) {
	p := w.p
	m := &p.progs[k].replay.Moves[j]
	if p.verdicts[k][j].cut < 0 || m.Motion == rs274.Rapid || !boundsOf(m).xy.Grow(w.wide).Overlaps(box) {
		return
	}
	deep := w.k.of(int32(k), int32(j)) >= 0
	n := 1 + int(math.Min(m.Length()/(2*w.h), 20_000))
	for i := range n {
		s := step{prog: int32(k), move: int32(j), t0: float32(float64(i) / float64(n)), t1: float32(float64(i+1) / float64(n))}
		if deep {
			s.through = float32(w.throughAt(s))
		}
		w.steps = append(w.steps, s)
	}
}

// throughAt returns the radius within which a step takes material to the lower
// face, mm, 0 where it does not. A point that only just comes through cuts a slit:
// the piece beside it is as large as it is, and still it is cut off.
func (w *window) throughAt(s step) float64 {
	_, cv := w.line(s)
	pc := cv.piece(float64(s.t0), float64(s.t1))
	_, most := w.p.tipDepth(&cv, &pc, float64(s.t0), float64(s.t1))
	t := &w.p.tools[w.p.progs[s.prog].toolOf(int(s.move))]
	below := most - w.p.throughDepth()
	if !w.p.flat { // uphill it comes through sooner
		below += t.lift(w.p.w.Skin.Slope(pc.box.Grow(t.cutter.Diameter/2 + pc.slack)))
	}
	if below < 0 {
		return 0
	}
	return math.Max(t.radiusAt(below), w.h/2) + foil/2
}

func (w *window) rim(x, y int) bool { return x == 0 || y == 0 || x == w.nx-1 || y == w.ny-1 }

func (w *window) at(x, y int) geom.Point {
	return geom.Pt(w.min.X+(float64(x)+0.5)*w.h, w.min.Y+(float64(y)+0.5)*w.h)
}

// line returns a step as a line from end to end, and the curve it is part of.
func (w *window) line(s step) (geom.Seg, curve) {
	cv := newCurve(&w.p.progs[s.prog].replay.Moves[s.move])
	a, b := cv.at(float64(s.t0)), cv.at(float64(s.t1))
	return geom.Line(geom.Pt(a[0], a[1]), geom.Pt(b[0], b[1])), cv
}

func (w *window) radius(s step) float64 {
	return w.p.radiusOf(w.p.progs[s.prog].toolOf(int(s.move)))
}

// capsule calls f with the cells whose middle lies within r of the line.
func (w *window) capsule(s geom.Seg, r float64, f func(cell int32)) {
	b := s.Bounds().Grow(r)
	x0, x1 := max(0, int((b.Min.X-w.min.X)/w.h)), min(w.nx-1, int((b.Max.X-w.min.X)/w.h))
	y0, y1 := max(0, int((b.Min.Y-w.min.Y)/w.h)), min(w.ny-1, int((b.Max.Y-w.min.Y)/w.h))
	d := s.B.Sub(s.A)
	per := 0.0
	if l2 := d.Dot(d); l2 > 0 {
		per = 1 / l2
	}
	for y := y0; y <= y1; y++ {
		v := w.at(x0, y).Sub(s.A)
		for x := x0; x <= x1; x++ {
			t := min(1, max(0, (float64(v.X*d.X)+float64(v.Y*d.Y))*per))
			ex, ey := v.X-float64(t*d.X), v.Y-float64(t*d.Y)
			if float64(ex*ex)+float64(ey*ey) <= r*r {
				f(int32(y*w.nx + x))
			}
			v.X += w.h
		}
	}
}

// forward finds which move first takes each cell.
func (w *window) forward() {
	for n, t := range w.steps {
		if t.through <= 0 {
			continue
		}
		l, _ := w.line(t)
		w.capsule(l, float64(t.through), func(c int32) {
			if w.taken[c] == never {
				w.taken[c] = int32(n)
			}
		})
	}
}

// doubt is a step that touches a piece which is loose before it. It does no harm
// where it only takes the rest of the bridge: no further than a diameter from where
// the cutter stood when the piece came loose, and no more, with all that is taken
// after that, than the cusps between two circles of the cutter (4 − π of r²). What is
// smaller than a quarter of such a square is a crumb.
type doubt struct {
	step int
	cell int32 // of the piece
	at   geom.Point
	area float64 // that the step takes of it, mm²
	path float64 // from where it came loose, as far as time is wound back, mm
}

// mostDoubts is how many doubts are kept apart: moves may be shorter than a cell.
const mostDoubts = 200

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
	if w.g.edge {
		w.hold()
	}
	out := loosening{pieces: w.pieces()}
	var doubts []doubt
	bite := w.bite()
	for i := len(w.steps) - 1; i >= 0; i-- {
		for _, c := range cells[first[i]:first[i+1]] {
			w.add(c)
		}
		t := w.steps[i]
		l, _ := w.line(t)
		keep := doubts[:0]
		taken := 0.0 // of what came loose with this step
		for _, d := range doubts {
			s := w.steps[d.step]
			r := math.Max(bite, float64(s.through))
			reach := 2*r + foil + 4*w.h
			d.path += l.Length()
			held := w.firm[w.root(d.cell)]
			if held {
				taken += d.area
			}
			if held && l.A.Dist(d.at) <= reach && taken <= r*(r+2*w.h) {
				continue
			}
			if held || d.path > 2*reach {
				out.harm, out.prog, out.move = true, int(s.prog), int(s.move)
				out.at = w.at(int(d.cell)%w.nx, int(d.cell)/w.nx)
				return out
			}
			keep = append(keep, d)
		}
		doubts = keep
		loose := int32(-1)
		w.capsule(l, w.radius(t)+foil/2+w.h/2, func(c int32) {
			if loose >= 0 || w.parent[c] < 0 {
				return
			}
			if r := w.root(c); !w.firm[r] && float64(w.size[r])*w.h*w.h > bite*bite {
				loose = c
			}
		})
		if loose >= 0 && !w.retraced(i) {
			d := doubt{step: i, cell: loose, at: l.A}
			for _, c := range cells[first[i]:first[i+1]] {
				if !w.firm[w.root(c)] {
					d.area += w.h * w.h
				}
			}
			if n := len(doubts); n < mostDoubts {
				doubts = append(doubts, d)
			} else {
				doubts[n-1].area += d.area
			}
		}
	}
	return out
}

// bite is the smallest radius within which the kerf goes through, mm.
func (w *window) bite() float64 {
	least := w.g.most
	for i := range w.steps {
		if s := &w.steps[i]; s.mine {
			least = math.Min(least, float64(s.through)-foil/2)
		}
	}
	return least
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
	if t.through <= 0 || l.Bounds().Dist(q) > reach || l.Dist(q) > reach {
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
	w.firm[c] = !w.g.edge && (w.rim(x, y) || w.atEdge(c))
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

// atEdge tells whether a cell within the window lies at the edge of the stock.
func (w *window) atEdge(c int32) bool {
	nx := int32(w.nx)
	return w.taken[c-1] == absent || w.taken[c+1] == absent || w.taken[c-nx] == absent || w.taken[c+nx] == absent
}

// hold finds what is held of a sheet that is cut as far as its edge: the largest
// piece that reaches the edge, and what bears a clamp.
func (w *window) hold() {
	largest := int32(-1)
	for c := range w.parent {
		if w.parent[c] < 0 || !w.rim(c%w.nx, c/w.nx) && !w.atEdge(int32(c)) {
			continue
		}
		if r := w.root(int32(c)); largest < 0 || w.size[r] > w.size[largest] {
			largest = r
		}
	}
	if largest >= 0 {
		w.firm[largest] = true
	}
	for i := range w.p.w.Clamps {
		f := keepout.NewField(w.p.w.Clamps[i].Footprint)
		b := f.Bounds()
		x0, x1 := max(0, int((b.Min.X-w.min.X)/w.h)), min(w.nx-1, int((b.Max.X-w.min.X)/w.h))
		y0, y1 := max(0, int((b.Min.Y-w.min.Y)/w.h)), min(w.ny-1, int((b.Max.Y-w.min.Y)/w.h))
		for y := y0; y <= y1; y++ {
			for x := x0; x <= x1; x++ {
				if c := int32(y*w.nx + x); w.parent[c] >= 0 && f.Inside(w.at(x, y)) {
					w.firm[w.root(c)] = true
				}
			}
		}
	}
}

// pieces lists what lies loose at the end and is bounded outside by the kerf.
func (w *window) pieces() []freed {
	var out []freed
	known := map[int32]int{} // by root: index into out, -1 bounded by another kerf
	for c := range w.parent {
		if w.parent[c] < 0 {
			continue
		}
		r := w.root(int32(c))
		if w.firm[r] {
			continue
		}
		x, y := c%w.nx, c/w.nx
		n, ok := known[r]
		if !ok { // its first cell: what lies below bounds it outside
			n = -1
			if below := w.takenAt(x, y-1); below == absent && w.g.edge || below >= 0 && below != never && w.steps[below].mine {
				n = len(out)
				out = append(out, freed{area: float64(w.size[r]) * w.h * w.h, box: geom.EmptyBox()})
			}
			known[r] = n
		}
		if n < 0 {
			continue
		}
		f := &out[n]
		f.box = f.box.Extend(w.at(x, y))
		for _, t := range [4]int32{w.takenAt(x-1, y), w.takenAt(x+1, y), w.takenAt(x, y-1), w.takenAt(x, y+1)} {
			if t < 0 || t == never || !w.steps[t].mine {
				continue
			}
			if cut := int(w.p.verdicts[w.steps[t].prog][w.steps[t].move].cut); !slices.Contains(f.cuts, cut) {
				f.cuts = append(f.cuts, cut)
			}
		}
	}
	near := make([]float64, len(out))
	for i := range out {
		slices.Sort(out[i].cuts)
		near[i] = math.Inf(1)
	}
	for c := range w.parent { // the cell nearest to the middle of the piece stands for it
		if w.parent[c] < 0 {
			continue
		}
		if n, ok := known[w.root(int32(c))]; ok && n >= 0 {
			q := w.at(c%w.nx, c/w.nx)
			if d := q.Dist(out[n].box.Center()); d < near[n] {
				near[n], out[n].at = d, q
			}
		}
	}
	return out
}

// takenAt returns which step takes a cell, absent outside of the window.
func (w *window) takenAt(x, y int) int32 {
	if x < 0 || y < 0 || x >= w.nx || y >= w.ny {
		return absent
	}
	return w.taken[y*w.nx+x]
}

// frees tells whether a cut goes round a part or slug.
func frees(c *work.Cut) bool {
	return (c.Kind == work.PartCut || c.Kind == work.Opening || c.Kind == work.Door) && (c.Through || c.Onion > 0)
}
