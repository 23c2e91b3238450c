package geom

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
)

// Clean returns the contour without repeated vertices (nearer than 1e-6 mm),
// without edges that run back along themselves, and without needles of no width
// (a wing section whose upper and lower side share their last vertices). The
// direction of travel stays; nothing that has width is changed.
//
// Everything that was changed is reported: "vertices-repeated" (note),
// "needle-removed" (warn, with its length). What cannot be mended is reported
// and left: "contour-crosses" (stop, at each crossing), "contour-not-finite"
// (stop), "contour-empty" (stop: nothing is left).
//
// A needle is drawn material or a drawn cut of no width; look at the finding
// when it is long.
func Clean(c Contour) (Contour, diag.List) {
	var l diag.List
	if _, err := boundsOf([]Contour{c}); err != nil {
		l.Add(err.(diag.Finding))
		return nil, l
	}
	out, doubles := withoutDoubles(c)
	if doubles.n > 0 {
		l.Add(diag.Finding{Code: "vertices-repeated", Severity: diag.Note,
			Message: "repeated vertices are left out"}.With(float64(doubles.n), cleanVertex, "").On(doubles.at.X, doubles.at.Y))
	}
	out, needles := withoutNeedles(out)
	for _, n := range needles {
		l.Add(diag.Finding{Code: "needle-removed", Severity: diag.Warn,
			Message: fmt.Sprintf("a needle of no width, %.4g mm long, is left out", n.length),
			Help:    "look whether the drawing means material or a cut there",
		}.With(n.length, cleanVertex, "mm").On(n.tip.X, n.tip.Y))
	}
	if len(out) < 2 || math.Abs(out.Area()) <= thinnest*out.Length() {
		f := diag.Finding{Code: "contour-empty", Severity: diag.Stop, Input: true, Message: "the outline has no area"}
		if len(c) > 0 {
			f = f.On(c[0].X, c[0].Y)
		}
		l.Add(f)
		return nil, l
	}
	crossed, _ := newField(curvesOf([]Contour{out})).crossings(maxCrossings)
	for _, p := range crossed {
		l.Add(crossingFinding(p))
	}
	return out, l
}

// cleanVertex is how near vertices of a drawing must be to be one, mm: files
// hold six decimals at most.
const cleanVertex = 1e-6

type doubled struct {
	n  int
	at Point
}

// withoutDoubles drops edges of no length.
func withoutDoubles(c Contour) (Contour, doubled) {
	var d doubled
	var out Contour
	for i, v := range c {
		next := c[(i+1)%len(c)]
		if i+1 < len(c) || len(out) > 0 {
			if len(c) > 1 && near(v.Point, next.Point, cleanVertex) && math.Abs(v.Bulge) < 10 {
				if d.n++; d.n == 1 {
					d.at = v.Point
				}
				continue // the next vertex stands for this one
			}
		}
		out = append(out, v)
	}
	return out, d
}

type needle struct {
	tip    Point
	length float64
}

// withoutNeedles drops vertices at which a straight outline turns back along
// itself, again and again, until none is left.
func withoutNeedles(c Contour) (Contour, []needle) {
	var found []needle
	out := append(Contour(nil), c...)
	for i := 0; len(out) >= 3 && i < len(out); {
		n := len(out)
		a, b, d := &out[(i+n-1)%n], out[i], out[(i+1)%n]
		if !turnsBack(*a, b, d) {
			i++
			continue
		}
		base := a.Point
		if b.Dist(d.Point) < b.Dist(a.Point) {
			base = d.Point
		}
		found = joinNeedle(found, b.Point, base)
		a.Bulge = 0
		drop := []int{i}
		if near(a.Point, d.Point, cleanVertex) { // both sides were equally long
			a.Bulge = d.Bulge
			drop = append(drop, (i+1)%n)
		}
		out = without(out, drop)
		i = max(0, i-2)
	}
	return out, found
}

// joinNeedle adds the needle from base to tip, or lengthens the last one when
// it goes on from there: needles with vertices on their way come off piece by
// piece, from the tip on.
func joinNeedle(ns []needle, tip, base Point) []needle {
	l := tip.Dist(base)
	if k := len(ns) - 1; k >= 0 && ns[k].tip.Dist(tip) <= ns[k].length+cleanVertex {
		ns[k].length = math.Max(ns[k].length, ns[k].tip.Dist(base))
		return ns
	}
	return append(ns, needle{tip, l})
}

func without(c Contour, drop []int) Contour {
	out := c[:0]
next:
	for i, v := range c {
		for _, d := range drop {
			if d == i {
				continue next
			}
		}
		out = append(out, v)
	}
	return out
}

// turnsBack tells whether the outline a-b-d is straight and turns back along
// itself at b: the end of the shorter edge lies on the longer one.
func turnsBack(a, b, d Vertex) bool {
	if a.Bulge != 0 || b.Bulge != 0 {
		return false
	}
	u, v := a.Point.Sub(b.Point), d.Point.Sub(b.Point)
	if u.Dot(v) <= 0 {
		return false
	}
	return math.Abs(u.Cross(v)) <= cleanVertex*math.Max(u.Len(), v.Len())
}
