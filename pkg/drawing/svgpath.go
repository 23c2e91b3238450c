package drawing

import (
	"fmt"
	"math"

	"sparclear/pkg/geom"
)

// svgPath reads path data (SVG 2, section 9.3) and calls put for every subpath
// with its curves. It does not go through the vector graphics library that
// draws our pictures: that one merges lines which turn straight back, and takes
// every arc whose ends are one radius apart for a half circle.
type svgPath struct {
	src   string
	at    int
	m     affine
	tol   float64 // mm
	limit int     // segments that may still be made
	segs  []geom.Seg
	put   func(segs []geom.Seg, closed bool)

	start, pos, ctrl geom.Point
	last             byte
}

// read reads the whole path. What comes before a fault is kept, as the standard
// asks of those who draw; the error tells the caller not to cut it.
func (p *svgPath) read() error {
	for {
		p.blank()
		if p.at >= len(p.src) {
			p.flush(false)
			return nil
		}
		c := p.src[p.at]
		if isLetter(c) {
			p.at++
		} else {
			switch { // numbers go on with the last command
			case p.last == 0 || p.last == 'z' || p.last == 'Z':
				return p.fault("a command was expected")
			case p.last == 'M':
				c = 'L'
			case p.last == 'm':
				c = 'l'
			default:
				c = p.last
			}
		}
		if p.last == 0 && c != 'M' && c != 'm' {
			return p.fault("a path begins with M")
		}
		if err := p.command(c); err != nil {
			return err
		}
		p.last = c
		if len(p.segs) > p.limit {
			return p.fault("the path is too long")
		}
	}
}

func (p *svgPath) fault(why string) error {
	p.flush(false)
	return fmt.Errorf("%s at character %d", why, p.at+1)
}

func isLetter(c byte) bool { return c-'a' < 26 || c-'A' < 26 }

func (p *svgPath) blank() {
	for p.at < len(p.src) && (p.src[p.at] == ' ' || p.src[p.at] == ',' || p.src[p.at] >= '\t' && p.src[p.at] <= '\r') {
		p.at++
	}
}

// number reads one number; "1.5.5" is two.
func (p *svgPath) number() (float64, bool) {
	p.blank()
	i := p.at
	skip := func(set string) {
		if i < len(p.src) && (p.src[i] == set[0] || p.src[i] == set[1]) {
			i++
		}
	}
	digits := func() (n int) {
		for i < len(p.src) && p.src[i]-'0' <= 9 {
			i++
			n++
		}
		return n
	}
	skip("+-")
	n := digits()
	if i < len(p.src) && p.src[i] == '.' {
		i++
		n += digits()
	}
	if n == 0 {
		return 0, false
	}
	if i < len(p.src) && (p.src[i] == 'e' || p.src[i] == 'E') {
		back := i
		i++
		skip("+-")
		if digits() == 0 {
			i = back
		}
	}
	v, ok := parseNumber([]byte(p.src[p.at:i]))
	p.at = i
	return v, ok && math.Abs(v) <= far
}

func (p *svgPath) flag() (bool, bool) {
	p.blank()
	if p.at < len(p.src) && (p.src[p.at] == '0' || p.src[p.at] == '1') {
		p.at++
		return p.src[p.at-1] == '1', true
	}
	return false, false
}

func (p *svgPath) command(c byte) error {
	var v [7]float64
	rel := c >= 'a'
	up := c &^ 0x20
	want := map[byte]int{'M': 2, 'L': 2, 'H': 1, 'V': 1, 'C': 6, 'S': 4, 'Q': 4, 'T': 2, 'A': 7}[up]
	if up != 'Z' && want == 0 {
		return p.fault(fmt.Sprintf("%q is no command", c))
	}
	for i := range want {
		ok := true
		if up == 'A' && (i == 3 || i == 4) {
			var set bool
			if set, ok = p.flag(); set {
				v[i] = 1
			}
		} else {
			v[i], ok = p.number()
		}
		if !ok {
			return p.fault("a number was expected")
		}
	}
	pt := func(i int) geom.Point {
		q := geom.Pt(v[i], v[i+1])
		if rel {
			q = q.Add(p.pos)
		}
		return q
	}
	switch up {
	case 'M':
		p.flush(false)
		p.pos = pt(0)
		p.start = p.pos
	case 'Z':
		p.line(p.start)
		p.flush(true)
	case 'L':
		p.line(pt(0))
	case 'H':
		q := geom.Pt(v[0], p.pos.Y)
		if rel {
			q.X += p.pos.X
		}
		p.line(q)
	case 'V':
		q := geom.Pt(p.pos.X, v[0])
		if rel {
			q.Y += p.pos.Y
		}
		p.line(q)
	case 'C':
		p.cubic(pt(0), pt(2), pt(4))
	case 'S':
		p.cubic(p.mirrored("CcSs"), pt(0), pt(2))
	case 'Q':
		p.quadratic(pt(0), pt(2))
	case 'T':
		p.quadratic(p.mirrored("QqTt"), pt(0))
	case 'A':
		p.arc(v[0], v[1], v[2], v[3] == 1, v[4] == 1, pt(5))
	}
	return nil
}

