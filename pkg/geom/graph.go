package geom

import (
	"cmp"
	"slices"
)

// graph is an arrangement of directed curves: they are cut where they meet, the
// places where they meet are nodes that all of them share, and the pieces that
// are wanted are followed into loops. Offsets and booleans differ only in which
// pieces they want.
type graph struct {
	cs    []curve
	from  []int32 // start node of each curve
	to    []int32 // end node of each curve
	group []int32 // curves of one group are parts of one support, in order
	tag   []int32 // what the user wants to know of a curve
	at    []Point // position of each node
	up    []int32 // union-find over nodes
	cuts  []cutAt
	tn    float64 // nodes nearer than this are one
	tt    float64 // curves nearer than this touch
	ends  int32   // number of nodes that are ends of curves
	h     hits
	link  links   // made anew by links, in the same memory
	count []int32 // scratch, two numbers a node
}

type cutAt struct {
	curve int32
	node  int32
	key   float64
}

// piece is a part of a curve between two nodes.
type piece struct {
	curve    int32
	from, to int32
	dead     bool
}

func (g *graph) node(p Point) int32 {
	g.at = append(g.at, p)
	g.up = append(g.up, int32(len(g.up)))
	return int32(len(g.up)) - 1
}

// reserve makes room for n curves.
func (g *graph) reserve(n int) {
	g.cs = make([]curve, 0, n)
	ids := make([]int32, 5*n)
	g.from, g.to, g.group, g.tag, g.up = ids[:0:n], ids[n:n:2*n], ids[2*n:2*n:3*n], ids[3*n:3*n:4*n], ids[4*n:4*n]
	g.at = make([]Point, 0, n)
}

func (g *graph) find(n int32) int32 {
	for g.up[n] != n {
		g.up[n] = g.up[g.up[n]]
		n = g.up[n]
	}
	return n
}

// unite makes one node of two; the older one gives the place.
func (g *graph) unite(a, b int32) {
	a, b = g.find(a), g.find(b)
	if a < b {
		g.up[b] = a
	} else {
		g.up[a] = b
	}
}

func (g *graph) add(c curve, from, to, group, tag int32) {
	g.cs = append(g.cs, c)
	g.from = append(g.from, from)
	g.to = append(g.to, to)
	g.group = append(g.group, group)
	g.tag = append(g.tag, tag)
}

// meetings finds every meeting of two curves and makes nodes of them.
func (g *graph) meetings() {
	g.ends = int32(len(g.at))
	t := newTree(g.cs, g.tn/2)
	t.pairs(g.meetPair)
}

// snap cuts every curve at crossings of other curves that lie on it. Where three
// curves run along one another, the crossing of two of them is a place on the
// third that none of its own meetings has found.
func (g *graph) snap() {
	t := newTree(g.cs, g.tn/2)
	for n := g.ends; n < int32(len(g.at)); n++ {
		p := g.at[n]
		t.each(Box{p, p}, func(k int32) bool {
			c := &g.cs[k]
			if c.dist2(p) > g.tt*g.tt {
				return true
			}
			if e := c.endAt(p, g.tn); e >= 0 {
				g.unite(n, g.end(k, e))
			} else {
				g.cuts = append(g.cuts, cutAt{k, n, c.key(p)})
			}
			return true
		})
	}
}

func (g *graph) meetPair(i, j int32) {
	a, b := &g.cs[i], &g.cs[j]
	if a.R == 0 && b.R == 0 { // two lines that share an end meet nowhere else
		if (g.to[i] == g.from[j] || g.to[j] == g.from[i]) && a.C.Dot(b.C) > 0 {
			return
		}
	}
	meet(a, b, g.tt, g.tn, &g.h)
	for _, h := range g.h.h[:g.h.n] {
		var na, nb int32 = -1, -1
		if h.ea >= 0 {
			na = g.end(i, h.ea)
		}
		if h.eb >= 0 {
			nb = g.end(j, h.eb)
		}
		switch {
		case na >= 0 && nb >= 0:
			if na != nb {
				g.unite(na, nb)
			}
		case na >= 0:
			g.cuts = append(g.cuts, cutAt{j, na, b.key(g.at[na])})
		case nb >= 0:
			g.cuts = append(g.cuts, cutAt{i, nb, a.key(g.at[nb])})
		default:
			n := g.node(h.p)
			g.cuts = append(g.cuts, cutAt{i, n, a.key(h.p)}, cutAt{j, n, b.key(h.p)})
		}
	}
}

func (g *graph) end(i int32, e int8) int32 {
	if e == 0 {
		return g.from[i]
	}
	return g.to[i]
}

// split cuts the curves at their nodes. Nodes nearer than tn along a curve
// become one; what then has no length is gone.
func (g *graph) split() []piece {
	slices.SortFunc(g.cuts, func(a, b cutAt) int {
		if a.curve != b.curve {
			return cmp.Compare(a.curve, b.curve)
		}
		if a.key != b.key {
			return cmp.Compare(a.key, b.key)
		}
		return cmp.Compare(a.node, b.node)
	})
	// first make one of what is near, then read the nodes
	k := 0
	for i := range g.cs {
		last := g.from[i]
		for ; k < len(g.cuts) && g.cuts[k].curve == int32(i); k++ {
			n := g.cuts[k].node
			if near(g.at[last], g.at[n], g.tn) {
				g.unite(last, n)
			}
			last = n
		}
		if near(g.at[last], g.at[g.to[i]], g.tn) {
			g.unite(last, g.to[i])
		}
	}
	ps := make([]piece, 0, len(g.cs)+len(g.cuts))
	k = 0
	for i := range g.cs {
		last := g.find(g.from[i])
		for ; k < len(g.cuts) && g.cuts[k].curve == int32(i); k++ {
			if n := g.find(g.cuts[k].node); n != last {
				ps = append(ps, piece{curve: int32(i), from: last, to: n})
				last = n
			}
		}
		if n := g.find(g.to[i]); n != last {
			ps = append(ps, piece{curve: int32(i), from: last, to: n})
		}
	}
	return ps
}

