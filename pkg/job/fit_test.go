package job_test

import (
	"bytes"
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
	"sparclear/pkg/drawing"
	"sparclear/pkg/geom"
	"sparclear/pkg/job"
	"sparclear/pkg/work"
)

// plateDrawing is a plate of 80 by 40 mm with a hole of 6 mm, a hole of 30 by 10 mm
// and a slot drawn 2 mm wide and 20 mm long, turned by 30°.
func plateDrawing(t *testing.T) string {
	t.Helper()
	slot := geom.Rect(-10, -1, 10, 1).Transform(geom.Rigid{Turn: 30 * 3.141592653589793 / 180, Shift: geom.Pt(62, 20)})
	var l drawing.Layout
	l.Add("PLATE", geom.NewRegion(geom.Rect(0, 0, 80, 40), geom.Circle(geom.Pt(10, 10), 3), geom.RoundRect(15, 20, 45, 30, 2), slot))
	var b bytes.Buffer
	require.NoError(t, drawing.Write(&b, l))
	return b.String()
}

const plateJob = `title = "plate"
material = "%s"
machine = "gantry-router-metric"
zero = "table"
no_clamps = true

[[sheet]]
size = [120, 80]
%s

[[part]]
name = "plate"
drawing = "plate.dxf"
layer = "PLATE"
cutter = "carbide-1"
hole_cutter = "carbide-1"
place = [[20, 20]]
accept = ["slug-loose"]
%s
`

// plate runs the plate job as far as goal.
func plate(t *testing.T, goal job.Goal, material, sheet, part string) *job.Result {
	t.Helper()
	res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Goal: goal,
		Files: memory{"job.toml": fmt.Sprintf(plateJob, material, sheet, part), "plate.dxf": plateDrawing(t)}})
	require.NoError(t, err)
	return res
}

func cutNamed(t *testing.T, res *job.Result, part string) work.Cut {
	t.Helper()
	for _, c := range res.Work.Cuts {
		if strings.Contains(c.Name, part) {
			return c
		}
	}
	require.Fail(t, "no cut "+part, "%v", res.Findings)
	return work.Cut{}
}

func TestAClassMovesTheOutlineToTheMiddleOfItsZone(t *testing.T) {
	res := plate(t, job.Prove, "birch-ply-3", "thickness = 2", `fit = "h11"
hole_fit = "H11"`)
	require.True(t, res.Certificate != nil && res.Certificate.OK, "%v", res.Findings)
	// ISO 286-1:2010, table 1: IT11 is 75 µm over 3 up to 6 mm, 90 over 6 up to 10,
	// 160 over 30 up to 50. The middle of the zone, closed form.
	b := cutNamed(t, res, "opening 1").Regions[0].Bounds().Size()
	assert.InDelta(t, 6+0.075/2, b.X, 1e-6, "a diameter, mm")
	b = cutNamed(t, res, "opening 2").Regions[0].Bounds().Size()
	assert.InDelta(t, 10+0.090/2, b.Y, 2e-3, "the narrow side is the nominal size, mm")
	assert.InDelta(t, 30+0.090/2, b.X, 2e-3, "mm")
	outline := res.Work.Cuts[len(res.Work.Cuts)-1]
	b = outline.Regions[0].Bounds().Size()
	assert.InDelta(t, 40-0.160/2, b.Y, 2e-3, "mm")
	f := outline.Fit
	require.NotNil(t, f)
	assert.Equal(t, "h11", f.Class)
	assert.InDelta(t, 40, f.Nominal, 1e-3, "mm")
	assert.InDelta(t, -0.160, f.Lower, 1e-9, "mm")
	assert.Positive(t, f.Held)
	assert.Contains(t, f.HeldBy, "lost motion")
}

func TestAClassFinerThanTheMachineIsWarnedOf(t *testing.T) {
	res := plate(t, job.Resolve, "birch-ply-3", "thickness = 2", `hole_fit = "H7"`)
	require.True(t, res.Findings.Has("fit-too-fine"), "%v", res.Findings)
	res = plate(t, job.Resolve, "birch-ply-3", "thickness = 2", `hole_fit = "H14"`)
	assert.False(t, res.Findings.Has("fit-too-fine"), "%v", res.Findings)
}

