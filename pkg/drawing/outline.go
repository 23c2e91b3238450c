package drawing

import (
	"cmp"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sort"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// loop is a closed contour with where it comes from.
type loop struct {
	c      geom.Contour // counter-clockwise, from its least vertex
	handle uint64       // of its first entity
	place  uint64       // where it lies, see curveOrder
	line   int32        // of its first entity
	at     int32        // its number, once they are sorted
}

// outline joins what was drawn into outlines and open chains, layer by layer.
func (b *builder) outline() {
	large := b.pieces.n > 1<<18
	b.sweepUp(large)
	j := newJoiner(b)
	b.d.Join.Zero = b.tally.zero
	b.d.Join.Pieces = b.pieces.n
	for _, c := range b.curves {
		for p := c.first; p < c.first+c.n; p++ {
			b.d.Join.Drawn += b.pieces.at(int(p)).Length()
		}
	}
	byLayer := make([][]int32, len(b.layers)) // curves
	for k, c := range b.curves {
		byLayer[c.layer] = append(byLayer[c.layer], int32(k))
	}
	order := make([]int, 0, len(b.layers))
	for id := range b.layers {
		if len(byLayer[id]) > 0 {
			order = append(order, id)
		}
	}
	sort.Slice(order, func(i, k int) bool { return b.layers[order[i]].Name < b.layers[order[k]].Name })
	works := make([]*layerWork, 0, len(order))
	for _, id := range order {
		works = append(works, b.outlineLayer(j, int32(id), byLayer[id]))
		byLayer[id] = nil
	}
	b.pieces, b.curves = pieceList{}, nil // the loops hold all there is from here on
	for _, w := range works {
		w.joiner = nil
	}
	j = nil
	b.sweepUp(large)
	for i, w := range works {
		w.finish()
		works[i] = nil
	}
	b.tellJoining()
}

// sweepUp frees what the step before left behind, so that in a large drawing it
// does not count beside what the next step needs.
func (b *builder) sweepUp(large bool) {
	if large {
		runtime.GC()
	}
}

// outlineLayer makes the outlines of one layer: what is drawn twice goes, ends
// that meet are tied, and what stays open is looked at once more for pieces
// that lie on others.
func (b *builder) outlineLayer(j *joiner, layer int32, curves []int32) *layerWork {
	w := &layerWork{joiner: j, b: b, layer: layer}
	w.duplicates(curves)
	large := len(curves) > 1<<18
	b.sweepUp(large)
	var loose []int32
	for _, k := range curves {
		c := b.curves[k]
		if c.closed {
			segs := make([]geom.Seg, 0, c.n)
			for p := c.first; p < c.first+c.n; p++ {
				segs = append(segs, j.seg(p))
			}
			w.close(segs, k)
			continue
		}
		for p := c.first; p < c.first+c.n; p++ {
			if !j.gone[p] {
				loose = append(loose, p)
			}
		}
	}
	strands := w.joined(loose)
	b.sweepUp(large)
	var left []int32
	for i, s := range strands {
		if s.closed {
			w.close(j.segments(s, w.gapClosed), w.firstCurve(s))
			strands[i].steps = nil
			continue
		}
		for _, st := range s.steps {
			left = append(left, st.piece)
		}
	}
	if w.overlaps(left) {
		for _, p := range left {
			j.done[p], j.mate[2*p], j.mate[2*p+1] = false, free, free
		}
		strands = w.joined(slices.DeleteFunc(left, func(p int32) bool { return j.gone[p] }))
	} else {
		strands = slices.DeleteFunc(strands, func(s strand) bool { return s.closed })
	}
	for _, s := range strands {
		segs := j.segments(s, w.gapClosed)
		if s.closed {
			w.close(segs, w.firstCurve(s))
			continue
		}
		w.open(segs, w.firstCurve(s), s)
	}
	return w
}

// joined ties the ends of the pieces and returns the strands that come of it.
func (w *layerWork) joined(loose []int32) []strand {
	j := w.joiner
	for i, p := range loose {
		if i > 0 && loose[i-1] == p-1 && j.owner[p-1] == j.owner[p] {
			j.weld(p-1, p)
		}
	}
	ends := make([]int32, 0, 2*len(loose))
	for _, p := range loose {
		for _, e := range []int32{2 * p, 2*p + 1} {
			if j.mate[e] == free {
				ends = append(ends, e)
			}
		}
	}
	j.meet(ends)
	left := ends[:0]
	for _, e := range ends {
		if j.mate[e] == free {
			left = append(left, e)
		}
	}
	j.bridge(left)
	return j.resolve(j.strands(loose))
}

// layerWork gathers the loops and chains of one layer.
type layerWork struct {
	*joiner
	b        *builder
	layer    int32
	loops    []loop
	chains   []OpenChain
	branches []branch
	trimmed  []trimmed
}

// branch is a place where three or more ends meet.
type branch struct {
	node   int32
	at     geom.Point
	handle uint64
}

// firstCurve names a strand by its curve of least line, so that the order of
// joining does not matter.
func (w *layerWork) firstCurve(s strand) int32 {
	best := w.owner[s.steps[0].piece]
	for _, st := range s.steps {
		if k := w.owner[st.piece]; w.b.curves[k].line < w.b.curves[best].line {
			best = k
		}
	}
	return best
}

func (w *layerWork) gapClosed(at geom.Point, d float64) {
	r := &w.b.d.Join
	r.Gaps++
	if d > r.WidestGap || d == r.WidestGap && lessPoint(at, r.WidestAt) {
		r.WidestGap, r.WidestAt = d, at
	}
}

// close keeps a closed chain as a loop.
func (w *layerWork) close(segs []geom.Seg, from int32) {
	// Begun at its least vertex, so that what is healed does not depend on the
	// order of the entities.
	c := canonical(geom.ContourOf(segs))
	if hasTiny(c, w.b.o.JoinTol) {
		healed, n := heal(c.Segs(), true, w.b.o.JoinTol)
		w.b.d.Join.Tiny += n
		if len(healed) == 0 {
			return
		}
		c, segs = canonical(geom.ContourOf(healed)), healed
	}
	if len(c) < 2 || math.Abs(c.Area()) <= sameEnd*c.Length() {
		w.flat(segs, from)
		return
	}
	k := w.b.curves[from]
	w.loops = append(w.loops, loop{c: c, handle: k.handle, line: k.line})
}

// flat remarks on a closed chain that holds no area: a line there and back,
// something smaller than the tolerance, or a figure eight.
func (w *layerWork) flat(segs []geom.Seg, from int32) {
	if len(segs) == 0 {
		return
	}
	k := w.b.curves[from]
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
	k := w.b.curves[from]
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

// hasTiny tells whether an edge is shorter than tol.
func hasTiny(c geom.Contour, tol float64) bool {
	for i := range c {
		if s := c.Seg(i); s.A.Dist(s.B) < tol && s.Length() < tol {
			return true
		}
	}
	return false
}

// canonical turns a contour so that it runs counter-clockwise from its least
// vertex, whatever the order of the entities.
func canonical(c geom.Contour) geom.Contour {
	if c.Area() < 0 {
		c = c.Reverse()
	}
	least := 0
	for i := range c {
		if lessPoint(c[i].Point, c[least].Point) {
			least = i
		}
	}
	if least == 0 {
		return c
	}
	out := make(geom.Contour, 0, len(c))
	return append(append(out, c[least:]...), c[:least]...)
}

// finish nests the loops and puts everything in its order.
func (w *layerWork) finish() {
	b := w.b
	box := geom.EmptyBox()
	for _, l := range w.loops {
		box = box.Extend(l.c[0].Point)
	}
	for i := range w.loops {
		w.loops[i].place = curveOrder(w.loops[i].c[0].Point, box)
	}
	// Neighbours in the plane shall be neighbours in the list: looking is quick then.
	slices.SortStableFunc(w.loops, func(x, y loop) int {
		if c := cmp.Compare(x.place, y.place); c != 0 {
			return c
		}
		return comparePoints(x.c[len(x.c)-1].Point, y.c[len(y.c)-1].Point)
	})
	for i := range w.loops {
		w.loops[i].at = int32(i)
	}
	n := newNesting(w.loops)
	groups, twin, tangled := n.touching()
	var crossed []geom.Point
	for _, g := range groups {
		if tangled = tangled || len(g) > tangle; tangled {
			break
		}
		cs := make([]geom.Contour, len(g))
		for i, k := range g {
			cs[i] = w.loops[k].c
		}
		_, found := geom.Nest(cs)
		crossed = append(crossed, w.tellNesting(found)...)
	}
	if tangled {
		p := w.loops[0].c[0]
		b.found.Add(diag.Finding{Code: "outlines-tangled", Severity: diag.Stop, Input: true, Subject: b.name,
			Message: fmt.Sprintf("more outlines lie over each other on layer %s than can be told apart", b.layers[w.layer].Name),
			At:      []diag.Place{{Layer: b.layers[w.layer].Name, Drawing: &[2]float64{p.X, p.Y}}},
			Help:    "delete what is drawn over itself, or look at the spacing of arrays"})
	}
	if slices.Contains(twin, true) {
		w.loops = slices.DeleteFunc(w.loops, func(l loop) bool { return twin[l.at] })
		for _, t := range twin {
			if t {
				b.d.Join.Duplicates++
			}
		}
		n = newNesting(w.loops)
	}
	if tangled {
		n.leave() // refused: looking through the heap for what lies in what takes seconds
	} else {
		n.settle()
	}
	name := b.layers[w.layer].Name
	first := len(b.d.Outlines)
	outer := make([]int, len(w.loops))
	depth := n.depths()
	var outers []int
	for i := range w.loops {
		if depth[i]%2 == 0 {
			outers = append(outers, i)
		}
	}
	slices.SortFunc(outers, func(x, y int) int {
		if c := cmp.Compare(n.area[y], n.area[x]); c != 0 {
			return c
		}
		return comparePoints(w.loops[x].c[0].Point, w.loops[y].c[0].Point)
	})
	b.d.Outlines = slices.Grow(b.d.Outlines, len(outers))
	for _, i := range outers {
		outer[i] = len(b.d.Outlines)
		l := w.loops[i]
		b.d.Outlines = append(b.d.Outlines, Outline{Layer: name, Handle: handleText(l.handle), Line: int(l.line),
			Region: geom.Region{Outer: l.c}})
	}
	for i, l := range w.loops {
		if depth[i]%2 == 1 {
			g := &b.d.Outlines[outer[n.parent[i]]].Region
			g.Holes = append(g.Holes, l.c.Reverse())
		}
	}
	for i := first; i < len(b.d.Outlines); i++ {
		o := &b.d.Outlines[i]
		slices.SortFunc(o.Region.Holes, func(x, y geom.Contour) int { return comparePoints(x[0].Point, y[0].Point) })
		for _, p := range crossed {
			o.Crosses = o.Crosses || o.Region.Dist(p) < 1e-4
		}
	}
	slices.SortStableFunc(w.chains, func(x, y OpenChain) int {
		if c := comparePoints(x.Chain[0].Point, y.Chain[0].Point); c != 0 {
			return c
		}
		return comparePoints(x.Chain[len(x.Chain)-1].Point, y.Chain[len(y.Chain)-1].Point)
	})
	b.layers[w.layer].Outlines += len(b.d.Outlines) - first
	b.layers[w.layer].Open += len(w.chains)
	b.d.Open = append(b.d.Open, w.chains...)
	w.tellOpen()
	w.tellTrimmed()
}

// tellNesting passes on what nesting found, as a matter of this layer, and
// returns the places where outlines cross.
func (w *layerWork) tellNesting(found diag.List) []geom.Point {
	b := w.b
	name := b.layers[w.layer].Name
	var crossed []geom.Point
	for _, f := range found {
		switch f.Code {
		case "contour-twice":
			b.d.Join.Duplicates++
			continue
		case "contour-crosses":
			b.d.Join.Crossings++
			f.Message = fmt.Sprintf("an outline on layer %s crosses itself or another one", name)
			f.Severity = diag.Warn // a Stop for whoever cuts this layer: see Drawing.Layer
		default:
			f.Severity = diag.Warn
		}
		f.Subject = b.name
		for i := range f.At {
			f.At[i].Layer = name
			if p := f.At[i].Drawing; p != nil && f.Code == "contour-crosses" {
				crossed = append(crossed, geom.Pt(p[0], p[1]))
			}
		}
		b.found.Add(f)
	}
	return crossed
}

func comparePoints(a, b geom.Point) int {
	if c := cmp.Compare(a.X, b.X); c != 0 {
		return c
	}
	return cmp.Compare(a.Y, b.Y)
}

// curveOrder numbers places so that near numbers are near places: the bits of
// both coordinates in turn, over the box of the layer.
func curveOrder(p geom.Point, box geom.Box) uint64 {
	s := box.Size()
	side := max(s.X, s.Y)
	if !(side > 0) {
		return 0
	}
	spread := func(v float64) uint64 {
		x := uint64(v / side * (1<<31 - 1))
		x = (x | x<<16) & 0x0000FFFF0000FFFF
		x = (x | x<<8) & 0x00FF00FF00FF00FF
		x = (x | x<<4) & 0x0F0F0F0F0F0F0F0F
		x = (x | x<<2) & 0x3333333333333333
		return (x | x<<1) & 0x5555555555555555
	}
	return spread(p.X-box.Min.X) | spread(p.Y-box.Min.Y)<<1
}

// tellOpen says where chains stay open and where they branch.
func (w *layerWork) tellOpen() {
	b := w.b
	name := b.layers[w.layer].Name
	for i, c := range w.chains {
		if i == 50 {
			b.found.Add(diag.Finding{Code: "outline-open", Severity: diag.Warn, Subject: b.name,
				Message: fmt.Sprintf("%d more chains on layer %s are open", len(w.chains)-i, name),
				At:      []diag.Place{{Layer: name}}})
			break
		}
		if c.Branched {
			continue
		}
		a, e := c.Chain[0], c.Chain[len(c.Chain)-1]
		b.found.Add(diag.Finding{Code: "outline-open", Severity: diag.Warn, Subject: b.name,
			Message: fmt.Sprintf("chain on layer %s is open: its ends are %s mm apart", name, short(c.Gap)),
			At: []diag.Place{
				{Layer: name, Handle: c.Handle, Drawing: &[2]float64{a.X, a.Y}},
				{Layer: name, Drawing: &[2]float64{e.X, e.Y}},
			},
			Help: "close the outline in the drawing, or join with a wider tolerance if the gap is drawn by mistake",
		}.With(c.Gap, b.o.JoinTol, "mm"))
	}
	seen := map[int32]bool{}
	n := 0
	slices.SortStableFunc(w.branches, func(x, y branch) int {
		if lessPoint(x.at, y.at) {
			return -1
		} else if lessPoint(y.at, x.at) {
			return 1
		}
		return 0
	})
	for _, x := range w.branches {
		if seen[x.node] {
			continue
		}
		seen[x.node] = true
		if n++; n > 50 {
			continue
		}
		b.found.Add(diag.Finding{Code: "outline-branches", Severity: diag.Warn, Subject: b.name,
			Message: fmt.Sprintf("three or more ends meet at one place on layer %s, so nobody can say how the outline goes on", name),
			At:      []diag.Place{{Layer: name, Handle: handleText(x.handle), Drawing: &[2]float64{x.at.X, x.at.Y}}},
			Help:    "delete or trim what does not belong to the outline"})
	}
	b.d.Join.Branches += n
	if n > 50 {
		b.found.Add(diag.Finding{Code: "outline-branches", Severity: diag.Warn, Subject: b.name,
			Message: fmt.Sprintf("outlines branch at %d more places on layer %s", n-50, name), At: []diag.Place{{Layer: name}}})
	}
}

// tellTrimmed says where loose pieces that lie on their neighbour were cut back or
// left out: joining goes on from there, so whoever cuts the layer shall see the place.
func (w *layerWork) tellTrimmed() {
	if len(w.trimmed) == 0 {
		return
	}
	name := w.b.layers[w.layer].Name
	slices.SortFunc(w.trimmed, func(x, y trimmed) int {
		if c := comparePoints(x.at, y.at); c != 0 {
			return c
		}
		return cmp.Compare(x.length, y.length)
	})
	f := diag.Finding{Code: "drawn-over", Severity: diag.Warn, Subject: w.b.name,
		Help: "look at these places, or trim the ends in the drawing"}
	longest := 0.0
	for i, x := range w.trimmed {
		longest = max(longest, x.length)
		if i < 50 {
			f.At = append(f.At, diag.Place{Layer: name, Handle: handleText(x.handle), Drawing: &[2]float64{x.at.X, x.at.Y}})
		}
	}
	f.Message = fmt.Sprintf("loose pieces lie on their neighbour at %d places on layer %s, the longest over %s mm, and are trimmed there",
		len(w.trimmed), name, shortest(longest))
	w.b.found.Add(f)
}

// tellJoining reports what joining did, once for the drawing.
func (b *builder) tellJoining() {
	r := &b.d.Join
	add := func(code string, sev diag.Severity, msg, help string) *diag.Finding {
		b.found.Add(diag.Finding{Code: code, Severity: sev, Subject: b.name, Message: msg, Help: help})
		return &b.found[len(b.found)-1]
	}
	if r.Gaps > 0 {
		f := add("gaps-closed", diag.Note, fmt.Sprintf("%d gaps closed, the widest %s mm", r.Gaps, shortest(r.WidestGap)), "")
		*f = f.With(r.WidestGap, b.o.JoinTol, "mm").On(r.WidestAt.X, r.WidestAt.Y)
	}
	if r.Duplicates > 0 {
		add("drawn-twice", diag.Note, fmt.Sprintf("%d pieces are drawn twice; one of each is read", r.Duplicates), "")
	}
	if r.Overlaps > 0 {
		add("drawn-over", diag.Note, fmt.Sprintf("%d pieces lie on another one and are trimmed", r.Overlaps), "")
	}
	if r.Zero+r.Tiny > 0 {
		add("pieces-dropped", diag.Note, fmt.Sprintf("%d pieces without length and %d shorter than %s mm are healed",
			r.Zero, r.Tiny, shortest(b.o.JoinTol)), "")
	}
}

func shortest(x float64) string { return fmt.Sprintf("%.3g", x) }