// seg returns a piece as a segment between its nodes.
func (g *graph) seg(p *piece) Seg {
	a, b := g.at[p.from], g.at[p.to]
	return Seg{a, b, g.cs[p.curve].bulge(a, b)}
}

// mid returns the middle of a piece, on the curve itself.
func (g *graph) mid(p *piece) Point {
	c := &g.cs[p.curve]
	if c.R == 0 {
		return g.at[p.from].Lerp(g.at[p.to], 0.5)
	}
	return g.seg(p).Mid()
}

// links lists the pieces that leave and that reach each node.
type links struct {
	off, on []int32 // start of a node's list in leave and reach
	leave   []int32
	reach   []int32
}

func (g *graph) links(ps []piece) *links {
	n := len(g.at)
	l := &g.link
	l.off, l.on = cleared(l.off, n+1), cleared(l.on, n+1)
	live := 0
	for i := range ps {
		if !ps[i].dead {
			l.off[ps[i].from+1]++
			l.on[ps[i].to+1]++
			live++
		}
	}
	for i := range n {
		l.off[i+1] += l.off[i]
		l.on[i+1] += l.on[i]
	}
	l.leave, l.reach = cleared(l.leave, live), cleared(l.reach, live)
	for i := len(ps) - 1; i >= 0; i-- { // backwards, filling each list from its end
		if p := &ps[i]; !p.dead {
			l.off[p.from+1]--
			l.leave[l.off[p.from+1]] = int32(i)
			l.on[p.to+1]--
			l.reach[l.on[p.to+1]] = int32(i)
		}
	}
	// every start has moved to its own place: off[k+1] is now the start of k
	copy(l.off, l.off[1:])
	copy(l.on, l.on[1:])
	l.off[n], l.on[n] = int32(live), int32(live)
	return l
}

// cleared returns n zeros, in the memory of s where that suffices.
func cleared(s []int32, n int) []int32 {
	if cap(s) < n {
		return make([]int32, n)
	}
	s = s[:n]
	clear(s)
	return s
}

func (l *links) leaving(n int32) []int32  { return l.leave[l.off[n]:l.off[n+1]] }
func (l *links) reaching(n int32) []int32 { return l.reach[l.on[n]:l.on[n+1]] }

// deadEnds drops pieces that lead nowhere, again and again.
func (g *graph) deadEnds(ps []piece) {
	l := g.links(ps)
	g.count = cleared(g.count, 2*len(g.at))
	in, out := g.count[:len(g.at)], g.count[len(g.at):]
	var todo []int32
	for n := range g.at {
		in[n], out[n] = l.on[n+1]-l.on[n], l.off[n+1]-l.off[n]
		if (in[n] == 0) != (out[n] == 0) {
			todo = append(todo, int32(n))
		}
	}
	for len(todo) > 0 {
		n := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		if in[n] == 0 {
			for _, k := range l.leaving(n) {
				if p := &ps[k]; !p.dead {
					p.dead = true
					out[n]--
					if in[p.to]--; in[p.to] == 0 && out[p.to] > 0 {
						todo = append(todo, p.to)
					}
				}
			}
		} else if out[n] == 0 {
			for _, k := range l.reaching(n) {
				if p := &ps[k]; !p.dead {
					p.dead = true
					in[n]--
					if out[p.from]--; out[p.from] == 0 && in[p.from] > 0 {
						todo = append(todo, p.from)
					}
				}
			}
		}
	}
}

// twinMid is how near the middles of two pieces between the same nodes must be
// to be one, mm.
const twinMid = 1e-6

// twins drops doubles: of pieces that run the same way one stays, of pieces
// that run opposite ways none (a neck or slot of no width).
func (g *graph) twins(ps []piece) {
	l := g.links(ps)
	for n := range g.at {
		out := l.leaving(int32(n))
		if len(out) == 0 {
			continue
		}
		in := l.reaching(int32(n))
		if len(out) == 1 && len(in) <= 1 {
			continue
		}
		for i, x := range out {
			p := &ps[x]
			if p.dead {
				continue
			}
			m := g.mid(p)
			for _, y := range out[i+1:] {
				if q := &ps[y]; !q.dead && q.to == p.to && near(m, g.mid(q), twinMid) {
					q.dead = true
				}
			}
			for _, y := range in {
				if q := &ps[y]; !q.dead && q.from == p.to && near(m, g.mid(q), twinMid) {
					p.dead, q.dead = true, true
					break
				}
			}
		}
	}
}

// unbalanced returns a node where as many pieces do not leave as arrive, or -1.
func (g *graph) unbalanced(ps []piece) int32 {
	g.count = cleared(g.count, len(g.at))
	d := g.count
	for i := range ps {
		if !ps[i].dead {
			d[ps[i].from]++
			d[ps[i].to]--
		}
	}
	for n := range d {
		if d[n] != 0 {
			return int32(n)
		}
	}
	return -1
}
