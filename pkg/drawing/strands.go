package drawing

import (
	"math"

	"sparclear/pkg/geom"
)

// step is a piece in the sense in which a strand runs through it.
type step struct {
	piece int32
	back  bool
}

func (s step) from() int32 {
	if s.back {
		return 2*s.piece + 1
	}
	return 2 * s.piece
}

func (s step) to() int32 { return s.from() ^ 1 }

// strand is a run of pieces from a free end or branch to the next, or around.
type strand struct {
	steps  []step
	closed bool
	a, b   int32 // branch node at either end, -1 for a free end
}

// strands follows the ties of the loose pieces given.
func (j *joiner) strands(pieces []int32) []strand {
	var out []strand
	for _, p := range pieces {
		if j.done[p] || j.gone[p] {
			continue
		}
		// Walk back to where the strand begins.
		cur := step{p, false}
		first := cur
		around := false
		for {
			m := j.mate[cur.from()]
			if m < 0 {
				break
			}
			cur = step{m >> 1, m&1 == 0}
			if cur == first {
				around = true
				break
			}
		}
		s := strand{closed: around, a: -1, b: -1}
		start := cur
		for {
			s.steps = append(s.steps, cur)
			j.done[cur.piece] = true
			m := j.mate[cur.to()]
			if m < 0 {
				break
			}
			cur = step{m >> 1, m&1 == 1}
			if cur == start {
				break
			}
		}
		if !around {
			s.a, s.b = j.nodeAt(s.steps[0].from()), j.nodeAt(s.steps[len(s.steps)-1].to())
		}
		out = append(out, s)
	}
	return out
}

func (j *joiner) nodeAt(e int32) int32 {
	if j.mate[e] != branched {
		return -1
	}
	return j.node[e]
}

func (s strand) from() int32 { return s.steps[0].from() }

func (s strand) to() int32 { return s.steps[len(s.steps)-1].to() }

// joinable tells whether two ends lie within the tolerance of each other.
func (j *joiner) joinable(e, f int32) bool {
	return j.end(e).Dist(j.end(f)) <= max(j.b.o.JoinTol, j.same)
}

// reversed returns the strand run the other way.
func (s strand) reversed() strand {
	r := strand{closed: s.closed, a: s.b, b: s.a, steps: make([]step, len(s.steps))}
	for i, st := range s.steps {
		r.steps[len(s.steps)-1-i] = step{st.piece, !st.back}
	}
	return r
}

// resolve settles branches where there is only one way to go on: a strand that
// comes back to the place it left is an outline of its own; two strands that
// are left over at a place continue each other. A place may be wider than the
// tolerance, since ends near each other's neighbours share it: ends that lie
// further apart than that are never tied.
func (j *joiner) resolve(in []strand) []strand {
	var out []strand
	degree := map[int32]int{}
	for i := range in {
		s := &in[i]
		if !s.closed && s.a >= 0 && s.a == s.b && len(s.steps) > 1 && j.joinable(s.to(), s.from()) {
			s.closed = true
		}
		if !s.closed {
			for _, n := range []int32{s.a, s.b} {
				if n >= 0 {
					degree[n]++
				}
			}
		}
	}
	at := map[int32]int{} // strand that waits at a node of degree 2
	for _, s := range in {
		for !s.closed {
			if n := s.a; n >= 0 && degree[n] == 2 {
				s = s.reversed()
			}
			n := s.b
			if n < 0 || degree[n] != 2 {
				break
			}
			k, ok := at[n]
			if !ok {
				break
			}
			delete(at, n)
			t := out[k]
			if t.a != n {
				t = t.reversed()
			}
			if !j.joinable(s.to(), t.from()) {
				break
			}
			out[k].steps = nil
			s = strand{steps: append(s.steps, t.steps...), a: s.a, b: t.b}
			for _, m := range []int32{s.a, s.b} { // the place is now inside
				if m >= 0 && at[m] == k {
					delete(at, m)
				}
			}
			if s.a == s.b && s.a >= 0 && j.joinable(s.to(), s.from()) {
				s.closed = true
			}
		}
		out = append(out, s)
		if !s.closed {
			for _, n := range []int32{s.a, s.b} {
				if n >= 0 && degree[n] == 2 {
					at[n] = len(out) - 1
				}
			}
		}
	}
	kept := out[:0]
	for _, s := range out {
		if len(s.steps) > 0 {
			kept = append(kept, s)
		}
	}
	return kept
}

