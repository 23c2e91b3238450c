package nest

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"time"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// mostGuided is the number of copies up to which the guided search handles them
// together; its time and memory grow with the square. With more copies, the last
// sheets that together hold no more are searched, the rest stay as first laid.
const mostGuided = 300

// Nest places the parts on the sheets, cheapest pieces first, and verifies the
// layout. Findings that block and a nil layout mean that the input is wrong or
// that nothing could be proven; copies that found no room are counted in
// Layout.Unplaced and give the finding "no-room", which blocks.
func Nest(ctx context.Context, parts []Part, sheets []Sheet, o Options) (*Layout, diag.List) {
	out := check(parts, sheets, o)
	if out.Blocks() {
		return nil, out
	}
	n := newNesting(ctx, parts, sheets, o)
	out.Add(n.tooLarge()...)
	out.Add(n.checkLocked()...)
	if out.Blocks() {
		return nil, out
	}
	n.lay()
	n.improve()
	n.fill()
	l := n.layout()
	for i, k := range l.Unplaced {
		if k > 0 {
			out.Add(diag.Finding{Code: "no-room", Severity: diag.Stop, Subject: parts[i].Name,
				Message: fmt.Sprintf("%d of %d copies found no room", k, parts[i].Quantity),
				Help:    "add a sheet, allow more turns, or give the search more time"}.With(float64(k), 0, "copies"))
		}
	}
	if wrong := Verify(parts, sheets, l, o); wrong.Blocks() {
		return nil, append(out, wrong...)
	}
	return l, out
}

// nesting is the state of one call of Nest.
type nesting struct {
	parts    []Part
	sheets   []Sheet
	o        Options
	cat      *catalog
	grounds  []ground
	choices  [][][]int32 // by part, then fibre direction
	pieces   []piece
	piles    []*pile // by piece, nil until it is used
	held     [][]int // by piece: items, in the order of the pile
	items    []item
	homeless []int // items that found no room
	locked   map[piece][]Placement
	patterns map[[2]int]lattice   // by part and fibre direction
	obst     map[piece][]obstacle // locked copies, which lie on one piece only
	tried    int64
	clock    clock
	stopped  bool
}

func newNesting(ctx context.Context, parts []Part, sheets []Sheet, o Options) *nesting {
	if o.Budget == 0 && o.Time == 0 {
		o.Budget = DefaultBudget
	}
	n := &nesting{parts: parts, sheets: sheets, o: o, locked: map[piece][]Placement{}, obst: map[piece][]obstacle{}, patterns: map[[2]int]lattice{},
		clock: clock{ctx: ctx, budget: o.Budget, limit: o.Time, start: time.Now()}}
	angles, of := fibres(sheets)
	var shapes []*shape
	take := func(s *shape) int32 {
		shapes = append(shapes, s)
		return int32(len(shapes) - 1)
	}
	copies := 0
	for i, p := range parts {
		n.choices = append(n.choices, make([][]int32, len(angles)))
		if p.Quantity == 0 {
			continue
		}
		out := ready(p.Region, o.Spacing/2, maxPoles)
		for f, a := range angles {
			for _, s := range shapesOf(i, p, out, f, a) {
				n.choices[i][f] = append(n.choices[i][f], take(s))
			}
		}
		for k := len(p.Locked); k < p.Quantity; k++ {
			sh := shapes[n.choices[i][0][0]]
			n.items = append(n.items, item{part: i, copy: k, choices: n.choices[i], size: sh.lambda * sh.lambda})
		}
		copies += max(p.Quantity, 1, len(p.Locked))
	}
	for i, s := range sheets {
		g := groundOf(s, of[i], o.Spacing)
		for k := range g.obst {
			g.obst[k].v = take(g.shape[k])
		}
		n.grounds = append(n.grounds, g)
	}
	n.pieces = stock(sheets, copies)
	for i, p := range parts {
		for k, l := range p.Locked {
			at := piece{l.Sheet, l.Piece}
			n.locked[at] = append(n.locked[at], Placement{Part: i, Copy: k, Frame: l.Frame, Locked: true})
			sh := ready(p.Region.Transform(l.Frame), o.Spacing/2, maxPoles).shape(-1, of[l.Sheet], geom.Rigid{})
			mid := sh.frame.Shift.Mul(-1)
			n.obst[at] = append(n.obst[at], obstacle{mid.X, mid.Y, take(sh)})
		}
	}
	n.cat = newCatalog(shapes)
	n.piles = make([]*pile, len(n.pieces))
	n.held = make([][]int, len(n.pieces))
	return n
}

