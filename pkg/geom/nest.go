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
	for _, p := range x.f.crossings(maxCrossings) {
		l.Add(crossingFinding(p))
	}
	n := newNesting(kept, x)
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
		if p := n.parent[i]; outer[i] < 0 && !n.twin[i] && p >= 0 {
			r := &regions[outer[p]]
			r.Holes = append(r.Holes, c.Reverse())
		}
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
func nestLoops(cs []Contour) []Region {
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
	var n *nesting
	for i, c := range cs {
		if outer[i] >= 0 {
			continue
		}
		k := 0
		if len(regions) != 1 {
			if n == nil {
				n = newNesting(cs, NewIndex(cs...))
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

// nesting knows which contour lies in which.
type nesting struct {
	x      *Index
	cs     []Contour
	owner  []int32 // contour of each segment of the index
	parent []int   // contour next around, -1 for none
	twin   []bool  // lies on an earlier contour
	level  []int   // memo of depth, 0 for unknown
}

func newNesting(cs []Contour, x *Index) *nesting {
	n := &nesting{x: x, cs: cs, parent: make([]int, len(cs)), twin: make([]bool, len(cs)), level: make([]int, len(cs))}
	for i, c := range cs {
		for range c {
			n.owner = append(n.owner, int32(i))
		}
	}
	// A contour's neighbour to the right tells who holds it: either that
	// neighbour, or whoever holds the neighbour.
	beside := make([]int, len(cs))
	for i := range cs {
		n.parent[i], beside[i] = n.lookRight(i)
	}
	for i := range cs {
		// follow neighbours until one is known; the way ends since each lies
		// further right
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

// lookRight looks from the rightmost point of contour i to the right. The first
// edge in sight belongs to the contour that holds i, or to one beside it
// (unknownParent, neighbour). Where the sight is doubtful (a vertex, contours
// that touch) winding numbers decide.
func (n *nesting) lookRight(i int) (parent, beside int) {
	p := Point{X: math.Inf(-1)}
	for k := range n.cs[i] {
		s := n.cs[i].Seg(k)
		if s.A.X > p.X {
			p = s.A
		}
		if s.Bulge != 0 {
			if x := s.Bounds().Max.X; x > p.X && x > s.B.X {
				p = Point{x, s.Center().Y}
			}
		}
	}
	first, second := sight{x: math.Inf(1)}, sight{x: math.Inf(1)}
	b := Box{p, Point{n.x.Bounds().Max.X, p.Y}}.Grow(nestDoubt)
	n.x.f.sights(p, b, func(s sight) bool { return int(n.owner[n.x.edge[s.curve]]) == i }, &first, &second)
	switch {
	case first.curve < 0 || math.IsInf(first.x, 1):
		return -1, -1
	case first.x-p.X < nestDoubt || second.x-first.x < nestDoubt || first.doubt:
		return n.parentByWinding(i), -1
	}
	k := int(n.owner[n.x.edge[first.curve]])
	if first.up == (n.cs[k].Area() > 0) {
		return k, -1
	}
	return unknownParent, k
}

// nestDoubt is the distance, mm, under which sights are not told apart.
const nestDoubt = 1e-6

// parentByWinding finds the smallest contour with a winding number around a
// point of contour i that lies on no other contour.
func (n *nesting) parentByWinding(i int) int {
	own := n.cs[i]
	area := math.Abs(own.Area())
	p, clear := own.Seg(0).Mid(), false
	box := own.Bounds()
	var near []int
	for k, c := range n.cs {
		if k != i && c.Bounds().Overlaps(box) {
			near = append(near, k)
		}
	}
	for k := 0; k < len(own) && !clear; k++ {
		p, clear = own.Seg(k).Mid(), true
		for _, o := range near {
			if n.cs[o].Dist(p) < nestDoubt {
				clear = false
				break
			}
		}
	}
	best, bestArea := -1, math.Inf(1)
	for _, k := range near {
		a := math.Abs(n.cs[k].Area())
		if !clear && math.Abs(a-area) <= nestDoubt*own.Length() && n.cs[k].Dist(p) < nestDoubt {
			if k < i {
				n.twin[i] = true
			}
			continue
		}
		if a > area && a < bestArea && n.cs[k].Winding(p) != 0 {
			best, bestArea = k, a
		}
	}
	return best
}

// sight is a place where the ray from a point to the right meets a curve.
type sight struct {
	x     float64
	curve int32
	up    bool // the curve runs upwards there
	doubt bool // the ray grazes it, or meets its end
}

// sights finds the first two curves on the ray from p to the right, within the
// box b around the ray, that are not to be skipped.
func (f *field) sights(p Point, b Box, skip func(sight) bool, first, second *sight) {
	first.curve = -1
	f.each(b, func(k int32) bool {
		c := &f.cs[k]
		if skip(sight{curve: k}) {
			return true
		}
		for _, s := range c.onRay(p) {
			s.curve = k
			if s.x < first.x {
				*first, *second = s, *first
			} else if s.x < second.x {
				*second = s
			}
		}
		return true
	})
}

// onRay returns where the ray from p to the right meets the curve.
func (c *curve) onRay(p Point) []sight {
	ray := lineCurve(p, Point{math.Max(c.bounds().Max.X, p.X) + 1, p.Y})
	var h hits
	meet(&ray, c, nestDoubt/20, nestDoubt/20, &h)
	var out []sight
	for _, x := range h.h[:h.n] {
		t := c.tangentAt(x.p)
		out = append(out, sight{x: x.p.X, up: t.Y > 0, doubt: x.ea >= 0 || x.eb >= 0 || math.Abs(t.Y) < 1e-6})
	}
	return out
}
