package skin

import (
	"fmt"
	"math"
	"sort"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// astrayGap is how many times farther from all others than they lie from one
// another a touch must be before its columns are looked at.
const astrayGap = 3.0

// swaps are the orders in which x, y and z may have been written by mistake.
var swaps = [...]struct {
	say string
	of  func(t Touch) Touch
}{
	{"X and Y", func(t Touch) Touch { return Touch{X: t.Y, Y: t.X, Z: t.Z} }},
	{"X and Z", func(t Touch) Touch { return Touch{X: t.Z, Y: t.Y, Z: t.X} }},
	{"Y and Z", func(t Touch) Touch { return Touch{X: t.X, Y: t.Z, Z: t.Y} }},
}

// swapped returns a confirm "height-swapped" for each touch that lies far from
// all others and would lie among them with two of its figures exchanged. No
// surface can tell: far from all others everything is possible.
func swapped(touches []Touch) diag.List {
	n := len(touches)
	if n < 5 {
		return nil
	}
	pts := make([]geom.Point, n)
	low, high := math.Inf(1), math.Inf(-1)
	for i, t := range touches {
		pts[i] = t.At()
	}
	grid := bucketsOf(pts)
	gap := make([]float64, n)
	for i, p := range pts {
		near := grid.nearest(p, 2, nil)
		gap[i] = pts[near[1]].Dist(p)
	}
	order := append([]float64(nil), gap...)
	sort.Float64s(order)
	usual := order[n/2]
	for i, t := range touches {
		if gap[i] <= astrayGap*usual {
			low, high = math.Min(low, t.Z), math.Max(high, t.Z)
		}
	}
	var found diag.List
	for i, t := range touches {
		if gap[i] <= astrayGap*usual {
			continue
		}
		for _, s := range swaps {
			q := s.of(t)
			if gapTo(pts, i, q.At()) > 1.5*usual || q.Z < low-usual || q.Z > high+usual {
				continue
			}
			found.Add(diag.Finding{Code: "height-swapped", Severity: diag.Confirm, Subject: t.Name,
				Message: fmt.Sprintf("a touched place lies %.0f mm from all others; with %s exchanged it lies among them", gap[i], s.say),
				Help:    "look whether its figures stand in the right columns"}.
				With(gap[i], astrayGap*usual, "mm").AtMachine(t.X, t.Y, t.Z))
			break
		}
	}
	return found
}

// gapTo returns the distance of p from the nearest place but self.
func gapTo(pts []geom.Point, self int, p geom.Point) float64 {
	best := math.Inf(1)
	for k, q := range pts {
		if k != self {
			best = math.Min(best, q.Dist(p))
		}
	}
	return best
}

// disagreeing returns a confirm "height-repeat" for each place whose repeated
// touches differ by more than outlierLeast: their mean is no measurement.
func disagreeing(touches, mean []Touch) diag.List {
	if len(touches) == len(mean) {
		return nil
	}
	pts := make([]geom.Point, len(mean))
	low, high := make([]float64, len(mean)), make([]float64, len(mean))
	for i, t := range mean {
		pts[i] = t.At()
		low[i], high[i] = math.Inf(1), math.Inf(-1)
	}
	grid := bucketsOf(pts)
	for _, t := range touches {
		k := grid.nearest(t.At(), 1, nil)[0]
		low[k], high[k] = math.Min(low[k], t.Z), math.Max(high[k], t.Z)
	}
	var found diag.List
	for i, t := range mean {
		if d := high[i] - low[i]; d > outlierLeast {
			found.Add(diag.Finding{Code: "height-repeat", Severity: diag.Confirm, Subject: t.Name,
				Message: fmt.Sprintf("touches of one place differ by %.2f mm", d),
				Help:    "touch it again and leave out what is wrong: a mistyped figure, or a work that moved"}.
				With(d, outlierLeast, "mm").AtMachine(t.X, t.Y, t.Z))
		}
	}
	return found
}
