package job_test

import (
	"context"
	"fmt"
	"io/fs"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/internal/demo"
	"sparclear/pkg/diag"
	"sparclear/pkg/job"
)

// squareDXF is a square of the given side on layer P, its file in inches.
func squareDXF(side float64) string {
	s := fmt.Sprint(side)
	return strings.Join(strings.Fields("0 SECTION 2 HEADER 9 $INSUNITS 70 1 0 ENDSEC 0 SECTION 2 ENTITIES 0 LWPOLYLINE 8 P 70 1 10 0 20 0 10 "+
		s+" 20 0 10 "+s+" 20 "+s+" 10 0 20 "+s+" 0 ENDSEC 0 EOF"), "\n") + "\n"
}

const sheetText = `title = "units"
material = "carbon-plate-2"
machine = "small-router-metric"
zero = "table"
[[sheet]]
size = [300, 200]
thickness = 2.0
[[part]]
name = "P"
cutter = "carbide-2"
tabs = { count = 3, width = 4, height = 0.5 }
`

func resolveSheet(t *testing.T, text, dxf string) *job.Result {
	t.Helper()
	res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Files: memory{"job.toml": text, "p.dxf": dxf}})
	require.NoError(t, err)
	return res
}

// A part of 12 units is 304.8 mm when the file's inches are believed: larger than the
// sheet of 300 mm. 11.8 inches are 299.7 mm.
func TestAPartLargerThanItsSheetPutsTheUnitsInDoubt(t *testing.T) {
	for _, tc := range []struct {
		fact  string
		side  float64
		units string
		want  bool
	}{
		{"larger than the sheet", 12, "", true},
		{"a hair smaller", 11.8, "", false},
		{"larger, and the job says the units", 12, "units = \"mm\"\n", false},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			res := resolveSheet(t, sheetText+"drawing = \"p.dxf\"\nlayer = \"P\"\n"+tc.units, squareDXF(tc.side))
			assert.Equal(t, tc.want, res.Findings.Has("units-doubtful"), "%v", res.Findings)
		})
	}
}

// An opening larger than the machine reaches was perhaps drawn in other units.
func TestACutLargerThanTheMachineReachesPutsTheUnitsInDoubt(t *testing.T) {
	panel, err := fs.ReadFile(demo.Files, "wing/panel.dxf")
	require.NoError(t, err)
	heights, err := fs.ReadFile(demo.Files, "wing/heights.csv")
	require.NoError(t, err)
	inches := strings.Replace(string(panel), "$INSUNITS\n 70\n     4\n", "$INSUNITS\n 70\n     1\n", 1)
	require.NotEqual(t, string(panel), inches)
	res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Files: memory{"job.toml": demoJob(t), "panel.dxf": inches, "heights.csv": string(heights)}})
	require.NoError(t, err)
	told := false
	for _, f := range res.Findings {
		told = told || f.Code == "units-doubtful" && strings.Contains(f.Message, "reach of the machine")
	}
	assert.True(t, told, "%v", res.Findings)
	assert.False(t, resolve(t, demoJob(t)).Findings.Has("units-doubtful"))
}

// A built-in outline stands wherever a layer can: a part, a keep-out, a clamp.
func TestBuiltInOutlinesStandWhereALayerCan(t *testing.T) {
	res := resolveSheet(t, sheetText+"outline = \"hatch\"\nsizes = { length = 60, width = 40, land = 5, cover = 1 }\n", "")
	assert.Empty(t, blocking(res.Findings))
	require.Len(t, res.Work.Parts, 1)
	assert.InDelta(t, 60+2*(5-0.2), res.Work.Parts[0].Region.Bounds().Size().X, 1e-9, "the cover of the hatch: opening and land less the gap of 0.2, mm; closed form")

	free := resolve(t, demoJob(t))
	text := strings.Replace(demoJob(t), "[[keepout]]", `[[keepout]]
name = "pin"
outline = "servo"
sizes = { length = 20, width = 10, clearance = 0, corner = 0 }
center = [500, 200]

[[clamp]]
name = "weight"
outline = "servo"
sizes = { length = 20, width = 10 }
center = [600, 200]
height = 20

[[keepout]]`, 1)
	res = resolve(t, text)
	assert.Len(t, res.Work.Members, len(free.Work.Members)+1)
	assert.Len(t, res.Work.Clamps, len(free.Work.Clamps)+1)
	area := 0.0
	for _, m := range res.Work.Members {
		if m.Name == "pin" {
			area = m.Footprint[0].Area()
		}
	}
	assert.InDelta(t, 200, area, 1e-9, "mm²; closed form")

	text = strings.Replace(demoJob(t), "[[keepout]]", "[[keepout]]\nname = \"pin\"\noutline = \"servoo\"\ncenter = [0, 0]\n\n[[keepout]]", 1)
	assert.True(t, resolve(t, text).Findings.Has("outline-unknown"))
}

func blocking(l diag.List) (out diag.List) {
	for _, f := range l {
		if f.Blocks() && f.Code != "no-clamps" {
			out = append(out, f)
		}
	}
	return out
}

// A rib drawn as a band of 4 mm counts as that band where the job asks for it, and
// where not as its centre line, with the width of 3 mm that the job gives.
func TestABandCountsAsItsEdgesOnRequest(t *testing.T) {
	panel, err := fs.ReadFile(demo.Files, "wing/panel.dxf")
	require.NoError(t, err)
	heights, err := fs.ReadFile(demo.Files, "wing/heights.csv")
	require.NoError(t, err)
	wide := strings.ReplaceAll(string(panel), "RIBS\n 90\n2\n 70\n0\n", "RIBS\n 90\n2\n 70\n0\n 43\n4\n")
	require.NotEqual(t, string(panel), wide)
	area := func(key string) (sum float64) {
		text := strings.Replace(demoJob(t), "file = \"panel.dxf\"", "file = \"panel.dxf\"\n"+key, 1)
		res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Files: memory{"job.toml": text, "panel.dxf": wide, "heights.csv": string(heights)}})
		require.NoError(t, err)
		require.False(t, res.Findings.Has("key-unknown"), "%v", res.Findings)
		for _, m := range res.Work.Members {
			if m.Layer == "RIBS" {
				for _, g := range m.Footprint {
					sum += g.Area()
				}
			}
		}
		return sum
	}
	assert.InDelta(t, 4*(306+294), area("wide = true\nhidden = true\npaper = true\nhatches = true\n"), 1e-6, "mm²; closed form")
	assert.InDelta(t, 3*(306+294)+2*math.Pi*1.5*1.5, area(""), 1e-6, "mm², with round ends; closed form")
}
