package rs274

import "bytes"

// Twins carries one program out twice, line by line, as two machines would that
// differ only in what the text does not say (a and b), and calls f with each pair
// of moves. It keeps no moves. It reports false when f does, when one of the two
// makes another number of moves on a line, or when b breaks a rule that stops
// reading; true when the end is reached, or a line after which both stand alike
// and nothing that follows could tell them apart. first is the replay under a: it
// tells whether offsets are used anywhere.
func Twins(name string, src []byte, a, b Options, first *Replay, f func(i int, m, n *Move) bool) bool {
	plain := bytes.IndexByte(src, '#') < 0 // no parameter is read
	for i := range first.Events {
		plain = plain && first.Events[i].Kind != OffsetSet
	}
	x, y := newReader(name, src, a), newReader(name, src, b)
	y.params[5220] = float64(y.state.System) + 0.5 // which a program may read only once it has said G54
	seen, faults, ok := 0, 0, true
	check := func() bool {
		m, n := x.out.Moves, y.out.Moves
		for _, w := range y.faults[faults:] {
			ok = ok && !w.Blocks()
		}
		faults = len(y.faults)
		ok = ok && len(m) == len(n)
		for i := 0; ok && i < len(m); i++ {
			ok = f(seen+i, &m[i], &n[i])
		}
		seen += len(m)
		x.forget()
		y.forget()
		return ok && !(plain && x.alike(y))
	}
	// The one that is stepped calls back after each line; the other follows.
	y.begin()
	x.begin()
	for x.more() {
		x.step()
		if !y.more() {
			return false
		}
		y.step()
		if !check() {
			return ok
		}
	}
	return ok
}

// forget drops what was made so far, apart from the state in force.
func (r *reader) forget() {
	r.out.Moves, r.out.Events = r.out.Moves[:0], r.out.Events[:0]
	if n := len(r.out.States); n > 1 {
		r.out.States = append(r.out.States[:0], r.out.States[n-1])
	}
}

// alike tells whether two readers of one text stand at the same place in the same
// state, offsets and parameters apart.
func (r *reader) alike(o *reader) bool {
	return r.cur == o.cur && r.mode == o.mode && r.plane == o.plane && r.inverse == o.inverse && r.feed == o.feed &&
		r.retract == o.retract && r.cycle == o.cycle && r.comp == o.comp && r.state == o.state && r.unit == o.unit &&
		r.length == o.length && r.probed == o.probed && r.halted == o.halted
}
