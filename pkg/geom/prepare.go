package geom

import (
	"cmp"
	"math"
	"slices"

	"sparclear/pkg/diag"
)

// prepared is a set of contours cleaned, moved to their own origin, put next to
// their neighbours and indexed.
type prepared struct {
	org    Point
	cs     []curve
	group  []int32 // the edge of which a curve is part
	starts []int32 // first curve of each contour
	f      *field
	// Contours that touch have boundary with material on both sides, from which
	// the distance alone does not tell inside from outside.
	touching bool
}

// sameVertex is how near vertices must be to be one, mm.
const sameVertex = 1e-7

// prepare cleans the contours, which keep their orientation, checks that they
// do not cross and indexes them.
func prepare(cs []Contour) (*prepared, error) {
	in := &prepared{}
	box, err := boundsOf(cs)
	if err != nil || box.Empty() {
		return in, err
	}
	in.org = box.Center()
	in.load(cs)
	return in, in.crossing()
}

// widest is the largest size of a set of outlines, mm: beyond it a double no
// longer holds the tolerances.
const widest = 1e7

// boundsOf returns the box of all vertices, or what is wrong with them.
func boundsOf(cs []Contour) (Box, error) {
	box := EmptyBox()
	for _, c := range cs {
		for _, v := range c {
			if !v.Finite() || math.IsNaN(v.Bulge) || math.IsInf(v.Bulge, 0) {
				return box, diag.Finding{Code: "contour-not-finite", Severity: diag.Stop, Input: true,
					Message: "an outline has a coordinate or bulge that is not a finite number"}
			}
			box = box.Extend(v.Point)
		}
	}
	if s := box.Size(); !box.Empty() && !(s.X <= widest && s.Y <= widest) {
		return box, diag.Finding{Code: "contour-too-large", Severity: diag.Stop, Input: true,
			Message: "outlines lie further apart than can be computed",
			Help:    "check the units of the drawing",
		}.With(math.Max(s.X, s.Y)/1e3, widest/1e3, "m")
	}
	return box, nil
}

// load cleans and indexes contours about in.org.
func (in *prepared) load(cs []Contour) {
	loops := make([]Contour, 0, len(cs))
	n := 0
	for _, c := range cs {
		if l := tidy(c, in.org); len(l) >= 2 {
			loops = append(loops, l)
			n += len(l)
		}
	}
	arrange(loops)
	in.cs = make([]curve, 0, n)
	in.group = make([]int32, 0, n)
	edge := int32(0)
	for _, l := range loops {
		in.starts = append(in.starts, int32(len(in.cs)))
		for i := range l {
			in.cs = appendCurves(in.cs, l.Seg(i))
			for len(in.group) < len(in.cs) {
				in.group = append(in.group, edge)
			}
			edge++
		}
	}
	in.f = newField(in.cs)
}

// span returns the curves lo ≤ i < hi of contour k.
func (in *prepared) span(k int) (lo, hi int32) {
	if k+1 < len(in.starts) {
		return in.starts[k], in.starts[k+1]
	}
	return in.starts[k], int32(len(in.cs))
}

// contours returns the cleaned contours.
func (in *prepared) contours() []Contour {
	var out []Contour
	for k := range in.starts {
		var c Contour
		lo, hi := in.span(k)
		for i := lo; i < hi; i++ {
			s := in.cs[i].seg()
			c = append(c, Vertex{s.A, s.Bulge})
		}
		out = append(out, c)
	}
	return out
}

// tidy returns the contour about the origin org without repeated vertices; fewer
// than two vertices when nothing is left. Needles of no width stay: they are
// part of what a cutter must keep away from.
func tidy(c Contour, org Point) Contour {
	out := make(Contour, 0, len(c))
	for i := range c {
		out = append(out, Vertex{c[i].Point.Sub(org), c[i].Bulge})
	}
	return out.withoutShort()
}

// withoutShort drops edges of no length, in the memory of c.
func (c Contour) withoutShort() Contour {
	out := c[:0]
	for _, v := range c {
		if n := len(out); n > 0 && short(out[n-1], v) {
			out[n-1].Bulge = v.Bulge
			continue
		}
		out = append(out, v)
	}
	for len(out) >= 2 && short(out[len(out)-1], out[0]) {
		out = out[:len(out)-1]
	}
	return out
}

// short tells whether the edge from a to b has no length. An arc of almost a
// full turn has near ends and is not short.
func short(a, b Vertex) bool {
	return near(a.Point, b.Point, sameVertex) && math.Abs(a.Bulge) < 10
}

// arrange puts contours in an order of their own, whatever order they came in,
// so that neighbours in the plane are neighbours in the list.
func arrange(cs []Contour) {
	if len(cs) < 2 {
		return
	}
	out := make([]Contour, len(cs))
	for i, k := range spatialOrder(cs) {
		out[i] = cs[k]
	}
	copy(cs, out)
}

// spatialOrder returns the numbers of the contours along a Hilbert curve over
// the middles of their boxes; ties go by box, then by vertices.
func spatialOrder(cs []Contour) []int {
	out := make([]int, len(cs))
	if len(cs) < 2 {
		return out
	}
	type item struct {
		key uint32
		box Box
		at  int
	}
	items := make([]item, len(cs))
	box := EmptyBox()
	for i, c := range cs {
		b := EmptyBox()
		for _, v := range c {
			b = b.Extend(v.Point)
		}
		items[i] = item{box: b, at: i}
		box = box.Union(b)
	}
	s := box.Size()
	scale := 65535 / math.Max(1e-9, math.Max(s.X, s.Y))
	for i := range items {
		if it := &items[i]; !it.box.Empty() {
			p := it.box.Center().Sub(box.Min)
			it.key = hilbert(uint32(p.X*scale), uint32(p.Y*scale))
		}
	}
	slices.SortFunc(items, func(a, b item) int {
		return cmp.Or(cmp.Compare(a.key, b.key), comparePoints(a.box.Min, b.box.Min),
			comparePoints(a.box.Max, b.box.Max), slices.CompareFunc(cs[a.at], cs[b.at], compareVertices),
			cmp.Compare(a.at, b.at))
	})
	for i := range items {
		out[i] = items[i].at
	}
	return out
}

func compareVertices(v, w Vertex) int {
	return cmp.Or(comparePoints(v.Point, w.Point), cmp.Compare(v.Bulge, w.Bulge))
}

func comparePoints(p, q Point) int {
	if p.X != q.X {
		return cmp.Compare(p.X, q.X)
	}
	return cmp.Compare(p.Y, q.Y)
}

// hilbert returns the place of a cell of a 65536 x 65536 grid on the Hilbert
// curve, on which neighbours are near each other.
func hilbert(x, y uint32) uint32 {
	var d uint32
	for s := uint32(1 << 15); s > 0; s >>= 1 {
		var rx, ry uint32
		if x&s != 0 {
			rx = 1
		}
		if y&s != 0 {
			ry = 1
		}
		d += s * s * ((3 * rx) ^ ry)
		if ry == 0 {
			if rx == 1 {
				x, y = 65535-x, 65535-y
			}
			x, y = y, x
		}
	}
	return d
}

// crossing returns a finding when contours cross.
func (in *prepared) crossing() error {
	at, touching := in.f.crossings(1)
	for _, p := range at {
		return crossingFinding(p.Add(in.org))
	}
	in.touching = touching
	return nil
}
