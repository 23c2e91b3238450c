package skin

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// LoftOptions govern how a loft is laid on touches. Lengths mm.
type LoftOptions struct {
	Options
	// Form bounds how far the made wing departs from its sections where too few
	// touches tell; 0 means DefaultForm.
	Form float64
	// Over is where heights are wanted (the openings and the cutter's radius
	// round them), program coordinates: the surface is followed to 2 µm there if
	// it can be. The zero box means the whole wing.
	Over geom.Box
}

// DefaultForm, mm: how true a moulded wing is to its sections (common practice,
// no source).
const DefaultForm = 0.3

// enoughTouches is from how many touches on their errors are believed instead of
// Form: three are used up by height and tilt, and three rows of three are what
// shows a bend.
const enoughTouches = 9

// restBend is how much of Options.MaxBend is allowed for what departs from the
// sections: the sections hold the round of the wing itself (common practice, no
// source).
const restBend = 0.1

// Wing is a loft laid on touches.
type Wing struct {
	Skin Model // the skin that lies up
	Far  Far   // distance down to the other skin
	// Lift, TiltX and TiltY tell how the loft was moved: mm, and rad about the X
	// and Y axes through the middle of the touches.
	Lift, TiltX, TiltY float64
	Corrected          bool // what the rigid fit left over is interpolated and added
}

// laid is a loft in its place: turned by small angles about an axis through c
// and lifted.
type laid struct {
	c          geom.Point
	z          float64 // height of the axes
	lift       float64
	tilt       [2]float64 // rad about X and Y
	correction *spline
}

// height returns the height at p of a surface that stands at base(p) unmoved.
// The point of the surface that comes to lie over p is found by repetition: each
// step shrinks the error by tilt × slope.
func (k laid) height(base func(geom.Point) float64, p geom.Point) float64 {
	if k.tilt == [2]float64{} {
		return base(p) + k.lift
	}
	sx, cx := math.Sincos(k.tilt[0])
	sy, cy := math.Sincos(k.tilt[1])
	z := k.z + k.lift
	for range 12 {
		// Back from where it lies: lift, then the turn about Y, then about X.
		v := p.Sub(k.c)
		w := z - k.z - k.lift
		x, w1 := float64(cy*v.X)-float64(sy*w), float64(sy*v.X)+float64(cy*w)
		y, w2 := float64(cx*v.Y)+float64(sx*w1), float64(cx*w1)-float64(sx*v.Y)
		step := base(k.c.Add(geom.Pt(x, y))) - k.z - w2
		z += step
		if math.Abs(step) < 1e-6 {
			break
		}
	}
	return z
}

// moved returns the surface that stands at base unmoved, in its place.
func (k laid) moved(base func(geom.Point) float64) func(geom.Point) float64 {
	return func(p geom.Point) float64 {
		z := k.height(base, p)
		if k.correction != nil {
			z += k.correction.height(p)
		}
		return z
	}
}

// shifted is how far a point of the skin may come to lie to the side when the
// wing is tilted, mm: 5° on a wing 60 mm high.
const shifted = 6

// table is a sealed lattice whose error is its stray from f.
func table(f func(geom.Point) float64, box, over geom.Box, most float64) *lattice {
	l, stray := finely(f, box, over, most)
	l.seal(func(b geom.Box) (float64, float64) { return 0, stray(b) })
	return l
}

