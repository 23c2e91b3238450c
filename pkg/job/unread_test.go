package job_test

import (
	"context"
	"fmt"
	"io/fs"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/internal/demo"
	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/job"
)

const plainJob = `title = "plain"
material = "glass-balsa-glass-1.8"
machine = "small-router-metric"
zero = "table"
no_clamps = true
[drawing]
file = "panel.dxf"
[[datum]]
name = "root pin"
drawn = [0, 0]
touched = [50, 50]
[[datum]]
name = "tip pin"
drawn = [120, 0]
touched = [170, 50]
[[datum]]
name = "rear pin"
drawn = [60, 80]
touched = [110, 130]
[skin]
thickness = 1.8
floor = 12
plane = [[60, 60, 40], [140, 60, 40], [60, 120, 40], [140, 120, 40], [100, 90, 40]]
[[keepout]]
name = "main spar"
layer = "SPAR"
[[cut]]
name = "servo"
kind = "opening"
layer = "SERVO"
cutter = "carbide-2"
through = true
limit = 3
loose = true
`

// dxf is a drawing of entities, given as alternating codes and values.
func dxf(entities ...string) string {
	return "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n" +
		strings.ReplaceAll(strings.Join(entities, " "), " ", "\n") + "\n0\nENDSEC\n0\nEOF\n"
}

func closed(layer string, xy ...float64) string { return polyline(layer, 1, xy...) }

func polyline(layer string, flag int, xy ...float64) string {
	s := fmt.Sprintf("0 LWPOLYLINE 8 %s 90 %d 70 %d", layer, len(xy)/2, flag)
	for i := 0; i < len(xy); i += 2 {
		s += fmt.Sprintf(" 10 %g 20 %g", xy[i], xy[i+1])
	}
	return s
}

func box(layer string, x0, y0, x1, y1 float64) string {
	return closed(layer, x0, y0, x1, y0, x1, y1, x0, y1)
}

// plain runs the plain job with more on its drawing.
func plain(t *testing.T, text string, more ...string) *job.Result {
	t.Helper()
	all := append([]string{box("SERVO", 40, 30, 80, 50), box("SPAR", -10, 12, 130, 22)}, more...)
	res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Goal: job.Prove, Files: memory{"job.toml": text, "panel.dxf": dxf(all...)}})
	require.NoError(t, err)
	return res
}

func blockers(l diag.List) []string {
	var out []string
	for _, f := range l {
		if f.Blocks() {
			out = append(out, f.Code)
		}
	}
	return out
}

// Whatever lies on the layer of a keep-out and is no part of its footprint is a
// member that the cutter would enter, however whole the rest of the layer is.
func TestNothingOnTheLayerOfAKeepOutIsPassedOver(t *testing.T) {
	require.Empty(t, blockers(plain(t, plainJob).Findings))
	for _, tc := range []struct{ fact, entity, code string }{
		{"a web drawn as a closed line there and back", closed("SPAR", 35, 40, 45, 40), "outline-without-area"},
		{"a hatch", "0 HATCH 8 SPAR 2 SOLID 70 1 71 0 91 1 92 2 72 0 73 1 93 4 10 35 20 35 10 45 20 35 10 45 20 45 10 35 20 45 97 0 75 0 76 1 98 0", "keepout-unread"},
		{"an invisible outline", "0 CIRCLE 8 SPAR 60 1 10 40 20 40 40 3", "keepout-unread"},
		{"an outline in paper space", "0 CIRCLE 8 SPAR 67 1 10 40 20 40 40 3", "keepout-unread"},
		{"a point", "0 POINT 8 SPAR 10 40 20 40", "keepout-unread"},
		{"an outline with a broad line", "0 LWPOLYLINE 8 SPAR 90 4 70 1 43 3 10 -20 20 0 10 -18 20 0 10 -18 20 9 10 -20 20 9", "keepout-unread"},
		{"a spar within the opening", box("SPAR", 55, 36, 65, 44), "keepout-inside"},
		{"an opening in the middle of a box spar", box("SPAR", 0, 23, 130, 75) + " " + box("SPAR", 4, 25, 126, 73), "keepout-hole"},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			assert.Contains(t, blockers(plain(t, plainJob, tc.entity).Findings), tc.code)
			assert.Empty(t, plain(t, plainJob, tc.entity).Outputs)
			accepted := strings.Replace(plainJob, "no_clamps", "accept = [\"keepout-unread: main spar\"]\nno_clamps", 1)
			accepted = strings.Replace(accepted, "loose", "accept = [\"keepout-inside: main spar\", \"keepout-hole: main spar\"]\nloose", 1)
			assert.Equal(t, tc.code == "outline-without-area", len(blockers(plain(t, accepted, tc.entity).Findings)) > 0)
		})
	}
}

