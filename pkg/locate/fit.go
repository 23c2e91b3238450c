package locate

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// Fit returns the rigid transform drawing → program that fits the datums and the
// touches on lines best in the sense of least squares, with what is to be said
// about it. Findings (stop unless said otherwise): "datum-missing",
// "datum-invalid", "datum-degenerate" (the touches leave a turn or a direction
// open), "datum-single" (confirm: nothing checks the turn), "datum-ambiguous"
// (confirm: another turn fits as well), "datum-residual" (warn above
// Options.Warn, stop above Options.Stop), "datum-scale", "datum-mirrored" (the
// measurements match the other panel), "handedness-unknown" (confirm: the datums
// fit the other panel as well). With a stop the Result may be the zero value and
// must not be used. Cost: linear in the number of touches.
func Fit(pairs []Pair, lines []LinePair, o Options) (Result, diag.List) {
	o = o.filled()
	found := validate(pairs, lines)
	if found.Blocks() {
		return Result{}, found
	}
	if len(pairs) == 1 && len(lines) == 0 {
		r, f := single(pairs[0], o)
		return r, append(found, f...)
	}
	obs := observe(pairs, lines, o.Mirrored)
	minima := solve(obs)
	if len(minima) == 0 {
		return Result{}, append(found, degenerate())
	}
	best, rival := choose(minima, obs, o)
	m, _, origin := best.pose.normal(obs)
	cov, ok := invert(m)
	if !ok {
		return Result{}, append(found, degenerate())
	}
	r := describe(best, obs, pairs, lines, o)
	r.cov, r.origin = cov, origin
	r.dof = 2*len(pairs) + len(lines) - 3
	if r.dof > 0 {
		r.sigma = math.Sqrt(best.cost / float64(r.dof))
	}
	r.MirroredRMS = mirroredRMS(pairs, lines, o)
	r.Outlier = outlier(pairs, lines, r, o)
	if rival != nil {
		found.Add(diag.Finding{Code: "datum-ambiguous", Severity: diag.Confirm,
			Message: fmt.Sprintf("a turn of %.2f° fits the touches as well as %.2f°", degrees(rival.pose.turn), degrees(r.Turn)),
			Help:    "touch one more datum, or a second place on the line"})
	}
	return r, append(found, r.check(pairs, o)...)
}

func degrees(a float64) float64 { return wrap(a) * 180 / math.Pi }

// wrap returns the same angle in (-π, π].
func wrap(a float64) float64 {
	a = math.Remainder(a, 2*math.Pi)
	if a <= -math.Pi {
		a += 2 * math.Pi
	}
	return a
}

func degenerate() diag.Finding {
	return diag.Finding{Code: "datum-degenerate", Severity: diag.Stop, Input: true,
		Message: "the touches leave a turn or a direction of the work open",
		Help:    "touch datums that lie apart, or lines that are not parallel"}
}

// validate refuses what no fit may be given.
func validate(pairs []Pair, lines []LinePair) diag.List {
	var found diag.List
	if len(pairs)+len(lines) == 0 {
		found.Add(diag.Finding{Code: "datum-missing", Severity: diag.Stop, Input: true,
			Message: "no datum was touched", Help: "touch at least two datums that are on the drawing"})
	}
	bad := func(name, why string) {
		found.Add(diag.Finding{Code: "datum-invalid", Severity: diag.Stop, Input: true, Subject: name,
			Message: fmt.Sprintf("datum %q %s", name, why), Help: "correct the datum in the job"})
	}
	// Coordinates beyond a kilometre are typing errors, and would lose digits.
	const far = 1e6
	usable := func(ps ...geom.Point) bool {
		for _, p := range ps {
			if !p.Finite() || math.Abs(p.X) > far || math.Abs(p.Y) > far {
				return false
			}
		}
		return true
	}
	weighs := func(w float64) bool { return w >= 0 && w <= 1e6 && (w == 0 || w >= 1e-6) }
	for _, p := range pairs {
		switch {
		case !usable(p.Drawn, p.Touched):
			bad(p.Name, "has a coordinate that is not finite or beyond 1 km")
		case !weighs(p.Weight):
			bad(p.Name, "has a weight outside 0.000001 to 1000000")
		}
	}
	for _, l := range lines {
		switch {
		case !usable(l.A, l.B, l.Touched, geom.Pt(l.Offset, 0)):
			bad(l.Name, "has a coordinate that is not finite or beyond 1 km")
		case l.A.Dist(l.B) < 1e-6:
			bad(l.Name, "lies on a line without length")
		case !weighs(l.Weight):
			bad(l.Name, "has a weight outside 0.000001 to 1000000")
		}
	}
	return found
}

