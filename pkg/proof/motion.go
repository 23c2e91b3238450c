package proof

import (
	"math"

	"sparclear/pkg/geom"
	"sparclear/pkg/rs274"
)

// piece is a stretch of one move: the tip stays within slack mm of it.
type piece struct {
	seg      geom.Seg // in the plane; unused when rect is set
	box      geom.Box // of the tip in the plane
	zlo, zhi float64
	slack    float64
	rect     bool // the tip may be anywhere in box × [zlo, zhi], in any order (rapids)
}

// curve is one move prepared for evaluation along t from 0 to 1.
type curve struct {
	from, to [3]float64
	arc      bool
	rapid    bool
	plane    rs274.Plane
	cu, cv   float64 // centre in the plane's axes
	r0, r1   float64
	a0, turn float64
}

// axes returns the indices of the plane's first, second and normal axis.
func axes(p rs274.Plane) (u, v, w int) {
	switch p {
	case rs274.ZX:
		return 2, 0, 1
	case rs274.YZ:
		return 1, 2, 0
	}
	return 0, 1, 2
}

// newCurve reads a move. Equal ends of an arc mean a full turn (NISTIR 6556,
// section 3.5.3).
func newCurve(m *rs274.Move) curve {
	c := curve{from: m.From, to: m.To, plane: m.Plane, rapid: m.Motion == rs274.Rapid}
	if m.Motion != rs274.ArcCW && m.Motion != rs274.ArcCCW {
		return c
	}
	u, v, _ := axes(m.Plane)
	c.cu, c.cv = m.Center[0], m.Center[1]
	au, av := m.From[u]-c.cu, m.From[v]-c.cv
	bu, bv := m.To[u]-c.cu, m.To[v]-c.cv
	c.r0, c.r1 = math.Hypot(au, av), math.Hypot(bu, bv)
	c.a0 = math.Atan2(av, au)
	c.turn = math.Atan2(bv, bu) - c.a0
	full := m.From[u] == m.To[u] && m.From[v] == m.To[v]
	if m.Motion == rs274.ArcCCW {
		if c.turn <= 0 || full {
			c.turn += 2 * math.Pi
		}
		if full {
			c.turn = 2 * math.Pi
		}
	} else {
		if c.turn >= 0 {
			c.turn -= 2 * math.Pi
		}
		if full {
			c.turn = -2 * math.Pi
		}
	}
	c.arc = true
	return c
}

// parts returns into how many equal parts the curve is cut to begin with: no
// part of an arc turns by more than about a third of a circle.
func (c *curve) parts() int {
	if !c.arc {
		return 1
	}
	return 1 + int(math.Abs(c.turn)/2.1)
}

// at returns the place of the tip at t. An arc whose radii differ runs as a spiral.
func (c *curve) at(t float64) [3]float64 {
	if t <= 0 {
		return c.from
	}
	if t >= 1 {
		return c.to
	}
	if !c.arc {
		return [3]float64{
			c.from[0] + float64(t*(c.to[0]-c.from[0])),
			c.from[1] + float64(t*(c.to[1]-c.from[1])),
			c.from[2] + float64(t*(c.to[2]-c.from[2])),
		}
	}
	u, v, w := axes(c.plane)
	r := c.r0 + float64(t*(c.r1-c.r0))
	s, k := math.Sincos(c.a0 + float64(t*c.turn))
	var p [3]float64
	p[u], p[v] = c.cu+float64(r*k), c.cv+float64(r*s)
	p[w] = c.from[w] + float64(t*(c.to[w]-c.from[w]))
	return p
}

// heading returns the direction in the plane at the start (t 0) or end (t 1) of a
// curve, zero for a move straight up or down. Arcs lie in the XY plane.
func (c *curve) heading(t float64) geom.Point {
	if !c.arc {
		return geom.Pt(c.to[0]-c.from[0], c.to[1]-c.from[1]).Unit()
	}
	d := geom.Polar(geom.Point{}, 1, c.a0+float64(t*c.turn)).Left()
	if c.turn < 0 {
		d = d.Mul(-1)
	}
	return d
}

// length returns the length of the curve, mm.
func (c *curve) length() float64 {
	if !c.arc {
		return math.Hypot(math.Hypot(c.to[0]-c.from[0], c.to[1]-c.from[1]), c.to[2]-c.from[2])
	}
	_, _, w := axes(c.plane)
	return math.Hypot(math.Max(c.r0, c.r1)*math.Abs(c.turn), c.to[w]-c.from[w])
}

// piece returns the stretch from t0 to t1.
func (c *curve) piece(t0, t1 float64) piece {
	if c.rapid {
		b := span(&c.from, &c.to)
		return piece{box: b.xy, zlo: b.zlo, zhi: b.zhi, rect: true}
	}
	a, b := c.at(t0), c.at(t1)
	w := span(&a, &b)
	p := piece{
		seg: geom.Line(geom.Pt(a[0], a[1]), geom.Pt(b[0], b[1])),
		box: w.xy, zlo: w.zlo, zhi: w.zhi,
	}
	if c.arc {
		d := (t1 - t0) * c.turn
		off := math.Abs(c.r1-c.r0) + 1e-9
		if c.plane == rs274.XY {
			p.seg.Bulge = math.Tan(d / 4)
			p.slack = off
		} else { // a chord, and how far the arc strays from it
			p.slack = off + float64(math.Max(c.r0, c.r1)*(1-math.Cos(math.Min(math.Abs(d)/2, math.Pi))))
		}
		p.box = p.seg.Bounds()
	}
	return p
}

// span returns the box of a straight way from a to b, and of every path that
// axes of their own speed may take.
func span(a, b *[3]float64) box3 {
	return box3{
		xy: geom.Box{
			Min: geom.Pt(min(a[0], b[0]), min(a[1], b[1])),
			Max: geom.Pt(max(a[0], b[0]), max(a[1], b[1])),
		},
		zlo: min(a[2], b[2]), zhi: max(a[2], b[2]),
	}
}

// bounds returns the box of a piece grown by its slack.
func (p *piece) bounds() box3 {
	return box3{p.box.Grow(p.slack), p.zlo - p.slack, p.zhi + p.slack}
}

// box3 is a box in space.
type box3 struct {
	xy       geom.Box
	zlo, zhi float64
}

func emptyBox3() box3 { return box3{geom.EmptyBox(), math.Inf(1), math.Inf(-1)} }

func (b box3) union(c box3) box3 {
	return box3{
		xy: geom.Box{
			Min: geom.Pt(min(b.xy.Min.X, c.xy.Min.X), min(b.xy.Min.Y, c.xy.Min.Y)),
			Max: geom.Pt(max(b.xy.Max.X, c.xy.Max.X), max(b.xy.Max.Y, c.xy.Max.Y)),
		},
		zlo: min(b.zlo, c.zlo), zhi: max(b.zhi, c.zhi),
	}
}

// boundsOf returns a box that holds every place the tip can be in during the move.
func boundsOf(m *rs274.Move) box3 {
	if m.Motion != rs274.ArcCW && m.Motion != rs274.ArcCCW {
		return span(&m.From, &m.To)
	}
	c := newCurve(m)
	return c.bounds()
}

// bounds returns a box that holds every place the tip can be in during the move.
func (c *curve) bounds() box3 {
	if !c.arc {
		return span(&c.from, &c.to)
	}
	n := c.parts()
	b := emptyBox3()
	for i := 0; i < n; i++ {
		p := c.piece(float64(i)/float64(n), float64(i+1)/float64(n))
		b = b.union(p.bounds())
	}
	return b
}
