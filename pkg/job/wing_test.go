package job_test

import (
	"context"
	"io/fs"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/internal/demo"
	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/job"
)

// resolve runs a wing job to its work value.
func resolve(t *testing.T, text string) *job.Result {
	t.Helper()
	panel, err := fs.ReadFile(demo.Files, "wing/panel.dxf")
	require.NoError(t, err)
	heights, err := fs.ReadFile(demo.Files, "wing/heights.csv")
	require.NoError(t, err)
	res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Files: memory{"job.toml": text, "panel.dxf": string(panel), "heights.csv": string(heights)}})
	require.NoError(t, err)
	return res
}

func demoJob(t *testing.T) string {
	t.Helper()
	b, err := fs.ReadFile(demo.Files, "wing/job.toml")
	require.NoError(t, err)
	return string(b)
}

const loftText = `
[skin.loft]
root = "2412"
span = 620
chord = 330
taper = 0.75
lead = [0, 0]
aft_deg = 90
tip_to = "right"
`

func TestAFloorFollowsFromTheSections(t *testing.T) {
	text := strings.Replace(demoJob(t), "floor         = 14             # nothing below this depth: the far skin\n", "", 1)
	require.NotContains(t, text, "floor ")
	text = strings.Replace(text, "[[keepout]]", strings.TrimSpace(loftText)+"\n\n[[keepout]]", 1)
	text = strings.Replace(text, `heights       = "heights.csv"  # touched on the skin: x, y, z`, "", 1)
	text = "accept = [\"loft-untouched\", \"loft-tilt\", \"zero-doubtful\"]\n" + text // no height is touched
	res := resolve(t, text)
	for _, f := range res.Findings {
		assert.Falsef(t, f.Blocks(), "%v", f)
	}
	// NACA 2412 is 12 % thick (closed form of the family); at these cuts, 20 to
	// 40 % of a chord of about 290 to 310 mm, that is 33 to 37 mm. Form, skin and
	// margin come off it.
	assert.Greater(t, res.Work.Floor, 20.0)
	assert.Less(t, res.Work.Floor, 37.0)
}

func TestAFloorBelowTheFarSkinIsRefused(t *testing.T) {
	text := strings.Replace(demoJob(t), "floor         = 14 ", "floor         = 60 ", 1)
	text = strings.Replace(text, "[[keepout]]", strings.TrimSpace(loftText)+"\n\n[[keepout]]", 1)
	assert.True(t, resolve(t, text).Findings.Has("floor-low"))
}

func TestTouchesAlongALineLocateLikeDatums(t *testing.T) {
	text := demoJob(t)
	full := resolve(t, text)
	require.False(t, full.Findings.Blocks())
	// One datum goes; two touches along the root rib stand in for it.
	i, j := strings.Index(text, "[[datum]]\nname    = \"aileron pin\""), strings.Index(text, "[skin]")
	f := full.Work.Frame
	a, b := f.Apply(geom.Pt(0, 100)), f.Apply(geom.Pt(0, 250))
	edges := ""
	for _, p := range []geom.Point{a, b} {
		edges += "[[edge]]\nname = \"root rib\"\nfrom = [0, 0]\nto = [0, 300]\ntouched = [" + num(p.X) + ", " + num(p.Y) + "]\n"
	}
	res := resolve(t, text[:i]+edges+text[j:])
	for _, f := range res.Findings {
		assert.Falsef(t, f.Blocks(), "%v", f)
	}
	assert.InDelta(t, full.Work.Frame.Turn, res.Work.Frame.Turn, 1e-4)
}

func num(v float64) string { return strconv.FormatFloat(v, 'f', 3, 64) }

func TestACutWithoutTouchedHeightsNearIsAskedAbout(t *testing.T) {
	text := strings.Replace(demoJob(t), "layer   = \"WIRE\"", "outline = \"wire-exit\"\nsizes   = { length = 9, width = 4 }\ncenter  = [500, 200]", 1)
	res := resolve(t, text)
	assert.True(t, res.Findings.Has("heights-unknown"), "%v", res.Findings)
	assert.Equal(t, 3, res.Findings.ExitCode())
}

func TestWhatIsTooHighForTheWingIsAskedAbout(t *testing.T) {
	for _, tc := range []struct {
		fact, room, code string
	}{
		{"a case of the height that there is", "14", "room-left"},
		{"a hair more", "14.01", "room-short"},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			text := strings.Replace(demoJob(t), "layer   = \"SERVO\"", "layer   = \"SERVO\"\nroom    = "+tc.room, 1)
			assert.True(t, resolve(t, text).Findings.Has(tc.code))
		})
	}
}

