package skin

import (
	"math"
	"math/bits"

	"sparclear/pkg/geom"
)

// lattice is a surface of uniform bicubic B-spline patches (twice continuously
// differentiable). Its control values give bounds of height, slope and bend that
// always hold, since a spline stays in the hull of its control values and the
// derivatives of a spline are splines over the differences of them. Bounds are
// kept per patch and for blocks of 2, 4, 8 … patches, so that a query over any
// box looks at no more than nine blocks. Outside its box the surface goes on at
// constant height; the way there is smooth, over three patches.
type lattice struct {
	x0, y0    float64 // lower corner of the first patch
	step, inv float64
	nx, ny    int       // patches
	c         []float64 // control values, (nx+3)·(ny+3), rows along X
	levels    []level
}

// level holds bounds of blocks of 2^k × 2^k patches.
type level struct {
	nx, ny int
	cells  []bound
}

// bound holds for every point of a block.
type bound struct{ lo, hi, slope, bend, u, e float64 }

func (b bound) with(c bound) bound {
	return bound{min(b.lo, c.lo), max(b.hi, c.hi), max(b.slope, c.slope), max(b.bend, c.bend), max(b.u, c.u), max(b.e, c.e)}
}

// fade is the number of control values repeated around the drawn part, by which
// the surface turns level at its border.
const fade = 3

// latticeOf returns the surface through f over the box (grown to whole patches),
// by the local quasi-interpolant c = (−f₋ + 8f − f₊)/6 along each axis, which
// reproduces cubics (C. de Boor, A Practical Guide to Splines, ch. XII; the
// coefficients are a closed form). Its distance from f is of fourth order in the
// step and is to be measured by the caller.
func latticeOf(f func(geom.Point) float64, box geom.Box, step float64) *lattice {
	size := box.Size()
	kx, ky := max(1, int(math.Ceil(size.X/step-1e-9))), max(1, int(math.Ceil(size.Y/step-1e-9)))
	// Samples two steps beyond the box on each side, then one less all round.
	sx, sy := kx+5, ky+5
	v := make([]float64, sx*sy)
	for j := range sy {
		for i := range sx {
			v[j*sx+i] = f(geom.Pt(box.Min.X+float64(float64(i-2)*step), box.Min.Y+float64(float64(j-2)*step)))
		}
	}
	cx, cy := kx+3, ky+3
	rows := make([]float64, cx*sy)
	for j := range sy {
		for i := range cx {
			s := v[j*sx+i : j*sx+i+3]
			rows[j*cx+i] = quasi(s[0], s[1], s[2])
		}
	}
	l := &lattice{step: step, inv: 1 / step, nx: kx + 2*fade, ny: ky + 2*fade,
		x0: box.Min.X - fade*step, y0: box.Min.Y - fade*step}
	w, h := l.nx+3, l.ny+3
	l.c = make([]float64, w*h)
	for j := range h {
		jj := min(max(j-fade, 0), cy-1)
		for i := range w {
			ii := min(max(i-fade, 0), cx-1)
			l.c[j*w+i] = quasi(rows[jj*cx+ii], rows[(jj+1)*cx+ii], rows[(jj+2)*cx+ii])
		}
	}
	return l
}

func quasi(before, here, after float64) float64 { return (8*here - before - after) / 6 }

// seal computes the bounds; err gives the standard uncertainty and the bound of
// the rest for a patch.
func (l *lattice) seal(err func(patch geom.Box) (u, e float64)) {
	base := level{l.nx, l.ny, make([]bound, l.nx*l.ny)}
	for j := range l.ny {
		for i := range l.nx {
			b := l.patchBound(i, j)
			b.u, b.e = err(l.patch(i, j))
			base.cells[j*l.nx+i] = b
		}
	}
	l.levels = []level{base}
	for {
		p := l.levels[len(l.levels)-1]
		if p.nx == 1 && p.ny == 1 {
			return
		}
		q := level{(p.nx + 1) / 2, (p.ny + 1) / 2, nil}
		q.cells = make([]bound, q.nx*q.ny)
		for j := range q.ny {
			for i := range q.nx {
				b := p.cells[2*j*p.nx+2*i]
				for _, d := range [3][2]int{{1, 0}, {0, 1}, {1, 1}} {
					if x, y := 2*i+d[0], 2*j+d[1]; x < p.nx && y < p.ny {
						b = b.with(p.cells[y*p.nx+x])
					}
				}
				q.cells[j*q.nx+i] = b
			}
		}
		l.levels = append(l.levels, q)
	}
}

