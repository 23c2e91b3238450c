package nest

import (
	"math"
	"sync/atomic"
)

// How grave an overlap is depends, for two shapes with fixed turns, on their
// offset alone. It is therefore tabulated per pair over the offsets at which the
// boxes meet, each entry when it is first needed: the severity at the nodes of a
// grid, and for each cell whether all of it is free, all of it is a hit, or only
// the exact test can tell. Entries depend on nothing but the pair, so that it
// does not matter which of several workers fills them in.

// tableSide is the number of cells along each side of a table; finer tables need
// the exact test less often and more memory.
const tableSide = 40

// tableBytes is what one table takes, tableRoom what all may take together.
const (
	mostShapes = 3000 // for the list of pairs
	tableBytes = (tableSide+1)*(tableSide+1)*4 + tableSide*tableSide*4
	tableRoom  = 192 << 20
)

const (
	cellUnknown = iota
	cellFree
	cellHit
	cellMixed
)

type table struct {
	a, b       *shape
	ox, oy     float64 // half of the range of offsets
	sx, sy     float64 // cells per mm
	stepX      float64
	stepY      float64
	node, cell []uint32
}

func newTable(a, b *shape) *table {
	t := &table{a: a, b: b, ox: a.hw + b.hw, oy: a.hh + b.hh}
	t.stepX, t.stepY = 2*t.ox/tableSide, 2*t.oy/tableSide
	t.sx, t.sy = 1/t.stepX, 1/t.stepY
	t.node = make([]uint32, (tableSide+1)*(tableSide+1))
	t.cell = make([]uint32, tableSide*tableSide)
	return t
}

// at returns the severity with b at (dx, dy) from a, 0 when they do not touch.
func (t *table) at(dx, dy float64) float64 {
	fx, fy := float64((dx+t.ox)*t.sx), float64((dy+t.oy)*t.sy)
	ix, iy := int(fx), int(fy)
	if fx < 0 || fy < 0 || ix >= tableSide || iy >= tableSide {
		return 0
	}
	if !t.hits(ix, iy, dx, dy) {
		return 0
	}
	n := iy*(tableSide+1) + ix
	q00, q10 := t.load(n, ix, iy), t.load(n+1, ix+1, iy)
	q01, q11 := t.load(n+tableSide+1, ix, iy+1), t.load(n+tableSide+2, ix+1, iy+1)
	fx -= float64(ix)
	fy -= float64(iy)
	lo := q00 + float64(fx*(q10-q00))
	hi := q01 + float64(fx*(q11-q01))
	return lo + float64(fy*(hi-lo))
}

// hits tells whether the shapes collide at an offset in the cell.
func (t *table) hits(ix, iy int, dx, dy float64) bool {
	k := iy*tableSide + ix
	c := atomic.LoadUint32(&t.cell[k])
	if c == cellUnknown {
		c = t.classify(ix, iy)
		atomic.StoreUint32(&t.cell[k], c)
	}
	return c == cellHit || c == cellMixed && collide(t.a, t.b, dx, dy)
}

func (t *table) load(n, ix, iy int) float64 {
	u := atomic.LoadUint32(&t.node[n])
	if u == 0 {
		q := severity(t.a, t.b, float64(float64(ix)*t.stepX)-t.ox, float64(float64(iy)*t.stepY)-t.oy)
		u = math.Float32bits(float32(q))
		atomic.StoreUint32(&t.node[n], u)
	}
	return float64(math.Float32frombits(u))
}

func (t *table) classify(ix, iy int) uint32 {
	cx := float64((float64(ix)+0.5)*t.stepX) - t.ox
	cy := float64((float64(iy)+0.5)*t.stepY) - t.oy
	h := float64(math.Hypot(t.stepX, t.stepY) / 2 * 1.000001)
	if !collide(t.a, t.b, cx, cy) {
		if gapExceeds(t.a, t.b, cx, cy, h) {
			return cellFree
		}
		return cellMixed
	}
	if deepHit(t.a, t.b, cx, cy, h) {
		return cellHit
	}
	return cellMixed
}

// severity is how grave an overlap of a and the shifted b would be: the depth of
// overlap of every pair of poles times the smaller diameter, smooth and positive
// also where they are apart, weighted by the size of the hulls (Gardeyn et al.
// 2025, algorithms 2 to 4). Whether they overlap at all is for collide to say.
func severity(a, b *shape, dx, dy float64) float64 {
	eps := float64(0.01 * math.Max(a.diam, b.diam))
	sum := 0.0
	for i := range a.poles {
		p := &a.poles[i]
		px, py := p.x-dx, p.y-dy
		for j := range b.poles {
			q := &b.poles[j]
			vx, vy := px-q.x, py-q.y
			d := p.r + q.r - math.Sqrt(float64(vx*vx)+float64(vy*vy))
			if d < eps {
				d = eps * eps / (float64(2*eps) - d)
			}
			r := p.r
			if q.r < r {
				r = q.r
			}
			sum += float64(d * r)
		}
	}
	return float64(math.Sqrt(2*sum) * math.Sqrt(a.lambda*b.lambda))
}

