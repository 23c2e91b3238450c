package nest

import "math"

// Outlines whose corners all lie on a grid that is coarse beside the strip fit into
// each other exactly at best: every part touches its neighbours, and nearly so is of
// no use. Over the places on that grid alone it is known once for all by how much two
// parts overlap, touching being free, so that a part can be tried in every place there
// is (after the raster of A. K. Sato et al. 2019).

// raster is what is known of the parts of a strip on a grid.
type raster struct {
	step   float64 // mm
	forms  []rasterForm
	of     [][]int32     // by item: the forms that it may take
	tables []rasterTable // by pair of forms
	room   int64         // entries of them
}

// rasterForm is a shape on the grid, which goes by the lower left corner of its box.
type rasterForm struct {
	v     int32 // shape
	w, h  int   // of the box, cells
	outer *tile
}

// rasterTable tells how deep one form lies in another, by where its corner lies from
// the other's: in cells the way to the nearest place where the two do not overlap, 0
// where they do not.
type rasterTable struct {
	w, h   int // range of offsets along each axis: both boxes together less 1
	ox, oy int // index of no offset
	depth  []float32
}

const (
	// rasterCells bounds the height of a strip in cells.
	rasterCells = 120
	// rasterRoom bounds all tables together, entries: some tenths of a second. With more
	// kinds of parts the search off the grid does as well (jakobs1, jakobs2, fu).
	rasterRoom = 1 << 19
	// rasterMiss is how far corners may miss the grid, as a share of a cell.
	rasterMiss = 1e-6
	// rasterTouch is by how much, as a share of a cell, forms are made smaller to tell
	// touching from overlapping; corners of a grid overlap by more or not at all.
	rasterTouch = 1e-5
)

// newRaster makes the items ready for a strip of the given height; false when their
// corners lie on no grid that is coarse enough, a part has holes, or there is no room
// for the tables.
func newRaster(p *problem, height float64, room int64) (*raster, bool) {
	g := &raster{}
	form := map[int32]int32{} // by shape
	var shapes []*shape
	for _, it := range p.items {
		var of []int32
		for _, v := range it.choices[0] {
			if float64(2*p.cat.shapes[v].hh) > height*(1+rasterMiss) {
				continue
			}
			k, known := form[v]
			if !known {
				k = int32(len(shapes))
				form[v] = k
				shapes = append(shapes, p.cat.shapes[v])
				g.forms = append(g.forms, rasterForm{v: v})
			}
			of = append(of, k)
		}
		if len(of) == 0 {
			return nil, false
		}
		g.of = append(g.of, of)
	}
	if g.step = rasterStep(shapes, height); g.step == 0 {
		return nil, false
	}
	for k, s := range shapes {
		f := &g.forms[k]
		f.w, f.h = int(math.Round(2*s.hw/g.step)), int(math.Round(2*s.hh/g.step))
		ok := false
		if f.outer, ok = newTile(f.v, s, float64(rasterTouch*g.step)); !ok {
			return nil, false
		}
	}
	for _, a := range g.forms {
		for _, b := range g.forms {
			if g.room += int64(a.w+b.w) * int64(a.h+b.h); g.room > room {
				return nil, false
			}
		}
	}
	for a := range g.forms {
		for b := range g.forms {
			g.tables = append(g.tables, newRasterTable(&g.forms[a], &g.forms[b], g.step))
		}
	}
	return g, true
}

// rasterStep returns the largest step on which the corners of all shapes lie, counted
// from the corner of the box; 0 when the height would hold more than rasterCells.
func rasterStep(shapes []*shape, height float64) float64 {
	step, least := 0.0, height/rasterCells
	for _, s := range shapes {
		for i := range s.edges {
			for _, b := range [2]float64{s.edges[i].ax + s.hw, s.edges[i].ay + s.hh} {
				for b > least*rasterMiss { // Euclid's method; what is less is rounding
					step, b = b, math.Abs(math.Remainder(step, b))
				}
				if step != 0 && step < least*(1-rasterMiss) {
					return 0
				}
			}
		}
	}
	return step
}

// newRasterTable makes the table of form a against b.
func newRasterTable(a, b *rasterForm, step float64) rasterTable {
	t := rasterTable{w: a.w + b.w - 1, h: a.h + b.h - 1, ox: a.w - 1, oy: a.h - 1}
	ta, tb := a.outer, b.outer
	t.depth = make([]float32, t.w*t.h)
	// The way up or down to a free offset first, then the shortest over the columns.
	far := t.w + t.h
	way := make([]int, len(t.depth))
	for ix := range t.w {
		last := 0
		for iy := range t.h {
			dx := float64(float64(t.ox-ix)*step) + tb.hw + tb.mid.X - ta.hw - ta.mid.X
			dy := float64(float64(t.oy-iy)*step) + tb.hh + tb.mid.Y - ta.hh - ta.mid.Y
			if last++; !collide(ta.inner, tb.inner, dx, dy) {
				last = 0
			}
			way[iy*t.w+ix] = last
		}
		last = 0
		for iy := t.h - 1; iy >= 0; iy-- {
			if last++; way[iy*t.w+ix] == 0 {
				last = 0
			}
			way[iy*t.w+ix] = min(last, far, way[iy*t.w+ix])
		}
	}
	for iy := range t.h {
		row := way[iy*t.w : (iy+1)*t.w]
		for ix := range row {
			if row[ix] == 0 {
				continue
			}
			least := min(ix+1, t.w-ix) // off the table along the row
			least *= least
			for k, up := range row {
				if d := (k-ix)*(k-ix) + up*up; d < least {
					least = d
				}
			}
			t.depth[iy*t.w+ix] = float32(math.Sqrt(float64(least)))
		}
	}
	return t
}
