package geom

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
)

// Nest makes regions of contours by containment, to any depth: a contour inside
// an even number of others is an outer contour, inside an odd number a hole, so
// that an island in a hole becomes a region of its own. Orientation does not
// matter and is restored. Regions come in the order of their outer contours.
//
// Findings: "contour-crosses" (stop) where contours cross themselves or each
// other, with the places; "contour-twice" (warn) for a contour that repeats
// another, which is left out; "contour-empty" (warn) for one without area, left
// out; "contour-not-finite" (stop). Contours that cross are nested all the same,
// by most of their length.
func Nest(cs []Contour) ([]Region, diag.List) {
	var l diag.List
	var kept []Contour
	for _, c := range cs {
		if _, err := boundsOf([]Contour{c}); err != nil {
			l.Add(err.(diag.Finding))
			continue
		}
		if len(c) < 2 || math.Abs(c.Area()) <= thinnest*c.Length() {
			f := diag.Finding{Code: "contour-empty", Severity: diag.Warn, Message: "an outline has no area and is left out"}
			if len(c) > 0 {
				f = f.On(c[0].X, c[0].Y)
			}
			l.Add(f)
			continue
		}
		if c.Area() < 0 {
			c = c.Reverse()
		}
		kept = append(kept, c)
	}
	x := NewIndex(kept...)
	crossed, _ := x.f.crossings(maxCrossings)
	for _, p := range crossed {
		l.Add(crossingFinding(p))
	}
	n := newNesting(kept, x, true)
	var regions []Region
	outer := make([]int, len(kept))
	for i, c := range kept {
		outer[i] = -1
		if n.twin[i] {
			l.Add(diag.Finding{Code: "contour-twice", Severity: diag.Warn,
				Message: "an outline lies on another one and is left out"}.On(c[0].X, c[0].Y))
			continue
		}
		if n.depth(i)%2 == 0 {
			outer[i] = len(regions)
			regions = append(regions, Region{Outer: c})
		}
	}
	for i, c := range kept {
		if outer[i] >= 0 || n.twin[i] {
			continue
		}
		p := n.parent[i]
		if p >= 0 && n.twin[p] {
			p = n.original(p)
		}
		if p < 0 || outer[p] < 0 {
			// Contours that cross may hold each other in a ring: one stands alone
			// then, and nothing is lost.
			outer[i] = len(regions)
			regions = append(regions, Region{Outer: c})
			continue
		}
		r := &regions[outer[p]]
		r.Holes = append(r.Holes, c.Reverse())
	}
	return regions, l
}

// maxCrossings is how many crossings are reported.
const maxCrossings = 20

func crossingFinding(p Point) diag.Finding {
	return diag.Finding{Code: "contour-crosses", Severity: diag.Stop, Input: true,
		Message: fmt.Sprintf("the outline crosses itself or another at X%.4f Y%.4f", p.X, p.Y),
		Help:    "draw the outline so that its edges meet only at their ends",
	}.On(p.X, p.Y)
}

// nestLoops makes regions of loops that do not cross: counter-clockwise ones
// are outer contours, clockwise ones holes of the outer contour next around.
// Regions of no width are left out.
func nestLoops(cs []Contour) []Region {
	regions := nestAll(cs)
	out := regions[:0]
	for _, g := range regions {
		if len(g.Holes) == 0 || g.Area() >= thinnest*g.Length() {
			out = append(out, g)
		}
	}
	return out
}

func nestAll(cs []Contour) []Region {
	outer := make([]int, len(cs))
	var regions []Region
	for i, c := range cs {
		outer[i] = -1
		if c.Area() > 0 {
			outer[i] = len(regions)
			regions = append(regions, Region{Outer: c})
		}
	}
	if len(regions) == len(cs) {
		return regions
	}
	boxes := make([]Box, len(regions))
	for k := range regions {
		boxes[k] = regions[k].Outer.Bounds()
	}
	var n *nesting
	for i, c := range cs {
		if outer[i] >= 0 {
			continue
		}
		k := onlyAround(boxes, c)
		if k < 0 {
			if n == nil {
				n = newNesting(cs, NewIndex(cs...), false)
			}
			p := n.parent[i]
			for p >= 0 && outer[p] < 0 {
				p = n.parent[p]
			}
			if p < 0 {
				continue
			}
			k = outer[p]
		}
		regions[k].Holes = append(regions[k].Holes, c)
	}
	return regions
}

