package geom

// leafSize is the number of curves in a leaf of a tree.
const leafSize = 6

// tree is a tree of boxes over curves in the order given. Neighbours on a
// contour are neighbours in the plane, so no sorting is needed; the caller puts
// contours near each other next to each other. Level 0 holds the leaves, each
// higher level half as many nodes, the top one.
type tree struct {
	cs    []curve
	ebox  []Box
	box   []Box
	start []int32 // of each level in box
	count []int32
}

func newTree(cs []curve, grow float64) tree {
	t := tree{cs: cs, ebox: make([]Box, len(cs))}
	for i := range cs {
		t.ebox[i] = cs[i].bounds()
		if grow > 0 {
			t.ebox[i] = t.ebox[i].Grow(grow)
		}
	}
	n := (len(cs) + leafSize - 1) / leafSize
	total := 0
	for m := n; ; m = (m + 1) / 2 {
		t.start = append(t.start, int32(total))
		t.count = append(t.count, int32(m))
		total += m
		if m <= 1 {
			break
		}
	}
	t.box = make([]Box, total)
	for k := range n {
		lo, hi := t.leaf(int32(k))
		b := t.ebox[lo]
		for _, e := range t.ebox[lo+1 : hi] {
			b = b.join(e)
		}
		t.box[k] = b
	}
	for l := 1; l < len(t.start); l++ {
		at, below := t.start[l], t.start[l-1]
		for k := range t.count[l] {
			b := t.box[below+2*k]
			if 2*k+1 < t.count[l-1] {
				b = b.join(t.box[below+2*k+1])
			}
			t.box[at+k] = b
		}
	}
	return t
}

// join is Union for boxes that are not empty.
func (b Box) join(c Box) Box {
	if c.Min.X < b.Min.X {
		b.Min.X = c.Min.X
	}
	if c.Min.Y < b.Min.Y {
		b.Min.Y = c.Min.Y
	}
	if c.Max.X > b.Max.X {
		b.Max.X = c.Max.X
	}
	if c.Max.Y > b.Max.Y {
		b.Max.Y = c.Max.Y
	}
	return b
}

// dist2 is the squared distance from the box, 0 inside.
func (b *Box) dist2(p Point) float64 {
	dx, dy := 0.0, 0.0
	if p.X < b.Min.X {
		dx = b.Min.X - p.X
	} else if p.X > b.Max.X {
		dx = p.X - b.Max.X
	}
	if p.Y < b.Min.Y {
		dy = b.Min.Y - p.Y
	} else if p.Y > b.Max.Y {
		dy = p.Y - b.Max.Y
	}
	return float64(dx*dx) + float64(dy*dy)
}

func (t *tree) leaf(k int32) (lo, hi int32) {
	lo = k * leafSize
	return lo, min(lo+leafSize, int32(len(t.cs)))
}

func (t *tree) top() int32 { return int32(len(t.start)) - 1 }

// pairs calls f once for every two curves whose boxes overlap, i < j.
func (t *tree) pairs(f func(i, j int32)) {
	if len(t.cs) > 0 {
		t.within(t.top(), 0, f)
	}
}

func (t *tree) within(l, k int32, f func(i, j int32)) {
	if l == 0 {
		lo, hi := t.leaf(k)
		for i := lo; i < hi; i++ {
			for j := i + 1; j < hi; j++ {
				if t.ebox[i].Overlaps(t.ebox[j]) {
					f(i, j)
				}
			}
		}
		return
	}
	t.within(l-1, 2*k, f)
	if 2*k+1 < t.count[l-1] {
		t.within(l-1, 2*k+1, f)
		t.between(l-1, 2*k, 2*k+1, f)
	}
}

func (t *tree) between(l, a, b int32, f func(i, j int32)) {
	if !t.box[t.start[l]+a].Overlaps(t.box[t.start[l]+b]) {
		return
	}
	if l == 0 {
		lo, hi := t.leaf(a)
		lo2, hi2 := t.leaf(b)
		bb := &t.box[b]
		for i := lo; i < hi; i++ {
			e := &t.ebox[i]
			if !e.Overlaps(*bb) {
				continue
			}
			for j := lo2; j < hi2; j++ {
				if e.Overlaps(t.ebox[j]) {
					f(i, j)
				}
			}
		}
		return
	}
	n := t.count[l-1]
	for i := 2 * a; i < min(2*a+2, n); i++ {
		for j := 2 * b; j < min(2*b+2, n); j++ {
			t.between(l-1, i, j, f)
		}
	}
}

// each calls f for every curve whose box overlaps b until f returns false.
func (t *tree) each(b Box, f func(i int32) bool) {
	if len(t.cs) > 0 {
		t.eachBelow(t.top(), 0, b, f)
	}
}

func (t *tree) eachBelow(l, k int32, b Box, f func(i int32) bool) bool {
	if !t.box[t.start[l]+k].Overlaps(b) {
		return true
	}
	if l == 0 {
		lo, hi := t.leaf(k)
		for i := lo; i < hi; i++ {
			if t.ebox[i].Overlaps(b) && !f(i) {
				return false
			}
		}
		return true
	}
	if !t.eachBelow(l-1, 2*k, b, f) {
		return false
	}
	return 2*k+1 >= t.count[l-1] || t.eachBelow(l-1, 2*k+1, b, f)
}