// patch returns the box of a patch.
func (l *lattice) patch(i, j int) geom.Box {
	return geom.Box{
		Min: geom.Pt(l.x0+float64(float64(i)*l.step), l.y0+float64(float64(j)*l.step)),
		Max: geom.Pt(l.x0+float64(float64(i+1)*l.step), l.y0+float64(float64(j+1)*l.step)),
	}
}

// patchBound returns bounds from the sixteen control values of a patch.
func (l *lattice) patchBound(i, j int) bound {
	var c [4][4]float64
	w := l.nx + 3
	for r := range 4 {
		copy(c[r][:], l.c[(j+r)*w+i:(j+r)*w+i+4])
	}
	b := bound{lo: c[0][0], hi: c[0][0]}
	var gx, gy, xx, xy, yy float64
	top := func(m *float64, v float64) { *m = max(*m, math.Abs(v)) }
	for r := range 4 {
		for k := range 4 {
			b.lo, b.hi = min(b.lo, c[r][k]), max(b.hi, c[r][k])
			if k < 3 {
				top(&gx, c[r][k+1]-c[r][k])
				top(&gy, c[k+1][r]-c[k][r])
			}
			if k < 2 {
				top(&xx, c[r][k+2]-2*c[r][k+1]+c[r][k])
				top(&yy, c[k+2][r]-2*c[k+1][r]+c[k][r])
			}
			if r < 3 && k < 3 {
				top(&xy, c[r+1][k+1]-c[r+1][k]-c[r][k+1]+c[r][k])
			}
		}
	}
	b.slope = math.Hypot(gx, gy) * l.inv * (1 + 1e-12)
	// The largest eigenvalue of a symmetric matrix is no larger than that of the
	// matrix of bounds of its entries (Perron, Frobenius).
	b.bend = ((xx+yy)/2 + math.Hypot((xx-yy)/2, xy)) * l.inv * l.inv * (1 + 1e-12)
	pad := 1e-12 * (math.Abs(b.lo) + math.Abs(b.hi))
	b.lo, b.hi = b.lo-pad, b.hi+pad
	return b
}

// cell returns the patch and the place in it, 0 … 1, of a coordinate; beyond
// the border it is the border.
func cell(x, x0, inv float64, n int) (int, float64) {
	v := (x - x0) * inv
	i := clampInt(v, n-1)
	t := v - float64(i)
	if !(t > 0) {
		t = 0
	}
	return i, min(t, 1)
}

// weights are the uniform cubic B-spline basis functions at t.
func weights(t float64) [4]float64 {
	s := 1 - t
	t2, s2 := float64(t*t), float64(s*s)
	return [4]float64{
		float64(s2*s) / 6,
		(4 - float64(t2*3)*(2-t)) / 6,
		(4 - float64(s2*3)*(2-s)) / 6,
		float64(t2*t) / 6,
	}
}

// slopes are the derivatives of weights.
func slopes(t float64) [4]float64 {
	s := 1 - t
	return [4]float64{
		float64(-s*s) / 2,
		float64(t*(float64(3*t)-4)) / 2,
		float64(-s*(float64(3*s)-4)) / 2,
		float64(t*t) / 2,
	}
}

func dot4(w *[4]float64, c []float64) float64 {
	_ = c[3]
	return float64(w[0]*c[0]) + float64(w[1]*c[1]) + float64(w[2]*c[2]) + float64(w[3]*c[3])
}