// single takes the turn as it was set up: one datum only shifts.
func single(p Pair, o Options) (Result, diag.List) {
	ps := pose{turn: o.Turn}
	ps.shift = p.Touched.Sub(ps.rotate(flip(p.Drawn, o.Mirrored)))
	u2 := float64(o.TurnU*o.TurnU) / float64(o.DatumU*o.DatumU)
	w := 1 / weightOf(p.Weight)
	r := Result{Frame: geom.Rigid{Turn: wrap(o.Turn), Shift: ps.shift, Mirror: o.Mirrored}, Turn: wrap(o.Turn),
		WorstName: p.Name, Scale: 1, Residuals: []Residual{{Name: p.Name}}, origin: p.Touched,
		cov: [3][3]float64{{u2, 0, 0}, {0, w, 0}, {0, 0, w}}}
	found := diag.List{{Code: "datum-single", Severity: diag.Confirm,
		Message: fmt.Sprintf("one datum only, %q: nothing checks the turn of the work, taken as %.2f°", p.Name, degrees(o.Turn)),
		Help:    "touch a second and a third datum, or two places on a drawn line"}}
	if !o.HandSaid {
		found.Add(handedness())
	}
	return r, found
}

// choose takes the best minimum; among equals the one nearest the stated turn.
// It also returns a rival that fits as well, or nil.
func choose(minima []candidate, obs []observation, o Options) (candidate, *candidate) {
	// Two fits are as good as each other when the uncertainty of the touches
	// explains the difference.
	slack := 4 * float64(o.DatumU*o.DatumU) * float64(len(obs))
	near := func(i int) float64 { return math.Abs(wrap(minima[i].pose.turn - o.Turn)) }
	best, rival := 0, -1
	for i := 1; i < len(minima); i++ {
		same := math.Abs(wrap(minima[i].pose.turn-minima[0].pose.turn)) < 1e-6
		if minima[i].cost > minima[0].cost+slack || same {
			continue
		}
		if near(i) < near(best) {
			best, rival = i, best
		} else if rival < 0 {
			rival = i
		}
	}
	if rival < 0 {
		return minima[best], nil
	}
	return minima[best], &minima[rival]
}

// describe fills in what the fit says about each touch and about the scale.
func describe(c candidate, obs []observation, pairs []Pair, lines []LinePair, o Options) Result {
	turn := wrap(c.pose.turn)
	r := Result{Frame: geom.Rigid{Turn: turn, Shift: c.pose.shift, Mirror: o.Mirrored}, Turn: turn, Scale: 1}
	var w float64
	for i, ob := range obs {
		off := c.pose.off(ob)
		res := Residual{Off: off, Distance: off.Len(), Line: ob.isLine()}
		if i < len(pairs) {
			res.Name = pairs[i].Name
		} else {
			res.Name = lines[i-len(pairs)].Name
		}
		if i == 0 || res.Distance > r.Worst {
			r.Worst, r.WorstName = res.Distance, res.Name
		}
		w += ob.weight
		r.Residuals = append(r.Residuals, res)
	}
	r.RMS = math.Sqrt(c.cost / w)
	if n := len(pairs); n >= 2 {
		r.Scale = scale(obs[:n])
	}
	return r
}

// scale returns the ratio touched : drawn that fits best together with the best
// turn, the c of Umeyama's equation 42 with the determinant held at +1.
func scale(obs []observation) float64 {
	cd, ct := centroids(obs)
	var dot, cross, sq float64
	for _, o := range obs {
		d, t := o.drawn.Sub(cd), o.touched.Sub(ct)
		dot += float64(o.weight * d.Dot(t))
		cross += float64(o.weight * d.Cross(t))
		sq += float64(o.weight * d.Dot(d))
	}
	if sq == 0 {
		return 1
	}
	return math.Hypot(dot, cross) / sq
}

// mirroredRMS fits the mirror image of what the job says.
func mirroredRMS(pairs []Pair, lines []LinePair, o Options) float64 {
	obs := observe(pairs, lines, !o.Mirrored)
	minima := solve(obs)
	if len(minima) == 0 {
		return math.Inf(1)
	}
	var w float64
	for _, ob := range obs {
		w += ob.weight
	}
	return math.Sqrt(minima[0].cost / w)
}
