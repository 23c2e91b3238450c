package geom

import "math"

// RecoverArcs returns the contour with runs of short straight edges, such as an
// exported spline, replaced by few arcs of at most half a turn. The result holds
// everything on the left of the contour and leaves it by at most tol mm to the
// right: the material of a region only gains, so a cutter that keeps to its
// right never cuts into it. For an opening or hole run the other way round, the
// same holds for the material around it. Runs of fewer than four edges, edges
// longer than a third of their run and edges that are arcs stay as they are.
//
// Method: from a corner on, the longest run that one arc through its ends
// covers, again and again; compare Drysdale, Rote and Sturm, Approximation of an
// open polygonal curve with a minimum number of circular arcs and biarcs, 2008.
func RecoverArcs(c Contour, tol float64) Contour {
	n := len(c)
	if n < 5 || !(tol > 0) {
		return append(Contour(nil), c...)
	}
	start := sharpest(c)
	pts, extra := withMiddles(append(append(make(Contour, 0, n+1), c[start:]...), c[:start+1]...))
	out := make(Contour, 0, n)
	last := len(pts) - 1
	for i := 0; i < last; {
		j, b := longestArc(pts, i, tol)
		if i+1 < last && extra[i+1] { // an arc may rather begin at the middle
			if k, _ := longestArc(pts, i+1, tol); k > j+1 && k-i-1 >= fewestEdges {
				j = i
			}
		}
		if j-i < fewestEdges {
			// a middle between straight pieces is no vertex
			if !extra[i] || len(out) == 0 || out[len(out)-1].Bulge != 0 {
				out = append(out, pts[i])
			}
			i++
			continue
		}
		out = append(out, Vertex{pts[i].Point, b})
		i = j
	}
	if len(out) < 2 || (out.Area() > 0) != (c.Area() > 0) {
		return append(Contour(nil), c...)
	}
	return out
}

// withMiddles adds the middles of the straight edges between two right turns,
// where an arc that must stay to the right may touch the edge without cutting
// the next corner. extra marks them.
func withMiddles(c Contour) (out Contour, extra []bool) {
	n := len(c)
	right := func(i int) bool {
		if i == 0 || i == n-1 { // the seam
			return c[n-1].Sub(c[n-2].Point).Cross(c[1].Sub(c[0].Point)) < 0
		}
		return c[i].Sub(c[i-1].Point).Cross(c[i+1].Sub(c[i].Point)) < 0
	}
	for i, v := range c {
		out, extra = append(out, v), append(extra, false)
		if i+1 < n && v.Bulge == 0 && right(i) && right(i+1) {
			out, extra = append(out, Vertex{Point: v.Lerp(c[i+1].Point, 0.5)}), append(extra, true)
		}
	}
	return out, extra
}

const fewestEdges = 4

// sharpest returns the vertex at which a straight-sided contour turns most.
func sharpest(c Contour) int {
	best, at := -1.0, 0
	for i := range c {
		u, v := c.Seg((i+len(c)-1)%len(c)).TangentB(), c.Seg(i).TangentA()
		if a := math.Abs(math.Atan2(u.Cross(v), u.Dot(v))); a > best+1e-9 {
			best, at = a, i
		}
	}
	return at
}

// longestArc returns the last vertex of the longest run from i that one arc
// covers, and the bulge. The length is found by doubling, then halving: a run
// that fits is taken to mean that shorter ones fit.
func longestArc(c Contour, i int, tol float64) (int, float64) {
	limit := i
	for limit+1 < len(c) && c[limit].Bulge == 0 {
		limit++
	}
	ok, bulge := i+1, 0.0
	step := fewestEdges
	for i+step <= limit {
		b, fits := fitArc(c, i, i+step, tol)
		if !fits {
			break
		}
		ok, bulge = i+step, b
		step *= 2
	}
	lo, hi := ok, min(limit, i+step)
	for lo < hi {
		m := (lo + hi + 1) / 2
		b, fits := fitArc(c, i, m, tol)
		if !fits {
			hi = m - 1
			continue
		}
		lo, bulge = m, b
		ok = m
	}
	return ok, bulge
}

// fitArc returns the bulge of the flattest arc between vertices i and j that has
// the run on its left, and whether the run stays within tol of it.
func fitArc(c Contour, i, j int, tol float64) (float64, bool) {
	a, b := c[i].Point, c[j].Point
	if j-i < fewestEdges || a == b {
		return 0, false
	}
	length, longest := 0.0, 0.0
	for k := i; k < j; k++ {
		l := c[k].Dist(c[k+1].Point)
		length += l
		longest = math.Max(longest, l)
	}
	if longest > length/3 {
		return 0, false
	}
	bulge := math.Inf(-1)
	samples(c, i, j, func(p Point) {
		if p != a && p != b {
			bulge = math.Max(bulge, bulgeThrough(a, b, p))
		}
	})
	if !(math.Abs(bulge) <= 1) {
		return 0, false
	}
	s := Seg{a, b, bulge}
	// the run must be about as long as the arc, or it folds
	if l := s.Length(); length > float64(1.05*l)+tol || l > float64(1.05*length)+tol {
		return 0, false
	}
	v := newCurve(s)
	fits := true
	samples(c, i, j, func(p Point) { fits = fits && v.dist(p) <= tol })
	return bulge, fits
}

// samples calls f with the vertices of a run and points on its edges.
func samples(c Contour, i, j int, f func(Point)) {
	for k := i; k < j; k++ {
		for _, t := range [4]float64{0, 0.05, 0.5, 0.95} {
			f(c[k].Lerp(c[k+1].Point, t))
		}
	}
	f(c[j].Point)
}

// bulgeThrough returns the bulge of the arc from a to b through p.
func bulgeThrough(a, b, p Point) float64 {
	// the angle a-p-b is π less half the sweep
	u, v := a.Sub(p), b.Sub(p)
	half := math.Pi - math.Abs(math.Atan2(u.Cross(v), u.Dot(v)))
	k := math.Tan(half / 2)
	if b.Sub(a).Cross(p.Sub(a)) > 0 { // p left of the chord: clockwise
		return -k
	}
	return k
}