// tooLarge finds parts whose box fits on no sheet in any allowed turn.
func (n *nesting) tooLarge() diag.List {
	var out diag.List
	for i, p := range n.parts {
		if p.Quantity == 0 || p.Quantity > 0 && len(p.Locked) == p.Quantity {
			continue
		}
		over := math.Inf(1)
		for _, g := range n.grounds {
			size := g.box.Size()
			for _, v := range n.choices[i][g.fibre] {
				sh := n.cat.shapes[v]
				over = math.Min(over, math.Max(2*sh.hw-size.X, 2*sh.hh-size.Y))
			}
		}
		if over > 0 {
			out.Add(bad("part-too-large", p.Name, fmt.Sprintf("the part is %.2f mm too large for every sheet in every allowed turn, margins included", over),
				"use a larger sheet, a smaller margin, or allow more turns").With(over, 0, "mm"))
		}
	}
	return out
}

// checkLocked verifies what was laid by hand.
func (n *nesting) checkLocked() diag.List {
	l := &Layout{}
	for _, pc := range n.pieces {
		if ps := n.locked[pc]; len(ps) > 0 {
			for _, p := range ps {
				p.Piece = len(l.Used)
				l.Placements = append(l.Placements, p)
			}
			l.Used = append(l.Used, Used{Sheet: pc.sheet, Piece: pc.piece})
		}
	}
	var out diag.List
	want := 0
	for _, p := range n.parts {
		want += len(p.Locked)
	}
	if want != len(l.Placements) {
		out.Add(bad("locked-nowhere", "", "a copy is laid by hand on a piece of stock that is not at hand", "raise the quantity of the sheet"))
	}
	for _, f := range Verify(n.parts, n.sheets, l, n.o) {
		f.Input = true
		out.Add(f)
	}
	for _, p := range l.Placements {
		if s := n.sheets[l.Used[p.Piece].Sheet]; !allows(n.parts[p.Part], p.Frame, s.Fibre) {
			out.Add(diag.Finding{Code: "locked-turn", Severity: diag.Warn, Subject: n.parts[p.Part].Name,
				Message: fmt.Sprintf("copy %d, laid by hand, lies in a turn that the part does not allow", p.Copy+1),
				Help:    "turn it, or name the turn among those allowed"}.With(deg(p.Frame.Turn-s.Fibre), 0, "°"))
		}
	}
	return out
}

func (n *nesting) newPile(k int) *pile {
	g := &n.grounds[n.pieces[k].sheet]
	b := &bin{x0: g.box.Min.X, y0: g.box.Min.Y, x1: g.box.Max.X, y1: g.box.Max.Y, fibre: g.fibre}
	b.obst = append(append(b.obst, g.obst...), n.obst[n.pieces[k]]...)
	side, count := 0.0, 0
	for i := range n.parts {
		for _, v := range n.choices[i][g.fibre] {
			side += n.cat.shapes[v].hw + n.cat.shapes[v].hh
			count++
		}
	}
	return &pile{cat: n.cat, bin: b, right: b.x0, grid: newGrid(b, side/float64(max(1, count))), rnd: rand.New(rand.NewPCG(n.o.Seed, uint64(k)<<8|250)), tried: &n.tried}
}

// over tells that time or the context ended the search.
func (n *nesting) over() bool {
	if n.clock.ctx.Err() != nil || n.clock.limit > 0 && time.Since(n.clock.start) >= n.clock.limit {
		n.stopped = true
	}
	return n.stopped
}

// report tells how many copies have their place, as a share of those known.
func (n *nesting) report(phase string, placed int) {
	if n.o.Progress == nil {
		return
	}
	p := Progress{Phase: phase, Tried: n.tried, Done: float64(placed) / math.Max(1, float64(len(n.items)))}
	area, room := 0.0, 0.0
	for k, l := range n.piles {
		if l == nil {
			continue
		}
		p.Sheets++
		room += n.sheets[n.pieces[k].sheet].Region.Area()
		for _, i := range n.held[k] {
			area += n.parts[n.items[i].part].Region.Area()
		}
	}
	if room > 0 {
		p.Use = area / room
	}
	n.o.Progress(p)
}

