package drawing

import (
	"math"
	"slices"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// put draws a shape through m onto a layer: pieces, points and labels in
// drawing units.
func (b *builder) put(s *shape, m affine, layer int32) {
	if s.face == facesDown {
		m = m.after(flipX)
	}
	switch s.kind {
	case lineShape:
		b.begin(s, layer)
		b.piece(geom.Line(m.apply(s.p), m.apply(s.q)))
		b.end(false)
	case circleShape:
		b.begin(s, layer)
		b.arc(m, s.p, s.r, 0, 360)
		b.end(true)
	case arcShape:
		sweep := math.Mod(s.a1-s.a0, 360)
		if sweep <= 0 {
			sweep += 360
		}
		b.begin(s, layer)
		b.arc(m, s.p, s.r, s.a0, sweep)
		b.end(sweep == 360)
	case polyShape:
		b.putPoly(s, m, layer)
	case ellipseShape:
		b.putEllipse(s, m, layer)
	case splineShape:
		b.putSpline(s, m, layer)
	case insertShape:
		b.putInsert(s, m, layer)
	case pointShape:
		if p := m.apply(s.p); finite(p) && b.spend(1) {
			b.points = append(b.points, pointAt{p, s.handle, layer})
		}
	case textShape:
		b.label(s, m, layer)
	}
}

func (b *builder) begin(s *shape, layer int32) {
	b.curves.add(curve{handle: s.handle, line: s.line, layer: layer, first: int32(b.pieces.n)})
}

func (b *builder) end(closed bool) {
	c := b.curves.at(b.curves.n - 1)
	c.n = int32(b.pieces.n) - c.first
	c.closed = closed
	if c.n == 0 {
		b.curves.dropLast()
		b.tally.zero++
	}
}

// piece adds one segment of the curve that is open. A segment without length is
// counted and left out; one that lies nowhere is refused.
func (b *builder) piece(s geom.Seg) {
	if !finite(s.A) || !finite(s.B) {
		c := b.curves.at(b.curves.n - 1)
		h := b.newHead()
		h.layer, h.handle = c.layer, c.handle
		b.remark("coordinate-absurd", diag.Warn, h, "entity", int(c.line), nil,
			"lies further out than any drawing reaches and is not read", "repair or delete the entity")
		return
	}
	if s.A != s.B {
		b.pieces.add(s)
	}
}

// arc adds the arc about c from start over sweep deg, counter-clockwise before
// m, in pieces of at most half a turn.
func (b *builder) arc(m affine, c geom.Point, r, start, sweep float64) {
	if !m.similar() {
		rad := math.Pi / 180
		e := ellipseCurve{m.apply(c), m.vector(geom.Pt(r, 0)), m.vector(geom.Pt(0, r))}
		t0 := start * rad
		b.fit(e.segments(t0, t0+sweep*rad, b.curveTol()))
		return
	}
	n := 1
	if sweep > 180.01 {
		n = 2
	}
	bulge := math.Tan(sweep / float64(n) * math.Pi / 720)
	if sweep == 360 {
		bulge = 1
	}
	if m.det() < 0 {
		bulge = -bulge
	}
	first := m.apply(polarDeg(c, r, start))
	a := first
	for i := 1; i <= n; i++ {
		e := m.apply(polarDeg(c, r, start+sweep*float64(i)/float64(n)))
		if i == n && sweep == 360 {
			e = first
		}
		b.piece(geom.Seg{A: a, B: e, Bulge: bulge})
		a = e
	}
}

// polarDeg is geom.Polar in degrees, exact at quarter turns.
func polarDeg(c geom.Point, r, deg float64) geom.Point {
	return c.Add(turning(deg).vector(geom.Pt(r, 0)))
}

func (b *builder) putPoly(s *shape, m affine, layer int32) {
	n := len(s.poly)
	if n < 2 {
		b.tally.zero++
		return
	}
	b.begin(s, layer)
	edges := n - 1
	if s.closed {
		edges = n
	}
	round, mirrored := m.similar(), m.det() < 0
	for i := range edges {
		g := geom.Seg{A: s.poly[i].Point, B: s.poly[(i+1)%n].Point, Bulge: s.poly[i].Bulge}
		switch {
		case g.A == g.B:
			b.tally.zero++
		case g.Bulge != 0 && !round:
			c, r := g.Center(), g.Radius()
			e := ellipseCurve{m.apply(c), m.vector(geom.Pt(r, 0)), m.vector(geom.Pt(0, r))}
			t0 := g.A.Sub(c).Angle()
			b.fit(e.segments(t0, t0+g.Sweep(), b.curveTol()))
		default:
			g.A, g.B = m.apply(g.A), m.apply(g.B)
			if mirrored {
				g.Bulge = -g.Bulge
			}
			if math.Abs(g.Bulge) > 4 { // nearly a full turn: the chord decides too much
				half := math.Tan(math.Atan(g.Bulge) / 2)
				mid := g.Mid()
				b.piece(geom.Seg{A: g.A, B: mid, Bulge: half})
				b.piece(geom.Seg{A: mid, B: g.B, Bulge: half})
				continue
			}
			b.piece(g)
		}
	}
	b.end(s.closed)
}

// fit adds the segments that stand for a curve.
func (b *builder) fit(segs []geom.Seg) {
	bent := func(s geom.Seg) bool { return s.Bulge != 0 }
	if slices.ContainsFunc(segs, bent) && b.shown(b.curves.at(b.curves.n-1).layer) {
		b.d.Curves.Curves++
		b.d.Curves.Arcs += len(segs)
		b.d.Curves.Lines += linesFor(segs, b.curveTol())
	}
	for _, s := range segs {
		b.piece(s)
	}
}

// linesFor returns how many lines with both ends on the curve come as near to it
// as its arcs: a chord over the angle a of radius r lies r (1 - cos a/2) inside
// (closed form).
func linesFor(segs []geom.Seg, tol float64) int {
	lines, part := 0, 0.0 // whole lines, and what arcs need of further ones
	for _, s := range segs {
		r := s.Radius()
		if s.Bulge == 0 || !(tol < r) {
			lines++
			continue
		}
		part += math.Abs(s.Sweep()) / (2 * math.Acos(1-tol/r))
	}
	return lines + int(math.Ceil(math.Min(part, 1e12)-1e-9))
}

// curveTol is the tolerance of curves in drawing units.
func (b *builder) curveTol() float64 { return b.o.CurveTol / b.scale }
