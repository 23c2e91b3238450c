package geom

import "math"

// Index finds the segments near a point, a box or another segment among many:
// distances, nearest points, winding numbers. It never changes after it is
// made and may be used by several goroutines at a time. Segments are numbered
// in the order given, contour after contour.
type Index struct {
	segs []Seg
	edge []int32 // number of the segment that a curve is part of
	f    *field
}

// NewIndex indexes the edges of contours. O(n log n).
func NewIndex(cs ...Contour) *Index {
	var segs []Seg
	for _, c := range cs {
		segs = append(segs, c.Segs()...)
	}
	starts := make([]int, 0, len(cs))
	n := 0
	for _, c := range cs {
		starts = append(starts, n)
		n += len(c)
	}
	// contours near each other go next to each other in the tree
	order := make([]int32, 0, n)
	for _, k := range spatialOrder(cs) {
		for i := range cs[k] {
			order = append(order, int32(starts[k]+i))
		}
	}
	return newIndex(segs, order)
}

// NewSegIndex indexes segments, best given in an order in which neighbours in
// the list are neighbours in the plane, such as that of a path.
func NewSegIndex(segs ...Seg) *Index {
	order := make([]int32, len(segs))
	for i := range order {
		order[i] = int32(i)
	}
	return newIndex(append([]Seg(nil), segs...), order)
}

func newIndex(segs []Seg, order []int32) *Index {
	x := &Index{segs: segs}
	cs := make([]curve, 0, len(segs))
	for _, i := range order {
		cs = appendCurves(cs, segs[i])
		for len(x.edge) < len(cs) {
			x.edge = append(x.edge, i)
		}
	}
	x.f = newField(cs)
	return x
}

// Len returns the number of segments.
func (x *Index) Len() int { return len(x.segs) }

// Seg returns segment i.
func (x *Index) Seg(i int) Seg { return x.segs[i] }

// Bounds returns the box of all segments, empty when there are none.
func (x *Index) Bounds() Box {
	if len(x.segs) == 0 {
		return EmptyBox()
	}
	return x.f.box[len(x.f.box)-1]
}

// Dist returns the distance from p to the nearest segment, mm; +Inf when there
// is none.
func (x *Index) Dist(p Point) float64 {
	return x.f.closer(p, -1, math.Inf(1), 0)
}

// DistWithin returns the distance from p to the nearest segment where that is
// less than lim, else lim. It is faster than Dist when much lies further away.
func (x *Index) DistWithin(p Point, lim float64) float64 {
	return x.f.closer(p, -1, lim, 0)
}

// Nearest returns the nearest point on any segment, the number of the segment
// and the distance, mm. With no segments the number is -1 and the distance +Inf.
func (x *Index) Nearest(p Point) (q Point, i int, d float64) {
	d, k := x.f.search(p, -1, math.Inf(1), 0)
	if k < 0 {
		return p, -1, d
	}
	return x.f.cs[k].nearest(p), int(x.edge[k]), d
}

// Winding returns how often the segments, taken as closed contours, run
// counter-clockwise around p; on a segment the answer is that of a point a hair
// up and to the right.
func (x *Index) Winding(p Point) int { return x.f.winding(p) }

// SignedDist returns the distance from p to the nearest segment, negative where
// the winding number is positive (inside a region), mm.
func (x *Index) SignedDist(p Point) float64 { return x.f.signed(p) }

// Each calls f with the number of every segment that may touch b (the boxes of
// its parts of at most half a turn do), each once, until f returns false.
func (x *Index) Each(b Box, f func(i int) bool) {
	last := int32(-1)
	x.f.each(b, func(k int32) bool {
		if x.edge[k] == last { // the other half of an arc of more than half a turn
			return true
		}
		last = x.edge[k]
		return f(int(last))
	})
}

// DistSeg returns the distance between s and the nearest segment, 0 where they
// touch or cross, +Inf with no segments, mm.
func (x *Index) DistSeg(s Seg) float64 {
	best := math.Inf(1)
	for _, c := range appendCurves(nil, s) {
		best = math.Min(best, x.f.distCurve(&c, best))
	}
	return best
}

// distCurve returns the distance to c where that is less than lim, else lim.
func (f *field) distCurve(c *curve, lim float64) float64 {
	if len(f.cs) == 0 {
		return lim
	}
	return f.distBelow(f.top(), 0, c, c.bounds(), lim)
}

func (f *field) distBelow(l, k int32, c *curve, b Box, best float64) float64 {
	if f.box[f.start[l]+k].apart(b) >= best {
		return best
	}
	if l == 0 {
		lo, hi := f.leaf(k)
		for i := lo; i < hi; i++ {
			if f.ebox[i].apart(b) < best {
				best = math.Min(best, distCurves(&f.cs[i], c))
			}
		}
		return best
	}
	a, o := 2*k, 2*k+1
	below := f.start[l-1]
	if o >= f.count[l-1] {
		return f.distBelow(l-1, a, c, b, best)
	}
	if f.box[below+o].apart(b) < f.box[below+a].apart(b) {
		a, o = o, a
	}
	return f.distBelow(l-1, o, c, b, f.distBelow(l-1, a, c, b, best))
}

// apart returns the distance between two boxes, 0 where they overlap.
func (b Box) apart(c Box) float64 {
	dx := math.Max(0, math.Max(b.Min.X-c.Max.X, c.Min.X-b.Max.X))
	dy := math.Max(0, math.Max(b.Min.Y-c.Max.Y, c.Min.Y-b.Max.Y))
	return math.Sqrt(float64(dx*dx) + float64(dy*dy))
}
