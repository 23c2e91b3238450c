package plan

import (
	"math"
	"sort"

	"sparclear/pkg/geom"
)

// grid sorts points into square cells of about two points each.
type grid struct {
	pts    []geom.Point
	min    geom.Point
	cell   float64
	nx, ny int
	start  []int32 // of each cell in items
	items  []int32
}

func newGrid(pts []geom.Point) *grid {
	b := geom.EmptyBox()
	for _, p := range pts {
		b = b.Extend(p)
	}
	g := &grid{pts: pts, min: b.Min, nx: 1, ny: 1, cell: 1}
	s := b.Size()
	if n := len(pts); n > 2 && s.X+s.Y > 0 {
		g.cell = math.Max(math.Sqrt(math.Max(s.X, s.Y/float64(n))*math.Max(s.Y, s.X/float64(n))*2/float64(n)), (s.X+s.Y)/float64(n))
		g.nx = 1 + int(s.X/g.cell)
		g.ny = 1 + int(s.Y/g.cell)
	}
	g.start = make([]int32, g.nx*g.ny+1)
	for _, p := range pts {
		g.start[g.of(p)+1]++
	}
	for i := range g.nx * g.ny {
		g.start[i+1] += g.start[i]
	}
	g.items = make([]int32, len(pts))
	at := append([]int32(nil), g.start...)
	for i, p := range pts {
		c := g.of(p)
		g.items[at[c]] = int32(i)
		at[c]++
	}
	return g
}

func (g *grid) of(p geom.Point) int {
	x := min(int((p.X-g.min.X)/g.cell), g.nx-1)
	y := min(int((p.Y-g.min.Y)/g.cell), g.ny-1)
	return y*g.nx + x
}

// nearest lists the k nearest other points of point i, nearest first, ties by
// index.
func (g *grid) nearest(i, k int, buf []int32) []int32 {
	p := g.pts[i]
	c := g.of(p)
	cx, cy := c%g.nx, c/g.nx
	buf = buf[:0]
	for ring := 0; ; ring++ {
		in := false
		for y := cy - ring; y <= cy+ring; y++ {
			if y < 0 || y >= g.ny {
				continue
			}
			step := 2 * ring
			if y == cy-ring || y == cy+ring || ring == 0 {
				step = 1
			}
			for x := cx - ring; x <= cx+ring; x += step {
				if x < 0 || x >= g.nx {
					continue
				}
				in = true
				cell := y*g.nx + x
				for _, q := range g.items[g.start[cell]:g.start[cell+1]] {
					if int(q) != i {
						buf = append(buf, q)
					}
				}
			}
		}
		// everything nearer than ring cells is in hand
		safe := 0
		for _, q := range buf {
			if g.pts[q].Dist(p) <= float64(ring)*g.cell {
				safe++
			}
		}
		if safe >= k || !in && ring > 0 {
			break
		}
	}
	sort.Slice(buf, func(a, b int) bool {
		x, y := g.pts[buf[a]].Dist(p), g.pts[buf[b]].Dist(p)
		if x != y {
			return x < y
		}
		return buf[a] < buf[b]
	})
	return buf[:min(k, len(buf))]
}

// nearestOf lists the k nearest neighbours of every point.
func nearestOf(pts []geom.Point, k int) [][]int32 {
	out := make([][]int32, len(pts))
	if len(pts) < 2 {
		return out
	}
	g := newGrid(pts)
	var buf []int32
	for i := range pts {
		buf = g.nearest(i, k, buf)
		out[i] = append([]int32(nil), buf...)
	}
	return out
}