// A wider gap or a coarser curve that the job allows may move a keep-out by as much.
func TestAKeepOutReadLooselyKeepsMoreClear(t *testing.T) {
	before := plain(t, plainJob).Work.Members[0].Clearance
	after := plain(t, strings.Replace(plainJob, `file = "panel.dxf"`, "file = \"panel.dxf\"\njoin = 0.5\ncurve_tol = 0.102", 1)).Work.Members[0].Clearance
	assert.InDelta(t, before+0.49+0.1, after, 1e-9)
}

// A clamp that is declared and has no place, or a wrong one, is no clamp.
func TestAClampHasOnePlaceThatIsOne(t *testing.T) {
	for _, tc := range []struct{ fact, clamp, entity, code string }{
		{"drawn as an open line", `layer = "CLAMP"`, polyline("CLAMP", 0, 0, 60, 10, 60), "layer-empty"},
		{"partly open", `layer = "CLAMP"`, polyline("CLAMP", 0, 0, 60, 10, 60) + " " + box("CLAMP", 0, 70, 5, 75), "layer-empty"},
		{"three numbers", "rect = [0, 0, 10]", "", "clamp-place-missing"},
		{"without width", "rect = [0, 0, 0, 10]", "", "clamp-place-missing"},
		{"two places", "rect = [0, 0, 10, 10]\nlayer = \"SPAR\"", "", "clamp-place-twice"},
		{"a negative clearance", "rect = [0, 0, 10, 10]\nclearance = -20", "", "clearance-negative"},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			text := strings.Replace(plainJob, "no_clamps = true\n", "", 1) + "[[clamp]]\nheight = 12\n" + tc.clamp + "\n"
			var more []string
			if tc.entity != "" {
				more = append(more, tc.entity)
			}
			assert.Equal(t, []string{tc.code}, blockers(plain(t, text, more...).Findings))
		})
	}
}

// Heights of another zero, another unit or a lost sign agree with themselves.
func TestHeightsAreHeldAgainstTheZeroOfTheJob(t *testing.T) {
	const heights = "plane = [[60, 60, 40], [140, 60, 40], [60, 120, 40], [140, 120, 40], [100, 90, 40]]"
	at := func(zero, z string) []string {
		text := strings.Replace(plainJob, heights, strings.ReplaceAll(heights, "40]", z+"]"), 1)
		return blockers(plain(t, strings.Replace(text, `zero = "table"`, `zero = "`+zero+`"`, 1)).Findings)
	}
	assert.Empty(t, at("table", "40"))
	assert.Empty(t, at("skin", "2.5"))
	assert.Equal(t, []string{"zero-doubtful"}, at("skin", "-40"), "the program would go through the wing")
	assert.Equal(t, []string{"zero-doubtful"}, at("skin", "40"), "touched from the table")
	assert.Equal(t, []string{"zero-doubtful"}, at("table", "-40"), "the program would go into the table")
	assert.Equal(t, []string{"zero-doubtful"}, at("table", "1.575"), "read in inches")
	assert.Equal(t, []string{"zero-doubtful"}, at("table", "400"), "no machine of this kind is as high")
}

