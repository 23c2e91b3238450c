package drawing

import (
	"math"
	"slices"

	"sparclear/pkg/geom"
)

// duplicates removes loose pieces that are drawn a second time, either way
// round, or that repeat a piece of a closed entity. Real drawings hold whole
// outlines twice.
func (w *layerWork) duplicates(from, to int32) {
	g := w.newGrid(int(to-from), w.b.o.JoinTol, func(i int) (int32, geom.Point) {
		p := from + int32(i)
		return p, w.segs[p].Mid()
	})
	g.pairs(func(i, k int) { w.dropTwin(g.s[i].at, g.s[k].at) }, func(from, to int) {
		same := g.s[from:to]
		slices.SortFunc(same, func(x, y numbered) int { return compareSegs(plain(w.seg(x.at)), plain(w.seg(y.at))) })
		for i := 1; i < len(same); i++ {
			w.dropTwin(same[i-1].at, same[i].at)
		}
	})
}

// dropTwin removes one of two pieces that are the same, the one of the smaller
// entity. Pieces of closed entities stay: a closed entity is an outline as it is.
func (w *layerWork) dropTwin(p, q int32) {
	if w.gone[p] || w.gone[q] || !w.alike(p, q) {
		return
	}
	a, b := &w.curves[w.owner[p]], &w.curves[w.owner[q]]
	switch {
	case a == b && a.closed, a.closed && b.closed:
		return
	case a.closed, !b.closed && (a.n > b.n || a.n == b.n && a.line <= b.line):
		w.gone[q] = true
	default:
		w.gone[p] = true
	}
	w.b.d.Join.Duplicates++
}

// alike tells whether two pieces run through the same places, to the tolerance
// and to a tenth of their length, so that neighbours in a run of tiny steps are
// not taken for twins.
func (w *layerWork) alike(p, q int32) bool {
	a, b := w.seg(p), w.seg(q)
	tol := math.Min(w.b.o.JoinTol, math.Min(a.Length(), b.Length())/10)
	if a.Mid().Dist(b.Mid()) > tol {
		return false
	}
	return a.A.Dist(b.A) <= tol && a.B.Dist(b.B) <= tol || a.A.Dist(b.B) <= tol && a.B.Dist(b.A) <= tol
}

// plain returns s in the sense that begins at its lesser end.
func plain(s geom.Seg) geom.Seg {
	if lessPoint(s.B, s.A) {
		return s.Reverse()
	}
	return s
}

func compareSegs(a, b geom.Seg) int {
	switch {
	case lessPoint(a.A, b.A):
		return -1
	case lessPoint(b.A, a.A):
		return 1
	case lessPoint(a.B, b.B):
		return -1
	case lessPoint(b.B, a.B):
		return 1
	case a.Bulge < b.Bulge:
		return -1
	case a.Bulge > b.Bulge:
		return 1
	}
	return 0
}

// overlaps removes or trims pieces that are left over after joining and lie on
// an outline or on each other: lines on one line, arcs on one circle. It tells
// whether anything changed. What closed without help is never touched: two
// parts that share an edge are two parts.
func (w *layerWork) overlaps(left []int32) bool {
	if len(left) == 0 {
		return false
	}
	tol := w.b.o.JoinTol
	byLength := make([]numbered, len(left))
	for i, p := range left {
		byLength[i] = numbered{descending(w.segs[p].Length()), p}
	}
	sortBy(byLength,
		func(p int32) uint64 { return ascending(plain(w.seg(p)).A.X) },
		func(p int32) uint64 { return ascending(plain(w.seg(p)).A.Y) },
		func(p int32) uint64 { return ascending(plain(w.seg(p)).B.X) },
		func(p int32) uint64 { return ascending(plain(w.seg(p)).B.Y) },
		func(p int32) uint64 { return ascending(plain(w.seg(p)).Bulge) })
	order := make([]int32, len(left))
	for i := range byLength {
		order[i] = byLength[i].at
	}
	changed := w.onOutlines(order)
	// The tree wants neighbours side by side, which the pieces are in their own
	// order; the longest goes first all the same.
	beside := slices.Clone(left)
	slices.Sort(beside)
	rank := make([]int32, len(beside))
	for i, p := range order {
		k, _ := slices.BinarySearch(beside, p)
		rank[k] = int32(i)
	}
	t := newBoxTree(len(beside), func(i int32) geom.Box { return edgeBox(w.seg(beside[i])).Grow(tol) })
	tests := 50*len(order) + 100_000 // beyond this the drawing is a tangle, which is refused as it stands
	for i, p := range order {
		if w.gone[p] || tests < 0 {
			continue
		}
		box := edgeBox(w.seg(p)).Grow(tol)
		t.each(box, func(k int32) bool {
			q := beside[k]
			if rank[k] <= int32(i) || w.gone[q] {
				return true
			}
			if s := w.seg(q); !box.Contains(s.A) && !box.Contains(s.B) {
				return true
			}
			if tests--; w.trim(p, q) {
				changed = true
			}
			return tests >= 0
		})
	}
	return changed
}

