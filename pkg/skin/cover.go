package skin

import (
	"math"
	"sort"

	"sparclear/pkg/geom"
)

// Covering is a model that knows where it has data.
type Covering interface {
	// Covered tells whether the height at p is known from measurement, or would
	// be if p were moved by r mm, the radius of the cutter.
	Covered(p geom.Point, r float64) bool
}

// Covered tells whether m knows the height at p: p lies within r mm (the radius
// of the cutter) of the hull of the touched places and no farther from a touch
// than the touches lie from one another. Where it does not, the height is
// extrapolated: refuse a rebate or a score, ask before a through cut. Models
// without measured data (a declared flat skin) cover everything.
func Covered(m Model, p geom.Point, r float64) bool {
	for m != nil {
		if c, ok := m.(Covering); ok {
			return c.Covered(p, r)
		}
		w, ok := m.(Wrapper)
		if !ok {
			break
		}
		m = w.Unwrap()
	}
	return true
}

// cover is where touches speak for the skin.
type cover struct {
	hull  []geom.Point // convex, counter-clockwise
	reach float64
	grid  buckets
}

// coverOf makes the cover of at least three places.
func coverOf(t []Touch) cover {
	pts := make([]geom.Point, len(t))
	for i, p := range t {
		pts[i] = p.At()
	}
	c := cover{hull: hull(pts), grid: bucketsOf(pts)}
	// Four corners of a long opening are each other's third neighbours: its
	// middle is nearer to a corner than that. Three quarters of the touches must
	// lie as close, so that a stray one does not stretch the reach.
	third := make([]float64, len(pts))
	for i, p := range pts {
		near := c.grid.nearest(p, 4, nil)
		third[i] = pts[near[len(near)-1]].Dist(p)
	}
	sort.Float64s(third)
	c.reach = third[(3*len(third)-1)/4]
	return c
}

func (c cover) holds(p geom.Point, r float64) bool {
	if !p.Finite() || c.hullDist(p) > math.Max(r, 0)+1e-9 {
		return false
	}
	near := c.grid.nearest(p, 1, nil)
	return c.grid.pts[near[0]].Dist(p) <= math.Max(c.reach, math.Max(r, 0))+1e-9
}

// hullDist returns the distance from p to the hull, 0 inside.
func (c cover) hullDist(p geom.Point) float64 {
	inside, best := true, math.Inf(1)
	for i, a := range c.hull {
		b := c.hull[(i+1)%len(c.hull)]
		if b.Sub(a).Cross(p.Sub(a)) < 0 {
			inside = false
		}
		best = math.Min(best, geom.Line(a, b).Dist(p))
	}
	if inside && len(c.hull) > 2 {
		return 0
	}
	return best
}

// hull returns the convex hull, counter-clockwise (Andrew's monotone chain).
func hull(pts []geom.Point) []geom.Point {
	p := append([]geom.Point(nil), pts...)
	sort.Slice(p, func(i, j int) bool { return p[i].X < p[j].X || p[i].X == p[j].X && p[i].Y < p[j].Y })
	if len(p) < 3 {
		return p
	}
	half := func(next func(i int) geom.Point) []geom.Point {
		var h []geom.Point
		for i := range p {
			q := next(i)
			for len(h) >= 2 && h[len(h)-1].Sub(h[len(h)-2]).Cross(q.Sub(h[len(h)-2])) <= 0 {
				h = h[:len(h)-1]
			}
			h = append(h, q)
		}
		return h[:len(h)-1]
	}
	low := half(func(i int) geom.Point { return p[i] })
	high := half(func(i int) geom.Point { return p[len(p)-1-i] })
	return append(low, high...)
}

// buckets finds the nearest of some places.
type buckets struct {
	pts    []geom.Point
	box    geom.Box
	step   float64
	nx, ny int
	cells  [][]int32
}

func bucketsOf(pts []geom.Point) buckets {
	b := buckets{pts: pts, box: geom.EmptyBox()}
	for _, p := range pts {
		b.box = b.box.Extend(p)
	}
	size := b.box.Size()
	b.step = math.Max(math.Sqrt(2*math.Max(size.X*size.Y, 1e-6)/float64(len(pts))), math.Max(size.X, size.Y)/256)
	b.step = math.Max(b.step, 1e-3)
	b.nx, b.ny = int(size.X/b.step)+1, int(size.Y/b.step)+1
	b.cells = make([][]int32, b.nx*b.ny)
	for i, p := range pts {
		c := b.row(p.Y)*b.nx + b.column(p.X)
		b.cells[c] = append(b.cells[c], int32(i))
	}
	return b
}

func (b buckets) column(x float64) int { return clampInt((x-b.box.Min.X)/b.step, b.nx-1) }
func (b buckets) row(y float64) int    { return clampInt((y-b.box.Min.Y)/b.step, b.ny-1) }

// clampInt returns v as an index 0 … n; NaN gives 0.
func clampInt(v float64, n int) int {
	if !(v > 0) {
		return 0
	}
	if v >= float64(n) {
		return n
	}
	return int(v)
}

// nearest returns the indices of the k places nearest to p, nearest first, ties
// by index; fewer when there are fewer. buf is used when it is large enough.
func (b buckets) nearest(p geom.Point, k int, buf []int32) []int32 {
	best := buf[:0]
	k = min(k, len(b.pts))
	less := func(i, j int32) bool {
		di, dj := b.pts[i].Sub(p).Dot(b.pts[i].Sub(p)), b.pts[j].Sub(p).Dot(b.pts[j].Sub(p))
		return di < dj || di == dj && i < j
	}
	cx, cy := b.column(p.X), b.row(p.Y)
	for ring := 0; ring <= max(b.nx, b.ny); ring++ {
		// Whatever lies outside the rings seen so far is at least this far away.
		if len(best) == k {
			edge := geom.Box{
				Min: geom.Pt(b.box.Min.X+float64(cx-ring+1)*b.step, b.box.Min.Y+float64(cy-ring+1)*b.step),
				Max: geom.Pt(b.box.Min.X+float64(cx+ring)*b.step, b.box.Min.Y+float64(cy+ring)*b.step),
			}
			in := math.Min(math.Min(p.X-edge.Min.X, edge.Max.X-p.X), math.Min(p.Y-edge.Min.Y, edge.Max.Y-p.Y))
			if in > 0 && b.pts[best[k-1]].Dist(p) < in {
				break
			}
		}
		for y := cy - ring; y <= cy+ring; y++ {
			if y < 0 || y >= b.ny {
				continue
			}
			stride := 2 * ring
			if y == cy-ring || y == cy+ring || ring == 0 {
				stride = 1
			}
			for x := cx - ring; x <= cx+ring; x += stride {
				if x < 0 || x >= b.nx {
					continue
				}
				for _, i := range b.cells[y*b.nx+x] {
					best = insert(best, i, k, less)
				}
			}
		}
	}
	return best
}

func insert(best []int32, i int32, k int, less func(a, b int32) bool) []int32 {
	if len(best) == k {
		if !less(i, best[k-1]) {
			return best
		}
		best = best[:k-1]
	}
	best = append(best, i)
	for j := len(best) - 1; j > 0 && less(best[j], best[j-1]); j-- {
		best[j], best[j-1] = best[j-1], best[j]
	}
	return best
}