// mirrored is the control point that continues the last curve smoothly.
func (p *svgPath) mirrored(after string) geom.Point {
	for i := range len(after) {
		if p.last == after[i] {
			return p.pos.Mul(2).Sub(p.ctrl)
		}
	}
	return p.pos
}

func (p *svgPath) flush(closed bool) {
	if len(p.segs) > 0 {
		p.put(p.segs, closed)
		p.limit -= len(p.segs)
	}
	p.segs = nil
}

func (p *svgPath) line(q geom.Point) {
	if q != p.pos {
		p.segs = append(p.segs, geom.Line(p.m.apply(p.pos), p.m.apply(q)))
	}
	p.pos = q
}

func (p *svgPath) curve(control []geom.Point) {
	last := control[len(control)-1]
	c := nurbs{degree: len(control) - 1}
	for range len(control) {
		c.knots = append(c.knots, 0)
	}
	for range len(control) {
		c.knots = append(c.knots, 1)
	}
	same := true
	for _, q := range control {
		c.control = append(c.control, p.m.apply(q))
		same = same && q == control[0]
	}
	if !same {
		p.segs = append(p.segs, nurbsSegments(c, p.tol)...)
	}
	p.ctrl, p.pos = control[len(control)-2], last
}

func (p *svgPath) cubic(a, b, q geom.Point)  { p.curve([]geom.Point{p.pos, a, b, q}) }
func (p *svgPath) quadratic(a, q geom.Point) { p.curve([]geom.Point{p.pos, a, q}) }

// arc turns the end point form into the centre form (SVG 2, appendix B.2.4).
func (p *svgPath) arc(rx, ry, deg float64, large, sweep bool, q geom.Point) {
	from := p.pos
	rx, ry = math.Abs(rx), math.Abs(ry)
	if q == from {
		return
	}
	if rx == 0 || ry == 0 {
		p.line(q)
		return
	}
	p.pos = q
	turn := turning(deg)
	back := turning(-deg)
	h := back.vector(from.Sub(q).Mul(0.5))
	x, y := h.X/rx, h.Y/ry
	l := float64(x*x) + float64(y*y)
	if l > 1 { // too small to reach: scaled up until it does
		s := math.Sqrt(l)
		rx, ry, l = rx*s, ry*s, 1
		x, y = h.X/rx, h.Y/ry
	}
	k := math.Sqrt(math.Max(0, 1-l) / l)
	if large == sweep {
		k = -k
	}
	cx, cy := k*y, -k*x // centre on the unit circle
	t0 := math.Atan2(y-cy, x-cx)
	dt := math.Atan2(-y-cy, -x-cx) - t0
	if sweep && dt < 0 {
		dt += 2 * math.Pi
	} else if !sweep && dt > 0 {
		dt -= 2 * math.Pi
	}
	center := turn.vector(geom.Pt(cx*rx, cy*ry)).Add(from.Lerp(q, 0.5))
	u, v := p.m.vector(turn.vector(geom.Pt(rx, 0))), p.m.vector(turn.vector(geom.Pt(0, ry)))
	a, b := p.m.apply(from), p.m.apply(q)
	if math.Abs(u.Dot(u)-v.Dot(v)) <= 2e-12*u.Dot(u) && math.Abs(u.Dot(v)) <= 1e-12*u.Dot(u) {
		if u.Cross(v) < 0 {
			dt = -dt
		}
		if math.Abs(dt) > math.Pi*1.01 {
			e := ellipseCurve{p.m.apply(center), u, v}
			s := dt
			if u.Cross(v) < 0 {
				s = -s
			}
			mid, _ := e.at(t0 + s/2)
			bulge := math.Tan(dt / 8)
			p.segs = append(p.segs, geom.Seg{A: a, B: mid, Bulge: bulge}, geom.Seg{A: mid, B: b, Bulge: bulge})
			return
		}
		p.segs = append(p.segs, geom.Seg{A: a, B: b, Bulge: math.Tan(dt / 4)})
		return
	}
	segs := ellipseCurve{p.m.apply(center), u, v}.segments(t0, t0+dt, p.tol)
	segs[0].A, segs[len(segs)-1].B = a, b
	p.segs = append(p.segs, segs...)
}
