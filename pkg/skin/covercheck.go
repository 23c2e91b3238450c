package skin

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// most places that CheckCovered looks at along the lines and inside the regions
// of one cut.
const maxLooks = 4000

// CheckCovered looks whether the heights that a cut with a cutter of radius r
// needs are measured: along its outlines and open lines, inside its regions and
// at its points (any of them may be nil). Where the model only extrapolates, the
// result holds one finding "heights-uncovered", placed where the nearest touch is
// farthest: a confirm for a cut through the skin, a stop for one that keeps a
// layer (rebate, score, pocket). name is that of the cut.
func CheckCovered(name string, m Model, regions []geom.Region, chains []geom.Chain, points []geom.Point, r float64, through bool) diag.List {
	places := append([]geom.Point(nil), points...)
	var lines []geom.Seg
	for _, g := range regions {
		for _, c := range g.Contours() {
			lines = append(lines, c.Segs()...)
		}
		places = append(places, inside(g, math.Max(r, 0.5))...)
	}
	for _, c := range chains {
		lines = append(lines, c.Segs()...)
	}
	places = append(places, along(lines, math.Max(r, 0.5))...)
	bad, worst, at := 0, -1.0, geom.Point{}
	for _, p := range places {
		if Covered(m, p, r) {
			continue
		}
		bad++
		if d := touchDist(m, p); d > worst {
			worst, at = d, p
		}
	}
	if bad == 0 {
		return nil
	}
	f := diag.Finding{Code: "heights-uncovered", Severity: diag.Stop, Cut: name, Subject: name,
		Message: fmt.Sprintf("no height is touched near %.0f %% of the cut; the nearest touch is up to %.1f mm away", math.Ceil(100*float64(bad)/float64(len(places))), worst),
		Help:    "touch the skin around and inside the cut, to a little beyond the radius of the cutter"}
	if through {
		f.Severity = diag.Confirm
	}
	return diag.List{f.With(worst, r, "mm").AtMachine(at.X, at.Y, m.Height(at))}
}

// touchDist returns the distance from p to the nearest touch, 0 when the model
// has none.
func touchDist(m Model, p geom.Point) float64 {
	f, ok := FittedOf(m)
	if !ok {
		return 0
	}
	best := math.Inf(1)
	for _, q := range f.Places() {
		best = math.Min(best, q.Dist(p))
	}
	if math.IsInf(best, 1) {
		return 0
	}
	return best
}

// along returns places on the segments, ends included, no farther apart than
// step, or farther where there would be too many.
func along(segs []geom.Seg, step float64) []geom.Point {
	var whole float64
	for _, s := range segs {
		whole += s.Length()
	}
	step = math.Max(step, whole/maxLooks)
	var out []geom.Point
	for _, s := range segs {
		n := max(1, int(math.Ceil(s.Length()/step)))
		for i := range n + 1 {
			out = append(out, s.At(float64(i)/float64(n)))
		}
	}
	return out
}

// inside returns places of a grid that lie in the region.
func inside(g geom.Region, step float64) []geom.Point {
	b := g.Bounds()
	if b.Empty() {
		return nil
	}
	size := b.Size()
	step = math.Max(step, math.Sqrt(size.X*size.Y/maxLooks))
	nx, ny := count(size.X, step, 2), count(size.Y, step, 2)
	var out []geom.Point
	for k := range nx * ny {
		p := geom.Pt(between(b.Min.X, b.Max.X, k%nx, nx), between(b.Min.Y, b.Max.Y, k/nx, ny))
		if g.ContainsInterior(p) {
			out = append(out, p)
		}
	}
	return out
}
