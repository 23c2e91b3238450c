package skin

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

const (
	// outlierLimit, mm: a touch that stands this far off the plane or the declared
	// form that it should lie on is to be looked at (common practice, no source).
	outlierLimit = 0.5
	// outlierLeast, mm: nobody is asked about less. Sections of wings differ from
	// any smooth surface by up to that, where their mean lines change curvature.
	outlierLeast = 0.4
	// outlierTile is how many touches are judged together at most; the cost is its
	// cube.
	outlierTile = 48
	// mistakeOdds and mistakeSize, mm: one touch in a hundred is mistyped or hits
	// tape, and is then off by some millimetres (common practice, no source).
	mistakeOdds = 0.01
	mistakeSize = 3.0
)

// Outliers returns a confirm "height-outlier" for each touch for which a mistake
// is the likelier story than a skin that is shaped so. What is likely is known:
// how well a touch repeats (u, mm, standard uncertainty; 0 = DefaultTouchU) and
// how wing skins bend, by the spline of order 3 that takes the round for what it
// is. The worst touch is taken out first, so that it does not spoil its
// neighbours, and nobody is asked about less than 0.4 mm. Where the touches do
// not determine a round surface (fewer than seven, or two rows of them), the rule
// is that of the trade: 0.5 mm off the plane through the others, beyond the sag that
// DefaultBend allows for.
func Outliers(touches []Touch, u float64) diag.List {
	if len(touches) < 5 || checkTouches(touches, 5).Blocks() {
		return nil
	}
	if !(u > 0) {
		u = DefaultTouchU
	}
	limit := outlierLeast
	off, ok := smoothOff(touches, u)
	if !ok {
		off, limit = planeOff(touches), outlierLimit
	}
	return outlierFindings(touches, off, limit)
}

// outlierFindings asks about the touches whose off is not 0.
func outlierFindings(touches []Touch, off []float64, limit float64) diag.List {
	var found diag.List
	for i, t := range touches {
		if off[i] == 0 {
			continue
		}
		found.Add(diag.Finding{Code: "height-outlier", Severity: diag.Confirm, Subject: t.Name,
			Message: fmt.Sprintf("a touched height stands %+.2f mm off its neighbourhood", off[i]),
			Help:    "touch it again: tape, dust, a bent probe or a mistyped digit reads wrong"}.
			With(math.Abs(off[i]), limit, "mm").AtMachine(t.X, t.Y, t.Z))
	}
	return found
}

// planeOff returns how far a touch stands above the plane through the others
// near by, where that is more than 0.5 mm beyond what the round of a wing
// explains, and no neighbour stands off more; else 0.
func planeOff(touches []Touch) []float64 {
	pts := make([]geom.Point, len(touches))
	for i, t := range touches {
		pts[i] = t.At()
	}
	grid := bucketsOf(pts)
	off := make([]float64, len(touches)) // beyond the round, with its sign
	whole := make([]float64, len(touches))
	near := make([][]int32, len(touches))
	for i, p := range pts {
		near[i] = grid.nearest(p, 7, nil)
		var others []Touch
		far := 0.0
		for _, k := range near[i] {
			if int(k) != i {
				others = append(others, touches[k])
				far = math.Max(far, p.Dist(pts[k]))
			}
		}
		q := placesOf(others)
		if c, ok := polynomials(2, q); ok {
			at := p.Sub(q.centre).Mul(q.scale)
			whole[i] = touches[i].Z - (c[0] + float64(c[1]*at.X) + float64(c[2]*at.Y))
			off[i] = math.Copysign(math.Max(0, math.Abs(whole[i])-DefaultBend*far*far/2), whole[i])
		}
	}
	out := make([]float64, len(touches))
	for i := range touches {
		worst := math.Abs(off[i]) > outlierLimit
		for _, k := range near[i] {
			worst = worst && math.Abs(off[k]) <= math.Abs(off[i])
		}
		if worst {
			out[i] = whole[i]
		}
	}
	return out
}

