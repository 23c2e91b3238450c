package locate

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
)

// check turns the figures of a fit into findings. A mirrored fit explains bad
// residuals, so it stands alone; so does a wrong scale.
func (r Result) check(pairs []Pair, o Options) diag.List {
	var found diag.List
	noise := 3 * o.DatumU
	switch {
	case r.MirroredRMS < r.RMS/2 && r.RMS > noise:
		found.Add(diag.Finding{Code: "datum-mirrored", Severity: diag.Stop,
			Message: fmt.Sprintf("these measurements match the other panel: RMS %.3f mm as the job says, %.3f mm mirrored", r.RMS, r.MirroredRMS),
			Help:    "check which panel lies on the machine and which side is up, then correct mirrored in the job"}.
			With(r.RMS, r.MirroredRMS, "mm"))
	case math.Abs(r.Scale-1) > o.Scale:
		found.Add(r.scaleFinding(pairs, o))
	default:
		if !o.HandSaid && r.MirroredRMS < math.Max(3*r.RMS, noise) {
			found.Add(handedness())
		}
		if r.Worst > o.Warn {
			found.Add(r.residualFinding(o))
		}
	}
	return found
}

func handedness() diag.Finding {
	return diag.Finding{Code: "handedness-unknown", Severity: diag.Confirm,
		Message: "these datums fit the other panel as well: they cannot tell a panel from its mirror image",
		Help:    "touch a third datum well away from the line through the others, or check panel and side up by eye and accept"}
}

func (r Result) scaleFinding(pairs []Pair, o Options) diag.Finding {
	f := diag.Finding{Code: "datum-scale", Severity: diag.Stop,
		Message: fmt.Sprintf("the touched datums lie %.3f times as far apart as drawn", r.Scale),
		Help:    "check the units of the drawing and whether drawing and panel belong together"}.
		With(100*math.Abs(r.Scale-1), 100*o.Scale, "%")
	if r.Outlier != "" {
		f.Help = r.outlierHelp()
		return f
	}
	// With datums close together the touches alone may do it.
	var far float64
	for i, p := range pairs {
		for _, q := range pairs[:i] {
			far = math.Max(far, p.Drawn.Dist(q.Drawn))
		}
	}
	if math.Abs(r.Scale-1)*far < 4*o.DatumU {
		f.Help = fmt.Sprintf("the datums are only %.0f mm apart, so that the touches alone may explain it: use datums farther apart, or touch again", far)
	}
	return f
}

func (r Result) outlierHelp() string {
	return fmt.Sprintf("without %q the others agree: touch it again, or check that it is where the drawing says", r.Outlier)
}

func (r Result) residualFinding(o Options) diag.Finding {
	f := diag.Finding{Code: "datum-residual", Severity: diag.Warn,
		Message: fmt.Sprintf("datum %q lies %.3f mm from its fitted place", r.WorstName, r.Worst),
		Help:    "touch the datums again and compare them with the drawing"}
	limit := o.Warn
	if r.Worst > o.Stop {
		f.Severity, limit = diag.Stop, o.Stop
	}
	if r.Outlier != "" {
		f.Help = r.outlierHelp()
	}
	return f.With(r.Worst, limit, "mm")
}

// outlier names the touch without which the rest agree within the uncertainty of
// touching, when there is exactly one such touch. Nothing is taken out of the
// fit: a human decides.
func outlier(pairs []Pair, lines []LinePair, r Result, o Options) string {
	n := len(pairs) + len(lines)
	if n < 3 || r.Worst <= o.Warn {
		return ""
	}
	name, good := "", 0
	for i := range n {
		ps, ls := pairs, lines
		var left string
		if i < len(pairs) {
			left = pairs[i].Name
			ps = append(append([]Pair(nil), pairs[:i]...), pairs[i+1:]...)
		} else {
			k := i - len(pairs)
			left = lines[k].Name
			ls = append(append([]LinePair(nil), lines[:k]...), lines[k+1:]...)
		}
		if 2*len(ps)+len(ls) <= 3 {
			continue // what is left would fit anything
		}
		obs := observe(ps, ls, o.Mirrored)
		minima := solve(obs)
		if len(minima) == 0 {
			continue
		}
		worst := 0.0
		for _, ob := range obs {
			worst = math.Max(worst, minima[0].pose.off(ob).Len())
		}
		if worst <= math.Max(3*o.DatumU, o.Warn/2) {
			name = left
			good++
		}
	}
	if good != 1 {
		return ""
	}
	return name
}