// onlyAround returns the only box that holds a contour, -1 where several do or
// there are too many boxes to ask.
func onlyAround(boxes []Box, c Contour) int {
	if len(boxes) == 1 {
		return 0
	}
	if len(boxes) > 16 {
		return -1
	}
	only := -1
	b := c.Bounds()
	for k, o := range boxes {
		if o.Grow(nestDoubt).Contains(b.Min) && o.Grow(nestDoubt).Contains(b.Max) {
			if only >= 0 {
				return -1
			}
			only = k
		}
	}
	return only
}

// nesting knows which contour lies in which.
type nesting struct {
	x      *Index
	cs     []Contour
	owner  []int32 // contour of each segment of the index
	parent []int   // contour next around, -1 for none
	twin   []bool  // lies on an earlier contour
	drawn  bool    // contours may lie on one another by mistake
	level  []int   // memo of depth, 0 for unknown
	box    []Box
	area   []float64 // without sign
}

func newNesting(cs []Contour, x *Index, drawn bool) *nesting {
	n := &nesting{x: x, cs: cs, drawn: drawn, parent: make([]int, len(cs)), twin: make([]bool, len(cs)), level: make([]int, len(cs))}
	for i, c := range cs {
		for range c {
			n.owner = append(n.owner, int32(i))
		}
		n.box = append(n.box, c.Bounds())
		n.area = append(n.area, math.Abs(c.Area()))
	}
	// The first contour in sight tells who holds this one: either that neighbour,
	// or whoever holds the neighbour.
	beside := make([]int, len(cs))
	for i := range cs {
		n.parent[i], beside[i] = n.look(i)
	}
	for i := range cs {
		// follow neighbours until one is known; they may point at each other
		// where they looked in different directions
		k, steps := i, 0
		for n.parent[k] == unknownParent && steps <= len(cs) {
			k = beside[k]
			steps++
		}
		p := n.parent[k]
		if p == unknownParent {
			p = n.parentByWinding(i)
		}
		for k := i; n.parent[k] == unknownParent; k = beside[k] {
			n.parent[k] = p
		}
	}
	return n
}

const unknownParent = -2

// original returns the contour that lies where twin p does, -1 for none.
func (n *nesting) original(p int) int {
	for k, c := range n.cs {
		if !n.twin[k] && math.Abs(n.area[k]-n.area[p]) <= nestDoubt*c.Length() && c.Dist(n.cs[p].Seg(0).Mid()) < nestDoubt {
			return k
		}
	}
	return -1
}

// depth returns how many contours hold contour i.
func (n *nesting) depth(i int) int {
	if n.level[i] > 0 {
		return n.level[i] - 1
	}
	d, guard := 0, 0
	for p := n.parent[i]; p >= 0 && guard <= len(n.cs); p, guard = n.parent[p], guard+1 {
		if n.level[p] > 0 {
			d += n.level[p]
			break
		}
		d++
	}
	n.level[i] = d + 1
	return d
}

// look looks from the outermost point of contour i outwards: to the right, or
// where that sight is doubtful (a vertex, contours that touch) up, left or down.
// The first edge in sight belongs to the contour that holds i, or to one beside
// it (unknownParent, neighbour). Where every sight is doubtful winding numbers
// decide.
func (n *nesting) look(i int) (parent, beside int) {
	for _, u := range [4]Point{{1, 0}, {0, 1}, {-1, 0}, {0, -1}} {
		if parent, beside, ok := n.lookAlong(i, u); ok {
			return parent, beside
		}
	}
	return n.parentByWinding(i), -1
}

