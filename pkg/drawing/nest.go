package drawing

import (
	"cmp"
	"math"
	"slices"

	"sparclear/pkg/geom"
)

// nesting tells which loop lies in which. Loops that do not touch, which is
// nearly all of any drawing, are settled by one look to the left each, so that a
// plate with a quarter of a million holes takes seconds; the few that touch are
// handed to geom.Nest, which knows crossings from touches.
type nesting struct {
	loops  []loop
	tree   *segTree
	bounds geom.Box
	box    []geom.Box
	area   []float64
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

func newNesting(loops []loop) *nesting {
	n := &nesting{loops: loops, box: make([]geom.Box, len(loops)), area: make([]float64, len(loops)),
		parent: make([]int32, len(loops)), state: make([]uint8, len(loops)), left: make([]geom.Point, len(loops))}
	n.bounds = geom.EmptyBox()
	for i, l := range loops {
		n.box[i], n.area[i] = l.c.Bounds(), l.c.Area()
		n.bounds = n.bounds.Union(n.box[i])
		n.left[i] = leftmost(l.c, n.box[i].Min.X)
	}
	n.tree = newSegTree(loops)
	s := n.bounds.Size()
	n.step = max(math.Sqrt(s.X*s.Y/float64(max(1, len(loops)))), s.X/1e6, sameEnd)
	return n
}

// leftmost returns the point of a contour that lies furthest left.
func leftmost(c geom.Contour, x float64) geom.Point {
	best := c[0].Point
	for i := range c {
		if c[i].X < best.X {
			best = c[i].Point
		}
		if c[i].Bulge == 0 {
			continue
		}
		s := c.Seg(i)
		if b := s.Bounds(); b.Min.X < best.X-1e-12 {
			best = geom.Pt(b.Min.X, s.Center().Y)
		}
	}
	return best
}

// settle finds the parents, from the left to the right.
func (n *nesting) settle() {
	order := make([]int32, len(n.loops))
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortFunc(order, func(a, b int32) int {
		if c := cmp.Compare(n.left[a].X, n.left[b].X); c != 0 {
			return c
		}
		return cmp.Compare(n.area[b], n.area[a])
	})
	for _, i := range order {
		n.parentOf(i)
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
	n.state[i] = settled
	return n.parent[i]
}

// depths returns how many loops are around each.
func (n *nesting) depths() []int {
	out := make([]int, len(n.loops))
	for i := range out {
		for k := n.parent[i]; k >= 0 && out[i] <= len(out); k = n.parent[k] {
			out[i]++
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
			if !up && (n.area[k] < n.area[i] || !contains(n.box[k], n.box[i])) {
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
	tests := 40*len(tree.owner) + 200_000
	for s := range int32(len(tree.owner)) {
		a := tree.owner[s]
		if twin[a] {
			continue
		}
		if tests < 0 {
			break
		}
		seg := tree.seg(s)
		box := seg.Bounds().Grow(sameEnd)
		tree.each(box, func(t int32) bool {
			b := tree.owner[t]
			if t <= s || twin[b] || a == b && met[a] {
				return true
			}
			other := tree.seg(t)
			if !other.Bounds().Overlaps(box) {
				return true
			}
			if tests--; tests < 0 {
				return false
			}
			if a == b {
				met[a] = meetsItself(seg, other, t == s+1, s == tree.first[a] && int(t-s) == len(n.loops[a].c)-1)
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
	}
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
	return groups, twin, tests < 0
}

// tangle is how many outlines may touch each other in one heap.
const tangle = 2000

// meetsItself tells whether two edges of one contour meet elsewhere than at the
// corner between them: b is the one after a, or the last where a is the first.
func meetsItself(a, b geom.Seg, next, around bool) bool {
	if (next != around) && a.Bulge == 0 && b.Bulge == 0 {
		return a.B.Sub(a.A).Cross(b.B.Sub(b.A)) == 0 && a.B.Sub(a.A).Dot(b.B.Sub(b.A)) < 0
	}
	for _, p := range a.Meet(b) {
		if next && p.Dist(a.B) <= sameEnd || around && p.Dist(a.A) <= sameEnd {
			continue
		}
		return true
	}
	return false
}

// alike tells whether two loops are the same outline, however it is cut into
// pieces.
func (n *nesting) alike(a, b int32) bool {
	x, y := n.loops[a].c, n.loops[b].c
	if n.box[a].Min.Dist(n.box[b].Min) > 1e-3 || n.box[a].Max.Dist(n.box[b].Max) > 1e-3 ||
		math.Abs(n.area[a]-n.area[b]) > 1e-3*x.Length() {
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