// Lay fits the loft to touches of the skin that lies up: it is lifted and tilted,
// never bent. With nine touches or more, what is left over is interpolated and
// added where that predicts left-out touches better. With one or two touches the
// tilt stays as drawn, a confirm "loft-tilt"; without any, a confirm
// "loft-untouched". Further findings: those of Points, and "loft-poor" (confirm: a
// touch is more than 0.5 mm off the fitted loft). A nil Wing comes with a stop.
func (l *Loft) Lay(touches []Touch, o LoftOptions) (*Wing, diag.List) {
	found := checkTouches(touches, 0)
	if found.Blocks() {
		return nil, found
	}
	if !(o.TouchU > 0) {
		o.TouchU = DefaultTouchU
	}
	if !(o.MaxBend > 0) {
		o.MaxBend = DefaultBend
	}
	if !(o.Form > 0) {
		o.Form = DefaultForm
	}
	mean, rep, _ := gather(touches)
	k, loo, f := l.pose(mean)
	found.Add(f...)
	found.Add(disagreeing(touches, mean)...)
	found.Add(swapped(mean)...)
	w := &Wing{Lift: k.lift, TiltX: k.tilt[0], TiltY: k.tilt[1]}
	report := Report{Touches: len(mean), Repeat: rep, Method: "loft of sections, lifted and tilted", LeaveOut: rmsOf(loo), Bends: true}
	if len(mean) >= enoughTouches {
		found.Add(l.outliers(k, mean, o.TouchU)...)
		if c := l.correction(k, mean); c != nil && c.looRMS() < 0.9*report.LeaveOut {
			k.correction, loo, w.Corrected = c, c.loo, true
			report.Method, report.LeaveOut = "loft of sections, lifted and tilted, with the rest interpolated", c.looRMS()
		}
	}
	for _, e := range loo {
		report.LeaveMax = math.Max(report.LeaveMax, math.Abs(e))
	}
	box := l.Plan().Bounds()
	over := o.Over
	if over.Empty() || over.Size() == (geom.Point{}) {
		over = box
	}
	box = box.Union(over)
	// The wing as drawn is tabulated once; moving it then reads the table, which
	// is ten times faster than the sections.
	nearTable, farTable := table(l.near, box, over, 16_000), table(l.far, box, over, 4_000)
	near := k.moved(nearTable.height)
	s := &loftSurface{plan: l.Plan(), places: mean}
	lattice, stray := finely(near, box, over, 16_000)
	s.lattice = lattice
	exact := k.moved(l.near)
	report.TouchU = math.Max(o.TouchU, rep)
	u := report.TouchU
	e := o.Form
	if len(mean) >= enoughTouches {
		e = 0
		u = math.Max(u, report.LeaveOut)
	}
	var nearby func(geom.Box) (float64, float64)
	if len(mean) >= enoughTouches {
		nearby = touchError(coverOf(mean), loo, report, o.MaxBend*restBend)
	}
	s.seal(func(b geom.Box) (float64, float64) {
		st := stray(b) + nearTable.over(b.Grow(shifted)).e
		report.Fit = math.Max(report.Fit, st)
		if nearby == nil {
			return u, e + st
		}
		nu, ne := nearby(b)
		return nu, ne + st
	})
	var sum float64
	for _, t := range mean {
		r := t.Z - exact(t.At())
		sum += float64(r * r)
		if math.Abs(r) > math.Max(report.Worst, outlierLimit) {
			found.Add(diag.Finding{Code: "loft-poor", Severity: diag.Confirm, Subject: t.Name,
				Message: fmt.Sprintf("a touch lies %+.2f mm off the wing that its sections give", r),
				Help:    "check the sections and their place, or use the touched heights alone"}.
				With(math.Abs(r), outlierLimit, "mm").AtMachine(t.X, t.Y, t.Z))
		}
		report.Worst = math.Max(report.Worst, math.Abs(r))
	}
	if len(mean) > 0 {
		report.RMS = math.Sqrt(sum / float64(len(mean)))
	}
	s.report = report
	w.Skin = s
	far := k.moved(farTable.height)
	gap, gapStray := finely(func(p geom.Point) float64 { return near(p) - far(p) }, box, over, 4_000)
	gap.seal(func(b geom.Box) (float64, float64) {
		near := b.Grow(shifted)
		return 0, o.Form + gapStray(b) + nearTable.over(near).e + farTable.over(near).e
	})
	w.Far = farLattice{gap, box.Grow(10)}
	return w, found
}

