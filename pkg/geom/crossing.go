package geom

import "math"

// crossDepth is how deep edges may pass through each other by rounding, mm.
const crossDepth = 1e-6

// crossings returns up to limit places where curves, taken as closed contours,
// pass through one another by more than crossDepth, within edges or at corners.
// Contours that touch do not cross; whether some do is the second answer.
func (f *field) crossings(limit int) (out []Point, touching bool) {
	var h hits
	var next []int32
	f.pairs(func(i, j int32) {
		if len(out) >= limit {
			return
		}
		a, b := &f.cs[i], &f.cs[j]
		beside := j == i+1 && a.B == b.A || b.B == a.A
		if beside && a.R == 0 && b.R == 0 {
			return
		}
		meet(a, b, crossDepth, crossDepth, &h)
		for _, x := range h.h[:h.n] {
			crosses := false
			touching = touching || !beside
			if x.ea < 0 && x.eb < 0 {
				crosses = deepCross(a, b, x.p)
			} else if !beside {
				if next == nil {
					next = nextInContour(f.cs)
				}
				crosses = f.cornerCross(next, i, j, x)
			}
			if crosses && len(out) < limit && !anyNear(out, x.p) {
				out = append(out, x.p)
			}
		}
	})
	return out, touching
}

func anyNear(ps []Point, p Point) bool {
	for _, q := range ps {
		if near(p, q, crossDepth) {
			return true
		}
	}
	return false
}

// nextInContour returns for every curve the one that follows it, or itself at
// the end of an open chain.
func nextInContour(cs []curve) []int32 {
	next := make([]int32, len(cs))
	first := int32(0)
	for i := range cs {
		k := int32(i)
		switch {
		case i+1 < len(cs) && cs[i].B == cs[i+1].A && cs[i].B != cs[first].A:
			next[i] = k + 1
			continue
		case cs[i].B == cs[first].A:
			next[i] = first
		default:
			next[i] = k
		}
		first = k + 1
	}
	return next
}

// deepCross tells whether the curves leave each other by more than crossDepth
// within their length on both sides of x, a meeting away from all ends.
func deepCross(a, b *curve, x Point) bool {
	ta, tb := a.tangentAt(x), b.tangentAt(x)
	s := math.Abs(ta.Cross(tb))
	l := math.Min(math.Min(x.Dist(a.A), x.Dist(a.B)), math.Min(x.Dist(b.A), x.Dist(b.B)))
	return s*l > crossDepth
}

// cornerCross tells whether two contours pass through each other at a corner of
// at least one of them: of the four ways that leave the place, those of one
// contour part those of the other.
func (f *field) cornerCross(next []int32, i, j int32, x hit) bool {
	prev := func(k int32) int32 {
		if k > 0 && next[k-1] == k {
			return k - 1
		}
		for m := k; int(m) < len(next); m++ {
			if next[m] == k {
				return m
			}
		}
		return k
	}
	ways := func(k int32, e int8) (in, out int32) {
		switch e {
		case 0:
			return prev(k), k
		case 1:
			return k, next[k]
		}
		return k, k
	}
	ai, ao := ways(i, x.ea)
	bi, bo := ways(j, x.eb)
	reach := math.Inf(1)
	for _, k := range [4]int32{ai, ao, bi, bo} {
		c := &f.cs[k]
		l := math.Max(x.p.Dist(c.A), x.p.Dist(c.B)) / 2
		if c.R != 0 {
			l = math.Min(l, math.Abs(c.R)/10)
		}
		reach = math.Min(reach, l)
	}
	if reach < 2*crossDepth {
		return false // too short to be deep
	}
	var dir [4]Point
	for m, k := range [4]int32{ai, ao, bi, bo} {
		c := &f.cs[k]
		t := c.tangentAt(x.p)
		if m%2 == 0 {
			t = Point{-t.X, -t.Y}
		}
		q := Point{x.p.X + float64(reach*t.X), x.p.Y + float64(reach*t.Y)}
		dir[m] = c.nearest(q).Sub(x.p)
	}
	for _, u := range dir[:2] {
		for _, v := range dir[2:] { // ways that run together are no crossing
			if u.Dot(v) > 0 && math.Abs(u.Cross(v)) <= 2*crossDepth*reach {
				return false
			}
		}
	}
	t := clockwise(dir[0], dir[1])
	return (clockwise(dir[0], dir[2]) < t) != (clockwise(dir[0], dir[3]) < t)
}

// tangentAt returns the direction of travel at p, on the curve.
func (c *curve) tangentAt(p Point) Point {
	if c.R == 0 {
		return c.C
	}
	v := p.Sub(c.A).Sub(c.C)
	return Point{-v.Y / c.R, v.X / c.R}
}
