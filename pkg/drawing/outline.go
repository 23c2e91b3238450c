package drawing

import (
	"runtime"
	"slices"

	"sparclear/pkg/geom"
)

// outline joins what was drawn into outlines and open chains, layer by layer.
func (b *builder) outline() {
	large := b.pieces.n > 1<<18
	j, spans := b.arrange()
	b.sweepUp(large)
	b.d.Join.Zero = b.tally.zero
	b.d.Join.Pieces = len(j.segs)
	for i := range j.segs {
		b.d.Join.Drawn += j.segs[i].Length()
	}
	works := make([]*layerWork, 0, len(spans))
	for _, s := range spans {
		works = append(works, b.outlineLayer(j, s))
	}
	for _, w := range works { // the loops hold all there is from here on
		w.joiner = nil
	}
	j = nil
	b.sweepUp(large)
	b.extent = geom.EmptyBox()
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

// layerWork gathers the loops and chains of one layer.
type layerWork struct {
	*joiner
	b        *builder
	layer    int32
	loops    []loop
	kept     vertexStore // vertices of loops that do not stand in the tree
	tree     *edgeTree   // of the loops, nil when loops have come since
	chains   []OpenChain
	branches []branch
	trimmed  []trimmed
	strung   []geom.Seg   // used again for each strand
	contour  geom.Contour // used again for each loop
}

// branch is a place where three or more ends meet.
type branch struct {
	node   int32
	at     geom.Point
	handle uint64
}

// outlineLayer makes the outlines of one layer: what is drawn twice goes, ends
// that meet are tied, and what stays open is looked at once more for pieces
// that lie on others.
func (b *builder) outlineLayer(j *joiner, s span) *layerWork {
	w := &layerWork{joiner: j, b: b, layer: s.layer}
	first, last := j.curves[s.from], j.curves[s.to-1]
	from, to := first.first, last.first+last.n
	w.duplicates(from, to)
	loose := make([]int32, 0, to-from)
	for k := s.from; k < s.to; k++ {
		c := j.curves[k]
		if c.closed {
			w.close(j.segs[c.first:c.first+c.n], k)
			continue
		}
		for p := c.first; p < c.first+c.n; p++ {
			if !j.gone[p] {
				loose = append(loose, p)
			}
		}
	}
	var left []int32
	strands := w.joined(loose)
	for _, s := range strands {
		for _, st := range s.steps {
			left = append(left, st.piece())
		}
	}
	if w.overlaps(left) {
		left = slices.DeleteFunc(left, func(p int32) bool {
			j.done[p], j.mate[2*p], j.mate[2*p+1] = false, free, free
			return j.gone[p]
		})
		slices.Sort(left)
		strands = w.joined(left)
	}
	for _, s := range strands {
		w.strand(s, w.open)
	}
	w.strung, w.contour = nil, nil
	return w
}

// joined ties the ends of the pieces, keeps the loops that come of it and
// returns the strands that stay open.
func (w *layerWork) joined(loose []int32) []strand {
	j := w.joiner
	for i, p := range loose {
		if i > 0 && loose[i-1] == p-1 && j.owner[p-1] == j.owner[p] {
			j.weld(p-1, p)
		}
	}
	ends := make([]int32, 0, 2*len(loose))
	for _, p := range loose {
		for _, e := range [2]int32{2 * p, 2*p + 1} {
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
	around := func(s strand) { w.strand(s, func(segs []geom.Seg, from int32, _ strand) { w.close(segs, from) }) }
	return slices.DeleteFunc(j.resolve(j.strands(loose, around)), func(s strand) bool {
		if s.closed {
			around(s)
		}
		return s.closed
	})
}

// strand hands the pieces of a strand, end to end, and its first curve to f.
func (w *layerWork) strand(s strand, f func(segs []geom.Seg, from int32, s strand)) {
	w.strung = w.segments(w.strung[:0], s, w.gapClosed)
	f(w.strung, w.firstCurve(s), s)
}

// firstCurve names a strand by its curve of least line, so that the order of
// joining does not matter.
func (w *layerWork) firstCurve(s strand) int32 {
	best := w.owner[s.from()>>1]
	for _, st := range s.steps {
		if k := w.owner[st.piece()]; w.curves[k].line < w.curves[best].line {
			best = k
		}
	}
	return best
}

// gapsKept is how many of the closed gaps are told one by one.
const gapsKept = 20

func (w *layerWork) gapClosed(at geom.Point, d float64) {
	r := &w.b.d.Join
	r.Gaps++
	wider := func(a, b Gap) bool { return a.Width > b.Width || a.Width == b.Width && lessPoint(a.At, b.At) }
	g := Gap{d, at}
	if n := len(r.Widest); n == gapsKept {
		if !wider(g, r.Widest[n-1]) {
			return
		}
		r.Widest[n-1] = g
	} else {
		r.Widest = append(r.Widest, g)
	}
	for i := len(r.Widest) - 1; i > 0 && wider(r.Widest[i], r.Widest[i-1]); i-- {
		r.Widest[i], r.Widest[i-1] = r.Widest[i-1], r.Widest[i]
	}
	r.WidestGap, r.WidestAt = r.Widest[0].Width, r.Widest[0].At
}