// segments returns the pieces of a strand end to end: where two ends do not
// coincide both go to the middle. report is told of every gap.
func (j *joiner) segments(s strand, report func(at geom.Point, gap float64)) []geom.Seg {
	n := len(s.steps)
	segs := make([]geom.Seg, 0, n)
	joint := func(e, f int32) geom.Point {
		a, b := j.end(e), j.end(f)
		if a == b {
			return a
		}
		m := geom.Pt((a.X+b.X)/2, (a.Y+b.Y)/2)
		if d := a.Dist(b); d > j.same {
			report(m, d)
		}
		return m
	}
	joints := make([]geom.Point, n+1)
	for i := 0; i+1 < n; i++ {
		joints[i+1] = joint(s.steps[i].to(), s.steps[i+1].from())
	}
	first, last := s.steps[0].from(), s.steps[n-1].to()
	if s.closed {
		joints[0] = joint(last, first)
		joints[n] = joints[0]
	} else {
		joints[0], joints[n] = j.end(first), j.end(last)
	}
	for i, st := range s.steps {
		g := j.seg(st.piece)
		if st.back {
			g = g.Reverse()
		}
		segs = append(segs, moved(g, joints[i], joints[i+1])...)
	}
	return segs
}

// moved returns g with its ends put to a and b, a hair away. The bulge stays: a
// turn of at most half a circle is then turned and scaled about its other end,
// so no point moves further than the end does. A larger turn is split first.
func moved(g geom.Seg, a, b geom.Point) []geom.Seg {
	if g.A == a && g.B == b {
		return []geom.Seg{g}
	}
	if math.Abs(g.Bulge) <= 1 {
		return []geom.Seg{{A: a, B: b, Bulge: g.Bulge}}
	}
	half := math.Tan(math.Atan(g.Bulge) / 2)
	m := g.Mid()
	return []geom.Seg{{A: a, B: m, Bulge: half}, {A: m, B: b, Bulge: half}}
}

// heal drops vertices nearer than tol to the last one that was kept, and
// returns the chain end to end with how many were dropped. A run of tiny steps
// is thinned, never collapsed: no vertex moves further than tol.
func heal(segs []geom.Seg, closed bool, tol float64) ([]geom.Seg, int) {
	short := false
	for _, s := range segs {
		if s.A.Dist(s.B) < tol && s.Length() < tol {
			short = true
			break
		}
	}
	if !short {
		return segs, 0
	}
	var out []geom.Seg
	dropped := 0
	at := segs[0].A // where the next piece that is kept begins
	for _, s := range segs {
		if s.A != at {
			s = withStart(s, at, &out)
		}
		if s.Length() < tol {
			dropped++
			continue
		}
		out = append(out, s)
		at = s.B
	}
	n := len(out)
	if n == 0 {
		return nil, dropped
	}
	end := segs[len(segs)-1].B
	if closed {
		end = out[0].A
	}
	if out[n-1].B != end {
		last := out[n-1]
		out = append(out[:n-1], moved(last, last.A, end)...)
	}
	return out, dropped
}

// withStart returns s begun at a; the first half of a large arc goes to out.
func withStart(s geom.Seg, a geom.Point, out *[]geom.Seg) geom.Seg {
	m := moved(s, a, s.B)
	if len(m) == 2 {
		*out = append(*out, m[0])
	}
	return m[len(m)-1]
}
