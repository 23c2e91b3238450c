package nest

import (
	"container/heap"
	"math"
	"sort"
)

// Poles stand in for a shape. More of them follow thin limbs better and make the
// first evaluation of each table entry dearer; coverage beyond nine tenths of the
// area tells nothing new.
const (
	maxPoles     = 12
	poleCoverage = 0.92
)

// cell is a square that may hold the middle of a large circle.
type cell struct{ x, y, half, d, most float64 }

type cellHeap []cell

func (h cellHeap) Len() int           { return len(h) }
func (h cellHeap) Less(i, j int) bool { return h[i].most > h[j].most }
func (h cellHeap) Swap(i, j int)      { h[i], h[j] = h[j], h[i] }
func (h *cellHeap) Push(c any)        { *h = append(*h, c.(cell)) }
func (h *cellHeap) Pop() any {
	old := *h
	c := old[len(old)-1]
	*h = old[:len(old)-1]
	return c
}

// inscribe returns up to n circles inside the material, each the largest that
// stays outside the earlier ones, within one per cent of the box. The first is
// the pole of inaccessibility.
func inscribe(s *shape, area float64, n int) []pole {
	var ps []pole
	covered := 0.0
	for len(ps) < n && covered < poleCoverage*area {
		p := inscribeNext(s, ps)
		if p.r <= 0 || len(ps) > 0 && p.r < ps[0].r*0.05 {
			break
		}
		ps = append(ps, p)
		covered += float64(math.Pi * p.r * p.r)
	}
	if len(ps) == 0 { // thinner than any circle that can be told: still a hazard
		e := s.edges[0]
		ps = append(ps, pole{(e.ax + e.bx) / 2, (e.ay + e.by) / 2, float64(s.diam * 1e-6)})
	}
	return ps
}

func inscribeNext(s *shape, have []pole) pole {
	const root2 = 1.4142135623730951
	value := func(x, y float64) float64 {
		d := s.depth(x, y)
		for _, p := range have {
			d = math.Min(d, math.Hypot(x-p.x, y-p.y)-p.r)
		}
		return d
	}
	side := math.Min(s.hw, s.hh) / 2
	if side <= s.diam*1e-3 {
		side = float64(s.diam * 1e-3)
	}
	prec := float64(0.005 * s.diam)
	var best pole
	h := &cellHeap{}
	push := func(x, y, half float64) {
		d := value(x, y)
		if d > best.r {
			best = pole{x, y, d}
		}
		if most := d + float64(half*root2); most > best.r+prec {
			heap.Push(h, cell{x, y, half, d, most})
		}
	}
	nx, ny := int(math.Ceil(s.hw/side)), int(math.Ceil(s.hh/side))
	for iy := 0; iy < 2*ny; iy++ {
		for ix := 0; ix < 2*nx; ix++ {
			push(-s.hw+float64((float64(ix)+0.5)*side), -s.hh+float64((float64(iy)+0.5)*side), side/2)
		}
	}
	for steps := 0; h.Len() > 0 && steps < 4000; steps++ {
		c := heap.Pop(h).(cell)
		if c.most <= best.r+prec {
			break
		}
		q := c.half / 2
		push(c.x-q, c.y-q, q)
		push(c.x+q, c.y-q, q)
		push(c.x-q, c.y+q, q)
		push(c.x+q, c.y+q, q)
	}
	return best
}

// depth returns the distance of a point from the outline, positive in the
// material.
func (s *shape) depth(x, y float64) float64 {
	d2 := math.Inf(1)
	for i := range s.edges {
		d2 = math.Min(d2, s.edges[i].dist2(x, y))
	}
	if d := math.Sqrt(d2); s.holds(x, y) {
		return d
	} else {
		return -d
	}
}

func (e *edge) dist2(x, y float64) float64 {
	ux, uy := e.bx-e.ax, e.by-e.ay
	vx, vy := x-e.ax, y-e.ay
	t := (float64(vx*ux) + float64(vy*uy)) / (float64(ux*ux) + float64(uy*uy))
	t = math.Max(0, math.Min(1, t))
	vx -= float64(t * ux)
	vy -= float64(t * uy)
	return float64(vx*vx) + float64(vy*vy)
}

func sortPoints(p ring) {
	sort.Slice(p, func(i, j int) bool {
		if p[i].X != p[j].X {
			return p[i].X < p[j].X
		}
		return p[i].Y < p[j].Y
	})
}

func sortPlaces(p []place) {
	sort.SliceStable(p, func(i, j int) bool { return p[i].cost < p[j].cost })
}