// polynomials fits the free polynomials of an order alone by least squares.
func polynomials(order int, p places) ([]float64, bool) {
	s, ok := reflect(order, p)
	if !ok {
		return nil, false
	}
	y := append([]float64(nil), p.z...)
	for _, h := range s.h {
		h.apply(y)
	}
	out := make([]float64, s.q)
	for k := s.q - 1; k >= 0; k-- {
		v := y[k]
		for j := k + 1; j < s.q; j++ {
			v -= float64(s.r[j][k] * out[j])
		}
		out[k] = v / s.r[k][k]
	}
	return out, true
}

// smoothOff returns for each touch how far it stands above the smooth surface
// through the others, 0 for those that belong to it; false when the touches do
// not determine such a surface. Many touches are judged in heaps.
func smoothOff(touches []Touch, u float64) ([]float64, bool) {
	out := make([]float64, len(touches))
	every := make([]int, len(touches))
	for i := range every {
		every[i] = i
	}
	judged := false
	for _, h := range heaps(touches, every) {
		var t []Touch
		for _, i := range h.all {
			t = append(t, touches[i])
		}
		sys, ok := newSystem(3, placesOf(t))
		if !ok || sys.b == nil {
			continue
		}
		judged = true
		for i, off := range likeliest(sys, u) {
			if i < h.core {
				out[h.all[i]] = off
			}
		}
	}
	return out, judged
}

// story is one account of how the heights came to be.
type story struct {
	noise  float64 // of a touch, in parts of what it should be
	bendy  float64 // amplitude of the kernel, mm per mm² of its argument
	chance float64
}

// stories are the accounts that are weighed. The amplitudes are those that fit
// made-up wings of NACA sections best: 90 % of them lie between 3e-5 and 3e-4
// (computed); a skin that waves more is rare.
func stories() []story {
	var out []story
	for _, n := range [][2]float64{{1, 0.8}, {3, 0.2}} {
		for _, a := range [][2]float64{{3e-5, 0.35}, {1e-4, 0.35}, {3e-4, 0.25}, {1e-3, 0.05}} {
			out = append(out, story{n[0], a[0], n[1] * a[1]})
		}
	}
	return out
}

// likeliest returns the touches that are off in the likeliest story, and by how
// much.
func likeliest(sys *system, u float64) map[int]float64 {
	var best map[int]float64
	least := math.Inf(1)
	for _, s := range stories() {
		amp := s.bendy / float64(sys.p.scale*sys.p.scale)
		noise := s.noise * u
		ch, ok := sys.smooth(noise * noise / (amp * amp))
		if !ok {
			continue
		}
		r, ok := residualsOf(sys, ch)
		if !ok {
			continue
		}
		cost := r.unlikely(amp, ch) - 2*math.Log(s.chance)
		off, saved := r.takeOut(amp)
		if cost -= saved; cost < least {
			best, least = off, cost
		}
	}
	return best
}

// residuals are the touches against the smooth surface through the others: the
// error of each predicted from all others is w/G, with the variance amp²/G.
type residuals struct {
	z, w []float64
	g    []float64 // n×n by rows
	out  []bool    // taken out
}

func residualsOf(s *system, ch *mat.Cholesky) (*residuals, bool) {
	n := len(s.p.at)
	g, ok := s.precision(ch)
	if !ok {
		return nil, false
	}
	r := &residuals{z: s.p.z, w: make([]float64, n), g: g, out: make([]bool, n)}
	for i := range n {
		for j, z := range s.p.z {
			r.w[i] += float64(g[i*n+j] * z)
		}
	}
	return r, true
}