func TestAPressInALaminateIsAskedAbout(t *testing.T) {
	for _, tc := range []struct {
		material, fit string
		asks          bool
	}{
		{"carbon-plate-2", `hole_fit = "P7"`, true},
		{"carbon-plate-2", `hole_fit = "H7/p6"`, true},
		{"carbon-plate-2", `hole_fit = "H7/h6"`, false},
		{"carbon-plate-2", `fit = "H7/s6"`, true},
		{"carbon-plate-2", `fit = "k6"`, true},
		{"carbon-plate-2", `fit = "g6"`, false},
		{"birch-ply-3", `hole_fit = "P7"`, false},
	} {
		res := plate(t, job.Resolve, tc.material, "thickness = 2", tc.fit)
		assert.Equal(t, tc.asks, res.Findings.Has("fit-press"), "%s in %s: %v", tc.fit, tc.material, res.Findings)
	}
}

func TestAFitThatMakesNoSenseIsRefused(t *testing.T) {
	for _, tc := range []struct{ part, code string }{
		{`hole_fit = "h11"`, "fit-useless"},
		{`fit = "H11"`, "fit-useless"},
		{`hole_fit = "H11/G7"`, "fit-useless"},
		{`hole_fit = "H99"`, "fit-unknown"},
		{`hole_fit = "loose"`, "job-broken"},
		{`fit = -30`, "outline-vanishes"},
		{`tolerance = "ISO 2768-x"`, "job-broken"},
		{`tolerance = "ISO 2768-m"`, ""},
		{`tolerance = 0`, "not-positive"},
		{`tab_slots = { thickness = 2 }`, "tab-drawn"},
		{`tab_slots = { drawn = 2, thickness = 0 }`, "not-positive"},
	} {
		res := plate(t, job.Resolve, "birch-ply-3", "thickness = 2", tc.part)
		if tc.code == "" {
			assert.False(t, res.Findings.Blocks(), "%s: %v", tc.part, res.Findings)
			continue
		}
		require.True(t, res.Findings.Has(tc.code), "%s: %v", tc.part, res.Findings)
		assert.Equal(t, 2, res.Findings.ExitCode(), tc.part)
	}
}

// ISO 2768-1:1989, table 1: class m allows ±0.2 mm over 6 up to 30 mm and ±0.3 mm
// over 30 up to 120 mm; two edges share a size.
func TestAGeneralToleranceIsSharedByTwoEdges(t *testing.T) {
	res := plate(t, job.Resolve, "birch-ply-3", "thickness = 2", `tolerance = "2768-m"`)
	require.False(t, res.Findings.Blocks(), "%v", res.Findings)
	assert.InDelta(t, 0.2/2, cutNamed(t, res, "opening 2").Tol, 1e-12, "mm")
	assert.InDelta(t, 0.3/2, res.Work.Cuts[len(res.Work.Cuts)-1].Tol, 1e-12, "mm")
	res = plate(t, job.Resolve, "birch-ply-3", "thickness = 2", `tolerance = "2768-f"`)
	assert.Equal(t, 0.05, cutNamed(t, res, "opening 2").Tol, "mm")
}

func TestASlotIsCutForTheMeasuredThickness(t *testing.T) {
	width := func(res *job.Result) (float64, float64) {
		t.Helper()
		require.False(t, res.Findings.Blocks(), "%v", res.Findings)
		for _, c := range res.Work.Cuts {
			if len(c.Regions) == 1 && c.Kind == work.Opening {
				if z, _ := geom.MinAreaBox(1e-4, c.Regions[0].Outer); z.Y < 4 {
					return z.X, z.Y
				}
			}
		}
		require.Fail(t, "no slot")
		return 0, 0
	}
	l, w := width(plate(t, job.Resolve, "birch-ply-3", "thickness = 2.07", `tab_slots = { drawn = 2 }`))
	assert.InDelta(t, 2.17, w, 1e-6, "2.07 and a slip of 0.1, mm")
	assert.InDelta(t, 20, l, 1e-6, "the length stays, mm")
	_, w = width(plate(t, job.Resolve, "birch-ply-3", "measured = [2.00, 2.06, 2.02, 2.04]", `tab_slots = { drawn = 2, slip = 0.15 }`))
	assert.InDelta(t, 2.03+0.15, w, 1e-6, "middle of what was measured, mm")
	_, w = width(plate(t, job.Resolve, "birch-ply-3", "thickness = 2", `tab_slots = { drawn = 2, thickness = "1/16 in", slip = 0 }`))
	assert.InDelta(t, 1.5875, w, 1e-6, "mm")
	res := plate(t, job.Prove, "birch-ply-3", "thickness = 2.07\nthickness_tol = 0.03", `tab_slots = { drawn = 2 }`)
	require.True(t, res.Certificate != nil && res.Certificate.OK, "%v", res.Findings)
	dogs := 0
	for _, c := range res.Work.Cuts {
		if c.Relief == "dogbone" {
			dogs++
		}
	}
	assert.Equal(t, 1, dogs, "the slot alone gets its corners cleared")
}

