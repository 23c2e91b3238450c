package drawing

import (
	"math"
	"sort"

	"sparclear/pkg/geom"
)

// arrange puts the curves of each layer side by side, neighbours in the plane
// near each other in memory, whatever the order in the file: joining and
// nesting then walk through memory instead of jumping about in it, which in a
// drawing of a million lines is most of their time. It returns the layers that
// hold anything, by name, with their curves.
func (b *builder) arrange() (*joiner, []span) {
	rank := make([]uint64, len(b.layers))
	order := make([]int32, len(b.layers))
	for i := range order {
		order[i] = int32(i)
	}
	sort.Slice(order, func(i, k int) bool { return b.layers[order[i]].Name < b.layers[order[k]].Name })
	for r, id := range order {
		rank[id] = uint64(r)
	}
	box := geom.EmptyBox()
	reach := 0.0
	for k := range b.curves.n {
		c := b.curves.at(k)
		for p := c.first; p < c.first+c.n; p++ {
			box = box.Extend(b.pieces.at(int(p)).A)
		}
	}
	if !box.Empty() {
		reach = max(math.Abs(box.Min.X), math.Abs(box.Min.Y), math.Abs(box.Max.X), math.Abs(box.Max.Y))
	}
	keys := make([]numbered, 0, b.curves.n)
	pieces := 0
	for k := range b.curves.n {
		c := b.curves.at(k)
		if c.n == 0 { // hidden
			continue
		}
		pieces += int(c.n)
		place := curveOrder(b.pieces.at(int(c.first)).A, box) >> (62 - placeBits)
		keys = append(keys, numbered{rank[c.layer]<<placeBits | place, int32(k)})
	}
	sortNumbered(keys)
	j := &joiner{b: b, segs: make([]geom.Seg, 0, pieces), owner: make([]int32, 0, pieces), curves: make([]curve, 0, len(keys)),
		gone: make([]bool, pieces), done: make([]bool, pieces), node: map[int32]int32{}}
	var spans []span
	for _, key := range keys {
		c := *b.curves.at(int(key.at))
		first := c.first
		c.first = int32(len(j.segs))
		for p := first; p < first+c.n; p++ {
			s := *b.pieces.at(int(p))
			reach = max(reach, math.Abs(s.B.X), math.Abs(s.B.Y))
			j.segs = append(j.segs, s)
			j.owner = append(j.owner, int32(len(j.curves)))
		}
		if n := len(spans); n == 0 || spans[n-1].layer != c.layer {
			spans = append(spans, span{layer: c.layer, from: int32(len(j.curves))})
		}
		j.curves = append(j.curves, c)
		spans[len(spans)-1].to = int32(len(j.curves))
	}
	b.pieces, b.curves = growing[geom.Seg]{}, growing[curve]{}
	j.same = max(sameEnd, reach*1e-14)
	j.mate = make([]int32, 2*pieces)
	for e := range j.mate {
		j.mate[e] = free
	}
	return j, spans
}

// placeBits is how finely places are told apart when curves are arranged: two
// bytes and a half for a million curves keep a few in each cell.
const placeBits = 22

// span is the curves from..to-1 of one layer.
type span struct{ layer, from, to int32 }

// curveOrder numbers places so that near numbers are near places: the bits of
// both coordinates in turn, over the box given.
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
