package attack_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/work"
)

// ring cuts a rectangle along its inside or outside at the given heights, going
// down along its lower side, and goes along that side once more at the end.
func ring(x0, y0, x1, y1 float64, heights ...float64) string {
	var b strings.Builder
	fmt.Fprintf(&b, "G0 Z5\nG0 X%g Y%g\nG0 Z0.5\nG1 Z0 F200\n", x0, y0)
	for _, z := range heights {
		fmt.Fprintf(&b, "G1 X%g Z%g F600\nG1 Y%g\nG1 X%g\nG1 Y%g\n", x1, z, y1, x0, y0)
	}
	fmt.Fprintf(&b, "G1 X%g\n", x1)
	return b.String()
}

// second part of a board, to the right of the first.
func twoParts(w *work.Work, at geom.Contour) {
	g := geom.NewRegion(at)
	c := w.Cuts[0]
	c.Name, c.Part, c.Regions = "plate 2", 1, []geom.Region{g}
	w.Parts = append(w.Parts, work.Part{Name: "plate 2", Region: g})
	w.Cuts = append(w.Cuts, c)
}

func holeIn(part int, x0, y0, x1, y1 float64) work.Cut {
	c := opening()
	c.Name, c.Part, c.Regions = fmt.Sprintf("hole %g", x0), part, rect(x0, y0, x1, y1)
	c.Depth, c.Limit, c.Step = 3.2, 3.5, 1.1
	return c
}

func TestACutOfOnePartStaysOutOfAnother(t *testing.T) {
	w := board()
	twoParts(w, geom.Rect(100, 50, 140, 80))
	w.Cuts = append(w.Cuts, holeIn(0, 60, 60, 105, 70)) // out of plate 1, into plate 2
	z := []float64{-1, -2, -2.9, -3.2}
	refused(t, w, "gouge", head+ring(61, 61, 104, 69, z...)+ring(49, 49, 91, 81, z...)+ring(99, 49, 141, 81, z...)+tail)
}

// A part may lie in the hole of another one; cutting it must not touch the other.
func TestAPartInTheHoleOfAnother(t *testing.T) {
	z := []float64{-1, -2, -2.9, -3.2}
	nested := func() *work.Work {
		w := board()
		w.Cuts[0].Regions = []geom.Region{geom.NewRegion(geom.Rect(50, 50, 130, 110))}
		w.Parts[0].Region = geom.Region{Outer: geom.Rect(50, 50, 130, 110), Holes: []geom.Contour{geom.Rect(60, 60, 120, 100).Reverse()}}
		w.Cuts = append([]work.Cut{holeIn(0, 60, 60, 120, 100)}, w.Cuts...)
		twoPartsFrom := w.Cuts[1]
		g := geom.NewRegion(geom.Rect(70, 70, 110, 90))
		twoPartsFrom.Name, twoPartsFrom.Part, twoPartsFrom.Regions = "inner", 1, []geom.Region{g}
		w.Parts = append(w.Parts, work.Part{Name: "inner", Region: g})
		w.Cuts = append(w.Cuts, twoPartsFrom)
		return w
	}
	inner := ring(69, 69, 111, 91, z...)
	outer := ring(61, 61, 119, 99, z...) + ring(49, 49, 131, 111, z...)
	c, l := prove(nested(), head+inner+outer+tail)
	require.True(t, c.OK, told(l))
	refused(t, nested(), "gouge", head+ring(69, 69, 119.2, 91, z...)+outer+tail)
	refused(t, nested(), "loose-part", head+outer+inner+tail) // cut in what fell out
}

func TestAPartOverAFlawIsSaid(t *testing.T) {
	over := func(x float64) *work.Work {
		w := board()
		w.Members = append(w.Members, keepout.Volume{Name: "flaw 1", Kind: keepout.Flaw, Footprint: rect(x, 60, x+5, 65), To: math.Inf(1)})
		return w
	}
	text := boardProgram(outside(-3.2) + "G1 X91.000\n")
	refused(t, over(60), "flaw-in-part", text)
	refused(t, over(47), "flaw-in-part", text) // half of it
	c, l := prove(over(30), text)
	require.True(t, c.OK, told(l))
	w := over(60)
	w.Cuts[0].Accept = []string{"flaw-in-part: flaw 1"}
	c, l = prove(w, text)
	require.True(t, c.OK, told(l))
	w = panel() // on a wing it is as good as a spar
	w.Members[0].Kind, w.Members[0].Footprint = keepout.Flaw, rect(10, -5, 12, 30)
	refused(t, w, "keepout-near", whole)
}

func TestNothingIsCutThatCameLoose(t *testing.T) {
	z := []float64{-1, -2}
	free := head + ring(1, 1, 29, 19, z...)
	for _, tc := range []struct{ fact, text string }{
		{"its own slug, straight across", free + "G1 Y10 F600\nG1 X1\nG1 X29\n" + tail},
		{"its own slug, on the way in", free + "G0 Z5\nG0 X15 Y10\nG0 Z0.5\nG1 Z-1 F200\nG1 X20 F600\n" + tail},
		{"a second ring inside the first", free + ring(5, 5, 25, 15, z...) + tail},
	} {
		t.Run(tc.fact, func(t *testing.T) { refused(t, panel(), "loose-part", tc.text) })
	}
	t.Run("a part that is finished after it came loose", func(t *testing.T) {
		zz := []float64{-1, -2, -2.9, -3.2}
		refused(t, board(), "loose-part", head+ring(48.8, 48.8, 91.2, 81.2, zz...)+ring(49, 49, 91, 81, -1, -2, -3.2)+tail)
	})
	t.Run("from the inside outwards nothing is loose", func(t *testing.T) {
		w := panel()
		w.Cuts[0].Regions = rect(0, 0, 8, 6)
		c, l := prove(w, head+"G0 Z5\nG0 X3 Y3\nG0 Z0.5\nG1 Z0 F200\nG1 X5 Z-0.15 F600\nG1 X3 Z-0.3\nG1 X5 Z-0.45\nG1 X3 Z-0.6\nG1 X5 Z-0.75\nG1 X3 Z-0.9\nG1 X5 Z-1.05\nG1 X3 Z-1.2\nG1 X5 Z-1.35\nG1 X3 Z-1.5\nG1 X5 Z-1.65\nG1 X3 Z-1.8\nG1 X5 Z-2\nG1 X3\nG1 Y2\nG1 X6\nG1 Y4\nG1 X2\nG1 Y2\nG1 X3\nG1 Y1\nG1 X7\nG1 Y5\nG1 X1\nG1 Y1\nG1 X4\nG1 Y3\n"+tail)
		require.True(t, c.OK, told(l))
		require.False(t, l.Has("slug-drops"), told(l))
	})
}

// A slot that closes on itself frees what it goes round.
func TestAClosedSlotFreesAPiece(t *testing.T) {
	w := panel()
	w.Cuts[0] = work.Cut{Name: "slot", Kind: work.Slot, Part: -1, Chains: []geom.Chain{{{Point: geom.Pt(1, 1)}, {Point: geom.Pt(29, 1)}, {Point: geom.Pt(29, 19)}, {Point: geom.Pt(1, 19)}, {Point: geom.Pt(1, 1)}}}, Through: true, Depth: 2, Overcut: 0.2, Limit: 3,
		Step: 1, RPM: 18000, Feed: 600, Plunge: 200, Ramp: 1, Tol: 0.05}
	heard(t, w, diag.Warn, "slug-loose", whole)
	refused(t, w, "loose-part", head+ring(1, 1, 29, 19, -1, -2)+"G1 Y10 F600\nG1 X1\n"+tail)
}
