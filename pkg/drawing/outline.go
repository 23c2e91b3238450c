package drawing

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// loop is a closed contour with where it comes from.
type loop struct {
	c       geom.Contour
	area    float64 // signed
	curve   int32   // first curve, for handle and line
	crosses bool
	key     geom.Point // least vertex: names the loop whatever the order of entities
}

// outline joins what was drawn into outlines and open chains, layer by layer.
func (b *builder) outline() {
	j := newJoiner(b)
	b.d.Join.Zero = b.tally.zero
	b.d.Join.Pieces = b.pieces.n
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
	for _, id := range order {
		b.outlineLayer(j, int32(id), byLayer[id])
	}
	j.tell()
}

// outlineLayer makes the outlines of one layer.
func (b *builder) outlineLayer(j *joiner, layer int32, curves []int32) {
	w := &layerWork{joiner: j, layer: layer}
	var loose []int32
	for _, k := range curves {
		if c := b.curves[k]; !c.closed {
			for p := c.first; p < c.first+c.n; p++ {
				loose = append(loose, p)
			}
		}
	}
	w.tidy(curves)
	for _, k := range curves {
		c := b.curves[k]
		switch {
		case w.dropped[k]:
		case c.closed:
			segs := make([]geom.Seg, 0, c.n)
			for p := c.first; p < c.first+c.n; p++ {
				segs = append(segs, j.seg(p))
			}
			w.close(segs, k)
		default:
			j.weld(c)
		}
	}
	var ends []int32
	for _, p := range loose {
		if j.gone[p] {
			continue
		}
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
	for _, s := range j.resolve(j.strands(loose)) {
		segs := j.segments(s, w.gapClosed)
		from := w.firstCurve(s)
		if s.closed {
			w.close(segs, from)
			continue
		}
		w.open(segs, from, s)
	}
	w.finish()
}

// layerWork gathers the loops and chains of one layer.
type layerWork struct {
	*joiner
	layer   int32
	loops   []loop
	chains  []OpenChain
	dropped map[int32]bool // closed curves that repeat another one
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
	segs, n := heal(segs, true, w.b.o.JoinTol)
	w.b.d.Join.Tiny += n
	c := geom.ContourOf(segs)
	area := c.Area()
	if len(c) < 2 || math.Abs(area) < w.b.o.JoinTol*w.b.o.JoinTol {
		w.flat(segs, from)
		return
	}
	w.loops = append(w.loops, loop{c: c, area: area, curve: from})
}

// flat remarks on a closed chain that holds no area: a line there and back, a
// figure eight, or something smaller than the tolerance.
func (w *layerWork) flat(segs []geom.Seg, from int32) {
	if len(segs) == 0 {
		return
	}
	k := w.b.curves[from]
	if len(segs) > 3 { // perhaps a figure eight: keep it, the crossing is found
		w.loops = append(w.loops, loop{c: geom.ContourOf(segs), curve: from})
		return
	}
	h := w.b.newHead()
	h.layer, h.handle = k.layer, k.handle
	at := segs[0].A.Mul(1 / w.b.scale)
	w.b.remark("outline-without-area", diag.Warn, h, "outline", int(k.line), &at,
		"closes on itself without holding any area and is not read", "delete it")
}

func (w *layerWork) open(segs []geom.Seg, from int32, s strand) {
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
	w.chains = append(w.chains, OpenChain{
		Layer: w.b.layers[w.layer].Name, Handle: handleText(k.handle), Line: int(k.line), Chain: ch,
		Gap: ch[0].Dist(ch[len(ch)-1].Point), Branched: s.a >= 0 || s.b >= 0,
	})
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
	return append(c[least:len(c):len(c)], c[:least]...)
}

// finish nests the loops and puts everything in its order.
func (w *layerWork) finish() {
	b := w.b
	for i := range w.loops {
		l := &w.loops[i]
		l.c = canonical(l.c)
		l.area = math.Abs(l.area)
		l.key = l.c[0].Point
	}
	slices.SortStableFunc(w.loops, func(x, y loop) int {
		switch {
		case x.area > y.area:
			return -1
		case x.area < y.area:
			return 1
		case lessPoint(x.key, y.key):
			return -1
		case lessPoint(y.key, x.key):
			return 1
		}
		return 0
	})
	w.crossings()
	name := b.layers[w.layer].Name
	parent, depth := nest(w.loops)
	at := make([]int, len(w.loops))
	for i, l := range w.loops {
		k := b.curves[l.curve]
		if depth[i]%2 == 1 {
			o := &b.d.Outlines[at[parent[i]]]
			o.Region.Holes = append(o.Region.Holes, l.c.Reverse())
			o.Crosses = o.Crosses || l.crosses
			continue
		}
		at[i] = len(b.d.Outlines)
		b.d.Outlines = append(b.d.Outlines, Outline{Layer: name, Handle: handleText(k.handle), Line: int(k.line),
			Region: geom.Region{Outer: l.c}, Depth: depth[i] / 2, Crosses: l.crosses})
		b.layers[w.layer].Outlines++
	}
	slices.SortStableFunc(w.chains, func(x, y OpenChain) int {
		a, c := x.Chain[0].Point, y.Chain[0].Point
		e, f := x.Chain[len(x.Chain)-1].Point, y.Chain[len(y.Chain)-1].Point
		switch {
		case lessPoint(a, c), a == c && lessPoint(e, f):
			return -1
		case a == c && e == f:
			return 0
		}
		return 1
	})
	b.layers[w.layer].Open += len(w.chains)
	b.d.Open = append(b.d.Open, w.chains...)
	w.tellOpen()
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
	seen := map[geom.Point]bool{}
	n := 0
	for _, c := range w.chains {
		if !c.Branched {
			continue
		}
		for _, p := range []geom.Point{c.Chain[0].Point, c.Chain[len(c.Chain)-1].Point} {
			key := geom.Pt(math.Round(p.X*1e3), math.Round(p.Y*1e3))
			if seen[key] || !w.isNode(p) {
				continue
			}
			seen[key] = true
			if n++; n > 50 {
				continue
			}
			b.found.Add(diag.Finding{Code: "outline-branches", Severity: diag.Warn, Subject: b.name,
				Message: fmt.Sprintf("three or more ends meet at one place on layer %s, so nobody can say how the outline goes on", name),
				At:      []diag.Place{{Layer: name, Handle: c.Handle, Drawing: &[2]float64{p.X, p.Y}}},
				Help:    "delete or trim what does not belong to the outline"})
		}
	}
	b.d.Join.Branches += n
	if n > 50 {
		b.found.Add(diag.Finding{Code: "outline-branches", Severity: diag.Warn, Subject: b.name,
			Message: fmt.Sprintf("outlines branch at %d more places on layer %s", n-50, name), At: []diag.Place{{Layer: name}}})
	}
}

// isNode tells whether a branch lies at p.
func (w *layerWork) isNode(p geom.Point) bool {
	for _, q := range w.nodes {
		if p.Dist(q) <= w.b.o.JoinTol {
			return true
		}
	}
	return false
}

// tell reports what joining did, once for the drawing.
func (j *joiner) tell() {
	b, r := j.b, &j.b.d.Join
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
