package locate

import (
	"math"

	"sparclear/pkg/geom"
)

// observation is a datum or a touch on a line, ready for the fit: drawn in a
// frame that is already reflected where the job asks for it.
type observation struct {
	drawn   geom.Point // a datum, or any point of the line
	normal  geom.Point // unit, to the left of the line; zero for a datum
	touched geom.Point
	offset  float64
	weight  float64
}

func (o observation) isLine() bool { return o.normal != geom.Point{} }

func flip(p geom.Point, mirror bool) geom.Point {
	if mirror {
		p.Y = -p.Y
	}
	return p
}

func observe(pairs []Pair, lines []LinePair, mirror bool) []observation {
	out := make([]observation, 0, len(pairs)+len(lines))
	for _, p := range pairs {
		out = append(out, observation{drawn: flip(p.Drawn, mirror), touched: p.Touched, weight: weightOf(p.Weight)})
	}
	for _, l := range lines {
		// The left of the line as drawn stays the same side of the work when the
		// drawing is reflected, so the normal is reflected and not made anew.
		n := flip(l.B.Sub(l.A).Unit().Left(), mirror)
		out = append(out, observation{drawn: flip(l.A, mirror), normal: n, touched: l.Touched,
			offset: l.Offset, weight: weightOf(l.Weight)})
	}
	return out
}

func weightOf(w float64) float64 {
	if w == 0 {
		return 1
	}
	return w
}

// pose maps a drawn point d to R(turn)·d + shift.
type pose struct {
	turn  float64
	shift geom.Point
}

func (p pose) rotate(d geom.Point) geom.Point {
	s, c := math.Sincos(p.turn)
	return geom.Pt(float64(c*d.X)-float64(s*d.Y), float64(s*d.X)+float64(c*d.Y))
}

func (p pose) apply(d geom.Point) geom.Point { return p.rotate(d).Add(p.shift) }

// off returns touched minus fitted; for a line only the part across it.
func (p pose) off(o observation) geom.Point {
	d := o.touched.Sub(p.apply(o.drawn))
	if !o.isLine() {
		return d
	}
	n := p.rotate(o.normal)
	return n.Mul(n.Dot(d) - o.offset)
}

func (p pose) cost(obs []observation) float64 {
	var sum float64
	for _, o := range obs {
		d := p.off(o)
		sum += float64(o.weight * d.Dot(d))
	}
	return sum
}

// candidate is a local minimum of the cost.
type candidate struct {
	pose pose
	cost float64
}

// solve returns the local minima of the weighted sum of squares, best first.
// Datums alone have one, in closed form: the turn is the angle of (sum of dot,
// sum of cross) of the centred points, which holds the determinant at +1
// (Umeyama, IEEE Trans. PAMI 13(4), 1991, 376-380, in two dimensions). With
// touches on lines the cost is a quadratic in the shift for every turn, so the
// turn alone is searched all the way round, and each valley is then polished.
func solve(obs []observation) []candidate {
	onlyPoints := true
	for _, o := range obs {
		onlyPoints = onlyPoints && !o.isLine()
	}
	if onlyPoints {
		p := kabsch(obs)
		return []candidate{{p, p.cost(obs)}}
	}
	const steps = 360
	at := func(turn float64) (pose, float64, bool) {
		p, ok := bestShift(obs, turn)
		return p, p.cost(obs), ok
	}
	costs := make([]float64, steps)
	for i := range costs {
		_, c, ok := at(float64(i) * 2 * math.Pi / steps)
		if !ok {
			c = math.Inf(1)
		}
		costs[i] = c
	}
	var out []candidate
	for i, c := range costs {
		before, after := costs[(i+steps-1)%steps], costs[(i+1)%steps]
		if math.IsInf(c, 1) || c > before || c >= after {
			continue
		}
		lo, hi := float64(i-1)*2*math.Pi/steps, float64(i+1)*2*math.Pi/steps
		turn := narrow(func(t float64) float64 { _, c, _ := at(t); return c }, lo, hi)
		p, ok := bestShift(obs, turn)
		if !ok {
			continue
		}
		p = polish(obs, p)
		out = append(out, candidate{p, p.cost(obs)})
	}
	sortCandidates(out)
	return out
}

func sortCandidates(c []candidate) {
	for i := 1; i < len(c); i++ {
		for j := i; j > 0 && c[j].cost < c[j-1].cost; j-- {
			c[j], c[j-1] = c[j-1], c[j]
		}
	}
}

// kabsch is the closed form for datums alone.
func kabsch(obs []observation) pose {
	cd, ct := centroids(obs)
	var dot, cross float64
	for _, o := range obs {
		d, t := o.drawn.Sub(cd), o.touched.Sub(ct)
		dot += float64(o.weight * d.Dot(t))
		cross += float64(o.weight * d.Cross(t))
	}
	p := pose{turn: math.Atan2(cross, dot)}
	p.shift = ct.Sub(p.rotate(cd))
	return p
}

func centroids(obs []observation) (drawn, touched geom.Point) {
	var w float64
	for _, o := range obs {
		drawn = drawn.Add(o.drawn.Mul(o.weight))
		touched = touched.Add(o.touched.Mul(o.weight))
		w += o.weight
	}
	return drawn.Mul(1 / w), touched.Mul(1 / w)
}