func (n *nesting) lookAlong(i int, u Point) (parent, beside int, ok bool) {
	p, far := Point{}, math.Inf(-1)
	for k := range n.cs[i] {
		s := n.cs[i].Seg(k)
		if d := s.A.Dot(u); d > far {
			p, far = s.A, d
		}
		if s.Bulge == 0 {
			continue
		}
		b, c := s.Bounds(), s.Center()
		q := Point{c.X, c.Y}
		switch {
		case u.X > 0:
			q.X = b.Max.X
		case u.X < 0:
			q.X = b.Min.X
		case u.Y > 0:
			q.Y = b.Max.Y
		default:
			q.Y = b.Min.Y
		}
		if d := q.Dot(u); d > far && d > s.B.Dot(u) {
			p, far = q, d
		}
	}
	all := n.x.Bounds()
	size := all.Size()
	ray := lineCurve(p, p.Add(u.Mul(size.X+size.Y+1)))
	first, second := n.sights(i, &ray)
	if first.curve < 0 {
		return -1, -1, true
	}
	if first.at < nestDoubt || second.at-first.at < nestDoubt || first.doubt {
		return 0, 0, false
	}
	k := int(n.owner[n.x.edge[first.curve]])
	if first.left == (n.cs[k].Area() > 0) {
		return k, -1, true
	}
	return unknownParent, k, true
}

// nestDoubt is the distance, mm, under which sights are not told apart.
const nestDoubt = 1e-6

// parentByWinding finds the smallest contour with a winding number around a
// point of contour i that lies on no other contour.
func (n *nesting) parentByWinding(i int) int {
	own := n.cs[i]
	p, clear := own.Seg(0).Mid(), false
	var around []int
	for k := range n.cs {
		if k != i && n.box[k].Overlaps(n.box[i]) {
			around = append(around, k)
		}
	}
	for k := 0; k < len(own) && !clear; k++ {
		p, clear = own.Seg(k).Mid(), true
		for _, o := range around {
			if n.box[o].Dist(p) < nestDoubt && n.cs[o].Dist(p) < nestDoubt {
				clear = false
				break
			}
		}
	}
	best := -1
	for _, k := range around {
		if n.drawn && !clear && math.Abs(n.area[k]-n.area[i]) <= nestDoubt*own.Length() && n.cs[k].Dist(p) < nestDoubt {
			if k < i {
				n.twin[i] = true
			}
			continue
		}
		if n.area[k] > n.area[i] && (best < 0 || n.area[k] < n.area[best]) && n.box[k].Contains(p) && n.cs[k].Winding(p) != 0 {
			best = k
		}
	}
	return best
}

// sight is a place where a ray meets a curve.
type sight struct {
	at    float64 // distance along the ray
	curve int32   // -1 for none
	left  bool    // the curve runs to the left of the ray there
	doubt bool    // the ray grazes it, or meets its end
}

// sights finds the first two places at which the ray meets other contours than i.
func (n *nesting) sights(i int, ray *curve) (first, second sight) {
	first = sight{at: math.Inf(1), curve: -1}
	second = first
	f := n.x.f
	f.each(ray.bounds().Grow(nestDoubt), func(k int32) bool {
		if int(n.owner[n.x.edge[k]]) == i {
			return true
		}
		c := &f.cs[k]
		var x [2]Point
		m := 0
		if c.R == 0 {
			m = crossLines(ray, c, &x)
		} else {
			m = crossLineArc(ray, c, nestDoubt/20, &x)
		}
		for _, p := range x[:m] {
			end := c.endAt(p, nestDoubt) >= 0
			d := p.Sub(ray.A).Dot(ray.C)
			if d < -nestDoubt || !end && !c.strides(p) {
				continue
			}
			side := ray.C.Cross(c.tangentAt(p))
			s := sight{d, k, side > 0, end || math.Abs(side) < 1e-6}
			if s.at < first.at {
				first, second = s, first
			} else if s.at < second.at {
				second = s
			}
		}
		return true
	})
	return first, second
}
