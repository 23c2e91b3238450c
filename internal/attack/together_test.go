package attack_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// slotted puts slots of their own into a work and returns the program that cuts them.
func slotted(w *work.Work, depth float64, lines ...[4]float64) string {
	var b strings.Builder
	for _, l := range lines {
		c := opening()
		c.Name, c.Kind, c.Regions, c.Ramp, c.Step = fmt.Sprintf("slot %d", len(w.Cuts)+1), work.Slot, nil, 1, 5
		c.Chains = []geom.Chain{{{Point: geom.Pt(l[0], l[1])}, {Point: geom.Pt(l[2], l[3])}}}
		c.Depth, c.Limit = depth, depth+0.5
		w.Cuts = append(w.Cuts, c)
		fmt.Fprintf(&b, "G0 Z5\nG0 X%g Y%g\nG0 Z0.5\nG1 Z-%g F200\nG1 X%g Y%g F600\n", l[0], l[1], depth, l[2], l[3])
	}
	return b.String()
}

// Four slots, each harmless by itself, go round a piece of the wing.
func TestWhatSeveralCutsFreeTogetherIsAsked(t *testing.T) {
	four := [][4]float64{{0, 0, 30, 0}, {30, 0, 30, 20}, {30, 20, 0, 20}, {0, 20, 0, 0}}
	bare := func() *work.Work {
		w := panel()
		w.Members, w.Cuts = nil, nil
		return w
	}
	w := bare()
	text := slotted(w, 2, four...)
	refused(t, w, "piece-freed", head+text+tail)
	w.Cuts[0].Accept = []string{"piece-freed"}
	c, l := prove(w, head+text+tail)
	require.True(t, c.OK, told(l))
	refused(t, w, "loose-part", head+text+slotted(w, 2, [4]float64{5, 10, 25, 10})+tail)
	w = bare()
	w.Cuts = nil
	first := slotted(w, 2, [4]float64{5, 10, 25, 10})
	text = slotted(w, 2, four...)
	w.Cuts[1].Accept = []string{"piece-freed"}
	c, l = prove(w, head+first+text+tail)
	require.True(t, c.OK, told(l))
	w = bare()
	four[3] = [4]float64{0, 20, 0, 4} // a bridge of 2 mm
	c, l = prove(w, head+slotted(w, 2, four...)+tail)
	require.True(t, c.OK && !l.Has("piece-freed"), told(l))
}

// Holes side by side are a kerf too.
func TestARowOfHolesFreesAPiece(t *testing.T) {
	ring := func(n int) (*work.Work, string) {
		w := panel()
		w.Members = nil
		w.Cutters[0] = shop.Cutter{Name: "drill", Number: 1, Kind: shop.Drill, PointAngle: 2, Diameter: 2, FluteLength: 20, Shank: 2, StickOut: 30, CentreCutting: true}
		d := work.Cut{Name: "holes", Kind: work.Drill, Part: -1, Diameter: 2, Through: true, Depth: 3.2, Limit: 5, RPM: 18000, Feed: 200, Plunge: 200, Tol: 0.05}
		var b strings.Builder
		b.WriteString(head)
		for k := range n {
			q := geom.Polar(geom.Pt(10, 10), 8, float64(k)*2*math.Pi/float64(n))
			q = geom.Pt(math.Round(q.X*1e3)/1e3, math.Round(q.Y*1e3)/1e3)
			d.Points = append(d.Points, q)
			fmt.Fprintf(&b, "G0 Z5\nG0 X%.3f Y%.3f\nG0 Z0.5\nG1 Z-3.2 F200\n", q.X, q.Y)
		}
		w.Cuts = []work.Cut{d}
		return w, b.String() + tail
	}
	w, text := ring(30) // 1.68 mm apart
	heard(t, w, diag.Warn, "slug-loose", text)
	w, text = ring(14) // 3.6 mm apart: webs of 1.6 mm
	c, l := prove(w, text)
	require.True(t, c.OK && !l.Has("slug-loose"), told(l))
}

