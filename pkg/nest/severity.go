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

// The cells of a table are finer than the grid of severities: they spare exact
// tests, which only the cells along the line of contact need, and take two bits.
const (
	cellSide = 64 // cells along each side
	nodeSide = 32 // steps of the severities along each side
	perNode  = cellSide / nodeSide
)

// tableBytes is what one table takes, tableRoom what all may take together.
const (
	mostShapes = 3000 // for the list of pairs
	tableBytes = (nodeSide+1)*(nodeSide+1)*4 + cellSide*cellSide/4
	tableRoom  = 128 << 20
)

const (
	cellUnknown = iota
	cellFree
	cellHit
	cellMixed
)

// table is what is known of one pair of shapes.
type table struct {
	a, b         *shape
	ox, oy       float64 // half of the range of offsets, mm
	sx, sy       float64 // cells per mm
	stepX, stepY float64 // mm per cell
	data         atomic.Pointer[tableData]
}

type tableData struct {
	cell [cellSide * cellSide / 16]uint32
	node [(nodeSide + 1) * (nodeSide + 1)]uint32
}

func newTable(a, b *shape) *table {
	t := &table{a: a, b: b, ox: a.hw + b.hw, oy: a.hh + b.hh}
	t.stepX, t.stepY = 2*t.ox/cellSide, 2*t.oy/cellSide
	t.sx, t.sy = 1/t.stepX, 1/t.stepY
	return t
}

// entries returns the entries, made when first asked for.
func (t *table) entries() *tableData {
	d := t.data.Load()
	if d == nil {
		d = new(tableData)
		if !t.data.CompareAndSwap(nil, d) {
			d = t.data.Load()
		}
	}
	return d
}

// at returns the severity with b at (dx, dy) from a, 0 when they do not touch.
func (t *table) at(dx, dy float64) float64 {
	fx, fy := float64((dx+t.ox)*t.sx), float64((dy+t.oy)*t.sy)
	ix, iy := int(fx), int(fy)
	if fx < 0 || fy < 0 || ix >= cellSide || iy >= cellSide {
		return 0
	}
	d := t.entries()
	if !t.hits(d, ix, iy, dx, dy) {
		return 0
	}
	fx *= 1.0 / perNode
	fy *= 1.0 / perNode
	ix, iy = ix/perNode, iy/perNode
	n := iy*(nodeSide+1) + ix
	q00, q10 := t.load(d, n, ix, iy), t.load(d, n+1, ix+1, iy)
	q01, q11 := t.load(d, n+nodeSide+1, ix, iy+1), t.load(d, n+nodeSide+2, ix+1, iy+1)
	fx -= float64(ix)
	fy -= float64(iy)
	lo := q00 + float64(fx*(q10-q00))
	hi := q01 + float64(fx*(q11-q01))
	return lo + float64(fy*(hi-lo))
}

// hits tells whether the shapes collide at an offset in the cell.
func (t *table) hits(d *tableData, ix, iy int, dx, dy float64) bool {
	k := uint(iy*cellSide + ix)
	c := atomic.LoadUint32(&d.cell[k/16]) >> (k % 16 * 2) & 3
	if c == cellUnknown {
		c = t.classify(ix, iy)
		atomic.OrUint32(&d.cell[k/16], c<<(k%16*2))
	}
	return c == cellHit || c == cellMixed && collide(t.a, t.b, dx, dy)
}

