package drawing

import (
	"math"

	"sparclear/pkg/geom"
)

// nesting tells which loop lies in which. Loops that do not touch, which is
// nearly all of any drawing, are settled by one look to the left each, and only
// where the box of another one is around at all, so that a plate with a quarter
// of a million holes takes seconds; the few that touch are handed to geom.Nest,
// which knows crossings from touches.
type nesting struct {
	loops  []loop
	tree   *edgeTree
	bounds geom.Box
	box    []geom.Box
	boxed  []bool // within the box of another one
	parent []int32
	state  []uint8
	left   []geom.Point // least point of each loop, arcs included
	step   float64      // width of the first look
}

const (
	unsettled uint8 = iota
	settling
	settled
)

func newNesting(loops []loop, tree *edgeTree) *nesting {
	n := &nesting{loops: loops, tree: tree, bounds: geom.EmptyBox(), box: make([]geom.Box, len(loops)), boxed: make([]bool, len(loops)),
		parent: make([]int32, len(loops)), state: make([]uint8, len(loops)), left: make([]geom.Point, len(loops))}
	for i, l := range loops {
		b := geom.EmptyBox()
		left := l.c[0].Point // the least vertex
		for k := range l.c {
			s := l.c.Seg(k)
			e := edgeBox(s)
			if s.Bulge != 0 && e.Min.X < left.X-1e-12 {
				left = geom.Pt(e.Min.X, s.Center().Y)
			}
			b = joined(b, e)
		}
		n.box[i], n.left[i] = b, left
		n.bounds = joined(n.bounds, b)
	}
	s := n.bounds.Size()
	n.step = max(math.Sqrt(s.X*s.Y/float64(max(1, len(loops)))), s.X/1e6, sameEnd)
	return n
}

// settle finds the parents, from the left to the right, so that looking left
// mostly meets what is settled.
func (n *nesting) settle() {
	grown := make([]smallBox, len(n.loops))
	for i := range grown {
		grown[i] = n.tree.small(n.box[i].Grow(sameEnd))
	}
	n.boxes(grown)
	order := make([]numbered, len(n.loops))
	wide := n.bounds.Size().X
	for i := range order {
		column := 0.0
		if wide > 0 {
			column = (n.left[i].X - n.bounds.Min.X) / wide * (1<<22 - 1)
		}
		order[i] = numbered{uint64(column), int32(i)}
	}
	sortNumbered(order)
	for _, o := range order {
		n.parentOf(o.at)
	}
}

// leave puts no loop into any other.
func (n *nesting) leave() {
	for i := range n.parent {
		n.parent[i] = -1
	}
}

// parentOf looks left from the leftmost point of loop i, where the loop itself
// is never in the way: the first edge met belongs to the loop around it, or to a
// sibling, which has the same parent.
func (n *nesting) parentOf(i int32) int32 {
	if n.state[i] != unsettled {
		return n.parent[i]
	}
	n.state[i], n.parent[i] = settling, -1
	if n.boxed[i] {
		p := n.left[i]
		end := n.bounds.Min.X
		for w := n.step; ; w *= 4 {
			from := p.X - w
			if k, inside, ok := n.lookLeft(i, p, from); ok {
				if inside {
					n.parent[i] = k
				} else if n.state[k] != settling {
					n.parent[i] = n.parentOf(k)
				}
				break
			}
			if from < end {
				break
			}
		}
	}
	n.state[i] = settled
	return n.parent[i]
}

// boxes finds the loops that lie within the box of a loop no smaller than
// themselves; nothing can be around the others. Where too many boxes lie in each
// other to look at all, it takes all.
func (n *nesting) boxes(grown []smallBox) {
	t := boxTree{n: len(grown), levels: levelsOver(grown)}
	looks := 20*len(grown) + 2_000_000
	t.leaves(func(i, k int) bool {
		if i == k {
			return true
		}
		if n.loops[k].area >= n.loops[i].area && grown[k].holds(&grown[i]) {
			n.boxed[i] = true
		}
		if n.loops[i].area >= n.loops[k].area && grown[i].holds(&grown[k]) {
			n.boxed[k] = true
		}
		looks--
		return looks >= 0
	})
	if looks < 0 {
		for i := range n.boxed {
			n.boxed[i] = true
		}
	}
}

