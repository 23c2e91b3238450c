package geom

import "math"

// rawCurves builds a superset of the true offset: every edge moved by d along
// its right normal and, where the outline turns away from the offset side, an
// arc about the vertex.
//
// Where two lines turn towards each other and each is long enough, the moved
// lines are cut at once where they meet: what lies beyond is nearer than r to
// the other line. Fine polylines then need no search for crossings between
// neighbours.
func (w *offsetting) rawCurves() {
	in := w.in
	w.g.reserve(w.expected())
	w.midOK = make([]bool, 0, cap(w.g.cs))
	for k := range in.starts {
		w.rawContour(in.span(k))
	}
}

// expected counts the raw curves and their ends, so that memory is asked for
// once.
func (w *offsetting) expected() int {
	n := 8
	for k := range w.in.starts {
		lo, hi := w.in.span(k)
		last := w.in.cs[hi-1].tangentB()
		for i := lo; i < hi; i++ {
			c := &w.in.cs[i]
			if (last.Cross(c.tangentA()) > 0) == (w.d > 0) {
				n++
			}
			n++
			last = c.tangentB()
		}
	}
	return n
}

// corner tells what happens at the vertex where curve i starts.
type corner struct {
	in, out int32 // node at which the curve before ends, node at which this one starts
	arc     bool  // an arc joins the two
	place   Point // of the shared node where moved lines are cut
	cut     bool
}

func (w *offsetting) rawContour(lo, hi int32) {
	first := w.corner(hi-1, lo)
	c := first
	for i := lo; i < hi; i++ {
		next := first
		if i+1 < hi {
			next = w.corner(i, i+1)
		}
		if c.arc {
			w.joinArc(i, c)
		}
		if o, ok := w.in.cs[i].moved(w.d); ok {
			if c.cut {
				o.A = c.place
			}
			if next.cut {
				o.B = next.place
			}
			if c.cut || next.cut {
				o.L = o.A.Dist(o.B)
			}
			w.admit(o, c.out, next.in, w.in.group[i], i<<1)
		}
		c = next
	}
}

// corner makes the nodes of the vertex between curves i and j.
func (w *offsetting) corner(i, j int32) corner {
	a, b := &w.in.cs[i], &w.in.cs[j]
	v := b.A
	t, u := a.tangentB(), b.tangentA()
	x, dot := t.Cross(u), t.Dot(u)
	p := Point{v.X + float64(w.d*t.Y), v.Y - float64(w.d*t.X)}
	q := Point{v.X + float64(w.d*u.Y), v.Y - float64(w.d*u.X)}
	if dot > 0 && near(p, q, w.g.tt) {
		n := w.g.node(p)
		return corner{in: n, out: n}
	}
	away := (x > 0) == (w.d > 0)
	if a.R == 0 && b.R == 0 && dot > 0 && away && w.r*x*x < 8*miterError {
		// corners of fine polylines: the moved lines run on until they meet
		return w.miter(v, t, u, dot)
	}
	// Where the outline turns back, the side to which it turns may be hidden by
	// rounding, or by a crossing too shallow to count: half a turn always joins.
	if away || dot < 0 && math.Abs(x) < turnedBack {
		return corner{in: w.g.node(p), out: w.g.node(q), arc: true}
	}
	if a.R == 0 && b.R == 0 && dot > -0.5 {
		if h := math.Abs(w.d * x / (1 + dot)); h <= a.L/2 && h <= b.L/2 {
			return w.miter(v, t, u, dot)
		}
	}
	return corner{in: w.g.node(p), out: w.g.node(q)}
}

// miterError is how far beyond the arc about a corner the meeting of the moved
// lines may lie, mm. It lies on the far side: never nearer to the input.
const miterError = 1e-7

// miter makes one node where the moved lines of directions t and u meet.
func (w *offsetting) miter(v, t, u Point, dot float64) corner {
	k := w.d / (1 + dot)
	m := Point{v.X + float64(k*(t.Y+u.Y)), v.Y - float64(k*(t.X+u.X))}
	n := w.g.node(m)
	return corner{in: n, out: n, place: m, cut: true}
}