// onOutlines removes what lies wholly on an outline that is already closed.
func (w *layerWork) onOutlines(left []int32) bool {
	if len(w.loops) == 0 {
		return false
	}
	t := w.edges()
	tol, changed := w.b.o.JoinTol, false
	for _, p := range left {
		s := w.seg(p)
		on := s.Length() > tol
		for k := 0; k <= 16 && on; k++ {
			on = t.within(s.At(float64(k)/16), tol)
		}
		if on {
			w.gone[p] = true
			w.b.d.Join.Overlaps++
			changed = true
		}
	}
	return changed
}

// trimmed is a place where a loose piece was cut back or left out because it lies
// on its neighbour, and the length that went, mm.
type trimmed struct {
	at     geom.Point
	length float64
	handle uint64
}

// trim takes away from the shorter piece q what lies on p: all of it, or one of
// its ends. It tells whether it did.
func (w *layerWork) trim(p, q int32) bool {
	a, b := w.seg(p), w.seg(q)
	tol := w.b.o.JoinTol
	onA := func(pt geom.Point) bool { return a.Dist(pt) <= tol }
	startOn, endOn := onA(b.A), onA(b.B)
	if !startOn && !endOn {
		return false
	}
	if startOn && endOn && onA(b.Mid()) && onA(b.At(0.25)) && onA(b.At(0.75)) {
		if b.Length() <= tol {
			return false // a tiny step beside a corner: healed later
		}
		w.trimmed = append(w.trimmed, trimmed{at: b.Mid(), length: b.Length(), handle: w.curves[w.owner[q]].handle})
		w.gone[q] = true
		w.b.d.Join.Overlaps++
		return true
	}
	if startOn == endOn {
		return false
	}
	if endOn {
		b = b.Reverse()
	}
	// b begins on a and leaves it at an end of a.
	for _, c := range []geom.Point{a.A, a.B} {
		t, d := along(b, c)
		if d > tol || t*b.Length() <= tol || (1-t)*b.Length() <= tol {
			continue
		}
		if !onA(b.At(t/2)) || !onA(b.At(t/4)) || !onA(b.At(t*3/4)) {
			continue
		}
		rest := geom.Seg{A: c, B: b.B, Bulge: math.Tan(math.Atan(b.Bulge) * (1 - t))}
		if endOn {
			rest = rest.Reverse()
		}
		w.trimmed = append(w.trimmed, trimmed{at: c, length: t * b.Length(), handle: w.curves[w.owner[q]].handle})
		w.segs[q] = rest
		w.b.d.Join.Overlaps++
		return true
	}
	return false
}

// along returns the parameter of the point of s that is nearest to p, even in
// length, and its distance.
func along(s geom.Seg, p geom.Point) (t, d float64) {
	q := s.Nearest(p)
	d = q.Dist(p)
	if s.Bulge == 0 {
		l := s.A.Dist(s.B)
		return s.A.Dist(q) / l, d
	}
	part := geom.ArcThrough(s.A, q, s.Center(), s.Bulge > 0)
	return part.Sweep() / s.Sweep(), d
}