// depths returns how many loops are around each. A ring of loops that hold each
// other, as crossings may make, is opened.
func (n *nesting) depths() []int32 {
	out := make([]int32, len(n.loops))
	var way []int32
	for i := range out {
		way = way[:0]
		k := int32(i)
		for out[k] == 0 && n.parent[k] >= 0 {
			out[k] = -1 // on the way
			way = append(way, k)
			if k = n.parent[k]; out[k] == -1 {
				n.parent[way[len(way)-1]] = -1
				k = way[len(way)-1]
				way = way[:len(way)-1]
				break
			}
		}
		d := out[k]
		if d <= 0 {
			d, out[k] = 0, 0
		}
		for m := len(way) - 1; m >= 0; m-- {
			d++
			out[way[m]] = d
		}
	}
	return out
}

// lookLeft returns the loop of the edge nearest to the left of p, no further
// than from, and whether the place right of that edge lies inside the loop.
func (n *nesting) lookLeft(i int32, p geom.Point, from float64) (loop int32, inside, ok bool) {
	best := math.Inf(-1)
	n.tree.each(geom.Box{Min: geom.Pt(from, p.Y), Max: geom.Pt(p.X+1e-9, p.Y)}, func(s int32) bool {
		k := n.tree.owner[s]
		if k == i {
			return true
		}
		crossingsAt(n.tree.seg(s), p.Y, func(x float64, up bool) {
			if x > p.X+1e-9 || x < from || x < best-1e-9 {
				return
			}
			if !up && (n.loops[k].area < n.loops[i].area || !contains(n.box[k], n.box[i])) {
				return // touches from inside, and is no parent
			}
			if x <= best+1e-9 && up && ok { // on a shared edge the loop begun here decides
				return
			}
			best, loop, inside, ok = math.Max(x, best), k, !up, true
		})
		return true
	})
	return loop, inside, ok
}

func contains(a, b geom.Box) bool {
	a = a.Grow(sameEnd)
	return a.Contains(b.Min) && a.Contains(b.Max)
}

// crossingsAt calls f for every crossing of the segment with the horizontal a
// hair above y, and whether it goes up there.
func crossingsAt(s geom.Seg, y float64, f func(x float64, up bool)) {
	if s.Bulge == 0 {
		if (s.A.Y <= y) != (s.B.Y <= y) {
			f(s.A.X+(y-s.A.Y)/(s.B.Y-s.A.Y)*(s.B.X-s.A.X), s.B.Y > s.A.Y)
		}
		return
	}
	c, r := s.Center(), s.Radius()
	a0, sw := s.A.Sub(c).Angle(), s.Sweep()
	half := r*r - (y-c.Y)*(y-c.Y)
	if half < 0 {
		half = 0
	}
	dx := math.Sqrt(half)
	at, from := a0, s.A.Y
	end := a0 + sw
	for from0 := true; from0 || at != end; from0 = false {
		next := end
		k := math.Floor(at/math.Pi-0.5) + 1.5 // the next top or bottom of the circle
		if sw < 0 {
			k = math.Ceil(at/math.Pi-0.5) - 0.5
		}
		if e := k * math.Pi; sw > 0 && e < end-1e-15 || sw < 0 && e > end+1e-15 {
			next = e
		}
		to := s.B.Y
		if next != end {
			to = c.Y + math.Copysign(r, math.Sin(next))
		}
		if (from <= y) != (to <= y) {
			x := c.X + dx
			if math.Cos((at+next)/2) < 0 {
				x = c.X - dx
			}
			f(x, to > from)
		}
		at, from = next, to
	}
}

// touching groups the loops that meet themselves or others, and says which
// repeat another one: loops[i] for twin[i]. tangled says that so much lies over
// each other that not all of it was looked at.
func (n *nesting) touching() (groups [][]int32, twin []bool, tangled bool) {
	up := make([]int32, len(n.loops))
	met := make([]bool, len(n.loops))
	twin = make([]bool, len(n.loops))
	for i := range up {
		up[i] = int32(i)
	}
	root := func(i int32) int32 {
		for up[i] != i {
			up[i] = up[up[i]]
			i = up[i]
		}
		return i
	}
	tested := map[[2]int32]bool{}
	tree := n.tree
	heap := make([]int32, len(n.loops)) // loops tied to a root
	tests := 20*len(tree.owner) + 100_000
	all := tree.pairs(func(s, t int32, seg, other geom.Seg) bool {
		a, b := tree.owner[s], tree.owner[t]
		if twin[a] || twin[b] || a == b && met[a] {
			return true
		}
		if tests--; tests < 0 {
			return false
		}
		if a == b {
			met[a] = meetsItself(seg, other, t == s+1, s == tree.first[a] && t == tree.first[a+1]-1)
			return true
		}
		if root(a) == root(b) && tested[[2]int32{a, b}] {
			return true
		}
		if len(seg.Meet(other)) == 0 {
			return true
		}
		if key := [2]int32{a, b}; !tested[key] {
			tested[key] = true
			twin[b] = n.alike(a, b)
		}
		if !twin[b] {
			met[a], met[b] = true, true
			if ra, rb := root(a), root(b); ra != rb {
				up[rb] = ra
				heap[ra] += heap[rb] + 1
			}
			// A heap too large to nest is refused: little is spent on it.
			if tests -= 20 * int(heap[root(a)]/tangle); tests < 0 {
				return false
			}
		}
		return true
	})
	at := map[int32]int{}
	for i := range n.loops {
		if !met[i] || twin[i] {
			continue
		}
		r := root(int32(i))
		k, ok := at[r]
		if !ok {
			k = len(groups)
			at[r] = k
			groups = append(groups, nil)
		}
		groups[k] = append(groups[k], int32(i))
	}
	return groups, twin, tests < 0 || !all
}

