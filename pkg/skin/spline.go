package skin

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"sparclear/pkg/geom"
)

// spline is a smoothing polyharmonic spline through scattered heights: the
// surface that bends least for how closely it passes the touches. Order 2 is the
// thin-plate spline with kernel r² ln r and a plane (Bookstein, "Principal
// Warps", IEEE Trans. PAMI 11(6), 1989, 567-585); order 3 has the kernel
// −r⁴ ln r and a quadratic, and reproduces quadratics exactly, hence the round
// of a wing (Wahba, Spline Models for Observational Data, 1990, section 2.4).
type spline struct {
	order  int
	centre geom.Point
	scale  float64 // 1/mm; places are scaled into the unit disc
	at     []geom.Point
	w      []float64 // of the kernels
	poly   []float64 // of 1, x, y [, x², xy, y²]
	loo    []float64 // error of each height predicted from all others, mm
}

// terms returns the polynomials that the order leaves free.
func terms(order int, p geom.Point, out []float64) []float64 {
	out = append(out[:0], 1, p.X, p.Y)
	if order > 2 {
		out = append(out, float64(p.X*p.X), float64(p.X*p.Y), float64(p.Y*p.Y))
	}
	return out
}

func termCount(order int) int { return order * (order + 1) / 2 }

// kernel of the squared distance.
func kernel(order int, r2 float64) float64 {
	if r2 <= 0 {
		return 0
	}
	k := r2 * math.Log(r2) / 2
	if order > 2 {
		return -k * r2
	}
	return k
}

// places are the touches scaled into the unit disc, with what every fit over
// them shares.
type places struct {
	centre geom.Point
	scale  float64
	at     []geom.Point
	z      []float64
}

func placesOf(t []Touch) places {
	var s places
	for _, p := range t {
		s.centre = s.centre.Add(p.At().Mul(1 / float64(len(t))))
	}
	far := 1e-9
	for _, p := range t {
		far = math.Max(far, p.At().Dist(s.centre))
	}
	s.scale = 1 / far
	for _, p := range t {
		s.at = append(s.at, p.At().Sub(s.centre).Mul(s.scale))
		s.z = append(s.z, p.Z)
	}
	return s
}

// system is the kernel matrix of some places with the polynomials projected out:
// what is left is positive definite, and is made once for all degrees of
// smoothing.
type system struct {
	order int
	p     places
	q     int         // free polynomials
	h     []reflector // their Householder reflectors
	r     [][]float64 // upper triangle of the polynomial part, by columns
	b     *mat.SymDense
	top   *mat.Dense // first q rows of the reflected kernel matrix
}

// reflector is I − 2·v·vᵀ, v of unit length, zero before its first index.
type reflector struct{ v []float64 }

func (h reflector) apply(x []float64) {
	var s float64
	for i, v := range h.v {
		s += float64(v * x[i])
	}
	s *= 2
	for i, v := range h.v {
		x[i] -= float64(s * v)
	}
}

// newSystem returns false when the places do not determine the polynomials of
// the order (too few, or all on one line or conic).
func newSystem(order int, p places) (*system, bool) {
	s, ok := reflect(order, p)
	if ok {
		s.project()
	}
	return s, ok
}

// reflect triangulates the polynomials.
func reflect(order int, p places) (*system, bool) {
	n, q := len(p.at), termCount(order)
	if n < q {
		return nil, false
	}
	s := &system{order: order, p: p, q: q}
	cols := make([][]float64, q)
	for k := range cols {
		cols[k] = make([]float64, n)
	}
	var t []float64
	for i, x := range p.at {
		t = terms(order, x, t)
		for k := range q {
			cols[k][i] = t[k]
		}
	}
	for k, c := range cols {
		for _, h := range s.h {
			h.apply(c)
		}
		whole := norm(cols[k])
		left := norm(c[k:])
		// A column that the ones before it explain but for a thousandth leaves
		// that direction to chance.
		if !(left > 1e-3*whole) {
			return nil, false
		}
		v := make([]float64, n)
		copy(v[k:], c[k:])
		if v[k] < 0 {
			v[k] -= left
		} else {
			v[k] += left
		}
		l := norm(v)
		for i := range v {
			v[i] /= l
		}
		h := reflector{v}
		h.apply(c)
		s.h = append(s.h, h)
		s.r = append(s.r, c[:k+1])
	}
	return s, true
}

func norm(v []float64) float64 {
	var s float64
	for _, x := range v {
		s += float64(x * x)
	}
	return math.Sqrt(s)
}

// project builds the kernel matrix and reflects it from both sides.
func (s *system) project() {
	n := len(s.p.at)
	rows := make([][]float64, n)
	flat := make([]float64, n*n)
	for i := range rows {
		rows[i] = flat[i*n : (i+1)*n]
	}
	for i, a := range s.p.at {
		for j := range i {
			d := a.Sub(s.p.at[j])
			k := kernel(s.order, d.Dot(d))
			rows[i][j], rows[j][i] = k, k
		}
	}
	// H·K·H with H = I − 2vvᵀ: K − v·uᵀ − u·vᵀ with u = 2(Kv − v·(vᵀKv)).
	u := make([]float64, n)
	for _, h := range s.h {
		for i, row := range rows {
			var t float64
			for j, v := range h.v {
				t += float64(row[j] * v)
			}
			u[i] = t
		}
		var vkv float64
		for i, v := range h.v {
			vkv += float64(v * u[i])
		}
		for i, v := range h.v {
			u[i] = 2 * (u[i] - float64(vkv*v))
		}
		for i, row := range rows {
			vi, ui := h.v[i], u[i]
			for j := range row {
				row[j] -= float64(vi*u[j]) + float64(ui*h.v[j])
			}
		}
	}
	m := n - s.q
	s.top = mat.NewDense(s.q, n, append([]float64(nil), flat[:s.q*n]...))
	if m == 0 {
		return
	}
	b := make([]float64, m*m)
	for i := range m {
		copy(b[i*m:(i+1)*m], rows[s.q+i][s.q:])
	}
	s.b = mat.NewSymDense(m, b)
}

