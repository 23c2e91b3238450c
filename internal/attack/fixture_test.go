// Package attack_test tries to make the proof certify programs that hurt the
// work or the person. Every test here is one way of doing harm that has to be
// refused; what is harmful is reasoned out beside each, never asked of the proof.
package attack_test

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/proof"
	"sparclear/pkg/shop"
	"sparclear/pkg/skin"
	"sparclear/pkg/work"
)

// flat2 is a flat cutter of 2 mm with a thicker shank.
func flat2() shop.Cutter {
	return shop.Cutter{Name: "flat-2", Number: 1, Kind: shop.Flat, Diameter: 2, FluteLength: 8, Shank: 3, StickOut: 20, CentreCutting: true, MaxRPM: 30000}
}

// flat6 is a flat cutter of 6 mm.
func flat6() shop.Cutter {
	return shop.Cutter{Name: "flat-6", Number: 2, Kind: shop.Flat, Diameter: 6, FluteLength: 12, Shank: 6, StickOut: 25, CentreCutting: true, MaxRPM: 30000}
}

func router() shop.Machine {
	return shop.Machine{
		Name: "attacked", TravelMax: [3]float64{600, 400, 80}, FeedXY: 4000, FeedZ: 1500, RapidXY: 5000, RapidZ: 2000, Accel: 300, AccelZ: 200,
		SpindleMin: 5000, SpindleMax: 24000, SpinUp: 3, Runout: 0.02, Reversal: 0.02, ReversalZ: 0.02,
		Holder:     shop.Holder{{Diameter: 19, Length: 20}},
		Controller: shop.Controller{Arcs: shop.ArcCentre, Units: "mm", Decimals: 3, ToolChange: shop.ChangeWord, PathMode: shop.PathExact, Dwell: true, ArcTol: 0.01, Comments: true},
	}
}

func rect(x0, y0, x1, y1 float64) []geom.Region {
	return []geom.Region{geom.NewRegion(geom.Rect(x0, y0, x1, y1))}
}

// opening is a hole of 30 × 20 mm through the skin.
func opening() work.Cut {
	return work.Cut{Name: "servo", Kind: work.Opening, Part: -1, Regions: rect(0, 0, 30, 20), Through: true, Depth: 2, Overcut: 0.2, Limit: 3,
		Step: 1, RPM: 18000, Feed: 600, Plunge: 200, Ramp: 5 * math.Pi / 180, Tol: 0.05, Open: true}
}

// panel is a hollow wing with a skin of 1.8 mm at Z 0, a spar 3 mm below the
// opening and a rib far to the right.
func panel() *work.Work {
	return &work.Work{
		Title: "panel", Name: "panel", Machine: router(), Cutters: []shop.Cutter{flat2()}, Skin: skin.Flat(0), Zero: "skin",
		Thickness: 1.8, Hollow: true, Floor: 6, SafeZ: 5, ClampsSaid: true, HeightTol: 0.005, ChordTol: 0.002,
		Members: []keepout.Volume{
			{Name: "main spar", Kind: keepout.Primary, Footprint: rect(-40, -11, 80, -3), From: 1.8, To: math.Inf(1), Clearance: 1},
			{Name: "rib 3", Kind: keepout.Rib, Footprint: rect(60, -40, 62, 60), From: 1.8, To: math.Inf(1), Clearance: 0.5},
		},
		Cuts: []work.Cut{opening()},
	}
}

// board is a sheet of 3 mm with one part of 40 × 30 mm, cut all round outside.
func board() *work.Work {
	g := geom.NewRegion(geom.Rect(50, 50, 90, 80))
	return &work.Work{
		Title: "board", Name: "board", Sheet: true, Machine: router(), Cutters: []shop.Cutter{flat2()}, Skin: skin.Flat(0), Zero: "skin",
		Thickness: 3, Floor: 3.5, SafeZ: 5, ClampsSaid: true, Stock: rect(0, 0, 200, 150), HeightTol: 0.005, ChordTol: 0.002,
		Parts: []work.Part{{Name: "plate 1", Region: g}},
		Cuts: []work.Cut{{Name: "plate 1", Kind: work.PartCut, Part: 0, Regions: []geom.Region{g}, Through: true, Depth: 3.2, Overcut: 0.2, Limit: 3.5,
			Step: 1.1, RPM: 18000, Feed: 600, Plunge: 200, Ramp: 5 * math.Pi / 180, Tol: 0.05}},
	}
}

const (
	head  = "G17 G21 G90 G94 G61\nG0 Z5.000\nT1 M6\nM3 S18000\nG4 P3\n"
	enter = "G0 X6.000 Y1.000\nG0 Z0.500\n"
	round = `G1 Z0.000 F200
G1 X24.000 Z-1.000 F600
G1 X29.000
G1 Y19.000
G1 X1.000
G1 Y1.000
G1 X6.000
G1 X24.000 Z-2.000
G1 X29.000
G1 Y19.000
G1 X1.000
G1 Y1.000
G1 X29.000
`
	tail = "G0 Z5.000\nM5\nM2\n"
)

// outside goes round the board's part at height z, beginning and ending at its
// lower left corner, with extra text after its lower edge.
func outside(z float64) string {
	return fmt.Sprintf("G1 X91.000 Z%.3f F600\nG1 Y81.000\nG1 X49.000\nG1 Y49.000\n", z)
}

// boardProgram cuts the board's part; last is what it does on the last round.
func boardProgram(last string) string {
	return head + "G0 X49.000 Y49.000\nG0 Z0.500\nG1 Z0.000 F200\n" + outside(-1) + outside(-2) + outside(-2.9) + last + tail
}

func prove(w *work.Work, texts ...string) (*proof.Certificate, diag.List) {
	return proof.Prove(context.Background(), w, sources(texts...))
}

func sources(texts ...string) []proof.Source {
	var src []proof.Source
	for i, s := range texts {
		src = append(src, proof.Source{File: fmt.Sprintf("p%d.nc", i+1), Text: []byte(s)})
	}
	return src
}

func told(l diag.List) string {
	var b strings.Builder
	for _, f := range l {
		fmt.Fprintf(&b, "%s %s: %s\n", f.Severity, f.Code, f.Message)
	}
	return b.String()
}

// refused demands that the proof does not certify, and for the reason given.
func refused(t *testing.T, w *work.Work, code string, texts ...string) {
	t.Helper()
	c, l := prove(w, texts...)
	require.False(t, c.OK, "certified, although it does harm:\n%s", told(l))
	if code != "" {
		require.True(t, l.Has(code), "refused, but not as %s:\n%s", code, told(l))
	}
}

func TestHarmlessProgramsAreCertified(t *testing.T) {
	c, l := prove(panel(), head+enter+round+tail)
	require.True(t, c.OK, told(l))
	c, l = prove(board(), boardProgram(outside(-3.2)+"G1 X91.000\n"))
	require.True(t, c.OK, told(l))
}