// otherPanel is the demo job on the other panel: the drawing reflected, the marks
// touched there.
func otherPanel(t *testing.T) (own *job.Result, text string) {
	t.Helper()
	own = resolve(t, demoJob(t))
	require.False(t, own.Findings.Blocks())
	text = strings.Replace(demoJob(t), "file = \"panel.dxf\"", "file = \"panel.dxf\"\nmirrored = true", 1)
	mirror := geom.Rigid{Mirror: true, Turn: own.Work.Frame.Turn, Shift: geom.Pt(61.35, 442.80)}
	for _, d := range own.Work.Datums {
		p := mirror.Apply(d.Drawn)
		text = strings.Replace(text, "touched = ["+num2(d.Touched.X)+", "+num2(d.Touched.Y)+"]", "touched = ["+num(p.X)+", "+num(p.Y)+"]", 1)
	}
	text = "accept = [\"heights-single\"]\n" + text
	return own, strings.Replace(text, `heights       = "heights.csv"  # touched on the skin: x, y, z`, "height = 38", 1)
}

// A mirrored drawing serves the other panel: areas stay, and the servo asks which
// way it is turned.
func TestTheOtherPanelIsCutFromTheSameDrawing(t *testing.T) {
	own, text := otherPanel(t)
	res := resolve(t, text)
	assert.True(t, res.Findings.Has("servo-rule"), "%v", res.Findings)
	for _, rule := range []string{"turn", "keep", "mirror"} {
		res = resolve(t, strings.Replace(text, "layer   = \"SERVO\"", "layer   = \"SERVO\"\npanels  = \""+rule+"\"", 1))
		for _, f := range res.Findings {
			assert.Falsef(t, f.Blocks(), "%s: %v", rule, f)
		}
		for i, c := range res.Work.Cuts {
			for k, g := range c.Regions {
				assert.InDelta(t, own.Work.Cuts[i].Regions[k].Area(), g.Area(), 1e-9*math.Abs(g.Area()), c.Name)
				assert.Positive(t, g.Outer.Area(), "outer contours run counter-clockwise on either panel")
			}
		}
	}
	// The touched marks without the word mirrored: the other panel lies here.
	res = resolve(t, strings.Replace(text, "mirrored = true", "", 1))
	assert.True(t, res.Findings.Has("datum-mirrored"), "%v", res.Findings)
}

// The case, its screws and what belongs to them keep their places to each other
// when they are kept as made: about one middle, not each about its own.
func TestCutsOfOneFeatureStayTogetherOnTheOtherPanel(t *testing.T) {
	own, text := otherPanel(t)
	with := func(rule, feature string) string {
		s := text
		for _, layer := range []string{"SERVO", "SCREWS", "WIRE"} {
			s = strings.Replace(s, "layer   = \""+layer+"\"", "layer   = \""+layer+"\"\npanels  = \""+rule+"\""+feature, 1)
		}
		return s
	}
	middle := func(r *job.Result, name string) geom.Point {
		for _, c := range r.Work.Cuts {
			if c.Name == name {
				b := geom.EmptyBox()
				for _, g := range c.Regions {
					b = b.Union(g.Transform(r.Work.Frame.Inverse()).Bounds())
				}
				for _, p := range c.Points {
					b = b.Extend(r.Work.Frame.Inverse().Apply(p))
				}
				return b.Center()
			}
		}
		t.Fatalf("no cut %s", name)
		return geom.Point{}
	}
	between := func(r *job.Result) geom.Point { return middle(r, "wire exit").Sub(middle(r, "flap servo")) }
	drawn := between(own)
	for rule, want := range map[string]geom.Point{"mirror": drawn, "keep": geom.Pt(drawn.X, -drawn.Y), "turn": geom.Pt(-drawn.X, drawn.Y)} {
		res := resolve(t, with(rule, "\nfeature = \"flap servo\""))
		require.False(t, stopsOf(res), "%s: %v", rule, res.Findings)
		assert.Less(t, between(res).Dist(want), 1e-6, "%s, as seen on the drawing: %v", rule, between(res))
	}
	// An arm's slot 25 mm beside the middle of the servo.
	slot := middle(own, "flap servo").Add(geom.Pt(0, 25))
	near := func(rule string) *job.Result {
		return resolve(t, strings.Replace(with(rule, ""), "layer   = \"WIRE\"", "outline = \"wire-exit\"\nsizes = { length = 9, width = 4 }\ncenter = ["+num(slot.X)+", "+num(slot.Y)+"]", 1))
	}
	assert.True(t, near("keep").Findings.Has("feature-apart"), "near each other, each about its own middle")
	assert.False(t, near("mirror").Findings.Has("feature-apart"))
	res := resolve(t, strings.Replace(with("keep", "\nfeature = \"flap servo\""), "panels  = \"keep\"", "panels  = \"turn\"", 1))
	assert.True(t, res.Findings.Has("feature-mixed"), "%v", res.Findings)
}

func stopsOf(r *job.Result) bool {
	for _, f := range r.Findings {
		if f.Severity == diag.Stop {
			return true
		}
	}
	return false
}

func num2(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) }
