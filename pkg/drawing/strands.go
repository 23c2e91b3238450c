package drawing

import (
	"math"

	"sparclear/pkg/geom"
)

// step is a piece in the sense in which a strand runs through it, numbered like
// the end at which the strand comes in.
type step int32

func (s step) piece() int32 { return int32(s) >> 1 }

func (s step) from() int32 { return int32(s) }

func (s step) to() int32 { return int32(s) ^ 1 }

// strand is a run of pieces from a free end or branch to the next, or around.
type strand struct {
	steps  []step
	closed bool
	a, b   int32 // branch node at either end, -1 for a free end
}

// strands follows the ties of the loose pieces given. It hands the strands that
// close to around, which must not keep them, and returns the others.
func (j *joiner) strands(pieces []int32, around func(strand)) []strand {
	var out []strand
	row := make([]step, 0, 1024) // where the steps of the strands stand, as long as there is room
	for _, p := range pieces {
		if j.done[p] || j.gone[p] {
			continue
		}
		// Walk back to where the strand begins.
		first := step(2 * p)
		cur, closed := first, false
		for {
			m := j.mate[cur.from()]
			if m < 0 {
				break
			}
			cur = step(m ^ 1)
			if cur == first {
				closed = true
				break
			}
		}
		start, begin := cur, len(row)
		for {
			row = append(row, cur)
			j.done[cur.piece()] = true
			m := j.mate[cur.to()]
			if m < 0 || step(m) == start {
				break
			}
			cur = step(m)
		}
		steps := row[begin:len(row):len(row)]
		if closed {
			around(strand{steps, true, -1, -1})
			row = row[:begin]
			continue
		}
		out = append(out, strand{steps, false, j.nodeAt(steps[0].from()), j.nodeAt(steps[len(steps)-1].to())})
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
		r.steps[len(s.steps)-1-i] = step(st.to())
	}
	return r
}

// resolve settles branches where there is only one way to go on: a strand that
// comes back to the place it left is an outline of its own; two strands that
// are left over at a place continue each other. A place may be wider than the
// tolerance, since ends near each other's neighbours share it: ends that lie
// further apart than that are never tied.
func (j *joiner) resolve(in []strand) []strand {
	out := make([]strand, 0, len(in))
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

// segments appends the pieces of a strand end to end: where two ends do not
// coincide both go to the middle. report is told of every gap.
func (j *joiner) segments(segs []geom.Seg, s strand, report func(at geom.Point, gap float64)) []geom.Seg {
	n := len(s.steps)
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
	from, end := j.end(s.from()), j.end(s.to())
	if s.closed {
		from = joint(s.to(), s.from())
		end = from
	}
	for i, st := range s.steps {
		to := end
		if i+1 < n {
			to = joint(st.to(), s.steps[i+1].from())
		}
		g := j.segs[st.piece()]
		if st&1 != 0 {
			g = g.Reverse()
		}
		segs = appendMoved(segs, g, from, to)
		from = to
	}
	return segs
}

// appendMoved appends g with its ends put to a and b, a hair away. The bulge
// stays: a turn of at most half a circle is then turned and scaled about its
// other end, so no point moves further than the end does. A larger turn is split
// first.
func appendMoved(segs []geom.Seg, g geom.Seg, a, b geom.Point) []geom.Seg {
	if g.A == a && g.B == b || math.Abs(g.Bulge) <= 1 {
		return append(segs, geom.Seg{A: a, B: b, Bulge: g.Bulge})
	}
	half := math.Tan(math.Atan(g.Bulge) / 2)
	m := g.Mid()
	return append(segs, geom.Seg{A: a, B: m, Bulge: half}, geom.Seg{A: m, B: b, Bulge: half})
}

// heal drops vertices nearer than tol to the last one that was kept, and
// returns the chain end to end with how many were dropped. A run of tiny steps
// is thinned, never collapsed: no vertex moves further than tol.
func heal(segs []geom.Seg, closed bool, tol float64) ([]geom.Seg, int) {
	if !hasTiny(segs, tol) {
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
	for out[n-1].B != end {
		last := out[n-1]
		// The last one may become tiny in turn; its neighbour takes its place then.
		if m := appendMoved(nil, last, last.A, end); n == 1 || m[0].Length() >= tol {
			out = append(out[:n-1], m...)
			break
		}
		n--
		out = out[:n]
		dropped++
	}
	return out, dropped
}

// hasTiny tells whether a piece is shorter than tol.
func hasTiny(segs []geom.Seg, tol float64) bool {
	for _, s := range segs {
		if d := s.B.Sub(s.A); d.Dot(d) < tol*tol && s.Length() < tol {
			return true
		}
	}
	return false
}

// withStart returns s begun at a; the first half of a large arc goes to out.
func withStart(s geom.Seg, a geom.Point, out *[]geom.Seg) geom.Seg {
	m := appendMoved(nil, s, a, s.B)
	if len(m) == 2 {
		*out = append(*out, m[0])
	}
	return m[len(m)-1]
}