// drawsFirst and drawsAgain are how many positions are drawn for a copy on one
// piece before it is tried on the next.
const (
	drawsFirst = 200
	drawsAgain = 1000
)

// lay makes the first layout: large parts first, each on the cheapest piece that
// has room.
func (n *nesting) lay() {
	rest := make([]int, len(n.items))
	for i := range rest {
		rest[i] = i
	}
	sort.SliceStable(rest, func(a, b int) bool { return n.items[rest[a]].size > n.items[rest[b]].size })
	idle := -1 // sheet on which the rest found no room even on an empty piece
	for k, pc := range n.pieces {
		if len(rest) == 0 && len(n.locked[pc]) == 0 {
			continue
		}
		if pc.sheet == idle && len(n.locked[pc]) == 0 {
			continue
		}
		n.report("place", len(n.items)-len(rest))
		var l *pile
		l, rest = n.layBest(k, rest)
		if len(l.x) > 0 || len(n.locked[pc]) > 0 {
			n.piles[k] = l
		} else {
			idle = pc.sheet
		}
	}
	n.homeless = rest
}

// fewForLattice is the number of equal copies from which a regular pattern is
// tried beside the free one.
const fewForLattice = 6

// layBest fills a piece with what it can take of the items. When all of them are
// copies of one part, a regular pattern is tried as well, and the fuller or else
// the shorter of both is kept.
func (n *nesting) layBest(k int, rest []int) (*pile, []int) {
	l := n.newPile(k)
	held, left := n.layOn(l, rest)
	if t, ok := n.lattice(l.bin.fibre, rest); ok && !n.over() {
		m := n.newPile(k)
		for _, c := range m.layLattice(t, len(rest)) {
			m.add(c)
		}
		laid := len(m.x)
		more, less := n.layOn(m, rest[laid:])
		if len(less) < len(left) || len(less) == len(left) && m.right < l.right {
			l, held, left = m, append(append([]int{}, rest[:laid]...), more...), less
		}
	}
	n.held[k] = held
	return l, left
}

// lattice returns the densest pattern when all items are copies of one part.
func (n *nesting) lattice(fibre int, items []int) (lattice, bool) {
	if len(items) < fewForLattice {
		return lattice{}, false
	}
	for _, i := range items {
		if n.items[i].part != n.items[items[0]].part {
			return lattice{}, false
		}
	}
	return n.pattern(n.items[items[0]].part, fibre)
}

// pattern returns the densest pattern of a part, found once.
func (n *nesting) pattern(part, fibre int) (lattice, bool) {
	k := [2]int{part, fibre}
	t, known := n.patterns[k]
	if !known {
		t, _ = densestLattice(n.cat, n.choices[part][fibre], &n.tried)
		n.patterns[k] = t
	}
	return t, len(t.cell) > 0
}

// layOn adds items one by one and returns those that it added and the rest.
func (n *nesting) layOn(l *pile, rest []int) (held, left []int) {
	full := map[int]bool{} // parts that found no room here
	for _, i := range rest {
		it := &n.items[i]
		if full[it.part] || n.over() {
			left = append(left, i)
			continue
		}
		choices := it.choices[l.bin.fibre]
		c, ok := l.insert(choices, drawsFirst)
		if !ok {
			c, ok = l.insert(choices, drawsAgain)
		}
		if !ok {
			full[it.part] = true
			left = append(left, i)
			continue
		}
		l.add(c)
		held = append(held, i)
	}
	return held, left
}