func TestOneHeightForAWholeWingIsAskedAbout(t *testing.T) {
	const heights = "plane = [[60, 60, 40], [140, 60, 40], [60, 120, 40], [140, 120, 40], [100, 90, 40]]"
	text := strings.Replace(plainJob, heights, "height = 40", 1)
	assert.Equal(t, []string{"heights-single"}, blockers(plain(t, text).Findings))
	assert.Empty(t, blockers(plain(t, strings.Replace(text, "floor = 12", "solid = true", 1)).Findings))
	both := strings.Replace(plainJob, heights, "height = 40\n"+heights, 1)
	assert.Contains(t, blockers(plain(t, both).Findings), "heights-twice")
}

// Two datums fit either panel; a job that does not say which one is drawn was
// perhaps not looked at, though it names the panel on the machine.
func TestTwoDatumsNeedTheWordMirrored(t *testing.T) {
	two := strings.Replace(plainJob, "[[datum]]\nname = \"rear pin\"\ndrawn = [60, 80]\ntouched = [110, 130]\n", "", 1)
	two = "panel = \"starboard\"\nside_up = \"lower\"\n" + two
	assert.Equal(t, []string{"handedness-unknown"}, blockers(plain(t, two).Findings))
	assert.Empty(t, blockers(plain(t, strings.Replace(two, "[drawing]", "[drawing]\nmirrored = false", 1)).Findings))
}

func TestUncertaintiesAreAboveZero(t *testing.T) {
	for _, key := range []string{"touch_uncertainty", "touch_uncertainty_z"} {
		for _, v := range []string{"0", "-5"} {
			assert.Contains(t, blockers(plain(t, key+" = "+v+"\n"+plainJob).Findings), "not-positive", key)
		}
	}
	assert.Contains(t, blockers(plain(t, "safe = 0.01\n"+plainJob).Findings), "not-positive")
}

// The floor above the far skin is that under the whole of a long built-in outline.
func TestTheFloorOfSectionsReachesUnderAWholeBuiltInOutline(t *testing.T) {
	floor := func(leg string) float64 {
		text := strings.Replace(plainJob, "floor = 12\n", "", 1)
		text = strings.Replace(text, "[[keepout]]", "[skin.loft]\nroot = \"2412\"\nspan = 400\nchord = 200\ntaper = 0.4\nlead = [-20, -40]\naft_deg = 90\ntip_to = \"right\"\n[[keepout]]", 1)
		text = strings.Replace(text, `layer = "SERVO"`, "outline = \"gear-bay\"\nsizes = { length = 30, width = 20, leg = "+leg+", leg_width = 6, wheel = 20 }\ncenter = [60, 40]", 1)
		return plain(t, text).Work.Floor
	}
	require.Positive(t, floor("40"))
	assert.Less(t, floor("200"), floor("40")-1, "the wing is thinner toward the tip")
}

// The probe comes down to top by rapid.
func TestATopBelowTheKnownSkinIsRefused(t *testing.T) {
	measure := func(text string, top float64) []string {
		all := box("SERVO", 40, 30, 80, 50) + " " + box("SPAR", -10, 12, 130, 22)
		res, err := job.Measure(context.Background(), job.Request{Name: "job.toml", Files: memory{"job.toml": text, "panel.dxf": dxf(all)}}, job.Measuring{Top: top, Reach: 5})
		require.NoError(t, err)
		return blockers(res.Findings)
	}
	assert.Empty(t, measure(plainJob, 41))
	assert.Equal(t, []string{"touch-top"}, measure(plainJob, 39.9))
	assert.Equal(t, []string{"no-clamps"}, measure(strings.Replace(plainJob, "no_clamps = true\n", "", 1), 41), "the probe travels between clamps, too")
}

