package skin

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// Touch is a measured height of the skin.
type Touch struct {
	X, Y, Z float64 // program coordinates, mm; Z is where the skin is
	Name    string  // of the touch, may be empty
	Line    int     // of the file that it was read from, 0 unknown
}

// At returns the place of the touch.
func (t Touch) At() geom.Point { return geom.Pt(t.X, t.Y) }

// Tch is short for a touch without a name at x, y, z mm.
func Tch(x, y, z float64) Touch { return Touch{X: x, Y: y, Z: z} }

// Limits of what is taken as measured, mm.
const (
	// samePlace joins touches that are meant to be at one place: a probe comes
	// back to within its positioning error.
	samePlace = 0.1
	// farAway is a typing error: no machine is a kilometre wide.
	farAway = 1e6
	// maxTouches bounds the memory of a fit (a dense matrix of this order).
	maxTouches = 2500
)

// DefaultTouchU is the standard uncertainty of one touched height, mm, where the
// touches do not say (0.02: a slow second touch of a simple probe; common
// practice, no source).
const DefaultTouchU = 0.02

// Repeatability returns the standard deviation of repeated touches at the same
// places, mm, pooled over all of them, and its degrees of freedom; 0, 0 when no
// place was touched twice.
func Repeatability(touches []Touch) (s float64, dof int) {
	_, s, dof = gather(touches)
	return s, dof
}

// gather joins repeated touches of one place into their mean and pools their
// spread. The order of first appearance is kept. O(n) by a grid of buckets.
func gather(touches []Touch) (mean []Touch, s float64, dof int) {
	type cell struct{ x, y int64 }
	type pool struct {
		sum, sq float64
		n       int
	}
	var pools []pool
	at := map[cell][]int{}
	for _, t := range touches {
		c := cell{int64(math.Floor(t.X / samePlace)), int64(math.Floor(t.Y / samePlace))}
		k := -1
		for dx := int64(-1); dx <= 1 && k < 0; dx++ {
			for dy := int64(-1); dy <= 1 && k < 0; dy++ {
				for _, i := range at[cell{c.x + dx, c.y + dy}] {
					if mean[i].At().Dist(t.At()) <= samePlace {
						k = i
						break
					}
				}
			}
		}
		if k < 0 {
			k = len(mean)
			at[c] = append(at[c], k)
			mean, pools = append(mean, t), append(pools, pool{})
		}
		// The spread is summed about the first touch, so that no digits are lost.
		d := t.Z - mean[k].Z
		pools[k].sum += d
		pools[k].sq += float64(d * d)
		pools[k].n++
	}
	var ss float64
	for i, p := range pools {
		n := float64(p.n)
		mean[i].Z += p.sum / n
		ss += math.Max(0, p.sq-float64(p.sum*p.sum)/n)
		dof += p.n - 1
	}
	if dof > 0 {
		s = math.Sqrt(ss / float64(dof))
	}
	return mean, s, dof
}

// checkTouches refuses what cannot be fitted.
func checkTouches(touches []Touch, need int) diag.List {
	var found diag.List
	for i, t := range touches {
		if v := math.Max(math.Abs(t.X), math.Max(math.Abs(t.Y), math.Abs(t.Z))); !(v <= farAway) {
			found.Add(diag.Finding{Code: "height-invalid", Severity: diag.Stop, Input: true,
				Message: fmt.Sprintf("touch %d has a coordinate that is not finite or beyond 1 km", i+1),
				Help:    "correct the measured heights"})
		}
	}
	switch {
	case found.Blocks():
	case len(touches) < need:
		found.Add(diag.Finding{Code: "heights-few", Severity: diag.Stop, Input: true,
			Message: fmt.Sprintf("%d touched heights, at least %d needed", len(touches), need),
			Help:    "touch more places around and inside each opening"}.With(float64(len(touches)), float64(need), ""))
	case len(touches) > maxTouches:
		found.Add(diag.Finding{Code: "heights-many", Severity: diag.Stop, Input: true,
			Message: fmt.Sprintf("%d touched heights, at most %d can be fitted", len(touches), maxTouches),
			Help:    "leave out touches far from the openings"}.With(float64(len(touches)), maxTouches, ""))
	}
	return found
}

func degenerate() diag.Finding {
	return diag.Finding{Code: "heights-degenerate", Severity: diag.Stop, Input: true,
		Message: "the touched heights lie on one line or spot and leave the tilt of the skin open",
		Help:    "touch places on both sides of the line"}
}
