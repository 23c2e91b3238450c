package proof

import (
	"math"

	"sparclear/pkg/geom"
	"sparclear/pkg/rs274"
	"sparclear/pkg/skin"
)

// moveTree is a tree of boxes over consecutive moves of one cutter.
type moveTree struct {
	moves []rs274.Move
	base  int // index of moves[0] in the replay
	tool  int // index into the proof's tools
	level [][]box3
	// deep bounds, for each box, how far below the local skin the tip runs in any
	// of its moves, mm; +Inf where a rapid or an arc across planes is among them.
	// Empty for a flat skin, where the heights of the boxes say as much.
	deep [][]float64
}

const (
	leafMoves = 8 // moves under one box: 8 to 10 bytes a move
	fanOut    = 4
)

// newMoveTree builds the tree.
func newMoveTree(moves []rs274.Move, base, tool int, heights skin.Model) *moveTree {
	t := &moveTree{moves: moves, base: base, tool: tool}
	if heights.Flat() {
		heights = nil
	}
	n := (len(moves) + leafMoves - 1) / leafMoves
	leaf := make([]box3, n)
	var deep []float64
	if heights != nil {
		deep = make([]float64, n)
	}
	for i := range leaf {
		part := moves[i*leafMoves : min(len(moves), (i+1)*leafMoves)]
		b := emptyBox3()
		for k := range part {
			b = b.union(boundsOf(&part[k]))
		}
		leaf[i] = b
		if heights != nil {
			deep[i] = deepestTip(part, b.xy, heights)
		}
	}
	t.level = append(t.level, leaf)
	t.deep = append(t.deep, deep)
	for len(leaf) > 1 {
		up := make([]box3, (len(leaf)+fanOut-1)/fanOut)
		var least []float64
		if heights != nil {
			least = make([]float64, len(up))
		}
		for i := range up {
			b, d := emptyBox3(), math.Inf(-1)
			for k := i * fanOut; k < min(len(leaf), (i+1)*fanOut); k++ {
				b = b.union(leaf[k])
				if heights != nil {
					d = max(d, deep[k])
				}
			}
			up[i] = b
			if heights != nil {
				least[i] = d
			}
		}
		t.level, t.deep = append(t.level, up), append(t.deep, least)
		leaf, deep = up, least
	}
	return t
}

// deepestTip bounds how far below the local skin the tip runs in any of the
// moves, all in the box: at both ends as it is, between them by the bend of the
// skin.
func deepestTip(moves []rs274.Move, box geom.Box, heights skin.Model) float64 {
	for k := range moves {
		if moves[k].Motion == rs274.Rapid || moves[k].Arc() && moves[k].Plane != rs274.XY {
			return math.Inf(1)
		}
	}
	bend := heights.Bend(box)
	deep := math.Inf(-1)
	var at [3]float64
	have, last := false, 0.0
	end := func(p [3]float64) float64 {
		if !have || p != at {
			at, have = p, true
			last = heights.Height(geom.Pt(p[0], p[1])) - p[2]
		}
		return last
	}
	for k := range moves {
		m := &moves[k]
		if !m.Arc() {
			dx, dy := m.To[0]-m.From[0], m.To[1]-m.From[1]
			sag := bend * (float64(dx*dx) + float64(dy*dy)) / 8
			deep = max(deep, end(m.From)+sag, end(m.To)+sag)
			continue
		}
		c := newCurve(m)
		n := 4 * c.parts()
		for i := range n {
			p := c.piece(float64(i)/float64(n), float64(i+1)/float64(n))
			slope, bent := heights.Slope(p.box.Grow(p.slack)), bend
			if r := p.seg.Radius(); r > 0 && !math.IsInf(r, 1) {
				bent += slope / r
			}
			more := stray(bent, p.seg.Length()) + float64(p.slack*(1+slope))
			deep = max(deep, end(c.at(float64(i)/float64(n)))+more, end(c.at(float64(i+1)/float64(n)))+more)
		}
	}
	if math.IsNaN(deep) {
		return math.Inf(1)
	}
	return deep
}

// within calls f with the index in the replay of each move whose box meets b, in
// order; moves beside them under one box are called as well.
func (t *moveTree) within(b geom.Box, f func(move int)) {
	t.visit(len(t.level)-1, 0, len(t.level[len(t.level)-1]), b, f)
}

func (t *moveTree) visit(level, lo, hi int, b geom.Box, f func(move int)) {
	for i := lo; i < hi; i++ {
		if !t.level[level][i].xy.Overlaps(b) {
			continue
		}
		if level > 0 {
			t.visit(level-1, i*fanOut, min(len(t.level[level-1]), (i+1)*fanOut), b, f)
			continue
		}
		for k := i * leafMoves; k < min(len(t.moves), (i+1)*leafMoves); k++ {
			f(t.base + k)
		}
	}
}
