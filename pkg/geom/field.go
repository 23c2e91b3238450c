package geom

import "math"

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
	for k := range f.caps[:f.count[0]] {
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
	var s seeker
	return f.searchBy(&s, p, hint, lim, stop)
}

// searchBy is search with a seeker that is used again and again: to clear one
// costs as much as a short search.
func (f *field) searchBy(s *seeker, p Point, hint int32, lim, stop float64) (float64, int32) {
	s.p, s.best, s.best2, s.stop2, s.at = p, lim, lim*lim, stop*stop, -1
	if stop <= 0 {
		s.stop2 = -1
	}
	if len(f.cs) == 0 || lim <= 0 {
		return lim, -1
	}
	if hint < 0 {
		l := f.top()
		f.descend(s, todo{f.box[f.start[l]].dist2(p), l, 0})
		return s.best, s.at
	}
	k := hint / leafSize
	f.scan(s, k)
	for l := int32(0); l < f.top() && s.best2 >= s.stop2; l++ {
		if b := k ^ 1; b < f.count[l] {
			if d2 := f.box[f.start[l]+b].dist2(p); d2 < s.best2 {
				f.descend(s, todo{d2, l, b})
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

// descend searches the subtree under a node, the nearer child first.
func (f *field) descend(s *seeker, t todo) {
	for n := 0; ; {
		if t.d2 < s.best2 && !f.caps[f.start[t.l]+t.k].beyond(s.p, s.best) {
			if t.l > 0 {
				below := f.start[t.l-1]
				a, b := todo{l: t.l - 1, k: 2 * t.k}, todo{l: t.l - 1, k: 2*t.k + 1}
				a.d2 = f.box[below+a.k].dist2(s.p)
				if b.k < f.count[t.l-1] {
					b.d2 = f.box[below+b.k].dist2(s.p)
					if a.d2 > b.d2 {
						a, b = b, a
					}
					if b.d2 < s.best2 {
						s.stack[n] = b
						n++
					}
				}
				t = a
				continue
			}
			f.scan(s, t.k)
			if s.best2 < s.stop2 {
				return
			}
		}
		if n == 0 {
			return
		}
		n--
		t = s.stack[n]
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
