package attack_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

// A helix beside the spar keeps its clearance on the whole turn or not at all, in
// whichever words the turn is said.
func TestAHelixBesideTheSparKeepsClear(t *testing.T) {
	bored := func(y float64) (*work.Work, func(turn string) string) {
		w := panel()
		c := &w.Cuts[0]
		c.Kind, c.Diameter, c.Ramp = work.Bore, 4, 0.2
		c.Regions, c.Points = []geom.Region{geom.NewRegion(geom.Circle(geom.Pt(15, y), 2))}, []geom.Point{{X: 15, Y: y}}
		return w, func(turn string) string {
			var b strings.Builder
			fmt.Fprintf(&b, "G0 X16 Y%.3f\nG0 Z0.5\nG1 Z0 F200\nF600\n", y)
			for z := -0.5; z >= -2; z -= 0.5 {
				b.WriteString(strings.NewReplacer("{z}", fmt.Sprintf("%.3f", z), "{y}", fmt.Sprintf("%.3f", y)).Replace(turn))
			}
			return head + b.String() + strings.NewReplacer(" Z{z}", "", "{y}", fmt.Sprintf("%.3f", y)).Replace(turn) + tail
		}
	}
	// The wall of the hole lies at y-2; the spar at -3, its clearance 1 mm, the
	// errors of machine and cutter 0.03 mm.
	for _, turn := range []string{"G3 X16 Y{y} Z{z} I-1 J0\n", "G3 X16 I-1 Z{z}\n", "G91 G3 X-2 Y0 I-1 J0\nG90 G3 X16 Y{y} Z{z} I1 J0\n"} {
		w, text := bored(0.05)
		c, l := prove(w, text(turn))
		require.True(t, c.OK, "%s\n%s", text(turn), told(l))
		w, text = bored(0)
		refused(t, w, "keepout-near", text(turn))
	}
	w, text := bored(0.05)
	refused(t, w, "", strings.Replace(text("G3 X16 Y{y} Z{z} I-1 J0\n"), "G3 X16 Y0.050 Z-2.000 I-1 J0", "G3 X16 Y0.050 Z-2.000 I-1 J-0.04", 1)) // off its centre
	refused(t, w, "", strings.Replace(text("G3 X16 Y{y} Z{z} I-1 J0\n"), "G3 X16 Y0.050 Z-2.000 I-1 J0", "G3 X16 Y0.050 Z-2.000 R1", 1))         // nobody knows which way
	refused(t, w, "", strings.Replace(text("G3 X16 Y{y} Z{z} I-1 J0\n"), "G3 X16 Y0.050 Z-2.000 I-1 J0", "G3 X16 Y0.049 Z-2.000 I-1 J0", 1))     // short of where it began
}

// A pocket that is cleared by one spiral from its middle: a turn left out stays, a
// turn too far passes the edge.
func TestASpiralLeavesNothingAndPassesNothing(t *testing.T) {
	w := panel()
	c := &w.Cuts[0]
	c.Kind, c.Through, c.Depth, c.Overcut, c.Limit, c.Ramp = work.Pocket, false, 1, 0, 1.2, 1
	c.Regions = []geom.Region{geom.NewRegion(geom.Circle(geom.Pt(15, 10), 8))}
	spiral := func(from, to, step float64, more string) string {
		var b strings.Builder
		fmt.Fprintf(&b, "G0 X15 Y10\nG0 Z0.5\nG1 Z-1 F200\nF600\n")
		side := 1.0
		x := 15.0
		for r := from; r <= to+1e-9; r += step { // half circles, each wider by a step
			next := 15 - side*r
			fmt.Fprintf(&b, "G3 X%.4f Y10 I%.4f J0\n", next, (next-x)/2)
			x, side = next, -side
		}
		return head + b.String() + fmt.Sprintf("G1 X22 Y10\nG3 X22 Y10 I-7 J0\n%s", more) + tail
	}
	ok, l := prove(w, spiral(0.5, 6.5, 0.5, ""))
	require.True(t, ok.OK, told(l))
	refused(t, w, "leftover", spiral(3.5, 6.5, 0.5, "")) // the middle is left, but for where it went down
	refused(t, w, "leftover", spiral(1, 6, 2.5, ""))     // ridges
	refused(t, w, "gouge", spiral(0.5, 6.5, 0.5, "G1 X22.2\nG3 X22.2 Y10 I-7.2 J0\n"))
	refused(t, w, "depth-limit", spiral(0.5, 6.5, 0.5, "G3 X22 Y10 Z-1.3 I-7 J0\n"))
}

// Ten thousand arcs of two hundredths of a millimetre are the circle that they
// make: no step is so small that nobody looks.
func TestTinyArcsAreLookedAt(t *testing.T) {
	w := panel()
	w.Cuts[0].Regions = []geom.Region{geom.NewRegion(geom.Circle(geom.Pt(15, 10), 8))}
	w.Cuts[0].Ramp, w.Cuts[0].Step = 1.5, 3
	round := func(bump float64) string {
		var b strings.Builder
		b.WriteString(head + "G0 X22 Y10\nG0 Z0.5\nG1 Z-2 F200\nF600\n")
		const n = 2000
		at := func(k int) geom.Point {
			r := 7.0
			if k >= 500 && k < 510 {
				r += bump
			}
			p := geom.Polar(geom.Pt(15, 10), r, float64(k)*2*math.Pi/n)
			return geom.Pt(math.Round(p.X*1e4)/1e4, math.Round(p.Y*1e4)/1e4)
		}
		for k := 1; k <= n; k++ {
			p, q := at(k-1), at(k%n)
			if math.Abs(p.Dist(geom.Pt(15, 10))-q.Dist(geom.Pt(15, 10))) > 0.002 {
				fmt.Fprintf(&b, "G1 X%.4f Y%.4f\n", q.X, q.Y)
				continue
			}
			fmt.Fprintf(&b, "G3 X%.4f Y%.4f I%.4f J%.4f\n", q.X, q.Y, 15-p.X, 10-p.Y)
		}
		return b.String() + tail
	}
	c, l := prove(w, round(0))
	require.True(t, c.OK, told(l))
	refused(t, w, "gouge", round(0.08))
}