func (l *lattice) height(p geom.Point) float64 {
	i, t := cell(p.X, l.x0, l.inv, l.nx)
	j, s := cell(p.Y, l.y0, l.inv, l.ny)
	wx, wy := weights(t), weights(s)
	w := l.nx + 3
	var sum float64
	for r := range 4 {
		sum += float64(wy[r] * dot4(&wx, l.c[(j+r)*w+i:]))
	}
	return sum
}

// tangent returns height and gradient.
func (l *lattice) tangent(p geom.Point) (z float64, g geom.Point) {
	i, t := cell(p.X, l.x0, l.inv, l.nx)
	j, s := cell(p.Y, l.y0, l.inv, l.ny)
	wx, wy, dx, dy := weights(t), weights(s), slopes(t), slopes(s)
	w := l.nx + 3
	for r := range 4 {
		row := l.c[(j+r)*w+i:]
		v := dot4(&wx, row)
		z += float64(wy[r] * v)
		g.X += float64(wy[r] * dot4(&dx, row))
		g.Y += float64(dy[r] * v)
	}
	return z, g.Mul(l.inv)
}

// over returns bounds that hold over the box.
func (l *lattice) over(b geom.Box) bound {
	i0, i1 := clampInt((b.Min.X-l.x0)*l.inv, l.nx-1), clampInt((b.Max.X-l.x0)*l.inv, l.nx-1)
	j0, j1 := clampInt((b.Min.Y-l.y0)*l.inv, l.ny-1), clampInt((b.Max.Y-l.y0)*l.inv, l.ny-1)
	// The cells are square: those as wide as a long thin box, a hinge line beside the
	// edge of the touches, would reach far out of it. Its short side tells the size,
	// as long as no more than some sixteen cells lie along the long one.
	long, short := bits.Len(uint(max(i1-i0, j1-j0))), bits.Len(uint(min(i1-i0, j1-j0)))
	k := max(short-1, long-5, 0)
	k = min(k, len(l.levels)-1)
	lv := &l.levels[k]
	out := lv.cells[(j0>>k)*lv.nx+i0>>k]
	for j := j0 >> k; j <= j1>>k; j++ {
		for i := i0 >> k; i <= i1>>k; i++ {
			out = out.with(lv.cells[j*lv.nx+i])
		}
	}
	return out
}

// rangeOver returns bounds of the height over the box: those of its patches, and
// the tangent plane in the middle with the bend as remainder, whichever is
// tighter.
func (l *lattice) rangeOver(b geom.Box) (lo, hi float64) {
	if b.Empty() {
		return math.Inf(-1), math.Inf(1)
	}
	k := l.over(b)
	half := b.Size().Mul(0.5)
	z, g := l.tangent(b.Center())
	r := float64(math.Abs(g.X)*half.X) + float64(math.Abs(g.Y)*half.Y) + k.bend*half.Dot(half)/2
	r = slack(z, r)
	if !(r <= math.MaxFloat64) { // an endless box has no middle
		return k.lo, k.hi
	}
	return max(k.lo, z-r), min(k.hi, z+r)
}

// discRange returns bounds of the height over the closed disc.
func (l *lattice) discRange(c geom.Point, r float64) (lo, hi float64) {
	box := geom.Box{Min: c, Max: c}.Grow(r)
	if box.Empty() {
		return math.Inf(-1), math.Inf(1)
	}
	k := l.over(box)
	z, g := l.tangent(c)
	d := slack(z, g.Len()*r+k.bend*r*r/2)
	if !(d <= math.MaxFloat64) {
		return k.lo, k.hi
	}
	return max(k.lo, z-d), min(k.hi, z+d)
}

func (l *lattice) slopeOver(b geom.Box) float64 {
	if b.Empty() {
		return math.Inf(1)
	}
	k := l.over(b)
	_, g := l.tangent(b.Center())
	s := (g.Len() + k.bend*b.Size().Len()/2) * (1 + 1e-12)
	if !(s <= math.MaxFloat64) {
		return k.slope
	}
	return min(k.slope, s)
}