// Where the display shows inches, so does the list to fill in, and a list that says
// nothing is refused: 1.575 in read as mm would put the program 38 mm into the wing.
func TestListsAreInTheUnitOfTheDisplay(t *testing.T) {
	inch := strings.Replace(plainJob, `machine = "small-router-metric"`, `machine = { like = "small-router-metric", controller = { units = "inch", probe = true } }`, 1)
	files := memory{"job.toml": inch, "panel.dxf": dxf(box("SERVO", 40, 30, 80, 50), box("SPAR", -10, 12, 130, 22))}
	req := job.Request{Name: "job.toml", Files: files}
	res, err := job.Measure(context.Background(), req, job.Measuring{Top: 41, Reach: 5})
	require.NoError(t, err)
	require.Empty(t, blockers(res.Findings))
	list := string(res.Outputs[0].Data)
	require.Contains(t, list, "x_in,y_in,z_in,name\n#1.9685,1.9685,,datum 1 root pin\n")
	filled := ""
	for line := range strings.Lines(list) {
		if f := strings.Split(line, ","); len(f) == 4 && strings.HasPrefix(f[3], "touch") {
			f[2] = "1.5748" // 40 mm
			line = strings.Join(f, ",")
		}
		filled += line
	}
	text := strings.Replace(inch, "plane = [[60, 60, 40], [140, 60, 40], [60, 120, 40], [140, 120, 40], [100, 90, 40]]", "", 1)
	files["job.toml"] = text
	res, _, err = job.ReadMeasured(context.Background(), req, job.Reading{Name: "list.csv", Data: []byte(filled)})
	require.NoError(t, err)
	require.Empty(t, blockers(res.Findings))
	require.Len(t, res.Edits, 2)
	for _, e := range res.Edits {
		files[e.Name] = string(e.Data)
	}
	assert.Contains(t, files["heights.csv"], "x_mm,y_mm,z_mm,name\n")
	res, err = job.Run(context.Background(), req)
	require.NoError(t, err)
	require.Empty(t, blockers(res.Findings))
	assert.InDelta(t, 40, res.Work.Skin.Height(geom.Pt(110, 90)), 0.01)
	files["heights.csv"] = strings.Replace(files["heights.csv"], "x_mm,y_mm,z_mm", "x,y,z", 1)
	res, err = job.Run(context.Background(), req)
	require.NoError(t, err)
	assert.Equal(t, []string{"heights-units"}, blockers(res.Findings))
}

// A keep-out of a sheet job (a screw through the sheet) is one on every sheet, and
// parts are nested around it.
func TestKeepOutsOfASheetJobCount(t *testing.T) {
	sheet := func(name, text string) *job.Result {
		parts, err := fs.ReadFile(demo.Files, "sheet/parts.dxf")
		require.NoError(t, err)
		res, err := job.Run(context.Background(), job.Request{Name: name, Files: memory{name: text + "[nest]\nbudget = 1000\n", "parts.dxf": string(parts)}})
		require.NoError(t, err)
		return res
	}
	b, err := fs.ReadFile(demo.Files, "sheet/job.toml")
	require.NoError(t, err)
	text := string(b)
	screw := "\n[[keepout]]\nname = \"screw\"\noutline = \"wheel-well\"\nsizes = { wheel = 10 }\ncenter = [60, 60]\n"
	free := sheet("job.toml", text+screw)
	require.Empty(t, blockers(free.Findings))
	require.Len(t, free.Work.Members, 1)
	on := sheet("job.toml", strings.Replace(text, "mark    = \"A\"", "mark    = \"A\"\nplace   = [[10, 10]]", 1)+screw)
	assert.Contains(t, blockers(on.Findings), "zone-near")
	several := sheet("job.toml", strings.Replace(strings.Replace(text, "quantity = 3", "quantity = 20", 1), "margin    = 5", "margin    = 5\nquantity = 2", 1)+screw)
	require.Len(t, several.Sheets, 2)
	for _, p := range several.Sheets {
		assert.Len(t, p.Work.Members, 1)
	}
	for wrong, code := range map[string]string{
		"[[datum]]\nname = \"a\"\ndrawn = [0, 0]\ntouched = [9, 9]\n":                                        "job-mixed",
		"[drawing]\nfile = \"parts.dxf\"\nmirrored = true\n":                                                 "job-mixed",
		"[[cut]]\nname = \"x\"\nkind = \"pocket\"\nlayer = \"BRACKET\"\ncutter = \"carbide-2\"\ndepth = 1\n": "part-unknown",
	} {
		assert.Equal(t, []string{code}, blockers(sheet("job.toml", text+wrong).Findings))
	}
}