// fill puts as many copies as fit of the parts that ask for it on the pieces in
// use, or, when none is in use, on all that are at hand (one, if there is no
// limit).
func (n *nesting) fill() {
	var order []int
	for i, p := range n.parts {
		if p.Quantity == Fill {
			order = append(order, i)
		}
	}
	if len(order) == 0 {
		return
	}
	size := func(i int) float64 { return n.cat.shapes[n.choices[i][0][0]].lambda }
	sort.SliceStable(order, func(a, b int) bool { return size(order[a]) > size(order[b]) })
	used := false
	for _, l := range n.piles {
		used = used || l != nil
	}
	next := make([]int, len(n.parts))
	for i, p := range n.parts {
		next[i] = len(p.Locked)
	}
	for k, pc := range n.pieces {
		if n.piles[k] == nil {
			if used || n.sheets[pc.sheet].Quantity == Unlimited && pc.piece > 0 {
				continue
			}
			n.piles[k] = n.newPile(k)
		}
		l := n.piles[k]
		n.report("fill", len(n.items))
		for _, i := range order {
			for _, c := range n.mostOf(l, i) {
				l.add(c)
				n.held[k] = append(n.held[k], len(n.items))
				n.items = append(n.items, item{part: i, copy: next[i], choices: n.choices[i]})
				next[i]++
			}
		}
		if len(l.x) == 0 && len(n.locked[pc]) == 0 {
			n.piles[k] = nil
		}
	}
}

// mostOf returns places for as many copies of a part as fit on what the pile
// leaves: one by one, or by a regular pattern and then one by one, whichever takes
// more.
func (n *nesting) mostOf(l *pile, part int) []place {
	choices := n.choices[part][l.bin.fibre]
	grown := func(start []place) []place {
		m := l.clone()
		for _, c := range start {
			m.add(c)
		}
		got := start
		for !n.over() && len(n.items)+len(got) < mostCopies {
			c, ok := m.insert(choices, drawsAgain)
			if !ok {
				break
			}
			m.add(c)
			got = append(got, c)
		}
		return got
	}
	most := grown(nil)
	if t, ok := n.pattern(part, l.bin.fibre); ok && !n.over() {
		if got := grown(l.layLattice(t, mostCopies-len(n.items))); len(got) > len(most) {
			most = got
		}
	}
	return most
}

// layout turns the piles into the result.
func (n *nesting) layout() *Layout {
	out := &Layout{Unplaced: make([]int, len(n.parts)), Tried: n.tried, Stopped: n.stopped}
	for _, i := range n.homeless {
		out.Unplaced[n.items[i].part]++
	}
	for k, l := range n.piles {
		if l == nil {
			continue
		}
		pc := n.pieces[k]
		s := n.sheets[pc.sheet]
		u := Used{Sheet: pc.sheet, Piece: pc.piece, Cost: s.Cost, Area: s.Region.Area()}
		box := geom.EmptyBox()
		put := func(p Placement) {
			p.Piece = len(out.Used)
			out.Placements = append(out.Placements, p)
			g := n.parts[p.Part].Region
			u.PartArea += g.Area()
			box = box.Union(g.Transform(p.Frame).Bounds())
		}
		for _, p := range n.locked[pc] {
			put(p)
		}
		for j, i := range n.held[k] {
			f := n.cat.shapes[l.v[j]].frame
			f.Shift = f.Shift.Add(geom.Pt(l.x[j], l.y[j]))
			put(Placement{Part: n.items[i].part, Copy: n.items[i].copy, Frame: f})
		}
		u.Share = u.PartArea / u.Area
		u.Remnant = remnant(s, box.Max.X+n.o.Spacing)
		out.Used = append(out.Used, u)
	}
	sort.SliceStable(out.Placements, func(a, b int) bool {
		p, q := out.Placements[a], out.Placements[b]
		if p.Part != q.Part {
			return p.Part < q.Part
		}
		return p.Copy < q.Copy
	})
	return out
}

// remnant returns the material to the right of a straight cut, less the zones,
// which are flaws or were under a clamp; nothing narrower than twice the margin.
func remnant(s Sheet, cut float64) []geom.Region {
	b := s.Region.Bounds()
	if b.Max.X-cut <= 2*s.Margin || cut >= b.Max.X {
		return nil
	}
	right := geom.NewRegion(geom.Rect(cut, b.Min.Y-1, b.Max.X+1, b.Max.Y+1))
	rest, err := geom.Intersect([]geom.Region{s.Region}, []geom.Region{right})
	if err == nil && len(s.Zones) > 0 {
		rest, err = geom.Subtract(rest, s.Zones)
	}
	if err != nil { // no remnant is better than a doubtful one
		return nil
	}
	return rest
}
