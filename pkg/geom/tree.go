package geom

import "math"

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

// field answers distance and winding questions. A capsule beside each box (all
// below it lies within dev of the line P-Q) prunes slanted fine polylines, whose
// boxes are fat.
type field struct {
	tree
	caps []capsule
}

type capsule struct {
	curve         // the line
	dev   float64 // how far the contents leave it
	chain bool    // the contents are one chain, end to start
}

func newField(cs []curve) *field {
	f := &field{tree: newTree(cs, 0)}
	f.caps = make([]capsule, len(f.box))
	for k := range f.caps[:f.count0()] {
		lo, hi := f.leaf(int32(k))
		c := capsule{curve: lineCurve(cs[lo].A, cs[hi-1].B), chain: true}
		for i := lo; i < hi; i++ {
			c.dev = math.Max(c.dev, c.reach(&cs[i]))
			c.chain = c.chain && (i == lo || cs[i-1].B == cs[i].A)
		}
		f.caps[k] = c
	}
	for l := 1; l < len(f.start); l++ {
		at, below := f.start[l], f.start[l-1]
		for k := range f.count[l] {
			a := &f.caps[below+2*k]
			if 2*k+1 >= f.count[l-1] {
				f.caps[at+k] = *a
				continue
			}
			b := &f.caps[below+2*k+1]
			c := capsule{curve: lineCurve(a.A, b.B), chain: a.chain && b.chain && a.B == b.A}
			// the distance from a line is convex along another line
			c.dev = math.Max(c.dist(a.B)+a.dev, c.dist(b.A)+b.dev)
			f.caps[at+k] = c
		}
	}
	return f
}

func (t *tree) count0() int32 { return t.count[0] }

// reach bounds how far c leaves the line of the capsule.
func (k *capsule) reach(c *curve) float64 {
	d := math.Max(k.dist(c.A), k.dist(c.B))
	if c.R != 0 { // add the sagitta
		d += float64(c.L / 2 * math.Abs(c.bulge(c.A, c.B)))
	}
	return d
}

// closer looks for a part of the boundary nearer to p than lim and returns its
// distance, or lim when there is none. It returns at once when it finds one
// nearer than stop, so the result is the true distance only if it is at least
// stop. hint is a curve thought to be near, or -1.
func (f *field) closer(p Point, hint int32, lim, stop float64) float64 {
	d, _ := f.search(p, hint, lim, stop)
	return d
}

// search is closer that also names the curve found, -1 for none.
func (f *field) search(p Point, hint int32, lim, stop float64) (float64, int32) {
	s := seeker{p: p, best: lim, best2: lim * lim, stop2: stop * stop, at: -1}
	if stop <= 0 {
		s.stop2 = -1
	}
	if len(f.cs) == 0 || lim <= 0 {
		return lim, -1
	}
	if hint < 0 {
		f.descend(&s, f.top(), 0)
		return s.best, s.at
	}
	k := hint / leafSize
	f.scan(&s, k)
	for l := int32(0); l < f.top() && s.best2 >= s.stop2; l++ {
		if b := k ^ 1; b < f.count[l] {
			if id := f.start[l] + b; f.box[id].dist2(p) < s.best2 && !f.caps[id].beyond(p, s.best) {
				f.descend(&s, l, b)
			}
		}
		k >>= 1
	}
	return s.best, s.at
}

type seeker struct {
	p                  Point
	best, best2, stop2 float64
	at                 int32
	stack              [maxLevels]todo
}

// maxLevels is more levels than a tree of 2^31 curves has.
const maxLevels = 32

// todo is a node that waits to be searched.
type todo struct {
	d2   float64 // of the box
	l, k int32
}

func (f *field) scan(s *seeker, k int32) {
	lo, hi := f.leaf(k)
	for i := lo; i < hi; i++ {
		if d := f.cs[i].dist2(s.p); d < s.best2 {
			s.best2, s.at = d, i
		}
	}
	if s.at >= lo && s.at < hi {
		s.best = math.Sqrt(s.best2)
	}
}

// descend searches the subtree under node k of level l, the nearer child first.
func (f *field) descend(s *seeker, l, k int32) {
	stack := &s.stack
	stack[0] = todo{f.box[f.start[l]+k].dist2(s.p), l, k}
	for n := 0; n >= 0; {
		t := stack[n]
		n--
		if t.d2 >= s.best2 || f.caps[f.start[t.l]+t.k].beyond(s.p, s.best) {
			continue
		}
		if t.l == 0 {
			f.scan(s, t.k)
			if s.best2 < s.stop2 {
				return
			}
			continue
		}
		below := f.start[t.l-1]
		a, b := todo{l: t.l - 1, k: 2 * t.k}, todo{l: t.l - 1, k: 2*t.k + 1}
		a.d2 = f.box[below+a.k].dist2(s.p)
		if b.k < f.count[t.l-1] {
			b.d2 = f.box[below+b.k].dist2(s.p)
			if a.d2 > b.d2 {
				a, b = b, a
			}
			if b.d2 < s.best2 {
				n++
				stack[n] = b
			}
		}
		n++
		stack[n] = a
	}
}

// beyond tells whether all in the capsule is at least lim away from p.
func (k *capsule) beyond(p Point, lim float64) bool {
	r := lim + k.dev
	return k.dist2(p) >= r*r
}

// winding returns how often the curves run counter-clockwise around p; on a
// curve the answer is that of a point a hair up and right.
func (f *field) winding(p Point) int {
	if len(f.cs) == 0 {
		return 0
	}
	return f.windingBelow(f.top(), 0, p)
}

func (f *field) windingBelow(l, k int32, p Point) int {
	id := f.start[l] + k
	b := &f.box[id]
	if p.Y < b.Min.Y || p.Y > b.Max.Y || p.X > b.Max.X {
		return 0
	}
	if c := &f.caps[id]; c.chain && p.X < b.Min.X {
		// the chain lies wholly to the right: only its ends count
		return lineRise(c.A.Y, c.B.Y, p.Y)
	}
	if l == 0 {
		w := 0
		lo, hi := f.leaf(k)
		for i := lo; i < hi; i++ {
			w += f.cs[i].crossings(p)
		}
		return w
	}
	w := f.windingBelow(l-1, 2*k, p)
	if 2*k+1 < f.count[l-1] {
		w += f.windingBelow(l-1, 2*k+1, p)
	}
	return w
}

func lineRise(ay, by, y float64) int {
	switch {
	case ay <= y && by > y:
		return 1
	case by <= y && ay > y:
		return -1
	}
	return 0
}

// crossings counts signed crossings of the ray from p towards +X.
func (c *curve) crossings(p Point) int {
	w := lineCrossing(c.A, c.B, p)
	if c.R == 0 {
		return w
	}
	v := p.Sub(c.A).Sub(c.C)
	if v.Dot(v) >= c.R*c.R {
		return w
	}
	return w + c.sliver(p)
}

// sliver tells what the region between chord and arc adds to the winding number
// of a point in the circle.
func (c *curve) sliver(p Point) int {
	side := c.B.Sub(c.A).Cross(p.Sub(c.A))
	right := side < 0 || side == 0 && chordTie(c.A, c.B)
	switch {
	case c.R > 0 && right:
		return 1
	case c.R < 0 && !right:
		return -1
	}
	return 0
}

// signed returns the distance from the boundary, negative where the winding
// number is positive.
func (f *field) signed(p Point) float64 {
	d := f.closer(p, -1, math.Inf(1), 0)
	if f.winding(p) > 0 {
		return -d
	}
	return d
}
