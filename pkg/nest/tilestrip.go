package nest

import "math"

// Places tried at most for a strip without waste, and the share of the budget.
const (
	stripPlaces = 200_000
	stripShare  = 50
)

// tile lays all items on a strip of the least length that could hold them, without
// waste; false when it does not work out.
func (t *strip) tile(length, height float64) bool {
	if len(t.items) > mostGuided {
		return false
	}
	k := newTiling(t.cat, t.items, 0, length, height, 1)
	if k == nil {
		return false
	}
	most := stripPlaces
	if t.budget > 0 {
		most = int(min(stripPlaces, t.budget/stripShare))
	}
	ok, tried := k.run(t.seed, most, func() bool { return t.done() >= 1 })
	t.tried += int64(tried)
	if !ok {
		return false
	}
	spare := map[int][]int{}
	for i, it := range t.items {
		spare[it.part] = append(spare[it.part], i)
	}
	b := &t.bins[t.last]
	high := b.y1 - b.y0 - height
	b.x1 = b.x0 + length + high
	for i, m := range spread(k.done, k.tol, high, high) {
		l := k.done[i]
		at := l.at.Add(m)
		c := place{x: b.x0 + math.Max(l.t.hw, at.X), y: b.y0 + at.Y, v: l.t.v, bin: int32(t.last)}
		t.clamp(&c)
		j := spare[l.t.part][0]
		spare[l.t.part] = spare[l.t.part][1:]
		t.cur.set(t.problem, j, c)
	}
	_, sum := t.overlaps(t.cur, nil)
	return sum == 0
}
