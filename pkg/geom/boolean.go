package geom

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
)

// Union returns the points that lie in a or in b. Regions of one operand may
// touch and overlap; arcs stay arcs. Parts of no width, and parts thinner than
// about 1e-6 mm, are left out. A result whose boundary does not close gives a
// diag.Finding with code "boolean-unproven" and the place.
func Union(a, b []Region) ([]Region, error) {
	return combine(a, b, func(a, b bool) bool { return a || b })
}

// Intersect returns the points that lie in both a and b; see Union.
func Intersect(a, b []Region) ([]Region, error) {
	return combine(a, b, func(a, b bool) bool { return a && b })
}

// Subtract returns the points that lie in a and not in b; see Union.
func Subtract(a, b []Region) ([]Region, error) {
	return combine(a, b, func(a, b bool) bool { return a && !b })
}

// Xor returns the points that lie in one of a and b only; see Union.
func Xor(a, b []Region) ([]Region, error) {
	return combine(a, b, func(a, b bool) bool { return a != b })
}

// combine runs one boolean: the edges of both operands are cut where they meet,
// and a piece stays when the wanted set lies on one side of it only.
func combine(a, b []Region, want func(inA, inB bool) bool) ([]Region, error) {
	loops, _, err := combineLoops(a, b, want)
	if err != nil {
		return nil, err
	}
	return nestLoops(loops), nil
}

func combineLoops(a, b []Region, want func(inA, inB bool) bool) ([]Contour, int, error) {
	ops := [2]*prepared{}
	box := EmptyBox()
	lists := [2][]Contour{contoursOf(a), contoursOf(b)}
	for _, cs := range lists {
		b, err := boundsOf(cs)
		if err != nil {
			return nil, 0, err
		}
		box = box.Union(b)
	}
	if box.Empty() {
		return nil, 1, nil
	}
	for i := range ops {
		ops[i] = &prepared{org: box.Center()}
		ops[i].load(lists[i])
	}
	var fault Point
	tries := 0
	for _, tn := range nodeSteps {
		tries++
		m := mixing{ops: ops, want: want}
		m.g.tn, m.g.tt = tn, tn/20
		out, ok := m.run()
		if ok {
			return ops[0].back(out), tries, nil
		}
		fault = m.fault
	}
	fault = fault.Add(box.Center())
	return nil, tries, diag.Finding{
		Code: "boolean-unproven", Severity: diag.Stop,
		Message: fmt.Sprintf("outlines could not be combined at X%.4f Y%.4f", fault.X, fault.Y),
		Help:    "look at the outlines near this place for edges that almost coincide",
	}.On(fault.X, fault.Y)
}

// contoursOf returns all contours of regions, outer ones counter-clockwise and
// holes clockwise, however they were built.
func contoursOf(gs []Region) []Contour {
	var out []Contour
	for _, g := range gs {
		if g.Outer.Area() < 0 {
			g.Outer = g.Outer.Reverse()
		}
		out = append(out, g.Outer)
		for _, h := range g.Holes {
			if h.Area() > 0 {
				h = h.Reverse()
			}
			out = append(out, h)
		}
	}
	return out
}

// mixing is one attempt at a boolean. The tag of a curve is its number in its
// operand, twice, plus the operand.
type mixing struct {
	ops   [2]*prepared
	want  func(inA, inB bool) bool
	g     graph
	fault Point
}

func (m *mixing) run() ([]Contour, bool) {
	g := &m.g
	group := int32(0)
	for k, in := range m.ops {
		for s := range in.starts {
			lo, hi := in.span(s)
			first := g.node(in.cs[lo].A)
			from := first
			for i := lo; i < hi; i++ {
				to := first
				if i+1 < hi {
					to = g.node(in.cs[i+1].A)
				}
				g.add(in.cs[i], from, to, group+in.group[i], i<<1|int32(k))
				from = to
			}
		}
		group += int32(len(in.cs))
	}
	g.meetings()
	ps := m.choose(g.split(), group)
	if n := g.unbalanced(ps); n >= 0 {
		m.fault = g.at[n]
		return nil, false
	}
	loops, ok := g.loops(ps)
	if !ok {
		return nil, false
	}
	var out []Contour
	for _, l := range loops {
		c := g.contour(ps, l)
		if math.Abs(c.Area()) >= thinnest*c.Length() {
			out = append(out, c)
		}
	}
	return out, true
}

// thinnest is the ratio of area to perimeter under which a loop counts as
// having no width, mm.
const thinnest = 1e-6

