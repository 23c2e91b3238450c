package nest

import (
	"math"

	"sparclear/pkg/geom"
)

// seam is a stretch where two tiles meet.
type seam struct {
	i, j int
	n    geom.Point // from i to j
}

// seams lists where sides of tiles in one box run along each other.
func seams(done []laidTile, tol float64) []seam {
	var out []seam
	for i, a := range done {
		for j := i + 1; j < len(done); j++ {
			b := done[j]
			d := b.at.Sub(a.at)
			if a.box != b.box || math.Abs(d.X) > a.t.hw+b.t.hw+tol || math.Abs(d.Y) > a.t.hh+b.t.hh+tol {
				continue
			}
			for k, p := range a.t.pts {
				e := a.t.pts[(k+1)%len(a.t.pts)].Sub(p)
				u := e.Unit()
				for m, q := range b.t.pts {
					from, to := d.Add(q).Sub(p), d.Add(b.t.pts[(m+1)%len(b.t.pts)]).Sub(p)
					if math.Abs(u.Cross(from)) > tol || math.Abs(u.Cross(to)) > tol {
						continue
					}
					lo, hi := math.Max(0, u.Dot(to)), math.Min(e.Len(), u.Dot(from))
					if hi-lo > tol { // they run against each other over this length
						out = append(out, seam{i, j, u.Right()})
					}
				}
			}
		}
	}
	return out
}

// spread returns by how much to move each tile so that gaps open along all
// seams, within so much room to the right and upward: away from the corner of
// the box first, each by its centroid, and then seam by seam where two do
// not part (S. Kaczmarz, 1937). Where that does not end well the overlaps are left
// to the search.
func spread(done []laidTile, tol, wide, high float64) []geom.Point {
	const rounds = 2000
	gap := math.Min(wide, high) / 16
	moved := make([]geom.Point, len(done))
	far := geom.Pt(1, 1)
	for i, l := range done {
		moved[i] = l.at.Add(l.t.centroid())
		far = geom.Pt(math.Max(far.X, moved[i].X), math.Max(far.Y, moved[i].Y))
	}
	for i, m := range moved {
		moved[i] = geom.Pt(m.X/far.X*wide, m.Y/far.Y*high)
	}
	list := seams(done, tol)
	for r := 0; r < rounds; r++ {
		if r%(rounds/8) == 0 {
			gap /= 2
		}
		good := true
		for _, c := range list {
			if lack := gap - moved[c.j].Sub(moved[c.i]).Dot(c.n); lack > gap/4 {
				good = false
				by := c.n.Mul(lack / 2)
				moved[c.i], moved[c.j] = moved[c.i].Sub(by), moved[c.j].Add(by)
			}
		}
		for i, m := range moved {
			moved[i] = geom.Pt(math.Max(0, math.Min(wide, m.X)), math.Max(0, math.Min(high, m.Y)))
		}
		if good {
			break
		}
	}
	return moved
}

// centroid returns the middle of the tile's area.
func (t *tile) centroid() geom.Point {
	var sum geom.Point
	for i, p := range t.pts {
		q := t.pts[(i+1)%len(t.pts)]
		sum = sum.Add(p.Add(q).Mul(p.Cross(q)))
	}
	return sum.Mul(1 / (6 * t.area))
}
