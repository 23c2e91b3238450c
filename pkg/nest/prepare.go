package nest

import (
	"math"

	"sparclear/pkg/geom"
)

// freeTurns is the number of directions tried for a part that may lie in any.
const freeTurns = 48

// mostEdges bounds the edges of a part in all its turns together: with finer
// outlines a free part begins with fewer directions, and fewer may be named.
const mostEdges = 1_000_000

// freeStep returns the angle between the directions in which a free part is tried
// first, by the number of its edges.
func freeStep(edges int) float64 {
	n := freeTurns
	for n > 4 && n*edges > mostEdges/4 {
		n /= 2
	}
	return 2 * math.Pi / float64(n)
}

// turnList returns the turns that a part of so many edges may take, without
// doubles, in [0, 2π). lean is a turn that suits a part that may lie in any.
func turnList(p Part, edges int, lean float64) []float64 {
	var raw []float64
	switch {
	case p.Free:
		step := freeStep(edges)
		for k := 0; float64(k)*step < 2*math.Pi-step/2; k++ {
			raw = append(raw, lean+float64(float64(k)*step))
		}
	case len(p.Turns) == 0:
		raw = []float64{0}
	default:
		raw = p.Turns
	}
	var out []float64
	add := func(a float64) {
		a = math.Mod(a, 2*math.Pi)
		if a < 0 {
			a += 2 * math.Pi
		}
		for _, b := range out {
			if d := math.Abs(a - b); d < 1e-9 || 2*math.Pi-d < 1e-9 {
				return
			}
		}
		out = append(out, a)
	}
	for _, a := range raw {
		add(a)
	}
	if p.TurnTol > 0 && !p.Free {
		for _, a := range raw {
			add(a - p.TurnTol)
			add(a + p.TurnTol)
		}
	}
	return out
}

// flatTol is how far, mm, a flattened and thinned outline may stray from the
// drawn one; parts are grown by as much more, so that nothing is given away. It
// is small beside any spacing.
const flatTol = 0.02

// flat returns the contours of a region as polygons within flatTol of it, and
// how far they must be grown to hold it: 0 when nothing was changed.
func flat(g geom.Region, thin bool) (rings []ring, short float64) {
	for _, c := range g.Contours() {
		r := chords(c, flatTol/2)
		if len(r) > len(c) {
			short = math.Max(short, flatTol/2)
		}
		if thin {
			if t := thinned(r, flatTol/2); len(t) < len(r) {
				r, short = t, flatTol
			}
		}
		rings = append(rings, r)
	}
	return rings, short
}

// cornerTurn is the most by which two edges of a grown outline may turn at a
// convex corner: the corner then juts out by less than 4 % of the growth.
const cornerTurn = math.Pi / 6

// grow moves every edge of the polygon out of the material on its left by r and
// rounds convex corners by tangents, so that all points within r are held. At
// other corners, and where a hole is narrower than 2r, the result crosses itself,
// but only within r of the material: an edge of one grown outline that meets an
// edge of another still tells that both materials are too near.
func (p ring) grow(r float64) ring {
	if r <= 0 {
		return p
	}
	n := len(p)
	var out ring
	for i := range p {
		prev, at, next := p[(i+n-1)%n], p[i], p[(i+1)%n]
		d0, d1 := at.Sub(prev).Unit(), next.Sub(at).Unit()
		turn := math.Atan2(d0.Cross(d1), d0.Dot(d1))
		if turn <= 0 && turn > -math.Pi*0.999 {
			out = append(out, at.Add(d0.Right().Mul(r)), at.Add(d1.Right().Mul(r)))
			continue
		}
		turn = math.Abs(turn)
		k := max(1, int(math.Ceil(turn/cornerTurn-1e-9)))
		step := turn / float64(k)
		from := d0.Right().Angle()
		for j := 0; j < k; j++ {
			out = append(out, geom.Polar(at, r/math.Cos(step/2), from+float64((float64(j)+0.5)*step)))
		}
	}
	return out
}

// outlines is a part or an obstacle made ready: its flattened material and by how
// much it is to be grown.
type outlines struct {
	rings []ring
	by    float64
	poles []pole // about the origin of the region
}

// fineRing is the number of edges from which an outline is thinned to poleTol of
// its diagonal before circles are sought in it.
const (
	fineRing = 100
	poleTol  = 0.002
)

// ready flattens the region and finds its poles. by is the growth asked for, mm.
func ready(g geom.Region, by float64, poles int) outlines {
	rings, short := flat(g, by > 0)
	o := outlines{rings: rings, by: by + short}
	if o.by > 0 {
		o.by += 1e-6 // rounding
	}
	// Circles are sought in a coarser outline and made smaller by as much: a fine
	// one would take seconds and say the same.
	coarse := make([]ring, len(rings))
	box, area := g.Bounds().Size(), 0.0
	tol := float64(poleTol * box.Len())
	for i, r := range rings {
		coarse[i] = r
		if len(r) > fineRing {
			coarse[i] = thinned(r, tol)
		}
		area += r.area()
	}
	base := newShape(0, 0, coarse, 0, geom.Rigid{})
	mid := base.frame.Shift.Mul(-1)
	for _, p := range inscribe(base, area, poles) {
		r := p.r + o.by
		if len(rings[0]) > fineRing {
			r = math.Max(p.r/2, p.r-tol) + o.by
		}
		o.poles = append(o.poles, pole{p.x + mid.X, p.y + mid.Y, r})
	}
	return o
}

// edges counts the edges before they are grown.
func (o outlines) edges() int {
	n := 0
	for _, r := range o.rings {
		n += len(r)
	}
	return n
}

// shape returns the outlines in one turn.
func (o outlines) shape(part, fibre int, f geom.Rigid) *shape {
	s := newShape(part, fibre, turned(o.rings, f), o.by, f)
	s.poles = turnedPoles(o.poles, f, s.frame.Shift)
	return s
}

// shapesOf returns the shapes of one part for one fibre direction.
func shapesOf(index int, p Part, o outlines, fibre int, angle float64) []*shape {
	var out []*shape
	long := longest(o.rings[0])
	edges := o.edges()
	for _, mirror := range []bool{false, true} {
		if mirror && !p.Mirror {
			break
		}
		lean := -long - angle // the longest side along the X axis of the sheet
		if mirror {
			lean = long - angle
		}
		for _, a := range turnList(p, edges, lean) {
			out = append(out, o.shape(index, fibre, geom.Rigid{Turn: a + angle, Mirror: mirror}))
		}
	}
	return out
}

// longest returns the direction of the longest edge of the convex hull.
func longest(r ring) float64 {
	h := hull(r)
	var side geom.Point
	for i, p := range h {
		if d := h[(i+1)%len(h)].Sub(p); d.Len() > side.Len() {
			side = d
		}
	}
	return side.Angle()
}