// choose returns the pieces on one side of which only the wanted set lies,
// turned so that it is on the left. groups is the number of supports in use.
func (m *mixing) choose(ps []piece, groups int32) []piece {
	g := &m.g
	l := g.links(ps)
	done := make([]bool, len(ps))
	var out []piece
	var same []int32 // the pieces that run along ps[i], with ps[i] itself
	for i := range ps {
		if done[i] {
			continue
		}
		p := &ps[i]
		mid := g.mid(p)
		same = append(same[:0], int32(i))
		for _, y := range l.leaving(p.from) {
			if q := &ps[y]; y > int32(i) && !done[y] && q.to == p.to && near(mid, g.mid(q), twinMid) {
				same = append(same, y)
			}
		}
		for _, y := range l.reaching(p.from) {
			if q := &ps[y]; y > int32(i) && !done[y] && q.from == p.to && near(mid, g.mid(q), twinMid) {
				same = append(same, y)
			}
		}
		var right, left [2]int
		for _, y := range same {
			done[y] = true
		}
		mid = g.cs[p.curve].nearest(mid)
		for k, in := range m.ops {
			right[k] = m.windingRight(in, int32(k), ps, same, mid)
			left[k] = right[k]
			for _, y := range same {
				if g.tag[ps[y].curve]&1 != int32(k) {
					continue
				}
				if ps[y].from == p.from {
					left[k]++
				} else {
					left[k]--
				}
			}
		}
		wl := m.want(left[0] > 0, left[1] > 0)
		wr := m.want(right[0] > 0, right[1] > 0)
		switch {
		case wl && !wr:
			out = append(out, *p)
		case wr && !wl:
			g.add(g.cs[p.curve].reverse(), p.to, p.from, groups+g.group[p.curve], g.tag[p.curve])
			out = append(out, piece{curve: int32(len(g.cs)) - 1, from: p.to, to: p.from})
		}
	}
	return out
}

// windingRight returns the winding number of operand k just to the right of the
// first of the pieces same, which all run along one another through mid. For the
// curves of these pieces the side is known and not computed.
func (m *mixing) windingRight(in *prepared, k int32, ps []piece, same []int32, mid Point) int {
	if len(in.cs) == 0 {
		return 0
	}
	var buf [8]int32
	skip := buf[:0]
	w := 0
	for _, y := range same {
		c := ps[y].curve
		if m.g.tag[c]&1 != k {
			continue
		}
		skip = append(skip, m.g.tag[c]>>1)
		w += m.g.cs[c].crossingBeside(mid, ps[y].from != ps[same[0]].from)
	}
	return w + in.f.windingBut(mid, skip, 4*m.g.tn)
}

// crossingBeside is crossings for a point on the curve, seen as a hair to its
// left or right.
func (c *curve) crossingBeside(p Point, left bool) int {
	rise := lineRise(c.A.Y, c.B.Y, p.Y)
	if c.R == 0 {
		switch {
		case rise > 0 && left:
			return 1
		case rise < 0 && !left:
			return -1
		case rise != 0:
			return 0
		}
		// The line passes under or over the point as computed: on which side of
		// it that is, is told by the direction of the line.
		above := p.Y >= math.Max(c.A.Y, c.B.Y)
		isLeft := above == (c.B.X > c.A.X)
		switch {
		case left && !isLeft:
			return 1
		case !left && isLeft:
			return -1
		}
		return 0
	}
	// the point lies on the arc's side of the chord, and in the circle on the
	// left of a counter-clockwise arc
	w := 0
	if c.R > 0 {
		if rise < 0 {
			w = -1
		}
		if left {
			w++
		}
		return w
	}
	if rise > 0 {
		w = 1
	}
	if !left {
		w--
	}
	return w
}

// reverse returns the curve run the other way.
func (c *curve) reverse() curve {
	o := *c
	o.A, o.B = c.B, c.A
	if c.R == 0 {
		o.C = Point{-c.C.X, -c.C.Y}
		return o
	}
	o.C = c.A.Sub(c.B).Add(c.C)
	o.R = -c.R
	return o
}

// windingBut is winding without the curves in skip, near which p lies, at most
// slack away.
func (f *field) windingBut(p Point, skip []int32, slack float64) int {
	if len(skip) == 0 {
		return f.winding(p)
	}
	return f.windingButBelow(f.top(), 0, p, skip, slack)
}

func (f *field) windingButBelow(l, k int32, p Point, skip []int32, slack float64) int {
	id := f.start[l] + k
	b := &f.box[id]
	if p.Y < b.Min.Y || p.Y > b.Max.Y || p.X > b.Max.X {
		return 0
	}
	if c := &f.caps[id]; c.chain && p.X < b.Min.X-slack {
		return lineRise(c.A.Y, c.B.Y, p.Y)
	}
	w := 0
	if l == 0 {
		lo, hi := f.leaf(k)
	each:
		for i := lo; i < hi; i++ {
			for _, s := range skip {
				if s == i {
					continue each
				}
			}
			w += f.cs[i].crossings(p)
		}
		return w
	}
	w = f.windingButBelow(l-1, 2*k, p, skip, slack)
	if 2*k+1 < f.count[l-1] {
		w += f.windingButBelow(l-1, 2*k+1, p, skip, slack)
	}
	return w
}
