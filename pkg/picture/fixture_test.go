package picture

import (
	"context"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/proof"
	"sparclear/pkg/shop"
	"sparclear/pkg/skin"
	"sparclear/pkg/work"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// golden holds got against testdata/name, or rewrites it.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(path, got, 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.True(t, string(want) == string(got), "%s differs: run go test ./pkg/picture -update and read the diff", name)
}

// wingProgram drills one hole, then runs a rectangle of 40 by 20 mm in two passes
// with a cutter of 2 mm: the tip's line is 38 by 18 mm.
const wingProgram = `(made up: panel with one opening)
G21 G17 G90 G94
G40 G49 G80
G54
G61
(screw: drill)
T51
S20000 M3
G4 P5
G0 Z20
G0 X20 Y70
G0 Z1
G1 Z-2.5 F300
G0 Z20
(servo: contour)
M5
(MSG,fit cutter T2)
T2
M0
S18000 M3
G4 P5
G0 Z20
G0 X52 Y31
G0 Z1
G1 Z0 F300
G1 X60 Z-1 F900
G1 X89 F900
G1 Y49
G1 X51
G1 Y31
G1 X60
G1 X70 Z-2.1
G1 X89
G1 Y49
G1 X51
G1 Y31
G1 X70
G3 X72 Y33 I0 J2
G0 Z20
M5
M2
`

func machine() shop.Machine {
	return shop.Machine{Name: "m", Title: "made-up router", TravelMax: [3]float64{600, 400, 100}, TravelMin: [3]float64{0, 0, -100}, FeedXY: 3000, FeedZ: 1500,
		RapidXY: 4000, RapidZ: 2000, Accel: 300, AccelZ: 200, SpindleMin: 5000, SpindleMax: 24000, Power: 800, SpinUp: 5, Runout: 0.02, Reversal: 0.03, Repeat: 0.01, RepeatZ: 0.01,
		Holder:     shop.Holder{{Diameter: 20, Length: 18}, {Diameter: 60, Length: 60}},
		Controller: shop.Controller{Arcs: shop.ArcCentre, Units: "mm", Decimals: 3, ToolChange: shop.ChangePause, PathMode: shop.PathExact, Comments: true, Dwell: true, ArcTol: 0.01, MaxLine: 120}}
}

func endMill(number int, d float64) shop.Cutter {
	return shop.Cutter{Name: fmt.Sprintf("mill-%g", d), Title: "end mill", Number: number, Kind: shop.Flat, Form: shop.FormEndMill, Material: "carbide", Diameter: d, DiameterTol: 0.01,
		Flutes: 2, FluteLength: 8, Shank: 3, StickOut: 18, CentreCutting: true, MaxRPM: 30000}
}

// wingScene is a panel with a spar below and a rib beside one opening, proven.
func wingScene(t testing.TB) Scene {
	t.Helper()
	drill := shop.Cutter{Name: "drill-1.6", Title: "drill", Number: 51, Kind: shop.Drill, Form: shop.FormDrill, Material: "carbide", Diameter: 1.6, DiameterTol: 0.01, PointAngle: 2, Flutes: 2, FluteLength: 10, Shank: 3, StickOut: 20, CentreCutting: true, MaxRPM: 30000}
	box := func(x0, y0, x1, y1 float64) []geom.Region { return []geom.Region{{Outer: geom.Rect(x0, y0, x1, y1)}} }
	common := work.Cut{Part: -1, Through: true, Limit: 4, RPM: 18000, Feed: 900, Plunge: 300, Tol: 0.3, Climb: true}
	hole, servo := common, common
	hole.Name, hole.Kind, hole.Points, hole.Diameter, hole.Depth, hole.Cutter, hole.RPM = "screw", work.Drill, []geom.Point{geom.Pt(20, 70)}, 1.6, 2, 0, 20000
	servo.Name, servo.Kind, servo.Regions, servo.Depth, servo.Step, servo.Cutter, servo.Open = "servo", work.Opening, box(50, 30, 90, 50), 2.1, 1.2, 1, true
	w := &work.Work{Title: "Made-up panel: one opening", Name: "panel", Panel: "port", SideUp: "upper", Machine: machine(),
		Material: shop.Material{Name: "m", Title: "glass, balsa, glass", Family: "sandwich", Dust: []string{"glass", "hardwood"}},
		Cutters:  []shop.Cutter{drill, endMill(2, 2)}, Skin: skin.Flat(0), Zero: "skin", Thickness: 1.8, ThickTol: 0.05, Hollow: true, Floor: 14,
		Datums:  []work.Datum{{Name: "root", Drawn: geom.Pt(0, 0), Touched: geom.Pt(0.02, 0.01), Residual: 0.022}, {Name: "tip", Drawn: geom.Pt(300, 0), Touched: geom.Pt(299.98, -0.01), Residual: 0.022}},
		Members: []keepout.Volume{{Name: "spar", Kind: keepout.Primary, Footprint: box(-200, 54, 400, 60), From: 1.6, To: math.Inf(1), Clearance: 1}, {Name: "rib", Kind: keepout.Rib, Footprint: box(95, -50, 98, 150), From: 1.8, To: math.Inf(1), Clearance: 1}},
		Clamps:  []keepout.Volume{{Name: "strap", Kind: keepout.Clamp, Footprint: box(-60, -20, -40, 120), From: -12, To: 0, Clearance: 3}}, ClampsSaid: true,
		Cuts: []work.Cut{hole, servo}, SafeZ: 20, HeightTol: 0.02, ChordTol: 0.01}
	return proven(t, w, proof.Source{File: "panel.nc", Text: []byte(wingProgram)})
}

