package nest

import "math"

// lattice is a regular pattern of one part: rows of the same cell, one or two
// shapes in it, shifted from row to row.
type lattice struct {
	cell []place // shapes and their places, the first at the origin
	u    float64 // from cell to cell along a row, mm
	vx   float64 // from row to row, mm
	vy   float64
}

// area returns the area that one part takes.
func (l *lattice) area() float64 { return float64(l.u*l.vy) / float64(len(l.cell)) }

// longRow is the most cells beside each other that a cell may reach over.
const longRow = 12

// latticeGap is added to every step, as a share of the part, so that touching
// cells do not count as overlapping.
const latticeGap = 1e-7

// densestLattice returns the densest pattern of rows found with one shape, or two
// of which the second is turned by half, for the shapes that a part may take.
// false when there is none.
func densestLattice(c *catalog, choices []int32, tried *int64) (best lattice, ok bool) {
	const directions = 24
	consider := func(cell []place) {
		l, fits := rows(c, cell, tried)
		if fits && (!ok || l.area() < best.area()) {
			best, ok = l, true
		}
	}
	for _, v := range choices[:min(len(choices), 8)] {
		consider([]place{{v: v}})
		for _, w := range choices {
			if !oppose(c.shapes[v], c.shapes[w]) {
				continue
			}
			for k := 0; k < directions; k++ {
				sn, cs := math.Sincos(2 * math.Pi * float64(k) / directions)
				d := contact(c, []place{{v: v}}, []place{{v: w}}, 0, 0, cs, sn, tried)
				consider([]place{{v: v}, {v: w, x: float64(d * cs), y: float64(d * sn)}})
			}
		}
	}
	return best, ok
}

// oppose tells whether two shapes of a part differ by half a turn.
func oppose(a, b *shape) bool {
	return a.frame.Mirror == b.frame.Mirror &&
		math.Abs(math.Abs(math.Remainder(a.frame.Turn-b.frame.Turn, 2*math.Pi))-math.Pi) < 1e-9
}

// contact returns how far cell b, starting at (x, y) from cell a, must go along
// (ux, uy) so that it meets a no more from there on.
func contact(c *catalog, a, b []place, x, y, ux, uy float64, tried *int64) float64 {
	far := 0.0
	for _, p := range a {
		for _, q := range b {
			s, t := c.shapes[p.v], c.shapes[q.v]
			far = math.Max(far, math.Hypot(s.hw+t.hw, s.hh+t.hh)+math.Hypot(q.x+x-p.x, q.y+y-p.y))
		}
	}
	meets := func(d float64) bool {
		*tried++
		for _, p := range a {
			for _, q := range b {
				s, t := c.shapes[p.v], c.shapes[q.v]
				dx, dy := q.x+x+float64(d*ux)-p.x, q.y+y+float64(d*uy)-p.y
				if math.Abs(dx) <= s.hw+t.hw && math.Abs(dy) <= s.hh+t.hh && c.hits(p.v, q.v, dx, dy) {
					return true
				}
			}
		}
		return false
	}
	// Inward from afar in small steps, so that no place behind the first contact
	// is taken for free, then halving.
	free := far
	step := far / 64
	for free > 0 && !meets(free-step) {
		free -= step
	}
	if free <= 0 {
		return 0
	}
	for hit := free - step; free-hit > far*1e-9; {
		if mid := (free + hit) / 2; meets(mid) {
			hit = mid
		} else {
			free = mid
		}
	}
	return free + float64(far*latticeGap)
}

// rows finds the tightest rows of a cell: the step along a row first, then over
// many shifts the least height of the next row.
func rows(c *catalog, cell []place, tried *int64) (best lattice, ok bool) {
	const shifts = 24
	u := contact(c, cell, cell, 0, 0, 1, 0, tried)
	if u <= 0 {
		return best, false
	}
	width := 0.0
	for _, p := range cell {
		width = math.Max(width, math.Abs(p.x)+c.shapes[p.v].hw)
	}
	if 2*width > longRow*u { // needles that lie side by side
		return best, false
	}
	reach := int(math.Ceil(2*width/u)) + 1
	var row []place
	for k := -reach; k <= reach; k++ {
		for _, p := range cell {
			p.x += float64(float64(k) * u)
			row = append(row, p)
		}
	}
	for k := 0; k < shifts; k++ {
		vx := u * float64(k) / shifts
		vy := contact(c, row, cell, vx, 0, 0, 1, tried)
		// Rows further on must be free of this one too.
		for n := 2; n <= 3 && vy > 0; n++ {
			need := contact(c, row, cell, math.Mod(float64(n)*vx, u), 0, 0, 1, tried) / float64(n)
			vy = math.Max(vy, need)
		}
		if l := (lattice{cell: cell, u: u, vx: vx, vy: vy}); vy > 0 && (!ok || l.area() < best.area()) {
			best, ok = l, true
		}
	}
	return best, ok
}

// layLattice lays up to n places of the pattern wherever the pile has room,
// column by column from the left, with the phase that takes most of them.
func (l *pile) layLattice(t lattice, n int) []place {
	const phases = 6
	b := l.bin
	var most []place
	if (b.x1-b.x0)*(b.y1-b.y0) > 2*mostCopies*t.area() {
		return nil
	}
	for px := 0; px < phases; px++ {
		for py := 0; py < phases; py++ {
			var got []place
			x0 := b.x0 + float64(float64(px)/phases*t.u)
			y0 := b.y0 + float64(float64(py)/phases*t.vy)
			for r := -1; float64(r)*t.vy < b.y1-b.y0+t.vy; r++ {
				shift := math.Mod(float64(r)*t.vx, t.u)
				for k := -2; float64(k)*t.u < b.x1-b.x0+float64(2*t.u); k++ {
					for _, p := range t.cell {
						c := place{v: p.v, x: x0 + shift + float64(float64(k)*t.u) + p.x, y: y0 + float64(float64(r)*t.vy) + p.y}
						if l.free(&c) {
							c.cost = pull(&c, l.cat.shapes[c.v])
							got = append(got, c)
						}
					}
				}
			}
			if len(got) > len(most) {
				most = got
			}
		}
	}
	sortPlaces(most)
	return most[:min(n, len(most))]
}