// catalog holds all shapes of a search and the tables of their pairs. Two shapes
// turned together by quarters collide alike, so that such pairs share a table.
type catalog struct {
	shapes []*shape
	turns  []quarters
	tables []atomic.Pointer[table] // by pair; nil slice when there is no room
	price  int64                   // of one position, in units of the budget
}

// dearPosition is how much longer a position takes without tables; measured on
// the shirts instance with 48 turns, 1.9 µs against 0.3 µs.
const dearPosition = 6

// quarters tells how a shape follows from another by quarter turns about its
// middle.
type quarters struct {
	root    int32    // the shape that this one is a turn of, itself if none
	by      int32    // quarter turns from root to this one
	present [4]int32 // the shapes at 0, 1, 2 and 3 quarter turns from root, -1 where there is none
}

func newCatalog(shapes []*shape) *catalog {
	c := &catalog{shapes: shapes, turns: make([]quarters, len(shapes)), price: dearPosition}
	for i, s := range shapes {
		c.turns[i] = quarters{root: int32(i), present: [4]int32{int32(i), -1, -1, -1}}
		if s.part < 0 {
			continue
		}
		for j := i - 1; j >= 0 && shapes[j].part == s.part && shapes[j].fibre == s.fibre; j-- {
			if c.turns[j].by != 0 || shapes[j].frame.Mirror != s.frame.Mirror {
				continue
			}
			q := math.Remainder(s.frame.Turn-shapes[j].frame.Turn, 2*math.Pi) / (math.Pi / 2)
			if k := math.Round(q); math.Abs(q-k) < 1e-12 && k != 0 {
				by := (int32(k) + 4) & 3
				c.turns[i].root, c.turns[i].by = int32(j), by
				c.turns[j].present[by] = int32(i)
				break
			}
		}
	}
	n, pairs := int64(len(shapes)), int64(0)
	for i := range c.turns {
		if c.turns[i].by == 0 {
			pairs += n - int64(i)
		}
	}
	if pairs*tableBytes <= tableRoom && n <= mostShapes {
		c.tables = make([]atomic.Pointer[table], n*n)
		c.price = 1
	}
	return c
}

// canonical returns the pair that stands for all that are turned together with
// (va, vb), and the offset that goes with it.
func (c *catalog) canonical(va, vb int32, dx, dy float64) (int32, int32, float64, float64) {
	if c.turns[va].root > c.turns[vb].root || c.turns[va].root == c.turns[vb].root && c.turns[va].by > c.turns[vb].by {
		va, vb, dx, dy = vb, va, -dx, -dy
	}
	a := &c.turns[va]
	if a.by == 0 {
		return va, vb, dx, dy
	}
	b := &c.turns[vb]
	to := c.turns[b.root].present[(b.by-a.by)&3]
	if to < 0 {
		return va, vb, dx, dy
	}
	switch a.by {
	case 1:
		dx, dy = dy, -dx
	case 2:
		dx, dy = -dx, -dy
	default:
		dx, dy = -dy, dx
	}
	return a.root, to, dx, dy
}

// at returns the severity of shape vb at (dx, dy) from shape va.
func (c *catalog) at(va, vb int32, dx, dy float64) float64 {
	va, vb, dx, dy = c.canonical(va, vb, dx, dy)
	if c.tables == nil {
		a, b := c.shapes[va], c.shapes[vb]
		if !deepHit0(a, b, dx, dy) && !collide(a, b, dx, dy) {
			return 0
		}
		return severity(a, b, dx, dy)
	}
	return c.table(va, vb).at(dx, dy)
}

// hits tells whether shape vb at (dx, dy) from shape va collides with it.
func (c *catalog) hits(va, vb int32, dx, dy float64) bool {
	va, vb, dx, dy = c.canonical(va, vb, dx, dy)
	if c.tables == nil {
		a, b := c.shapes[va], c.shapes[vb]
		return deepHit0(a, b, dx, dy) || collide(a, b, dx, dy)
	}
	t := c.table(va, vb)
	ix, iy := int((dx+t.ox)*t.sx), int((dy+t.oy)*t.sy)
	if ix < 0 || iy < 0 || ix >= tableSide || iy >= tableSide {
		return collide(t.a, t.b, dx, dy)
	}
	return t.hits(ix, iy, dx, dy)
}

// table returns the table of a pair, made when first asked for.
func (c *catalog) table(va, vb int32) *table {
	p := &c.tables[int(va)*len(c.shapes)+int(vb)]
	t := p.Load()
	if t == nil {
		t = newTable(c.shapes[va], c.shapes[vb])
		if !p.CompareAndSwap(nil, t) {
			t = p.Load()
		}
	}
	return t
}

// deepHit0 tells that two poles overlap: cheap, and true for most overlaps.
func deepHit0(a, b *shape, dx, dy float64) bool {
	for i := range a.poles {
		p := &a.poles[i]
		for j := range b.poles {
			q := &b.poles[j]
			vx, vy, r := q.x+dx-p.x, q.y+dy-p.y, p.r+q.r
			if float64(vx*vx)+float64(vy*vy) < float64(r*r) {
				return true
			}
		}
	}
	return false
}