// Grown by 0.3 mm, a rectangle of 50 by 24 mm measures 50.6 by 24.6 and keeps its
// four square corners; a rounded one keeps its arcs. Closed form.
func TestAGrownOutlineKeepsItsCorners(t *testing.T) {
	res := plate(t, job.Resolve, "birch-ply-3", "thickness = 2", "fit = 0.3\nhole_fit = 0.3")
	require.False(t, res.Findings.Blocks(), "%v", res.Findings)
	outline := res.Work.Cuts[len(res.Work.Cuts)-1].Regions[0]
	assert.Len(t, outline.Outer, 4)
	assert.InDelta(t, 80.6*40.6, outline.Area(), 1e-6, "mm²")
	rounded := cutNamed(t, res, "opening 2").Regions[0]
	assert.Len(t, rounded.Outer, 8)
	// 30.6 by 10.6 less four corners of radius 2.3: (4 − π)·r²
	assert.InDelta(t, 30.6*10.6-(4-3.14159265358979)*2.3*2.3, rounded.Area(), 1e-6, "mm²")
}

func TestAnUnevenSheetIsWarnedOf(t *testing.T) {
	res := plate(t, job.Resolve, "birch-ply-3", "measured = [2.0, 2.2]", "")
	assert.False(t, res.Findings.Has("sheet-uneven"))
	assert.InDelta(t, 2.1, res.Work.Thickness, 1e-9, "mm")
	assert.InDelta(t, 0.1, res.Work.ThickTol, 1e-9, "mm")
	assert.True(t, plate(t, job.Resolve, "birch-ply-3", "measured = [2.0, 2.21]", "").Findings.Has("sheet-uneven"))
	for _, bad := range []string{"measured = [2.0, 0]", "measured = [-1]", "thickness = 2\nmeasured = [2]"} {
		res := plate(t, job.Resolve, "birch-ply-3", bad, "")
		assert.Equal(t, 2, res.Findings.ExitCode(), "%s: %v", bad, res.Findings)
	}
}

// A slot along its centre line, a bored hole with its diameter in the job, and a
// drilled one, in the demo wing.
func TestFitsOfLinesAndPoints(t *testing.T) {
	base := strings.Replace(demoJob(t), "tabs    = { count = 4, width = 4, height = 0.6 }", "", 1)
	i := strings.Index(base, "[[cut]]")
	head := base[:i]
	cut := func(text string) *job.Result {
		return resolve(t, head+"[[cut]]\nname = \"x\"\nlimit = 3.5\n"+text)
	}
	res := cut("kind = \"bore\"\nlayer = \"SCREWS\"\ncutter = \"carbide-1\"\nthrough = true\ndiameter = 3\nfit = \"H13\"")
	require.False(t, res.Findings.Blocks(), "%v", res.Findings)
	assert.InDelta(t, 3+0.140/2, res.Work.Cuts[0].Diameter, 1e-9, "IT13 up to 3 mm: 140 µm, ISO 286-1")
	res = cut("kind = \"drill\"\nlayer = \"SCREWS\"\ncutter = \"drill-1.6\"\nthrough = true\nfit = \"H7\"")
	assert.True(t, res.Findings.Has("fit-too-fine"), "%v", res.Findings)
	assert.Equal(t, 1.6, res.Work.Cuts[0].Diameter)
	res = cut("kind = \"drill\"\nlayer = \"SCREWS\"\ncutter = \"drill-1.6\"\nthrough = true\nfit = 0.1")
	assert.True(t, res.Findings.Has("fit-useless"), "a drill has one size")
	res = cut("kind = \"opening\"\nlayer = \"SERVO\"\ncutter = \"carbide-2\"\nthrough = true\nfit = 0.3\nloose = true")
	require.False(t, res.Findings.Blocks(), "%v", res.Findings)
	assert.InDelta(t, 0.3, res.Work.Cuts[0].Fit.Side, 1e-12)
	res = cut("kind = \"opening\"\nlayer = \"SERVO\"\ncutter = \"carbide-2\"\nthrough = true\ntab_slot = { }\nloose = true")
	assert.True(t, res.Findings.Has("tab-thickness"), "%v", res.Findings)
	assert.Equal(t, diag.Stop, res.Findings.Worst())
}
