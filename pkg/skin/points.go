package skin

import (
	"fmt"
	"math"
	"sort"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// Options govern a fit to touched heights. The zero value is for a hollow wing
// touched with a simple probe.
type Options struct {
	// TouchU is the standard uncertainty of one touched height, mm; 0 means
	// DefaultTouchU. Where repeated touches or the leave-one-out errors say worse
	// they are believed.
	TouchU float64
	// MaxBend is a bound for the bend of the true skin, 1/mm, used where the
	// touches cannot tell: too few of them, or a place farther from any touch
	// than they lie from one another. 0 means DefaultBend.
	MaxBend float64
}

// DefaultBend is one over 600 mm: the round of a wing of 200 mm chord and 16 mm
// thickness is 625 mm (closed form, chord²/(8·sagitta) of half the thickness).
const DefaultBend = 1.0 / 600

// Fitted is a model made from touches that tells how it was made.
type Fitted interface {
	Report() Report
	// Places returns where the skin was touched.
	Places() []geom.Point
}

// Wrapper is a model that stands for another one, such as one with more error.
type Wrapper interface{ Unwrap() Model }

// FittedOf returns the model made from touches that m is or stands for, and
// false when there is none (a declared flat skin).
func FittedOf(m Model) (Fitted, bool) {
	for m != nil {
		if f, ok := m.(Fitted); ok {
			return f, true
		}
		w, ok := m.(Wrapper)
		if !ok {
			break
		}
		m = w.Unwrap()
	}
	return nil, false
}

// Report says how a model follows the touches that it was made from.
type Report struct {
	Touches  int     // places, repeated touches joined
	Method   string  // in plain words
	Smooth   float64 // smoothing: variance of a touch over that of the kernel
	RMS      float64 // of touched minus modelled, mm
	Worst    float64 // the largest of them, mm
	LeaveOut float64 // RMS of each touch predicted from all others, mm
	LeaveMax float64 // the largest of them, mm
	TouchU   float64 // standard uncertainty of one touched height, mm, the larger of stated and seen
	Repeat   float64 // standard deviation of repeated touches, mm; 0 when none
	Fit      float64 // how far the evaluated surface may stray from the spline, mm; counted in Error
	Bends    bool    // the touches tell the curvature; if not, MaxBend stands in
}

// surface is a lattice with what it was made from.
type surface struct {
	*lattice
	cover  cover
	report Report
}

// Height returns the modelled height at p, mm.
func (s *surface) Height(p geom.Point) float64 { return s.height(p) }

// Range returns bounds of the height over the box that always hold.
func (s *surface) Range(b geom.Box) (lo, hi float64) { return s.rangeOver(b) }

// Slope returns a bound of the slope over the box.
func (s *surface) Slope(b geom.Box) float64 { return s.slopeOver(b) }

// Flat is false.
func (s *surface) Flat() bool { return false }

// Covered tells whether touches speak for p.
func (s *surface) Covered(p geom.Point, r float64) bool { return s.cover.holds(p, r) }

// Report says how the model follows its touches.
func (s *surface) Report() Report { return s.report }

// Disc returns bounds of the height over a disc.
func (s *surface) Disc(p geom.Point, r float64) (lo, hi float64) { return s.discRange(p, r) }

// Places returns where the skin was touched.
func (s *surface) Places() []geom.Point { return append([]geom.Point(nil), s.cover.grid.pts...) }

// Bend returns a bound of the bend over the box, 1/mm.
func (s *surface) Bend(b geom.Box) float64 {
	if b.Empty() {
		return math.Inf(1)
	}
	return s.over(b).bend
}

// Error returns the worst uncertainty and bound of the patches that the box meets.
func (s *surface) Error(b geom.Box) (u, e float64) {
	if b.Empty() {
		return math.Inf(1), math.Inf(1)
	}
	k := s.over(b)
	return k.u, k.e
}

// Points returns the surface that bends least through scattered touches, by a
// polyharmonic spline whose order and smoothing are those with the smallest
// leave-one-out error. Touches at one place are joined and give the
// repeatability. Over made-up wings touched every 12 to 22 mm with 0.02 mm of
// noise, the RMS error was 0.017 mm so chosen, 0.018 mm with the spline of order 3
// alone, 0.032 mm with the thin-plate spline and 0.29 mm with a plane (test
// TestTheChosenInterpolatorIsTheBetterOne): a wing is round, and the kernel of
// order 3 leaves quadratics free. Whatever is exact for planes only, natural
// neighbours included, misses the sag spacing²/(8·radius), 0.08 mm at 20 mm on a
// radius of 625 mm. The spline is held as patches whose bounds are exact hulls, so
// that every query costs the same however many touches there are; how far the
// patches stray from the spline is measured and counted in Error.
//
// Error: u is the largest of the leave-one-out error near by, 0.7 of it over
// all, the repeatability and Options.TouchU; e is the distance patches-spline
// and, where the touches cannot tell how the skin bends, the sag
// MaxBend·d²/2 at the distance d from the nearest touch. Beyond the touches and a
// margin of twice their spacing the surface goes on level with the error of its
// border: what is there nobody measured, and Covered says so.
//
// Findings: "height-invalid", "heights-few" (fewer than three), "heights-many",
// "heights-degenerate" (stop, and the Model is nil), "height-outlier" (confirm,
// see Outliers), "height-repeat" (confirm: touches of one place differ by more
// than 0.4 mm), "height-swapped" (confirm: two columns of a touch were exchanged),
// "heights-sparse" (note: the touches do not tell the curvature). O(n³) for n touches, once.
func Points(touches []Touch, o Options) (Model, diag.List) {
	found := checkTouches(touches, 3)
	if found.Blocks() {
		return nil, found
	}
	if !(o.TouchU > 0) {
		o.TouchU = DefaultTouchU
	}
	if !(o.MaxBend > 0) {
		o.MaxBend = DefaultBend
	}
	mean, rep, _ := gather(touches)
	_, _, spread := principal(mean)
	if len(mean) < 3 || !(spread[1] > 1e-3) {
		return nil, append(found, degenerate())
	}
	f, rho, bends := chooseSpline(placesOf(mean))
	if f == nil {
		return nil, append(found, degenerate())
	}
	s := &surface{cover: coverOf(mean), report: Report{Touches: len(mean), Smooth: rho, Repeat: rep, TouchU: math.Max(o.TouchU, rep), Bends: bends,
		Method: methodName(f.order), LeaveOut: f.looRMS()}}
	for _, e := range f.loo {
		s.report.LeaveMax = math.Max(s.report.LeaveMax, math.Abs(e))
	}
	s.lattice, s.report.Fit = tabulate(f.height, s.cover, len(mean))
	var sum float64
	for _, t := range mean {
		r := math.Abs(t.Z - s.height(t.At()))
		sum += float64(r * r)
		s.report.Worst = math.Max(s.report.Worst, r)
	}
	s.report.RMS = math.Sqrt(sum / float64(len(mean)))
	s.seal(touchError(s.cover, f.loo, s.report, o.MaxBend))
	if !bends {
		found.Add(diag.Finding{Code: "heights-sparse", Severity: diag.Note,
			Message: fmt.Sprintf("%d touched heights do not tell how the skin bends; a radius of %.0f mm is allowed for", len(mean), 1/o.MaxBend),
			Help:    "touch the middle of each opening and of its sides too, at least nine places"})
	}
	found.Add(disagreeing(touches, mean)...)
	found.Add(swapped(mean)...)
	return s, append(found, Outliers(mean, o.TouchU)...)
}

func methodName(order int) string {
	if order > 2 {
		return "polyharmonic spline of order 3 over a quadratic"
	}
	return "thin-plate spline"
}

// chooseSpline compares both orders and several degrees of smoothing by their
// leave-one-out error. With many touches the comparison is made on an even
// choice of them: order and smoothing are ratios of variances and do not depend
// on the number of touches. It also tells whether the touches determine the
// bend.
func chooseSpline(p places) (best *spline, rho float64, bends bool) {
	const most = 160
	sub := p
	if n := len(p.at); n > most {
		sub.at, sub.z = nil, nil
		for i := range most {
			k := i * n / most
			sub.at, sub.z = append(sub.at, p.at[k]), append(sub.z, p.z[k])
		}
	}
	order := 2
	score := math.Inf(1)
	for _, m := range []int{2, 3} {
		sys, ok := newSystem(m, sub)
		if !ok {
			continue
		}
		if m == 3 {
			bends = len(sub.at) > termCount(3)
			if !bends {
				continue // nothing is left to judge the quadratic by
			}
		}
		for _, r := range []float64{0, 1e-8, 1e-7, 1e-6, 1e-5, 1e-4, 1e-3, 1e-2} {
			f, ok := sys.fit(r)
			if !ok {
				continue
			}
			// A rival must be clearly better: exact ties go to the first.
			if e := f.looRMS(); best == nil || e < score*0.999 {
				best, score, order, rho = f, e, m, r
			}
		}
	}
	if len(sub.at) == len(p.at) || best == nil {
		return best, rho, bends
	}
	sys, ok := newSystem(order, p)
	if !ok {
		return best, rho, bends
	}
	for r := rho; r < 1; r = math.Max(r*10, 1e-10) {
		if f, ok := sys.fit(r); ok {
			return f, r, bends
		}
	}
	return best, rho, bends
}

// tabulate makes the lattice for f over the cover and a margin, finer until it
// follows f to 2 µm or costs too much, and returns how far it strays.
func tabulate(f func(geom.Point) float64, c cover, n int) (*lattice, float64) {
	const aim, mostPatches = 0.002, 128
	gap := typicalGap(c)
	box := c.grid.box.Grow(2*gap + 10)
	size := math.Max(box.Size().X, box.Size().Y)
	step := math.Min(math.Max(gap/3, size/64), size/20)
	for {
		l := latticeOf(f, box, step)
		stray := strayOf(l, f, c.grid.box)
		work := float64(n) * box.Size().X * box.Size().Y / (step * step) * 8
		if stray <= aim || size/step*1.5 > mostPatches || work > 6e7 {
			return l, stray
		}
		step /= 2
	}
}

// strayOf measures the distance between lattice and f in the middles and on the
// edges of patches inside the box, and doubles it for what lies between.
func strayOf(l *lattice, f func(geom.Point) float64, box geom.Box) float64 {
	worst := 0.0
	stride := max(1, l.nx*l.ny/2000)
	for k := 0; k < l.nx*l.ny; k += stride {
		b := l.patch(k%l.nx, k/l.nx)
		for _, p := range [3]geom.Point{b.Center(), b.Min, b.Min.Lerp(geom.Pt(b.Max.X, b.Min.Y), 0.5)} {
			if box.Contains(p) {
				worst = math.Max(worst, math.Abs(l.height(p)-f(p)))
			}
		}
	}
	return 2 * worst
}

// typicalGap returns the median distance of the places from their nearest
// neighbour, mm.
func typicalGap(c cover) float64 {
	d := make([]float64, len(c.grid.pts))
	for i := range d {
		d[i] = c.gap(int32(i))
	}
	sort.Float64s(d)
	return math.Max(d[len(d)/2], 0.1)
}

// gap returns the distance of a place from its nearest neighbour.
func (c cover) gap(i int32) float64 {
	near := c.grid.nearest(c.grid.pts[i], 2, nil)
	return c.grid.pts[near[len(near)-1]].Dist(c.grid.pts[i])
}

// touchError returns the error of a patch as Points promises it.
func touchError(c cover, loo []float64, r Report, bend float64) func(geom.Box) (u, e float64) {
	gaps := make([]float64, len(loo))
	for i := range gaps {
		gaps[i] = c.gap(int32(i))
	}
	return func(b geom.Box) (u, e float64) {
		p, half := b.Center(), b.Size().Len()/2
		near := c.grid.nearest(p, 6, nil)
		var sum, most, gap float64
		for k, i := range near {
			sum += float64(loo[i] * loo[i])
			most = math.Max(most, math.Abs(loo[i]))
			if k < 3 {
				gap = math.Max(gap, gaps[i])
			}
		}
		u = math.Max(math.Max(r.TouchU, most/2), math.Max(0.7*r.LeaveOut, math.Sqrt(sum/float64(len(near)))))
		// What leaving one out tests is a prediction over the gap to the next
		// touch; farther off, and without a test at all, the bend bounds the sag.
		d := c.grid.pts[near[0]].Dist(p) + half
		tested := gap
		if !r.Bends {
			tested = 0
		}
		e = r.Fit
		if d > tested {
			e += bend * (float64(d*d) - float64(tested*tested)) / 2
		}
		return u, e
	}
}
