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
	fx, fy := (dx+t.ox)*t.sx, (dy+t.oy)*t.sy
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
	h := math.Hypot(t.stepX, t.stepY) / 2 * 1.000001
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
	eps := 0.01 * math.Max(a.diam, b.diam)
	sum := 0.0
	for i := range a.poles {
		p := &a.poles[i]
		px, py := p.x-dx, p.y-dy
		for j := range b.poles {
			q := &b.poles[j]
			vx, vy := px-q.x, py-q.y
			d := p.r + q.r - math.Sqrt(float64(vx*vx)+float64(vy*vy))
			if d < eps {
				d = eps * eps / (2*eps - d)
			}
			sum += float64(d * 2 * math.Min(p.r, q.r))
		}
	}
	return math.Sqrt(sum) * math.Sqrt(a.lambda*b.lambda)
}

// catalog holds all shapes of a search and the tables of their pairs.
type catalog struct {
	shapes []*shape
	tables []atomic.Pointer[table] // by pair; nil slice when there is no room
}

func newCatalog(shapes []*shape) *catalog {
	c := &catalog{shapes: shapes}
	n := int64(len(shapes))
	if n*(n+1)/2*tableBytes <= tableRoom {
		c.tables = make([]atomic.Pointer[table], n*n)
	}
	return c
}

// at returns the severity of shape vb at (dx, dy) from shape va.
func (c *catalog) at(va, vb int32, dx, dy float64) float64 {
	if va > vb {
		va, vb, dx, dy = vb, va, -dx, -dy
	}
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
	if va > vb {
		va, vb, dx, dy = vb, va, -dx, -dy
	}
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
