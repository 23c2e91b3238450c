package drawing

import (
	"cmp"
	"slices"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// loop is a closed contour with where it comes from.
type loop struct {
	c      geom.Contour // counter-clockwise, from its least vertex
	area   float64      // mm²
	handle uint64       // of its first entity
	line   int32        // of its first entity
}

// vertexStore keeps contours in large blocks.
type vertexStore struct{ block []geom.Vertex }

func (v *vertexStore) keep(c geom.Contour) geom.Contour {
	if len(v.block)+len(c) > cap(v.block) {
		v.block = make([]geom.Vertex, 0, max(len(c), min(2*cap(v.block), blockSize), 64))
	}
	n := len(v.block)
	v.block = append(v.block, c...)
	return geom.Contour(v.block[n:len(v.block):len(v.block)])
}

// close keeps a closed chain as a loop.
func (w *layerWork) close(segs []geom.Seg, from int32) {
	// Begun at its least vertex, so that what is healed does not depend on the
	// order of the entities.
	var area float64
	w.contour, area = canonical(w.contour[:0], segs)
	if hasTiny(segs, w.b.o.JoinTol) {
		healed, n := heal(w.contour.Segs(), true, w.b.o.JoinTol)
		w.b.d.Join.Tiny += n
		if len(healed) == 0 {
			return
		}
		segs = healed
		w.contour, area = canonical(w.contour[:0], segs)
	}
	if len(w.contour) < 2 || area <= sameEnd*w.contour.Length() {
		w.flat(segs, from)
		return
	}
	k := &w.curves[from]
	w.tree = nil
	w.loops = append(w.loops, loop{c: w.kept.keep(w.contour), area: area, handle: k.handle, line: k.line})
}

// canonical appends the vertices of a closed chain so that it runs
// counter-clockwise from its least vertex, whatever the order of the entities,
// and returns the area, mm².
func canonical(c geom.Contour, segs []geom.Seg) (geom.Contour, float64) {
	for _, s := range segs {
		c = append(c, geom.Vertex{Point: s.A, Bulge: s.Bulge})
	}
	area := c.Area()
	if area < 0 {
		reverse(c)
		area = -area
	}
	least := 0
	for i := range c {
		if lessPoint(c[i].Point, c[least].Point) {
			least = i
		}
	}
	if least > 0 { // turned by three reversals
		slices.Reverse(c[:least])
		slices.Reverse(c[least:])
		slices.Reverse(c)
	}
	return c, area
}

// reverse runs a contour the other way, from the same vertex, in place.
func reverse(c geom.Contour) {
	if len(c) == 0 {
		return
	}
	slices.Reverse(c[1:])
	first := c[0].Bulge
	for i := range c { // an edge now begins where it ended
		next := first
		if i+1 < len(c) {
			next = c[i+1].Bulge
		}
		c[i].Bulge = -next
	}
}

// flat remarks on a closed chain that holds no area: a line there and back,
// something smaller than the tolerance, or a figure eight.
func (w *layerWork) flat(segs []geom.Seg, from int32) {
	if len(segs) == 0 {
		return
	}
	k := w.curves[from]
	h := w.b.newHead()
	h.layer, h.handle = k.layer, k.handle
	at := segs[0].A.Mul(1 / w.b.scale)
	if p, ok := crossingOf(segs); ok {
		w.b.d.Join.Crossings++
		at = p.Mul(1 / w.b.scale)
		w.b.remark("contour-crosses", diag.Warn, h, "outline", int(k.line), &at, "crosses itself and is not read",
			"draw the outline so that its edges meet only at their ends")
		return
	}
	w.b.remark("outline-without-area", diag.Warn, h, "outline", int(k.line), &at,
		"closes on itself without holding any area and is not read", "delete it")
}

// crossingOf finds a place where a closed chain crosses itself within two edges.
func crossingOf(segs []geom.Seg) (geom.Point, bool) {
	x := geom.NewSegIndex(segs...)
	tests := 100 * len(segs)
	var at geom.Point
	found := false
	for i, s := range segs {
		x.Each(s.Bounds(), func(k int) bool {
			if tests--; tests < 0 {
				return false
			}
			if k <= i+1 {
				return true
			}
			for _, p := range s.Meet(segs[k]) {
				inner := func(g geom.Seg) bool { return p.Dist(g.A) > sameEnd && p.Dist(g.B) > sameEnd }
				if inner(s) && inner(segs[k]) {
					at, found = p, true
				}
			}
			return !found
		})
		if found || tests < 0 {
			break
		}
	}
	return at, found
}

func (w *layerWork) open(segs []geom.Seg, from int32, s strand) {
	if lessPoint(segs[len(segs)-1].B, segs[0].A) {
		slices.Reverse(segs)
		for i := range segs {
			segs[i] = segs[i].Reverse()
		}
	}
	segs, n := heal(segs, false, w.b.o.JoinTol)
	w.b.d.Join.Tiny += n
	if len(segs) == 0 {
		return
	}
	ch := make(geom.Chain, 0, len(segs)+1)
	for _, g := range segs {
		ch = append(ch, geom.Vertex{Point: g.A, Bulge: g.Bulge})
	}
	ch = append(ch, geom.Vertex{Point: segs[len(segs)-1].B})
	if lessPoint(ch[len(ch)-1].Point, ch[0].Point) {
		ch = ch.Reverse()
	}
	k := w.curves[from]
	if s.a >= 0 {
		w.branches = append(w.branches, branch{s.a, w.end(s.steps[0].from()), k.handle})
	}
	if s.b >= 0 {
		w.branches = append(w.branches, branch{s.b, w.end(s.steps[len(s.steps)-1].to()), k.handle})
	}
	w.chains = append(w.chains, OpenChain{
		Layer: w.b.layers[w.layer].Name, Handle: handleText(k.handle), Line: int(k.line), Chain: ch,
		Gap: ch[0].Dist(ch[len(ch)-1].Point), Branched: s.a >= 0 || s.b >= 0,
	})
}

// edges returns the tree of the loops, and puts them in their order first.
func (w *layerWork) edges() *edgeTree {
	if w.tree == nil {
		w.tree = newEdgeTree(w.lineUp(), w.loops)
	}
	return w.tree
}

// lineUp puts the loops in the order of their places, neighbours in the plane
// near each other, and their vertices in one row: looking is quick then.
func (w *layerWork) lineUp() []geom.Vertex {
	box := geom.EmptyBox()
	n := 0
	for i := range w.loops {
		p := w.loops[i].c[0].Point
		box = joined(box, geom.Box{Min: p, Max: p})
		n += len(w.loops[i].c)
	}
	keys := make([]numbered, len(w.loops))
	for i := range w.loops {
		keys[i] = numbered{curveOrder(w.loops[i].c[0].Point, box), int32(i)}
	}
	last := func(at int32) geom.Point { c := w.loops[at].c; return c[len(c)-1].Point }
	sortBy(keys,
		func(at int32) uint64 { return ascending(w.loops[at].c[0].X) },
		func(at int32) uint64 { return ascending(w.loops[at].c[0].Y) },
		func(at int32) uint64 { return ascending(last(at).X) },
		func(at int32) uint64 { return ascending(last(at).Y) },
		func(at int32) uint64 { return uint64(w.loops[at].line) })
	loops, row := make([]loop, len(keys)), make([]geom.Vertex, 0, n)
	for i, k := range keys {
		l := w.loops[k.at]
		from := len(row)
		row = append(row, l.c...)
		l.c = row[from:len(row):len(row)]
		loops[i] = l
	}
	w.loops, w.kept = loops, vertexStore{}
	return row
}

func comparePoints(a, b geom.Point) int {
	if c := cmp.Compare(a.X, b.X); c != 0 {
		return c
	}
	return cmp.Compare(a.Y, b.Y)
}
