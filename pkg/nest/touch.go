package nest

import "math"

// touching draws a position for item i where one of its sides lies along a side of
// another part, with the corners at one end together: tight layouts are made of
// such places, which a free draw does not hit.
func (w *worker) touching(i int) (c place, ok bool) {
	p, s := w.s.problem, w.state
	j := w.rnd.IntN(len(s.x))
	if j == i || s.bin[j] < 0 || p.bins[s.bin[j]].shut {
		return c, false
	}
	c.bin = s.bin[j]
	vs := p.items[i].choices[p.bins[c.bin].fibre]
	if len(vs) == 0 {
		return c, false
	}
	c.v = vs[w.rnd.IntN(len(vs))]
	a, b := p.cat.shapes[c.v], p.cat.shapes[s.v[j]]
	f := &b.edges[w.rnd.IntN(len(b.edges))]
	fx, fy := f.bx-f.ax, f.by-f.ay
	long := math.Hypot(fx, fy)
	k := w.rnd.IntN(len(a.edges))
	e := &a.edges[k]
	for n := range min(len(a.edges), touchEdges) { // the first that runs against it, from a chance one on
		g := &a.edges[(k+n)%len(a.edges)]
		gx, gy := g.bx-g.ax, g.by-g.ay
		if cross := float64(fx*gy) - float64(fy*gx); math.Abs(cross) <= touchTurn*long*(math.Abs(gx)+math.Abs(gy)) && float64(fx*gx)+float64(fy*gy) < 0 {
			e = g
			break
		}
	}
	gap := float64(touchGap * math.Min(a.hw, a.hh) / long)
	c.x, c.y = s.x[j]+float64(fy*gap), s.y[j]-float64(fx*gap)
	if w.rnd.IntN(2) == 0 {
		c.x, c.y = c.x+f.ax-e.bx, c.y+f.ay-e.by
	} else {
		c.x, c.y = c.x+f.bx-e.ax, c.y+f.by-e.ay
	}
	return c, p.clamp(&c)
}

const (
	// touchTurn is how much the directions of sides that lie along each other may
	// differ, rad.
	touchTurn = 1e-6
	// touchEdges is how many sides are looked at for one that fits.
	touchEdges = 64
	// touchGap is what is left between them, as a share of the part.
	touchGap = 1e-6
)