// A slot from edge to edge takes a corner off the sheet, and with it a part that
// its own tabs hold to that corner.
func TestACornerOfTheSheetIsNoHold(t *testing.T) {
	across := [4]float64{-2, 120, 120, -2}
	plate := boardProgram(outside(-3.2) + "G1 X91.000\n")
	part := strings.TrimSuffix(strings.TrimPrefix(plate, head), tail)
	w := board()
	w.Cuts[0].Regions = rect(20, 20, 40, 40)
	w.Parts[0].Region = w.Cuts[0].Regions[0]
	part = strings.NewReplacer("X49", "X19", "Y49", "Y19", "X91", "X41", "Y81", "Y41").Replace(part)
	c, l := prove(w, head+part+tail)
	require.True(t, c.OK, told(l))
	slot := slotted(w, 3.2, across)
	c, l = prove(w, head+part+slot+tail)
	require.True(t, c.OK && l.Has("slug-loose"), told(l))
	refused(t, w, "loose-part", head+slot+"G0 Z5\n"+part+tail)
}

// A ball that only just comes through leaves nearly all of what it cuts off: its
// width is no measure of what is gone.
func TestAPointThatJustComesThroughCutsAPieceOff(t *testing.T) {
	w := panel()
	w.Members = nil
	w.Cutters[0] = shop.Cutter{Name: "ball-6", Number: 1, Kind: shop.Ball, Diameter: 6, FluteLength: 20, Shank: 6, StickOut: 30, CentreCutting: true}
	w.Cuts[0].Kind, w.Cuts[0].Through = work.Pocket, false
	w.Cuts[0].Regions, w.Cuts[0].Depth, w.Cuts[0].Limit = rect(-5, -5, 15, 15), 1.9, 2.5
	w.Cuts[0].Step, w.Cuts[0].Ramp = 3, 1
	around := "G0 X3 Y3\nG0 Z0.5\nG1 Z-1.85 F200\nG1 X8 F600\nG1 Y8\nG1 X3\nG1 Y3\n"
	_, l := prove(w, head+around+tail)
	require.True(t, l.Has("slug-loose"), told(l))
	refused(t, w, "loose-part", head+around+"G0 Z5\nG0 X5.5 Y5.5\nG0 Z0.5\nG1 Z-1.85 F200\nG1 X6 F600\n"+tail)
}

// A slug thinner than a foil is ground away whatever the cutter does after it came
// loose; one of 0.46 mm, the size that the certificate names for a cutter of 2 mm, is
// seen however it lies.
func TestTheThicknessFromWhichAPieceIsSeen(t *testing.T) {
	for k := range 24 {
		turn := geom.Rigid{Turn: float64(k) * math.Pi / 46, Shift: geom.Pt(10+0.013*float64(k), 5+0.029*float64(k))}
		through := func(thick float64) (*work.Work, string) {
			w := panel()
			w.Members = nil
			w.Cuts[0].Regions = []geom.Region{geom.NewRegion(geom.Rect(0, 0, 30, 4+thick)).Transform(turn)}
			w.Cuts[0].Ramp, w.Cuts[0].Step = 1, 3
			var b strings.Builder
			b.WriteString(head)
			for i, q := range []geom.Point{{X: 1, Y: 1}, {X: 29, Y: 1}, {X: 29, Y: 3 + thick}, {X: 1, Y: 3 + thick}, {X: 1, Y: 1}, {X: 15, Y: 1}, {X: 15, Y: 2 + thick/2}, {X: 4, Y: 2 + thick/2}} {
				p := turn.Apply(q)
				if i == 0 {
					fmt.Fprintf(&b, "G0 X%.4f Y%.4f\nG0 Z0.5\nG1 Z-2 F200\nF600\n", p.X, p.Y)
					continue
				}
				fmt.Fprintf(&b, "G1 X%.4f Y%.4f\n", p.X, p.Y)
			}
			return w, b.String() + tail
		}
		w, text := through(0.08)
		c, l := prove(w, text)
		require.True(t, c.OK, "turn %d:\n%s", k, told(l))
		w, text = through(0.46)
		refused(t, w, "loose-part", text)
	}
}
