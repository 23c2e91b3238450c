package drawing

import (
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// hatchEntity reads the boundary of a HATCH when that was asked for. Otherwise a
// hatch is a filling beside a real outline and must not be cut.
func (b *builder) hatchEntity(r *record) {
	h := b.newHead()
	for i := range r.tags {
		if c := r.tags[i].code; c < 10 || c > 59 {
			b.common(r, i, &h)
		}
	}
	if !b.asked(&h, r.kind) {
		return
	}
	if !b.o.Hatches {
		if b.inBlock == nil {
			tallied(b.skipped, r.kind)
		}
		b.remark("hatch-ignored", diag.Note, h, r.kind, r.line, nil, "is a filling, no outline, and is not cut",
			"ask for hatches if its boundary is meant")
		return
	}
	if r.cut {
		b.cut = r.kind
		return
	}
	if b.faces() == facesAslant {
		b.aslant(h, r, whyTilted)
		return
	}
	q := hatchReader{r: r, base: shape{head: h, face: b.faces(), line: int32(r.line)}}
	for q.at < len(r.tags) && r.tags[q.at].code != 91 {
		q.at++
	}
	loops := q.count(91)
	for range loops {
		if !q.loop() {
			b.broken(h, r, "its boundary cannot be read")
			return
		}
	}
	for _, s := range q.out {
		b.keep(s)
	}
}

// hatchReader walks through the boundary groups of a HATCH, whose order carries
// the meaning (DXF reference, "Boundary Path Data").
type hatchReader struct {
	r    *record
	at   int
	base shape
	out  []shape
}

// take returns the value of the next group when it has the code.
func (q *hatchReader) take(code int16) (float64, bool) {
	if q.at < len(q.r.tags) && q.r.tags[q.at].code == code {
		q.at++
		return q.r.num(q.at - 1), true
	}
	return 0, false
}

// count takes a number of things that the record can hold at all.
func (q *hatchReader) count(code int16) int {
	v, ok := q.take(code)
	if !ok || !(v >= 0 && v <= float64(len(q.r.tags))) {
		return -1
	}
	return int(v)
}

func (q *hatchReader) point(x, y int16) (geom.Point, bool) {
	a, ok1 := q.take(x)
	b, ok2 := q.take(y)
	p := geom.Pt(a, b)
	return p, ok1 && ok2 && finite(p)
}

func (q *hatchReader) loop() bool {
	flags, ok := q.take(92)
	if !ok {
		return false
	}
	if int(flags)&2 != 0 {
		ok = q.polyline()
	} else {
		n := q.count(93)
		ok = n >= 0
		for i := 0; i < n && ok; i++ {
			ok = q.edge()
		}
	}
	if !ok {
		return false
	}
	// The objects that the boundary came from: their handles were left out when
	// the record was collected.
	q.take(97)
	return true
}

func (q *hatchReader) polyline() bool {
	s := q.base
	s.kind = polyShape
	q.take(72)
	closed, _ := q.take(73)
	s.closed = closed != 0
	n := q.count(93)
	for range n {
		p, ok := q.point(10, 20)
		if !ok {
			return false
		}
		b, _ := q.take(42)
		if !(math.Abs(b) <= 1e6) {
			return false
		}
		s.poly = append(s.poly, geom.Vertex{Point: p, Bulge: b})
	}
	if n < 1 {
		return false
	}
	q.out = append(q.out, s)
	return true
}

func (q *hatchReader) edge() bool {
	s := q.base
	kind, ok := q.take(72)
	if !ok {
		return false
	}
	switch kind {
	case 1:
		s.kind = polyShape
		a, ok1 := q.point(10, 20)
		b, ok2 := q.point(11, 21)
		s.poly = []geom.Vertex{{Point: a}, {Point: b}}
		ok = ok1 && ok2
	case 2:
		s.kind = arcShape
		s.p, ok = q.point(10, 20)
		r, ok1 := q.take(40)
		a0, ok2 := q.take(50)
		a1, ok3 := q.take(51)
		ccw, ok4 := q.take(73)
		if ccw == 0 { // a clockwise edge stores its angles as 360° less the angle
			a0, a1 = 360-a1, 360-a0
		}
		s.r, s.a0, s.a1 = r, a0, a1
		ok = ok && ok1 && ok2 && ok3 && ok4 && r > 0 && r <= far && finite(geom.Pt(a0, a1)) && a0 != a1
		if math.Abs(a1-a0) >= 360 {
			s.kind = circleShape
		}
	case 3:
		s.kind = ellipseShape
		s.p, ok = q.point(10, 20)
		major, ok1 := q.point(11, 21)
		ratio, ok2 := q.take(40)
		a0, ok3 := q.take(50)
		a1, ok4 := q.take(51)
		ccw, ok5 := q.take(73)
		if ccw == 0 {
			a0, a1 = 360-a1, 360-a0
		}
		s.q, s.r, s.a0, s.a1 = major, ratio, parameterAt(a0, ratio), parameterAt(a1, ratio)
		ok = ok && ok1 && ok2 && ok3 && ok4 && ok5 && ratio > 0 && ratio <= 1e6 && major != geom.Point{} &&
			finite(geom.Pt(a0, a1)) && a0 != a1
	case 4:
		s.kind = splineShape
		s.spline, ok = q.spline()
	default:
		return false
	}
	q.out = append(q.out, s)
	return ok
}

// parameterAt returns the parameter of an ellipse, rad, at the direction deg as seen
// from its centre, from its major axis on: what an ELLIPSE stores as parameters a
// HATCH stores as directions. The reference is silent; two independent readers take
// them so, and only so do edges meet their neighbours.
func parameterAt(deg, ratio float64) float64 {
	s, c := math.Sincos(deg * math.Pi / 180)
	d := math.Atan2(s, ratio*c) - math.Atan2(s, c) // the same quarter, whatever the turn
	return deg*math.Pi/180 + d
}

func (q *hatchReader) spline() (*spline, bool) {
	sp := &spline{}
	degree, _ := q.take(94)
	rational, _ := q.take(73)
	q.take(74)
	knots, points := q.count(95), q.count(96)
	sp.degree = int(math.Max(0, math.Min(degree, 26)))
	for range knots {
		k, ok := q.take(40)
		if !ok {
			return nil, false
		}
		sp.knots = append(sp.knots, k)
	}
	for range points {
		p, ok := q.point(10, 20)
		if !ok {
			return nil, false
		}
		sp.control = append(sp.control, p)
		if w, ok := q.take(42); ok && rational != 0 {
			sp.weights = append(sp.weights, w)
		}
	}
	// Points to pass and end directions repeat what the knots say. A count of
	// points stands here only when points follow; else it counts source objects.
	if q.at+1 < len(q.r.tags) && q.r.tags[q.at].code == 97 && q.r.tags[q.at+1].code == 11 {
		q.at++
		for q.at < len(q.r.tags) {
			if c := q.r.tags[q.at].code; c != 11 && c != 21 && c != 12 && c != 22 && c != 13 && c != 23 {
				break
			}
			q.at++
		}
	}
	return sp, sp.control != nil && sp.fault() == ""
}