// outliers asks about touches that are off the smooth rest which the loft leaves
// over: where that is added to it, the loft itself is no witness any more.
func (l *Loft) outliers(k laid, touches []Touch, u float64) diag.List {
	lofted := k.moved(l.near)
	rest := append([]Touch(nil), touches...)
	for i, t := range rest {
		rest[i].Z = t.Z - lofted(t.At())
	}
	off, ok := smoothOff(rest, u)
	if !ok {
		return nil
	}
	return outlierFindings(touches, off, outlierLeast)
}

func rmsOf(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	return norm(v) / math.Sqrt(float64(len(v)))
}

// pose finds lift and tilt by repeated linear least squares, and the
// leave-one-out errors by the leverage of each touch.
func (l *Loft) pose(t []Touch) (k laid, loo []float64, found diag.List) {
	if len(t) == 0 {
		return k, nil, diag.List{{Code: "loft-untouched", Severity: diag.Confirm,
			Message: "no height was touched: the wing is taken to lie as its sections are drawn",
			Help:    "touch at least three places of the skin that lie apart"}}
	}
	c, axes, spread := principal(t)
	k.c = c
	k.z = l.near(c)
	n := float64(len(t))
	tilts := len(t) >= 3 && spread[1] > 1
	res := make([]float64, len(t))
	for range 12 {
		var mean float64
		for i, p := range t {
			res[i] = p.Z - k.height(l.near, p.At())
			mean += res[i] / n
		}
		k.lift += mean
		if !tilts {
			continue
		}
		var g geom.Point
		for a := range 2 {
			var v float64
			for i, p := range t {
				v += float64((res[i] - mean) * p.At().Sub(c).Dot(axes[a]))
			}
			g = g.Add(axes[a].Mul(v / spread[a]))
		}
		// Height grows with y when turned about X, and falls with x about Y.
		k.tilt[0] += math.Atan(g.Y)
		k.tilt[1] -= math.Atan(g.X)
	}
	if !tilts {
		found.Add(diag.Finding{Code: "loft-tilt", Severity: diag.Confirm,
			Message: fmt.Sprintf("%d touched heights leave the tilt of the wing open; it is taken as drawn", len(t)),
			Help:    "touch at least three places of the skin that lie apart"})
	}
	loo = make([]float64, len(t))
	for i, p := range t {
		r := p.Z - k.height(l.near, p.At())
		lever := 1 / n
		if tilts {
			d := p.At().Sub(c)
			for a := range 2 {
				v := d.Dot(axes[a])
				lever += float64(v*v) / spread[a]
			}
		}
		if lever < 1-1e-9 {
			loo[i] = r / (1 - lever)
		}
	}
	return k, loo, found
}

// correction interpolates what the rigid fit leaves over, nil when it cannot.
func (l *Loft) correction(k laid, t []Touch) *spline {
	rest := make([]Touch, len(t))
	for i, p := range t {
		rest[i] = p
		rest[i].Z -= k.height(l.near, p.At())
	}
	f, _, _ := chooseSpline(placesOf(rest))
	return f
}

// finely makes a lattice for f over the box, finer until it follows f to 2 µm
// within over or has the most patches allowed, and returns how far it strays from f in any
// patch, measured in three places of each and doubled.
func finely(f func(geom.Point) float64, box, over geom.Box, most float64) (*lattice, func(geom.Box) float64) {
	const aim = 0.002
	wide := box.Grow(10)
	size := wide.Size()
	for patches := most / 16; ; patches *= 4 {
		step := math.Max(math.Sqrt(size.X*size.Y/patches), math.Max(size.X, size.Y)/400)
		step = math.Max(step, 0.5)
		l := latticeOf(f, wide, step)
		stray := func(b geom.Box) float64 {
			worst := 0.0
			for _, d := range [3]geom.Point{{X: 0.5, Y: 0.5}, {X: 0.5}, {Y: 0.5}} {
				p := geom.Pt(b.Min.X+float64(d.X*step), b.Min.Y+float64(d.Y*step))
				if wide.Contains(p) {
					worst = math.Max(worst, math.Abs(l.height(p)-f(p)))
				}
			}
			return 2 * worst
		}
		if patches >= most || l.follows(over, stray, aim) {
			return l, stray
		}
	}
}

