package drawing

import (
	"fmt"
	"slices"
	"strconv"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// finish nests the loops and puts everything in its order.
func (w *layerWork) finish() {
	b := w.b
	w.dropRepeated()
	n := newNesting(w.loops, w.edges())
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
		w.tellTangled()
	}
	if slices.Contains(twin, true) {
		kept := w.loops[:0]
		for i, l := range w.loops {
			if twin[i] {
				b.d.Join.Duplicates++
				continue
			}
			kept = append(kept, l)
		}
		w.loops, w.tree = kept, nil
		n = newNesting(w.loops, w.edges())
	}
	if tangled {
		n.leave() // refused: looking through the heap for what lies in what takes seconds
	} else {
		n.settle()
	}
	w.keepOutlines(n, crossed)
	w.loops, w.tree = nil, nil
	slices.SortStableFunc(w.chains, func(x, y OpenChain) int {
		if c := comparePoints(x.Chain[0].Point, y.Chain[0].Point); c != 0 {
			return c
		}
		return comparePoints(x.Chain[len(x.Chain)-1].Point, y.Chain[len(y.Chain)-1].Point)
	})
	b.layers[w.layer].Open += len(w.chains)
	b.d.Open = append(b.d.Open, w.chains...)
	w.tellOpen()
	w.tellTrimmed()
}

// dropRepeated drops loops that repeat the one before vertex for vertex: lined
// up, they stand side by side. Looking at each against each would take for ever
// where a thousand copies lie in one place.
func (w *layerWork) dropRepeated() {
	w.edges()
	n := len(w.loops)
	w.loops = slices.CompactFunc(w.loops, func(x, y loop) bool { return slices.Equal(x.c, y.c) })
	if dropped := n - len(w.loops); dropped > 0 {
		w.b.d.Join.Duplicates += dropped
		w.tree = nil
	}
}

// keepOutlines makes outlines of the nested loops, the largest first.
func (w *layerWork) keepOutlines(n *nesting, crossed []geom.Point) {
	b := w.b
	name := b.layers[w.layer].Name
	depth := n.depths()
	var outers []numbered
	holes := make([]int32, len(w.loops)) // of an outer loop
	total := 0
	for i := range w.loops {
		if depth[i]%2 == 0 {
			outers = append(outers, numbered{descending(w.loops[i].area), int32(i)})
			b.extent = joined(b.extent, n.box[i])
		} else {
			holes[n.parent[i]]++
			total++
		}
	}
	sortBy(outers,
		func(at int32) uint64 { return ascending(w.loops[at].c[0].X) },
		func(at int32) uint64 { return ascending(w.loops[at].c[0].Y) })
	first := len(b.d.Outlines)
	outer := make([]int32, len(w.loops))
	room := make([]geom.Contour, total)
	handles := w.handles(outers)
	b.d.Outlines = slices.Grow(b.d.Outlines, len(outers))
	for i, k := range outers {
		l := &w.loops[k.at]
		outer[k.at] = int32(len(b.d.Outlines))
		o := Outline{Layer: name, Handle: handles[i], Line: int(l.line), Region: geom.Region{Outer: l.c}}
		if h := holes[k.at]; h > 0 {
			o.Region.Holes, room = room[:0:h], room[h:]
		}
		b.d.Outlines = append(b.d.Outlines, o)
	}
	for i := range w.loops {
		if depth[i]%2 == 1 {
			c := w.loops[i].c
			reverse(c)
			g := &b.d.Outlines[outer[n.parent[i]]].Region
			g.Holes = append(g.Holes, c)
		}
	}
	for i := first; i < len(b.d.Outlines); i++ {
		o := &b.d.Outlines[i]
		slices.SortFunc(o.Region.Holes, func(x, y geom.Contour) int { return comparePoints(x[0].Point, y[0].Point) })
		for _, p := range crossed {
			o.Crosses = o.Crosses || o.Region.Dist(p) < 1e-4
		}
	}
	b.layers[w.layer].Outlines += len(b.d.Outlines) - first
}

// handles spells the handles of loops, all in one string, so that a drawing of
// a million outlines does not hold a million little ones.
func (w *layerWork) handles(loops []numbered) []string {
	var all []byte
	ends := make([]int, len(loops))
	for i, k := range loops {
		if h := w.loops[k.at].handle; h != 0 {
			from := len(all)
			all = strconv.AppendUint(all, h, 16)
			upper(all[from:])
		}
		ends[i] = len(all)
	}
	text := string(all)
	out := make([]string, len(loops))
	from := 0
	for i, to := range ends {
		out[i], from = text[from:to], to
	}
	return out
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
