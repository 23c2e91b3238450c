package proof

import (
	"math"

	"sparclear/pkg/geom"
	"sparclear/pkg/rs274"
)

// A tooth takes its thickest chip where it goes the way of the feed: straight
// ahead it is the feed per tooth, at an angle from there the cosine of it. Where a
// cutter only trims what is left beside a wall its front is free and the chip is
// thinner than the feed per tooth, so that it may be fed faster (closed form;
// h = fz·2·√(a(1−a)) with the share a of the diameter that is engaged gives the
// same).

// fronts is how many places of the front of a cutter are looked at to each side.
const fronts = 18

// share returns how much of the feed per tooth the thickest chip of a move is, 0
// to 1, from what the moves before it cleared at its depth: no more than the cosine
// of the least angle from the way ahead at which the front is in material. It looks
// at places a quarter of the radius apart, the first of them after skip mm, as far
// as it takes to tell whether the share is above enough, and returns what is left to
// skip of the next move and the number of places.
func (p *prover) share(prog, move int, skip, enough float64) (most, left float64, places int) {
	pr := p.progs[prog]
	m := &pr.replay.Moves[move]
	r := p.radiusOf(pr.toolOf(move))
	l := m.Length()
	if l == 0 {
		return 0, skip, 0
	}
	look := func(t, ahead float64) {
		q, next := m.At(t), m.At(t+ahead)
		d := geom.Pt(next[0]-q[0], next[1]-q[1]).Unit()
		if ahead < 0 {
			d = d.Mul(-1)
		}
		places++
		if d == (geom.Point{}) {
			most = 1
			return
		}
		most = math.Max(most, p.frontOf(prog, move, q, d, r, enough))
	}
	at := skip
	for ; at < l-1e-6 && most <= enough; at += r / 4 { // a way of rounding errors has no direction
		look(at/l, math.Min(0.01, 1-at/l))
	}
	if moves := pr.replay.Moves; move+1 == len(moves) || moves[move+1].Feed != m.Feed {
		look(1, -0.01) // where the fast way ends
	}
	return most, at - l, places
}

// frontOf looks at the front of a cutter at one place, from straight ahead to
// either side, as far as shares above enough go.
func (p *prover) frontOf(prog, move int, tip [3]float64, ahead geom.Point, r, enough float64) float64 {
	c := geom.Pt(tip[0], tip[1])
	for k := range fronts {
		if most := math.Cos(math.Max(0, float64(k)-1) * math.Pi / 2 / fronts); most <= enough {
			return most
		}
		s, cs := math.Sincos(float64(k) * math.Pi / 2 / fronts)
		for _, side := range [2]float64{1, -1} {
			q := c.Add(ahead.Mul(r * cs)).Add(ahead.Left().Mul(side * r * s))
			if !p.clearedBefore(prog, move, q, tip[2]) {
				// The place before this one was free: what lies between is not known.
				return math.Cos(math.Max(0, float64(k)-1) * math.Pi / 2 / fronts)
			}
		}
	}
	return math.Cos((fronts - 1) * math.Pi / 2 / fronts) // what lies beside it is not looked at
}

// clearedBefore tells whether a cutter passed over a place, no higher than z but
// for a little, before a move.
func (p *prover) clearedBefore(prog, move int, q geom.Point, z float64) bool {
	if s := p.areas.stock; s != nil && s.Dist(q) > 0 {
		return true
	}
	for k := prog; k >= 0; k-- {
		for _, t := range p.progs[k].trees {
			if (k < prog || t.base < move) && t.passed(p, q, z, len(t.level)-1, k, prog, move) {
				return true
			}
		}
	}
	return false
}

// passed searches the tree for a move that cleared a place.
func (t *moveTree) passed(p *prover, q geom.Point, z float64, level, k, prog, move int) bool {
	r := p.radiusOf(t.tool)
	const slack = 0.05 // mm, of depth
	var look func(level, i int) bool
	look = func(level, i int) bool {
		b := &t.level[level][i]
		if b.zlo > z+slack || b.xy.Dist(q) > r {
			return false
		}
		if level > 0 {
			for n := i * fanOut; n < min(len(t.level[level-1]), (i+1)*fanOut); n++ {
				if look(level-1, n) {
					return true
				}
			}
			return false
		}
		for n := i * leafMoves; n < min(len(t.moves), (i+1)*leafMoves); n++ {
			if k == prog && t.base+n >= move {
				return false
			}
			m := &t.moves[n]
			if m.Motion == rs274.Rapid || p.verdicts[k][t.base+n].cut < 0 {
				continue
			}
			if c := newCurve(m); c.passes(q, r, z+slack) {
				return true
			}
		}
		return false
	}
	for i := range t.level[level] {
		if look(level, i) {
			return true
		}
	}
	return false
}

// passes tells whether a cutter of radius r on the curve covers a place with its
// tip no higher than z.
func (c *curve) passes(q geom.Point, r, z float64) bool {
	n := 4 * c.parts()
	for i := range n {
		pc := c.piece(float64(i)/float64(n), float64(i+1)/float64(n))
		if pc.zhi <= z && pc.seg.Dist(q)+pc.slack <= r {
			return true
		}
	}
	return false
}