// fit solves for one degree of smoothing: rho is the variance of a touch over
// the variance that the kernel stands for, 0 for a surface through every touch.
// False when rounding has left nothing to solve (touches almost on one spot).
func (s *system) fit(rho float64) (*spline, bool) {
	n, q := len(s.p.at), s.q
	y := append([]float64(nil), s.p.z...)
	for _, h := range s.h {
		h.apply(y)
	}
	out := &spline{order: s.order, centre: s.p.centre, scale: s.p.scale, at: s.p.at, loo: make([]float64, n)}
	g := make([]float64, n) // the weights, reflected
	if n > q {
		ch, ok := s.smooth(rho)
		if !ok {
			return nil, false
		}
		x := mat.NewVecDense(n-q, nil)
		if err := ch.SolveVecTo(x, mat.NewVecDense(n-q, y[q:])); err != nil {
			return nil, false
		}
		copy(g[q:], x.RawVector().Data)
		s.leaveOut(ch, out.loo)
	}
	out.poly = make([]float64, q)
	for k := q - 1; k >= 0; k-- {
		v := y[k]
		for j := q; j < n; j++ {
			v -= float64(s.top.At(k, j) * g[j])
		}
		for j := k + 1; j < q; j++ {
			v -= float64(s.r[j][k] * out.poly[j])
		}
		out.poly[k] = v / s.r[k][k]
	}
	for k := q - 1; k >= 0; k-- {
		s.h[k].apply(g)
	}
	out.w = g
	for i := range out.loo {
		out.loo[i] = g[i] * out.loo[i]
	}
	return out, true
}

// leaveOut fills in one over the diagonal of G, where the weights are G·z. The
// height at i predicted from all others then differs from the touched one by
// w_i / G_ii (Wahba 1990, section 4.2; Dubrule, Math. Geology 15(6), 1983,
// 687-699): no refit is needed.
func (s *system) leaveOut(ch *mat.Cholesky, out []float64) {
	n := len(s.p.at)
	g, ok := s.precision(ch)
	for i := 0; ok && i < n; i++ {
		if d := g[i*n+i]; d > 0 {
			out[i] = 1 / d
		}
	}
}

// precision returns G, by rows: the weights of the kernels are G·z. False when
// rounding has left nothing of it.
func (s *system) precision(ch *mat.Cholesky) ([]float64, bool) {
	n, q := len(s.p.at), s.q
	// G = Q₂ A⁻¹ Q₂ᵀ.
	var inv mat.SymDense
	if err := ch.InverseTo(&inv); err != nil {
		return nil, false
	}
	// [0 0; 0 A⁻¹] reflected from both sides.
	full := make([]float64, n*n)
	for i := q; i < n; i++ {
		for j := q; j < n; j++ {
			full[i*n+j] = inv.At(i-q, j-q)
		}
	}
	u := make([]float64, n)
	for k := q - 1; k >= 0; k-- {
		v := s.h[k].v
		for i := range n {
			var t float64
			row := full[i*n : (i+1)*n]
			for j, x := range v {
				t += float64(row[j] * x)
			}
			u[i] = t
		}
		var vkv float64
		for i, x := range v {
			vkv += float64(x * u[i])
		}
		for i, x := range v {
			u[i] = 2 * (u[i] - float64(vkv*x))
		}
		for i := range n {
			row := full[i*n : (i+1)*n]
			vi, ui := v[i], u[i]
			for j := range row {
				row[j] -= float64(vi*u[j]) + float64(ui*v[j])
			}
		}
	}
	return full, true
}

// smooth factorizes the kernel matrix with one degree of smoothing.
func (s *system) smooth(rho float64) (*mat.Cholesky, bool) {
	a := mat.NewSymDense(len(s.p.at)-s.q, append([]float64(nil), s.b.RawSymmetric().Data...))
	for i := range len(s.p.at) - s.q {
		a.SetSym(i, i, a.At(i, i)+rho)
	}
	var ch mat.Cholesky
	ok := ch.Factorize(a) && ch.Cond() <= 1e14
	return &ch, ok
}

// height evaluates the spline itself, O(n).
func (s *spline) height(p geom.Point) float64 {
	x := p.Sub(s.centre).Mul(s.scale)
	var buf [6]float64
	var z float64
	for k, t := range terms(s.order, x, buf[:]) {
		z += float64(s.poly[k] * t)
	}
	for i, a := range s.at {
		d := x.Sub(a)
		z += float64(s.w[i] * kernel(s.order, d.Dot(d)))
	}
	return z
}

// looRMS returns the root mean square of the leave-one-out errors, mm.
func (s *spline) looRMS() float64 { return norm(s.loo) / math.Sqrt(float64(len(s.loo))) }