// tangle is how many outlines may touch each other in one heap.
const tangle = 2000

// meetsItself tells whether two edges of one contour meet elsewhere than at the
// corner between them: b is the one after a, or the last where a is the first.
func meetsItself(a, b geom.Seg, next, around bool) bool {
	if (next != around) && a.Bulge == 0 && b.Bulge == 0 {
		return a.B.Sub(a.A).Cross(b.B.Sub(b.A)) == 0 && a.B.Sub(a.A).Dot(b.B.Sub(b.A)) < 0
	}
	corner := a.B
	switch {
	case next && around: // two circles, or a circle and a line, that share two points share no third
		return false
	case around:
		corner = a.A
	}
	if (next || around) && meetOnce(a, b, corner) {
		return false
	}
	for _, p := range a.Meet(b) {
		if next && p.Dist(a.B) <= sameEnd || around && p.Dist(a.A) <= sameEnd {
			continue
		}
		return true
	}
	return false
}

// meetOnce tells for sure that two edges which share a corner, one of them an
// arc at least, meet nowhere else: circles and lines that meet twice meet at the
// mirror image of the corner, which must then lie on both edges. It does not
// tell of edges that touch.
func meetOnce(a, b geom.Seg, corner geom.Point) bool {
	var axis, far geom.Point
	switch {
	case a.Bulge != 0 && b.Bulge != 0:
		c, d := a.Center(), b.Center()
		axis = d.Sub(c)
		if axis.Len() < 1e-3*(a.Radius()+b.Radius()) {
			return false
		}
		v := corner.Sub(c)
		far = corner.Sub(axis.Left().Mul(2 * v.Cross(axis) / -axis.Dot(axis)))
	default:
		line, arc := a, b
		if a.Bulge != 0 {
			line, arc = b, a
		}
		axis = line.B.Sub(line.A)
		far = corner.Add(axis.Mul(2 * arc.Center().Sub(corner).Dot(axis) / axis.Dot(axis)))
	}
	if far.Dist(corner) < 1e-3 || !far.Finite() {
		return false
	}
	off := func(s geom.Seg) bool { // clearly not on the edge
		d := s.B.Sub(s.A)
		l := d.Len()
		if s.Bulge != 0 {
			side := d.Cross(far.Sub(s.A)) / l
			return math.Abs(s.Bulge) > 1e-3 && (side > 1e-3 && s.Bulge > 0 || side < -1e-3 && s.Bulge < 0)
		}
		t := d.Dot(far.Sub(s.A)) / l
		return t < -1e-3 || t > l+1e-3
	}
	return off(a) || off(b)
}

// alike tells whether two loops are the same outline, however it is cut into
// pieces.
func (n *nesting) alike(a, b int32) bool {
	x, y := n.loops[a].c, n.loops[b].c
	if n.box[a].Min.Dist(n.box[b].Min) > 1e-3 || n.box[a].Max.Dist(n.box[b].Max) > 1e-3 ||
		math.Abs(n.loops[a].area-n.loops[b].area) > 1e-3*x.Length() {
		return false
	}
	ia, ib := geom.NewIndex(x), geom.NewIndex(y)
	for _, c := range []struct {
		c geom.Contour
		x *geom.Index
	}{{x, ib}, {y, ia}} {
		for i := range c.c {
			if s := c.c.Seg(i); c.x.DistWithin(s.A, 1) > 1e-3 || c.x.DistWithin(s.Mid(), 1) > 1e-3 {
				return false
			}
		}
	}
	return true
}