// follows tells whether no patch that meets the box strays by more than aim.
func (l *lattice) follows(box geom.Box, stray func(geom.Box) float64, aim float64) bool {
	for k := range l.nx * l.ny {
		if b := l.patch(k%l.nx, k/l.nx); b.Overlaps(box) && stray(b) > aim {
			return false
		}
	}
	return true
}

// loftSurface is a lattice over a loft.
type loftSurface struct {
	*lattice
	plan   geom.Contour
	places []Touch
	report Report
}

// Height returns the modelled height at p, mm.
func (s *loftSurface) Height(p geom.Point) float64 { return s.height(p) }

// Range returns bounds of the height over the box that always hold.
func (s *loftSurface) Range(b geom.Box) (lo, hi float64) { return s.rangeOver(b) }

// Slope returns a bound of the slope over the box.
func (s *loftSurface) Slope(b geom.Box) float64 { return s.slopeOver(b) }

// Flat is false.
func (s *loftSurface) Flat() bool { return false }

// Report says how the model follows its touches.
func (s *loftSurface) Report() Report { return s.report }

// Disc returns bounds of the height over a disc.
func (s *loftSurface) Disc(p geom.Point, r float64) (lo, hi float64) { return s.discRange(p, r) }

// Covered: the sections speak for the whole plan of the wing.
func (s *loftSurface) Covered(p geom.Point, r float64) bool {
	if !p.Finite() {
		return false
	}
	return s.plan.Winding(p) != 0 || s.plan.Dist(p) <= math.Max(r, 0)
}

// Places returns where the skin was touched.
func (s *loftSurface) Places() []geom.Point {
	out := make([]geom.Point, len(s.places))
	for i, t := range s.places {
		out[i] = t.At()
	}
	return out
}

// Bend returns a bound of the bend over the box, 1/mm.
func (s *loftSurface) Bend(b geom.Box) float64 {
	if b.Empty() {
		return math.Inf(1)
	}
	return s.over(b).bend
}

// Error returns the worst uncertainty and bound of the patches that the box meets.
func (s *loftSurface) Error(b geom.Box) (u, e float64) {
	if b.Empty() {
		return math.Inf(1), math.Inf(1)
	}
	k := s.over(b)
	return k.u, k.e
}

// farLattice is the vertical distance between both skins as a lattice; the form
// tolerance of the wing, on both sides together, is in its error.
type farLattice struct {
	*lattice
	box geom.Box
}

// Below leaves no room beyond the plan of the wing. It looks at every patch that
// the box meets, since a wing is thin not far from where it is thick: O(patches).
func (f farLattice) Below(b geom.Box) float64 {
	if b.Empty() || !f.box.Contains(b.Min) || !f.box.Contains(b.Max) {
		return math.Inf(-1)
	}
	i0, i1 := clampInt((b.Min.X-f.x0)*f.inv, f.nx-1), clampInt((b.Max.X-f.x0)*f.inv, f.nx-1)
	j0, j1 := clampInt((b.Min.Y-f.y0)*f.inv, f.ny-1), clampInt((b.Max.Y-f.y0)*f.inv, f.ny-1)
	least := math.Inf(1)
	for j := j0; j <= j1; j++ {
		for i := i0; i <= i1; i++ {
			p := f.patch(i, j)
			part := geom.Box{
				Min: geom.Pt(math.Max(p.Min.X, b.Min.X), math.Max(p.Min.Y, b.Min.Y)),
				Max: geom.Pt(math.Min(p.Max.X, b.Max.X), math.Min(p.Max.Y, b.Max.Y)),
			}
			if part.Empty() { // the index was rounded over the border
				part = p
			}
			lo, _ := f.rangeOver(part)
			least = math.Min(least, lo-f.levels[0].cells[j*f.nx+i].e)
		}
	}
	return least
}