func (t *table) load(d *tableData, n, ix, iy int) float64 {
	u := atomic.LoadUint32(&d.node[n])
	if u == 0 {
		q := severity(t.a, t.b, float64(float64(ix*perNode)*t.stepX)-t.ox, float64(float64(iy*perNode)*t.stepY)-t.oy)
		u = math.Float32bits(float32(q))
		atomic.StoreUint32(&d.node[n], u)
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
	pairs  []pairRef // by pair of shapes; nil when there is no room for tables
	tables []*table
	price  int64 // of one position, in units of the budget
}

// pairRef says which table tells of a pair of shapes, and by how many quarters the
// offset is to be turned back for it.
type pairRef struct {
	table int32
	turn  int32
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

// newCatalog lists the shapes; only pairs of live ones get a table, nil makes all
// live.
func newCatalog(shapes []*shape, live []bool) *catalog {
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
	n, count, roots := int64(len(shapes)), int64(0), int64(0)
	for i := range c.turns {
		if live != nil && !live[i] {
			continue
		}
		if count++; c.turns[i].by == 0 {
			roots++
		}
	}
	// Not more than every root with every other shape, and half of those with roots.
	pairs := roots*(count-roots) + roots*(roots+1)/2
	if pairs*tableBytes <= tableRoom && n <= mostShapes {
		c.pair(live)
		c.price = 1
	}
	return c
}

// pair lists the table of every pair of live shapes.
func (c *catalog) pair(live []bool) {
	n := len(c.shapes)
	c.pairs = make([]pairRef, n*n)
	for i := range c.pairs {
		c.pairs[i].table = -1
	}
	for va := range c.shapes {
		for vb := range c.shapes {
			if live != nil && !(live[va] && live[vb]) {
				continue
			}
			ra, rb, turn := c.canonical(int32(va), int32(vb))
			own := &c.pairs[int(ra)*n+int(rb)]
			if own.table < 0 {
				*own = pairRef{table: int32(len(c.tables))}
				c.tables = append(c.tables, newTable(c.shapes[ra], c.shapes[rb]))
			}
			c.pairs[va*n+vb] = pairRef{table: own.table, turn: turn}
		}
	}
}

// canonical returns the pair that stands for all that are turned together with
// (va, vb), and by how many quarters the offset is to be turned back for it.
func (c *catalog) canonical(va, vb int32) (ra, rb, turn int32) {
	if c.turns[va].root > c.turns[vb].root || c.turns[va].root == c.turns[vb].root && c.turns[va].by > c.turns[vb].by {
		va, vb, turn = vb, va, 2
	}
	a := &c.turns[va]
	if a.by == 0 {
		return va, vb, turn
	}
	b := &c.turns[vb]
	to := c.turns[b.root].present[(b.by-a.by)&3]
	if to < 0 {
		return va, vb, turn
	}
	return a.root, to, (turn + a.by) & 3
}

// turnBack turns an offset back by so many quarters.
func turnBack(dx, dy float64, quarters int32) (float64, float64) {
	switch quarters {
	case 1:
		return dy, -dx
	case 2:
		return -dx, -dy
	case 3:
		return -dy, dx
	}
	return dx, dy
}

// ref returns which table tells of a pair; false when none does.
func (c *catalog) ref(va, vb int32) (p pairRef, ok bool) {
	if c.pairs == nil {
		return p, false
	}
	p = c.pairs[int(va)*len(c.shapes)+int(vb)]
	return p, p.table >= 0
}

// at returns the severity of shape vb at (dx, dy) from shape va.
func (c *catalog) at(va, vb int32, dx, dy float64) float64 {
	p, ok := c.ref(va, vb)
	if !ok {
		a, b := c.shapes[va], c.shapes[vb]
		if !deepHit0(a, b, dx, dy) && !collide(a, b, dx, dy) {
			return 0
		}
		return severity(a, b, dx, dy)
	}
	dx, dy = turnBack(dx, dy, p.turn)
	return c.tables[p.table].at(dx, dy)
}

// hits tells whether shape vb at (dx, dy) from shape va collides with it.
func (c *catalog) hits(va, vb int32, dx, dy float64) bool {
	p, ok := c.ref(va, vb)
	if !ok {
		a, b := c.shapes[va], c.shapes[vb]
		return deepHit0(a, b, dx, dy) || collide(a, b, dx, dy)
	}
	dx, dy = turnBack(dx, dy, p.turn)
	t := c.tables[p.table]
	ix, iy := int((dx+t.ox)*t.sx), int((dy+t.oy)*t.sy)
	if ix < 0 || iy < 0 || ix >= cellSide || iy >= cellSide {
		return collide(t.a, t.b, dx, dy)
	}
	return t.hits(t.entries(), ix, iy, dx, dy)
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