// sheetScene is a sheet with two equal discs of 20 mm cut by whole turns.
func sheetScene(t testing.TB) Scene {
	t.Helper()
	fibre := 0.0
	disc := func(x float64) geom.Region { return geom.Region{Outer: geom.Circle(geom.Pt(x, 20), 10)} }
	w := &work.Work{Title: "Made-up sheet: two discs", Name: "discs", Sheet: true, Machine: machine(), Material: shop.Material{Name: "c", Title: "carbon plate", Family: "cfrp", Dust: []string{"carbon"}},
		Cutters: []shop.Cutter{endMill(1, 2)}, Skin: skin.Flat(2), Zero: "table", Thickness: 2, ThickTol: 0.1, Floor: 2.5, Fibre: &fibre,
		Stock: []geom.Region{{Outer: geom.Rect(0, 0, 80, 40)}}, ClampsSaid: true, SafeZ: 12, HeightTol: 0.02, ChordTol: 0.01}
	text := "G21 G17 G90 G94\nG40 G49 G80\nG54\nG61\nT1\nS18000 M3\nG4 P5\nG0 Z12\n"
	for i, x := range []float64{20, 60} {
		name := fmt.Sprintf("disc %d", i+1)
		w.Parts = append(w.Parts, work.Part{Name: name, Region: disc(x)})
		w.Cuts = append(w.Cuts, work.Cut{Name: name, Kind: work.PartCut, Part: i, Regions: []geom.Region{disc(x)}, Through: true, Depth: 2.2, Limit: 2.5, Step: 1.2, RPM: 18000, Feed: 900, Plunge: 300, Tol: 0.3, Climb: true, Open: true})
		text += fmt.Sprintf("(%s: contour)\nG0 X%g Y31\nG0 Z3\nG1 Z0.9 F300\nG2 X%g Y31 I0 J-11 F900\nG1 Z-0.2 F300\nG2 X%g Y31 I0 J-11 F900\nG0 Z12\n", name, x, x, x)
	}
	return proven(t, w, proof.Source{File: "discs.nc", Text: []byte(text + "M5\nM2\n")})
}

// proven runs the real proof, so that pictures show figures as they come.
func proven(t testing.TB, w *work.Work, p proof.Source) Scene {
	t.Helper()
	cert, l := proof.Prove(context.Background(), w, []proof.Source{p})
	require.NotNil(t, cert)
	cert.Tool = "sparclear test"
	l.Add(diag.Finding{Code: "drill-unbacked", Severity: diag.Warn, Subject: "screw", Message: "drills through with nothing behind"},
		diag.Finding{Code: "rib-entered", Severity: diag.Confirm, Subject: "servo", Message: "enters the rib", Accepted: true, Cut: "servo"})
	return Scene{Work: w, Programs: []proof.Source{p}, Certificate: cert, Findings: l.Sorted()}
}
