package geom

import "math"

// loops follows the live pieces, turning left wherever there is a choice (the
// wanted side lies on the left), and returns the loops as lists of pieces. ok is
// false when a path does not close.
func (g *graph) loops(ps []piece) (out [][]int32, ok bool) {
	l := g.links(ps)
	used := make([]bool, len(ps))
	var buf []int32
	for i := range ps {
		if ps[i].dead || used[i] {
			continue
		}
		start := len(buf)
		for k := int32(i); !used[k]; {
			used[k] = true
			buf = append(buf, k)
			next := g.next(ps, l, used, k, int32(i))
			if next < 0 {
				return nil, false
			}
			k = next
		}
		out = append(out, buf[start:len(buf):len(buf)])
	}
	for _, lp := range out {
		if ps[lp[0]].from != ps[lp[len(lp)-1]].to {
			return nil, false
		}
	}
	return out, true
}

// next returns the piece to follow after k: the first one clockwise from the
// way back. The first piece of the loop counts as free.
func (g *graph) next(ps []piece, l *links, used []bool, k, first int32) int32 {
	n := ps[k].to
	c := l.leaving(n)
	if len(c) == 1 {
		return c[0]
	}
	reach := math.Inf(1) // compare at one small distance along all of them
	consider := func(i int32) {
		p := &ps[i]
		reach = math.Min(reach, g.at[p.from].Dist(g.at[p.to])/2)
		if r := math.Abs(g.cs[p.curve].R); r > 0 {
			reach = math.Min(reach, r/10)
		}
	}
	consider(k)
	for _, i := range c {
		consider(i)
	}
	o := g.at[n]
	back := g.look(&ps[k], reach, false).Sub(o)
	best, bestTurn := int32(-1), math.Inf(1)
	for _, i := range c {
		if used[i] && i != first {
			continue
		}
		d := g.look(&ps[i], reach, true).Sub(o)
		t := clockwise(back, d)
		if t < bestTurn {
			best, bestTurn = i, t
		}
	}
	return best
}

// look returns the point of a piece at a small distance from its start, or from
// its end.
func (g *graph) look(p *piece, d float64, start bool) Point {
	s := g.seg(p)
	if !start {
		s = s.Reverse()
	}
	l := s.Length()
	if l <= 0 {
		return s.B
	}
	return s.At(math.Min(1, d/l))
}

// clockwise returns how far to turn clockwise from u to v, as a pseudo-angle in
// (0, 4].
func clockwise(u, v Point) float64 {
	x, y := u.Dot(v), -u.Cross(v)
	s := math.Abs(x) + math.Abs(y)
	if s == 0 {
		return 4
	}
	a := 0.0
	switch {
	case x >= 0 && y >= 0:
		a = y / s
	case x < 0 && y >= 0:
		a = 1 - x/s
	case x < 0:
		a = 2 - y/s
	default:
		a = 3 + x/s
	}
	if a <= 0 {
		a = 4
	}
	return a
}

// measure returns the signed area and the length of a loop.
func (g *graph) measure(ps []piece, loop []int32) (area, length float64) {
	o := g.at[ps[loop[0]].from]
	for _, k := range loop {
		s := g.seg(&ps[k])
		area += s.A.Sub(o).Cross(s.B.Sub(o))/2 + s.sliver()
		length += s.Length()
	}
	return area, length
}

// contour turns a loop of pieces into a contour: neighbours of one support
// become one again, arcs are cut only where they pass half a turn.
func (g *graph) contour(ps []piece, loop []int32) Contour {
	n := len(loop)
	first := 0
	for first < n && g.same(ps, loop[(first+n-1)%n], loop[first]) {
		first++
	}
	if first == n {
		first = 0
	}
	turned := loop
	if first > 0 {
		turned = append(append(make([]int32, 0, n), loop[first:]...), loop[:first]...)
	}
	return Contour(g.vertices(ps, turned)).withoutShort()
}

// chain turns a run of pieces into a chain.
func (g *graph) chain(ps []piece, run []int32) Chain {
	end := g.at[ps[run[len(run)-1]].to]
	return Chain(append(g.vertices(ps, run), Vertex{Point: end}))
}

// same tells whether two pieces are parts of one support.
func (g *graph) same(ps []piece, i, j int32) bool {
	return g.group[ps[i].curve] == g.group[ps[j].curve]
}

// vertices returns the corners of a run of pieces but for its end.
func (g *graph) vertices(ps []piece, run []int32) []Vertex {
	out := make([]Vertex, 0, len(run))
	for k := 0; k < len(run); {
		m := k + 1
		for m < len(run) && g.same(ps, run[m-1], run[m]) {
			m++
		}
		out = g.appendRun(out, ps, run[k:m])
		k = m
	}
	return out
}

// appendRun adds pieces that are all of one support.
func (g *graph) appendRun(out []Vertex, ps []piece, run []int32) []Vertex {
	first := &ps[run[0]]
	c := &g.cs[first.curve]
	a := g.at[first.from]
	if c.R == 0 {
		return append(out, Vertex{a, 0})
	}
	if len(run) == 1 {
		return append(out, Vertex{a, g.seg(first).Bulge})
	}
	// The quarter angles of the pieces add up by multiplying 1 + i bulge: no
	// trigonometry, whose last bits differ between processors.
	z := Point{1, 0}
	for _, k := range run {
		b := g.seg(&ps[k]).Bulge
		z = Point{z.X - float64(b*z.Y), z.Y + float64(b*z.X)}.Unit()
	}
	if z.X > 0 && math.Abs(z.Y) <= z.X*(1+1e-9) {
		return append(out, Vertex{a, z.Y / z.X})
	}
	// more than half a turn: two halves, the middle on the circle
	cen := c.A.Add(c.C)
	v := a.Sub(cen)
	k := Point{float64(z.X*z.X) - float64(z.Y*z.Y), 2 * z.X * z.Y} // half of the turn
	m := Point{cen.X + (float64(v.X*k.X) - float64(v.Y*k.Y)), cen.Y + (float64(v.X*k.Y) + float64(v.Y*k.X))}
	h := z.Y / (1 + z.X) // tangent of half of the quarter
	return append(out, Vertex{a, h}, Vertex{m, h})
}