// What is accepted of one rib must not be accepted of another of its name, and the
// name of a cutter decides which diameter is cut with.
func TestNamesOfKeepOutsAndCuttersAreTheirOwn(t *testing.T) {
	for _, more := range []string{
		"[[keepout]]\nname = \"main spar\"\nlayer = \"SPAR\"\n",
		"[[cutter]]\nname = \"mine\"\nlike = \"carbide-2\"\n[[cutter]]\nname = \"mine\"\nlike = \"carbide-2\"\ndiameter = 3\n",
	} {
		assert.Equal(t, []string{"name-twice"}, blockers(plain(t, plainJob+more).Findings))
	}
}

// Two ribs on one layer: who accepts the one has not looked at the other.
func TestEveryRibOfALayerIsAcceptedByItself(t *testing.T) {
	text := strings.Replace(plainJob, "[[cut]]", "[[keepout]]\nname = \"rib\"\nlayer = \"RIB\"\nmember = \"rib\"\n[[cut]]", 1)
	right, left := box("RIB", 70, 20, 72, 60), box("RIB", 50, 20, 52, 60)
	asks := func(accept string) (members []string) {
		for _, f := range plain(t, strings.Replace(text, "loose", accept+"\nloose", 1), right, left).Findings {
			if f.Blocks() {
				require.Equal(t, "rib-entered", f.Code)
				members = append(members, f.Member)
			}
		}
		return members
	}
	assert.ElementsMatch(t, []string{"rib 1", "rib 2"}, asks(""))
	assert.Equal(t, []string{"rib 2"}, asks(`accept = ["rib-entered: rib 1"]`), "numbered along X")
	assert.ElementsMatch(t, []string{"rib 1", "rib 2"}, asks(`accept = ["rib-entered: rib"]`))
	assert.Empty(t, asks(`accept = ["rib-entered: rib 1", "rib-entered: rib 2"]`))
	trimmed := plain(t, strings.Replace(text, "loose", "trim = \"rib\"\nloose", 1), right, left)
	assert.NotContains(t, blockers(trimmed.Findings), "rib-entered", "trimmed back from all of them")
}

// A rib that is drawn and that nobody declared.
func TestACutOverALayerThatIsNotNamedWarns(t *testing.T) {
	of := func(more ...string) (layers []string) {
		for _, f := range plain(t, plainJob, more...).Findings {
			if f.Code == "layer-unnamed" {
				layers = append(layers, f.At[0].Layer)
			}
		}
		return layers
	}
	assert.Empty(t, of(box("PANEL", -20, -10, 140, 90), polyline("AXIS", 0, 0, 25, 100, 25)))
	assert.Equal(t, []string{"RIB1", "RIB2"}, of(polyline("RIB2", 0, 50, 0, 50, 90), polyline("RIB1", 0, 60, 45, 90, 45), box("RIB1", 38, 28, 42, 32)))
}

// A log of a touch-off named as the heights holds datums, too: the tip beside a pin is
// no height of the skin.
func TestTouchesOfDatumsAreNoHeights(t *testing.T) {
	const heights = "plane = [[60, 60, 40], [140, 60, 40], [60, 120, 40], [140, 120, 40], [100, 90, 40]]"
	log := "X47.0 Y50.0 Z36.5 (datum 1 root pin toward +X)\nX60 Y60 Z40 (touch 1)\nX140 Y60 Z40 (touch 2)\nX100 Y120 Z40 (touch 3)\n"
	all := box("SERVO", 40, 30, 80, 50) + " " + box("SPAR", -10, 12, 130, 22)
	res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Files: memory{
		"job.toml": strings.Replace(plainJob, heights, `heights = "log.txt"`, 1), "panel.dxf": dxf(all), "log.txt": log}})
	require.NoError(t, err)
	assert.Equal(t, []string{"heights-datum"}, blockers(res.Findings))
}