// bestShift returns the pose with the given turn and the shift that fits best;
// false when the touches leave a direction open (all on parallel lines).
func bestShift(obs []observation, turn float64) (pose, bool) {
	p := pose{turn: turn}
	var axx, axy, ayy, bx, by, w float64
	for _, o := range obs {
		d := o.touched.Sub(p.rotate(o.drawn))
		w += o.weight
		if !o.isLine() {
			axx += o.weight
			ayy += o.weight
			bx += float64(o.weight * d.X)
			by += float64(o.weight * d.Y)
			continue
		}
		n := p.rotate(o.normal)
		v := o.weight * (n.Dot(d) - o.offset)
		axx += float64(o.weight * float64(n.X*n.X))
		axy += float64(o.weight * float64(n.X*n.Y))
		ayy += float64(o.weight * float64(n.Y*n.Y))
		bx += float64(v * n.X)
		by += float64(v * n.Y)
	}
	det := float64(axx*ayy) - float64(axy*axy)
	if !(det > 1e-9*float64(w*w)) {
		return p, false
	}
	p.shift = geom.Pt((float64(ayy*bx)-float64(axy*by))/det, (float64(axx*by)-float64(axy*bx))/det)
	return p, true
}

// narrow returns the place of the minimum of f between lo and hi, which hold one
// valley (golden section; good to the square root of the machine precision).
func narrow(f func(float64) float64, lo, hi float64) float64 {
	const ratio = 0.6180339887498949
	a, b := hi-ratio*(hi-lo), lo+ratio*(hi-lo)
	fa, fb := f(a), f(b)
	for range 60 {
		if fa <= fb {
			hi, b, fb = b, a, fa
			a = hi - ratio*(hi-lo)
			fa = f(a)
		} else {
			lo, a, fa = a, b, fb
			b = lo + ratio*(hi-lo)
			fb = f(b)
		}
	}
	return (lo + hi) / 2
}

// polish takes a few Gauss-Newton steps, each kept only when the cost falls.
func polish(obs []observation, p pose) pose {
	cost := p.cost(obs)
	for range 8 {
		m, g, origin := p.normal(obs)
		inv, ok := invert(m)
		if !ok {
			return p
		}
		var step [3]float64
		for i := range 3 {
			for j := range 3 {
				step[i] += float64(inv[i][j] * g[j])
			}
		}
		q := pose{turn: p.turn + step[0]}
		// origin is the image of a fixed drawn point and moves by the step
		fixed := p.unapply(origin)
		q.shift = origin.Add(geom.Pt(step[1], step[2])).Sub(q.rotate(fixed))
		c := q.cost(obs)
		if !(c < cost) {
			return p
		}
		p, cost = q, c
	}
	return p
}

func (p pose) unapply(y geom.Point) geom.Point {
	return pose{turn: -p.turn}.rotate(y.Sub(p.shift))
}

// normal returns the matrix and the right side of the normal equations for
// (turn, shift), the turn taken about origin, the centroid of the touches.
func (p pose) normal(obs []observation) (m [3][3]float64, g [3]float64, origin geom.Point) {
	_, origin = centroids(obs)
	row := func(w float64, j [3]float64, r float64) {
		for a := range 3 {
			for b := range 3 {
				m[a][b] += float64(w * float64(j[a]*j[b]))
			}
			g[a] += float64(w * float64(j[a]*r))
		}
	}
	for _, o := range obs {
		d := p.off(o)
		if !o.isLine() {
			l := p.apply(o.drawn).Sub(origin).Left()
			row(o.weight, [3]float64{l.X, 1, 0}, d.X)
			row(o.weight, [3]float64{l.Y, 0, 1}, d.Y)
			continue
		}
		// The place on the line nearest the touch moves with the drawing.
		n := p.rotate(o.normal)
		l := o.touched.Sub(n.Mul(o.offset)).Sub(d).Sub(origin).Left()
		row(o.weight, [3]float64{n.Dot(l), n.X, n.Y}, n.Dot(d))
	}
	return m, g, origin
}

// invert returns the inverse of a symmetric positive definite matrix; false when
// a direction is left open. The turn is scaled to a length first, so that the
// judgement does not depend on the unit.
func invert(m [3][3]float64) (inv [3][3]float64, ok bool) {
	var s [3]float64
	for i := range 3 {
		if !(m[i][i] > 0) {
			return inv, false
		}
		s[i] = 1 / math.Sqrt(m[i][i])
	}
	var a [3][6]float64
	for i := range 3 {
		for j := range 3 {
			a[i][j] = m[i][j] * s[i] * s[j]
		}
		a[i][3+i] = 1
	}
	for i := range 3 {
		// Symmetric positive definite: the pivots of the scaled matrix lie in
		// (0, 1], and a small one is what is left of an undetermined direction.
		piv := a[i][i]
		if !(piv > 1e-10) {
			return inv, false
		}
		for j := range 6 {
			a[i][j] /= piv
		}
		for k := range 3 {
			if k == i {
				continue
			}
			f := a[k][i]
			for j := range 6 {
				a[k][j] -= float64(f * a[i][j])
			}
		}
	}
	for i := range 3 {
		for j := range 3 {
			inv[i][j] = a[i][3+j] * s[i] * s[j]
		}
	}
	return inv, true
}
