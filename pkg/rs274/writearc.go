package rs274

import (
	"math"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

// piece is a stretch of an arc before rounding, mm and rad.
type piece struct {
	centre geom.Point
	from   geom.Point
	to     geom.Point
	sweep  float64 // signed, counter-clockwise positive
	z0, z1 float64
}

// at returns the point of the piece at t from 0 to 1.
func (p piece) at(t float64) geom.Point {
	if t == 1 {
		return p.to
	}
	u := p.from.Sub(p.centre)
	s, c := math.Sincos(t * p.sweep)
	return p.centre.Add(geom.Pt(float64(u.X*c)-float64(u.Y*s), float64(u.X*s)+float64(u.Y*c)))
}

// part returns the k-th of n equal parts.
func (p piece) part(k, n int) piece {
	a, b := float64(k)/float64(n), float64(k+1)/float64(n)
	return piece{p.centre, p.at(a), p.at(b), p.sweep / float64(n),
		p.z0 + float64(a*(p.z1-p.z0)), p.z0 + float64(b*(p.z1-p.z0))}
}

// sagitta returns the height of the arc above its chord; the radius when it is
// more than half a turn.
func (p piece) sagitta() float64 {
	r := p.from.Dist(p.centre)
	if math.Abs(p.sweep) >= math.Pi {
		return r
	}
	s := math.Sin(p.sweep / 4)
	return 2 * r * float64(s*s)
}

// sweepOf returns the turn from u to v about the origin, full when they are
// equal.
func sweepOf(u, v geom.Point, ccw bool) float64 {
	t := math.Atan2(u.Cross(v), u.Dot(v))
	if u == v {
		t = 0
	}
	if ccw && t <= 0 {
		t += 2 * math.Pi
	}
	if !ccw && t >= 0 {
		t -= 2 * math.Pi
	}
	return t
}

// sameEnds is the distance below which an arc of a plan ends where it starts,
// mm: far below any grid, far above the rounding of sums.
const sameEnds = 1e-7

// maxRadiusSweep bounds arcs by R: the report advises against 165° to 195° and
// more than 345°, and at 120° the rounding of R moves the middle by twice as
// much at most (NISTIR 6556, 3.5.3.1).
const maxRadiusSweep = 2*math.Pi/3 + 1e-6

// arc writes an arc of the plan in the form that the controller knows.
func (t *writer) arc(m *toolpath.Move, feed, scale int64) {
	p := piece{centre: m.Center, from: geom.Pt(t.exact[0], t.exact[1]), to: geom.Pt(m.X, m.Y), z0: t.exact[2], z1: m.Z}
	r0, r1 := p.from.Dist(p.centre), p.to.Dist(p.centre)
	if d := math.Abs(r0 - r1); d > math.Max(t.tol, 4*t.grid.step) || r0 < sameEnds {
		t.failAt("write-arc", [3]float64{m.X, m.Y, m.Z}, "arc of the plan has no one radius", "report this: the plan is inconsistent")
		return
	}
	u, v := p.from.Sub(p.centre), p.to.Sub(p.centre)
	if p.from.Dist(p.to) < sameEnds {
		p.to, v = p.from, u
	}
	p.sweep = sweepOf(u, v, m.CCW)
	switch t.c.Arcs {
	case shop.ArcNone:
		t.chords(p, feed, scale)
	case shop.ArcRadius:
		n := max(1, int(math.Ceil(math.Abs(p.sweep)/maxRadiusSweep)))
		for k := range n {
			t.piece(p.part(k, n), feed, scale, 0)
		}
	default:
		t.piece(p, feed, scale, 0)
	}
}

// maxSplits bounds how often an arc is halved.
const maxSplits = 10

// piece writes a stretch of an arc: as one arc if the rounded words give the
// same arc, else in two halves, as a line when it is too flat to matter.
func (t *writer) piece(p piece, feed, scale int64, depth int) {
	q := t.grid3(p.to, p.z1)
	if p.from == p.to {
		q[0], q[1] = t.at[0], t.at[1]
	}
	flat := p.sagitta() < t.grid.step/2
	if flat {
		t.straight(q, feed, scale)
		return
	}
	closed := q[0] == t.at[0] && q[1] == t.at[1]
	if !closed || p.from == p.to {
		if t.c.Arcs == shop.ArcRadius && t.byRadius(p, q, feed, scale) {
			return
		}
		if t.c.Arcs != shop.ArcRadius && t.byCentre(p, q, feed, scale) {
			return
		}
	}
	if depth < maxSplits {
		t.piece(p.part(0, 2), feed, scale, depth+1)
		t.piece(p.part(1, 2), feed, scale, depth+1)
		return
	}
	t.failAt("write-arc", [3]float64{p.to.X, p.to.Y, p.z1}, "arc cannot be written with the controller's decimals",
		"give the controller more decimals, or arcs = \"none\"")
}

// nearby is how many grid lines to each side the centre is looked for.
const nearby = 2

// byCentre writes G2 or G3 with I and J. The centre is the grid point nearest to
// the true one, or one nearby, for which start and end radius agree.
func (t *writer) byCentre(p piece, q [3]int64, feed, scale int64) bool {
	s := t.grid.step
	dx, dy := float64(q[0]-t.at[0]), float64(q[1]-t.at[1])
	i0 := t.grid.round(p.centre.X - t.grid.mm(t.at[0]))
	j0 := t.grid.round(p.centre.Y - t.grid.mm(t.at[1]))
	differ := func(i, j int64) float64 {
		fi, fj := float64(i), float64(j)
		return math.Abs(math.Hypot(fi, fj)-math.Hypot(dx-fi, dy-fj)) * s
	}
	i, j := i0, j0
	limit := 0.9 * t.tol // the rest is left to how the controller reckons
	if differ(i, j) > limit {
		best := math.Inf(1)
		for di := int64(-nearby); di <= nearby; di++ {
			for dj := int64(-nearby); dj <= nearby; dj++ {
				far := math.Hypot(float64(di), float64(dj)) * s
				if c := differ(i0+di, j0+dj) + far/10; c < best {
					best, i, j = c, i0+di, j0+dj
				}
			}
		}
	}
	if differ(i, j) > limit || i == 0 && j == 0 {
		return false
	}
	centre := t.point(t.at).Add(geom.Pt(t.grid.mm(i), t.grid.mm(j)))
	if !t.sameArc(p, centre, q) {
		return false
	}
	t.arcWords(p, q)
	t.line = t.grid.append(t.line, 'I', i)
	t.line = t.grid.append(t.line, 'J', j)
	t.fword(feed, scale)
	t.flush()
	t.at = q
	return true
}

// byRadius writes G2 or G3 with R.
func (t *writer) byRadius(p piece, q [3]int64, feed, scale int64) bool {
	a, b := t.point(t.at), t.point(q)
	n := t.grid.round(p.from.Dist(p.centre))
	r := t.grid.mm(n)
	half := a.Dist(b) / 2
	h2 := float64(r*r) - float64(half*half)
	if n <= 0 || h2 <= 0 {
		return false
	}
	side := b.Sub(a).Left().Unit()
	if p.sweep < 0 {
		side = side.Mul(-1)
	}
	centre := a.Lerp(b, 0.5).Add(side.Mul(math.Sqrt(h2)))
	if !t.sameArc(p, centre, q) {
		return false
	}
	t.arcWords(p, q)
	t.line = t.grid.append(t.line, 'R', n)
	t.fword(feed, scale)
	t.flush()
	t.at = q
	return true
}

func (t *writer) arcWords(p piece, q [3]int64) {
	g := "G2"
	if p.sweep > 0 {
		g = "G3"
	}
	t.line = append(t.line, g...)
	t.line = t.grid.append(t.line, 'X', q[0])
	t.line = t.grid.append(t.line, 'Y', q[1])
	if q[2] != t.at[2] {
		t.line = t.grid.append(t.line, 'Z', q[2])
	}
}

// sameArc tells whether the arc about centre from where the tip stands to q is
// the piece but for rounding: it turns by as much and passes the same middle.
// It catches a short arc that rounding would turn into almost a full circle.
func (t *writer) sameArc(p piece, centre geom.Point, q [3]int64) bool {
	u, v := t.point(t.at).Sub(centre), t.point(q).Sub(centre)
	r := u.Len()
	if q[0] == t.at[0] && q[1] == t.at[1] {
		v = u
	}
	sweep := sweepOf(u, v, p.sweep > 0)
	if math.Abs(sweep-p.sweep)*r > 4*t.grid.step {
		return false
	}
	w := piece{centre: centre, from: t.point(t.at), to: t.point(q), sweep: sweep}
	return w.at(0.5).Dist(p.at(0.5)) <= 3*t.grid.step
}

// kept tells on which side of the path material is kept: +1 left of travel, -1
// right, 0 when that cannot be told. With a spindle that turns clockwise it is
// the right when climbing.
func kept(p *toolpath.Path, w *work.Work) int {
	side := 0
	for i := range w.Cuts {
		c := &w.Cuts[i]
		if c.Name != p.Cut {
			continue
		}
		s := 1
		if c.Climb {
			s = -1
		}
		if v, ok := c.Options["finish_climb"]; ok && (v != 0) != c.Climb {
			return 0 // the passes of the cut differ
		}
		if side != 0 && side != s {
			return 0 // two cuts of one name
		}
		side = s
	}
	return side
}

// chords writes an arc as lines. Where material is kept on the centre's side the
// lines touch the arc from outside; elsewhere they run between points on it,
// hence toward the centre. Either way they stray by the chord tolerance at most.
func (t *writer) chords(p piece, feed, scale int64) {
	r := p.from.Dist(p.centre)
	tol := math.Max(t.chord-t.grid.step, t.chord/4) // rounding takes its share
	outside := t.kept != 0 && (t.kept > 0) == (p.sweep > 0)
	n := 1
	switch {
	case outside:
		n = max(1, int(math.Ceil(math.Abs(p.sweep)/(2*math.Acos(r/(r+tol))))))
	case tol < r:
		n = max(1, int(math.Ceil(math.Abs(p.sweep)/(2*math.Acos(1-tol/r)))))
	case math.Abs(p.sweep) > math.Pi/2:
		n = 4 // never less than a quarter turn to a line
	}
	if outside {
		n = max(n, int(math.Ceil(math.Abs(p.sweep)/(math.Pi/2))))
	}
	for k := range n {
		s := p.part(k, n)
		to, z := s.to, s.z1
		if outside { // where the tangents at both ends of the part meet
			m := s.at(0.5)
			to = s.centre.Add(m.Sub(s.centre).Mul(1 / math.Cos(s.sweep/2)))
			z = (s.z0 + s.z1) / 2
		}
		t.straight(t.grid3(to, z), feed, scale)
	}
	if outside {
		t.straight(t.grid3(p.to, p.z1), feed, scale)
	}
}

func (t *writer) grid3(p geom.Point, z float64) [3]int64 {
	return [3]int64{t.grid.round(p.X), t.grid.round(p.Y), t.grid.round(z)}
}
