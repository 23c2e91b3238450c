package nest

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"

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
	if !n.tile() {
		n.lay()
		n.improve()
	}
	n.fill()
	l := n.mended()
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
	turns    *finer
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
		clock: newClock(ctx, o)}
	angles, of := fibres(sheets)
	n.turns = &finer{parts, make([]outlines, len(parts)), angles}
	var shapes []*shape
	take := func(s *shape) int32 {
		shapes = append(shapes, s)
		return int32(len(shapes) - 1)
	}
	copies := 0
	room := roomsOf(parts, o.Spacing)
	for i, p := range parts {
		n.choices = append(n.choices, make([][]int32, len(angles)))
		if p.Quantity == 0 {
			continue
		}
		out := ready(room.with(p.Region), o.Spacing/2, maxPoles)
		n.turns.outs[i] = out
		for f, a := range angles {
			for _, s := range shapesOf(i, p, out, f, a) {
				n.choices[i][f] = append(n.choices[i][f], take(s))
			}
		}
		for k := len(p.Locked); k < p.Quantity; k++ {
			sh := shapes[n.choices[i][0][0]]
			n.items = append(n.items, item{part: i, copy: k, choices: n.choices[i], size: float64(sh.lambda * sh.lambda)})
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
			sh := ready(room.with(p.Region).Transform(l.Frame), o.Spacing/2, maxPoles).shape(-1, of[l.Sheet], geom.Rigid{})
			mid := sh.frame.Shift.Mul(-1)
			n.obst[at] = append(n.obst[at], obstacle{mid.X, mid.Y, take(sh)})
		}
	}
	n.cat = newCatalog(shapes, nil)
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
				over = math.Min(over, math.Max(float64(2*sh.hw)-size.X, float64(2*sh.hh)-size.Y))
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
		part := n.parts[p.Part]
		if len(part.Turns) == 0 && len(part.Locked) == part.Quantity {
			continue // laid by hand throughout, and no turns named: there is no rule
		}
		if s := n.sheets[l.Used[p.Piece].Sheet]; !allows(part, p.Frame, s.Fibre) {
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