// unlikely returns minus twice the logarithm of the likelihood of all heights, up
// to what all stories share.
func (r *residuals) unlikely(amp float64, ch *mat.Cholesky) float64 {
	var sq float64
	for i, z := range r.z {
		sq += float64(z * r.w[i])
	}
	return float64(ch.SymmetricDim())*2*math.Log(amp) + ch.LogDet() + sq/(amp*amp)
}

// takeOut takes out the touches for which a mistake is likelier, the worst first,
// and returns by how much they are off and how much likelier all has become.
func (r *residuals) takeOut(amp float64) (off map[int]float64, saved float64) {
	off = map[int]float64{}
	for range len(r.w) / 4 {
		best, gain := -1, 0.0
		for i := range r.w {
			if g := r.gainOf(i, amp); g > gain {
				best, gain = i, g
			}
		}
		if best < 0 {
			break
		}
		off[best] = r.offOf(best)
		saved += gain
		r.leave(best)
	}
	return off, saved
}

// offOf returns how far touch i stands above what the others say, mm.
func (r *residuals) offOf(i int) float64 {
	if g := r.g[i*len(r.w)+i]; g > 0 && !r.out[i] {
		return r.w[i] / g
	}
	return 0
}

// gainOf returns how much likelier, as minus twice a logarithm, touch i is as a
// mistake.
func (r *residuals) gainOf(i int, amp float64) float64 {
	off := r.offOf(i)
	if math.Abs(off) < outlierLeast {
		return 0
	}
	v := amp * amp / r.g[i*len(r.w)+i]
	wide := v + float64(mistakeSize*mistakeSize)
	return float64(off*off)*(1/v-1/wide) - math.Log(wide/v) - 2*math.Log((1-mistakeOdds)/mistakeOdds)
}

// leave takes touch i out: one step of elimination on G.
func (r *residuals) leave(i int) {
	n := len(r.w)
	d := r.g[i*n+i]
	col := make([]float64, n)
	for j := range n {
		col[j] = r.g[j*n+i]
	}
	wi := r.w[i]
	for j := range n {
		f := col[j] / d
		r.w[j] -= float64(f * wi)
		for k := range n {
			r.g[j*n+k] -= float64(f * col[k])
		}
	}
	r.out[i] = true
	r.w[i] = 0
	for j := range n { // what rounding leaves must not speak any more
		r.g[j*n+i], r.g[i*n+j] = 0, 0
	}
}

// heap is a number of touches that are judged together: the first core of them,
// and neighbours around.
type heap struct {
	all  []int
	core int
}

// heaps halves the touches across their longer side until each heap is small
// enough to have a bend of its own, and adds the nearest ones outside.
func heaps(t []Touch, which []int) []heap {
	b := geom.EmptyBox()
	for _, i := range which {
		b = b.Extend(t[i].At())
	}
	core := outlierTile / 3
	sorted := func(w []int, key func(i int) float64) []int {
		s := slices.Clone(w)
		slices.SortFunc(s, func(a, b int) int {
			return cmp.Or(cmp.Compare(key(a), key(b)), cmp.Compare(a, b))
		})
		return s
	}
	if len(which) > core {
		along := func(i int) float64 { return t[i].X }
		if b.Size().Y > b.Size().X {
			along = func(i int) float64 { return t[i].Y }
		}
		s := sorted(which, along)
		return append(heaps(t, s[:len(s)/2]), heaps(t, s[len(s)/2:])...)
	}
	in := make([]bool, len(t))
	for _, i := range which {
		in[i] = true
	}
	var others []int
	for i := range t {
		if !in[i] {
			others = append(others, i)
		}
	}
	others = sorted(others, func(i int) float64 {
		p := t[i].At()
		return math.Hypot(math.Max(0, math.Max(b.Min.X-p.X, p.X-b.Max.X)), math.Max(0, math.Max(b.Min.Y-p.Y, p.Y-b.Max.Y)))
	})
	return []heap{{all: append(slices.Clone(which), others[:min(len(others), outlierTile-len(which))]...), core: len(which)}}
}