// turnedBack is the sine of the angle, rad, within which an outline turns back
// at a corner.
const turnedBack = 1e-2

// joinArc adds the arc about the start vertex of curve i.
func (w *offsetting) joinArc(i int32, k corner) {
	v := w.in.cs[i].A
	p, q := w.g.at[k.in], w.g.at[k.out]
	u := w.in.cs[i].tangentA()
	if m := p.Sub(v).Dot(q.Sub(v)); m < 0 && math.Abs(p.Sub(v).Cross(q.Sub(v))) < turnedBack*float64(w.r*w.r) {
		// a quarter against the way that the outline leaves, then the rest
		o := Point{v.X - float64(w.r*u.X), v.Y - float64(w.r*u.Y)}
		n := w.g.node(o)
		w.admit(curve{A: p, B: o, C: v.Sub(p), R: w.d, L: p.Dist(o)}, k.in, n, -1, i<<1|1)
		w.admit(curve{A: o, B: q, C: v.Sub(o), R: w.d, L: o.Dist(q)}, n, k.out, -1, i<<1|1)
		return
	}
	c := curve{A: p, B: q, C: v.Sub(p), R: w.d, L: p.Dist(q)}
	if float64(c.L*c.L) < 8*flatSagitta*w.r {
		c = lineCurve(p, q)
	}
	w.admit(c, k.in, k.out, -1, i<<1|1)
}

// fewestHalvings bounds how often a raw curve is halved in the search for parts
// that may stay.
const fewestHalvings = 5

// admit adds a raw curve, or the parts of it that may be on the true boundary: a
// part whose middle is nearer to the input than r less half its length is too
// near all along.
func (w *offsetting) admit(c curve, from, to, group, tag int32) {
	g := &w.g
	if group < 0 { // a join arc is a support of its own
		group = int32(len(w.in.cs)) + tag>>1
	}
	m, l := c.mid(), c.length()
	lim := w.r - validSlack
	d := w.closer(m, tag>>1, w.r-l/2-validSlack)
	if d >= lim {
		g.add(c, from, to, group, tag)
		w.midOK = append(w.midOK, !w.wrongSide(m))
		return
	}
	if d < w.r-l/2-validSlack {
		return
	}
	w.marks = w.marks[:0]
	w.halves(&c, c.A, m, l/2, tag, fewestHalvings)
	w.halves(&c, m, c.B, l/2, tag, fewestHalvings)
	for k := 0; k < len(w.marks); k += 2 {
		p, q := w.marks[k], w.marks[k+1]
		nf, nt := from, to
		if p != c.A {
			nf = g.node(p)
		}
		if q != c.B {
			nt = g.node(q)
		}
		s := c
		if p != c.A || q != c.B {
			s = c.part(p, q)
		}
		g.add(s, nf, nt, group, tag)
		w.midOK = append(w.midOK, false)
	}
}

// closer is field.closer with the limit r less the slack. The edge that was too
// near to the last point is asked first: it mostly is too near to this one too.
func (w *offsetting) closer(p Point, hint int32, stop float64) float64 {
	lim := w.r - validSlack
	if d := w.in.cs[w.blocker].dist(p); d < lim {
		if d < stop {
			return d
		}
		lim = d
	}
	d, at := w.in.f.searchBy(&w.seek, p, hint, lim, stop)
	if at >= 0 {
		w.blocker = at
	}
	return d
}

// halves notes the parts of c between p and q that may stay, as pairs of ends.
func (w *offsetting) halves(c *curve, p, q Point, l float64, tag int32, depth int) {
	s := Seg{p, q, c.bulge(p, q)}
	m := s.Mid()
	d := w.closer(m, tag>>1, w.r-l/2-validSlack)
	if d < w.r-l/2-validSlack {
		return
	}
	if depth > 0 && l > 1e-3*w.r && d < w.r-validSlack {
		w.halves(c, p, m, l/2, tag, depth-1)
		w.halves(c, m, q, l/2, tag, depth-1)
		return
	}
	if n := len(w.marks); n > 0 && w.marks[n-1] == p {
		w.marks[n-1] = q
		return
	}
	w.marks = append(w.marks, p, q)
}
