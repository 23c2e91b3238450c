package job_test

import (
	"context"
	"fmt"
	"io/fs"
	"math"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/internal/demo"
	"sparclear/internal/touchsim"
	"sparclear/pkg/geom"
	"sparclear/pkg/job"
	"sparclear/pkg/shop"
)

// byEye is a wing job whose marks were touched by eye only, to within a few
// millimetres: two pins, a hole, and the edge of the root rib.
func byEye(r *rand.Rand, pose geom.Rigid) (text string, work touchsim.Work) {
	text = strings.Replace(wingJob, "[drawing]", "[probe]\ndiameter = 2\nsearch = 2.5\n[drawing]", 1)
	rough := func(p geom.Point) geom.Point { return p.Add(geom.Polar(geom.Point{}, 1.7*r.Float64(), 7*r.Float64())) }
	for i, m := range []struct {
		drawn   geom.Point
		feature string
		size    float64
		z       float64
	}{{geom.Pt(12, 60), "pin", 6, 41}, {geom.Pt(600, 70), "pin", 4, 40}, {geom.Pt(420, 270), "hole", 8, 29}} {
		at := pose.Apply(m.drawn)
		q := rough(at)
		text += fmt.Sprintf("[[datum]]\nname = \"mark %d, by eye\"\ndrawn = [%g, %g]\ntouched = [%.3f, %.3f] # rough\nfeature = %q\ndiameter = %g\nside_z = %g\n", i, m.drawn.X, m.drawn.Y, q.X, q.Y, m.feature, m.size, m.z)
		work.Rounds = append(work.Rounds, touchsim.Round{At: at, Diameter: m.size, Hole: m.feature == "hole", Top: 45})
	}
	// The root rib from (0, 0) to (0, 300), the wing right of it as drawn.
	edge := pose.Apply(geom.Pt(-1, 150)).Add(geom.Pt(0.8*(r.Float64()-0.5), 0))
	text += fmt.Sprintf("[[edge]]\nname = \"root rib\"\nfrom = [0, 0]\nto = [0, 300]\ntouched = [%.3f, %.3f]\noffset = 1\nside_z = 30\n", edge.X, edge.Y)
	work.Edges = []touchsim.Edge{{From: pose.Apply(geom.Pt(0, 300)), To: pose.Apply(geom.Pt(0, 0)), Top: 36}}
	work.Ball = 1
	return text, work
}

// What is touched by eye, probed by the written program on a true wing and read
// back gives a job that is proven, with the datums where they truly are.
func TestAProbedWingIsLocatedAndCut(t *testing.T) {
	panel, err := fs.ReadFile(demo.Files, "wing/panel.dxf")
	require.NoError(t, err)
	m, bad := shop.Embedded().Machine("small-router-metric")
	require.Nil(t, bad)
	c, bad := shop.Embedded().Cutter("carbide-2")
	require.Nil(t, bad)
	for seed := range uint64(2) {
		r := rand.New(rand.NewPCG(seed, 5))
		w := randomWing(r, m, c)
		w.pose.Turn /= 2
		w.z0, w.tiltX, w.tiltY, w.bendX = 33, w.tiltX/5, w.tiltY/5, w.bendX/8
		w.mid = w.pose.Apply(geom.Pt(250, 110))
		text, work := byEye(r, w.pose)
		// Beyond the opening the wing is flatter, so that all of it lies in reach.
		// Beside the root rib there is nothing.
		work.Skin = func(p geom.Point) float64 {
			if w.pose.Inverse().Apply(p).X < 0 {
				return 0
			}
			return math.Max(w.height(p), 30.5)
		}
		work.Noise = func() float64 { return 0.006 * r.NormFloat64() }
		files := memory{"job.toml": text, "panel.dxf": string(panel)}
		req := job.Request{Name: "job.toml", Goal: job.Prove, Files: files}
		plan, err := job.Measure(context.Background(), req, job.Measuring{Top: 46, Reach: 20})
		require.NoError(t, err)
		require.False(t, plan.Findings.Blocks(), "%v", plan.Findings)
		log, err := work.Run(string(plan.Programs[0].Text), [3]float64{0, 0, 60})
		require.NoError(t, err, "seed %d", seed)
		res, _, err := job.ReadMeasured(context.Background(), req, job.Reading{Name: "log.txt", Data: []byte(log), Limit: 0.3})
		require.NoError(t, err)
		require.False(t, res.Findings.Blocks(), "seed %d: %v", seed, res.Findings)
		for _, f := range res.Edits {
			files[f.Name] = string(f.Data)
		}
		assert.Equal(t, strings.Count(text, "# rough"), strings.Count(files["job.toml"], "# rough"), "comments are kept")
		cut, err := job.Run(context.Background(), req)
		require.NoError(t, err)
		require.False(t, cut.Findings.Blocks(), "seed %d: %v", seed, cut.Findings)
		for i, d := range cut.Work.Datums {
			assert.Less(t, d.Touched.Dist(work.Rounds[i].At), 0.02, "seed %d: datum %d", seed, i)
		}
		at := geom.Pt(250, 100)
		assert.Less(t, cut.Work.Frame.Apply(at).Dist(w.pose.Apply(at)), 0.02, "seed %d: where the opening goes", seed)
		assert.InDelta(t, w.height(w.pose.Apply(at)), cut.Work.Skin.Height(w.pose.Apply(at)), 0.06, "seed %d: height of the skin", seed)
	}
}

// reading reads rows back into a job with one pin of 6 mm, touched by a ball of 2.
func reading(t *testing.T, rows string, change ...string) (*job.Result, string) {
	t.Helper()
	panel, err := fs.ReadFile(demo.Files, "wing/panel.dxf")
	require.NoError(t, err)
	heights, err := fs.ReadFile(demo.Files, "wing/heights.csv")
	require.NoError(t, err)
	text := strings.Replace(demoJob(t), "[drawing]", "[probe]\ndiameter = 2\n[drawing]", 1)
	text = strings.Replace(text, "touched = [72.21, 103.01]", "touched = [72.21, 103.01]\nfeature = \"pin\"\ndiameter = 6\nside_z = 40", 1)
	if len(change) == 2 {
		require.Contains(t, text, change[0])
		text = strings.Replace(text, change[0], change[1], 1)
	}
	res, _, err := job.ReadMeasured(context.Background(), job.Request{Name: "job.toml", Files: memory{"job.toml": text, "panel.dxf": string(panel), "heights.csv": string(heights)}},
		job.Reading{Name: "log.txt", Data: []byte(rows)})
	require.NoError(t, err)
	for _, f := range res.Edits {
		if f.Name == "job.toml" {
			return res, string(f.Data)
		}
	}
	return res, ""
}

var rootPin = regexp.MustCompile(`touched = \[(7[0-9.]+), (10[0-9.]+)\]`)

func TestTheMiddleOfAPinFollowsFromItsSides(t *testing.T) {
	const head = "x,y,z,name\n"
	for _, tc := range []struct {
		fact, rows string
		x, y       string
	}{
		// Contact is at 3 + 1 mm from the middle, at 2.4 mm aside at √(4² − 2.4²) = 3.2 mm; closed form.
		{"two sides along each axis", "68.2,103,40,datum 1 toward +X\n76.2,103,40,datum 1 toward -X\n72.2,99,40,datum 1 toward +Y\n72.2,107,40,datum 1 toward -Y\n", "72.200", "103.000"},
		{"off the middle, where chords are shorter", "69,105.4,40,datum 1 toward +X\n75.4,105.4,40,datum 1 toward -X\n74.6,99.8,40,datum 1 toward +Y\n74.6,106.2,40,datum 1 toward -Y\n", "72.200", "103.000"},
		{"one side along X", "69,105.4,40,datum 1 toward +X\n72.2,99,40,datum 1 toward +Y\n72.2,107,40,datum 1 toward -Y\n", "72.200", "103.000"},
		{"one side along each", "75.4,105.4,40,datum 1 toward -X\n72.2,99,40,datum 1 toward +Y\n", "72.200", "103.000"},
		{"by eye, twice", "72.19,103.02,,datum 1 root pin\n72.21,102.98,,datum 1 root pin\n", "72.200", "103.000"},
		{"a log of words", "X68.2 Y103 Z40 (datum 1 toward +X)\nX76.2 Y103 Z40 (DATUM 1 TOWARD -X)\nX72.2 Y99 Z40 (datum 1 toward +Y)\nX72.2 Y107 Z40 (datum 1 toward -Y)\n", "72.200", "103.000"},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			rows := tc.rows
			if rows[0] != 'X' {
				rows = head + rows
			}
			res, text := reading(t, rows)
			require.False(t, res.Findings.Blocks(), "%v", res.Findings)
			got := rootPin.FindStringSubmatch(text)
			require.NotNil(t, got, text)
			assert.Equal(t, []string{tc.x, tc.y}, got[1:])
			assert.Contains(t, text, "# Marks that were drawn", "comments stay")
		})
	}
}

func TestReadingsThatDoNotFitAreNamed(t *testing.T) {
	good := []string{"68.2,103,40,datum 1 toward +X", "76.2,103,40,datum 1 toward -X", "72.2,99,40,datum 1 toward +Y", "72.2,107,40,datum 1 toward -Y"}
	for _, tc := range []struct {
		fact, old, new, code string
		exit                 int
	}{
		{"a pin 0.21 mm thinner than said", "76.2,", "75.99,", "datum-size", 3},
		{"a pin 0.2 mm thinner passes", "76.2,", "76.0001,", "", 0},
		{"sides that were exchanged", "68.2,103,40,datum 1 toward +X", "84.2,103,40,datum 1 toward +X", "datum-size", 3},
		{"no touch along Y", "72.2,99,40,datum 1 toward +Y\n72.2,107,40,datum 1 toward -Y", "", "datum-partial", 2},
		{"a datum that the job has not", "datum 1 toward -X", "datum 7 toward -X", "datum-unknown", 2},
		{"a repeat 0.4 mm off", "76.2,103,40,datum 1 toward -X", "76.2,103,40,datum 1 toward -X\n68.6,103,40,datum 1 toward +X again", "touch-repeat-poor", 3},
		{"a datum that is nowhere near", "68.2,103,40,datum 1 toward +X\n76.2,103,40,datum 1 toward -X", "88.2,103,40,datum 1 toward +X\n96.2,103,40,datum 1 toward -X", "datum-scale", 3},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			rows := strings.Join(good, "\n") + "\n"
			require.Contains(t, rows, tc.old)
			res, _ := reading(t, "x,y,z,name\n"+strings.Replace(rows, tc.old, tc.new, 1))
			assert.Equal(t, tc.exit, res.Findings.ExitCode(), "%v", res.Findings)
			if tc.code != "" {
				assert.True(t, res.Findings.Has(tc.code), "%v", res.Findings)
				assert.Empty(t, res.Edits, "nothing is written")
			}
		})
	}
}

func TestHeightsAreAddedOrTakeTheirPlace(t *testing.T) {
	panel, err := fs.ReadFile(demo.Files, "wing/panel.dxf")
	require.NoError(t, err)
	heights, err := fs.ReadFile(demo.Files, "wing/heights.csv")
	require.NoError(t, err)
	files := memory{"job.toml": demoJob(t), "panel.dxf": string(panel), "heights.csv": "# by hand\n" + string(heights)}
	for _, add := range []bool{true, false} {
		res, _, err := job.ReadMeasured(context.Background(), job.Request{Name: "job.toml", Files: files},
			job.Reading{Name: "more.csv", Data: heights, Add: add})
		require.NoError(t, err)
		require.False(t, res.Findings.Blocks(), "%v", res.Findings)
		require.Len(t, res.Edits, 1, "the job itself is as it was")
		text := string(res.Edits[0].Data)
		assert.Equal(t, 1, strings.Count(text, "220.360,95.860,35.600"), "a place touched again counts once")
		assert.Contains(t, text, "# by hand")
		assert.Equal(t, files["heights.csv"], string(res.Outputs[0].Data), "what was before is kept")
	}
	count := func(add bool) int {
		res, _, err := job.ReadMeasured(context.Background(), job.Request{Name: "job.toml", Files: files},
			job.Reading{Name: "more.csv", Data: []byte("x,y,z\n220,96,35.60\n250,96,35.6\n235,120,37.2\n"), Add: add})
		require.NoError(t, err)
		require.False(t, res.Findings.Blocks(), "%v", res.Findings)
		return strings.Count(string(res.Edits[0].Data), "\n")
	}
	assert.Equal(t, 2+3, count(false), "without --add the new heights stand alone")
	assert.Equal(t, strings.Count(string(heights), "\n")+1+3, count(true))
}

func TestTheGridIsDenserWhereTheOpeningsAre(t *testing.T) {
	panel, err := fs.ReadFile(demo.Files, "wing/panel.dxf")
	require.NoError(t, err)
	list := func(m job.Measuring) []geom.Point {
		m.Top, m.Reach = 60, 30
		res, err := job.Measure(context.Background(), job.Request{Name: "job.toml", Files: memory{"job.toml": demoJob(t), "panel.dxf": string(panel)}}, m)
		require.NoError(t, err)
		require.False(t, res.Findings.Blocks(), "%v", res.Findings)
		var out []geom.Point
		for _, line := range strings.Split(string(res.Outputs[0].Data), "\n") {
			var p geom.Point
			if n, _ := fmt.Sscanf(line, "%f,%f,,touch", &p.X, &p.Y); n == 2 && !strings.HasSuffix(line, "again") {
				out = append(out, p)
			}
		}
		return out
	}
	fine, both := list(job.Measuring{Spacing: 20}), list(job.Measuring{Spacing: 20, Coarse: 40})
	assert.Greater(t, len(both), len(fine))
	assert.Equal(t, fine, both[:len(fine)], "the touches at the openings are the same")
	for i, p := range both[len(fine):] {
		for _, q := range both[:len(fine)+i] {
			assert.GreaterOrEqual(t, p.Dist(q), 20.0, "no coarse touch near another")
		}
	}
}

// The side of a pin that a clamp blocks is not touched; the middle then follows from
// the other one.
func TestAClampBesideAPinIsKeptClearOf(t *testing.T) {
	panel, err := fs.ReadFile(demo.Files, "wing/panel.dxf")
	require.NoError(t, err)
	text := strings.Replace(demoJob(t), "[drawing]", "[probe]\ndiameter = 2\n[drawing]", 1)
	text = strings.Replace(text, "touched = [72.21, 103.01]", "touched = [72.21, 103.01]\nfeature = \"pin\"\ndiameter = 6\nside_z = 41", 1)
	run := func(text string) *job.Result {
		res, err := job.Measure(context.Background(), job.Request{Name: "job.toml", Files: memory{"job.toml": text, "panel.dxf": string(panel)}}, job.Measuring{Top: 50, Reach: 20})
		require.NoError(t, err)
		return res
	}
	res := run(text)
	require.False(t, res.Findings.Blocks(), "%v", res.Findings)
	list := string(res.Outputs[0].Data)
	assert.Contains(t, list, "datum 1 root pin toward +X again")
	assert.NotContains(t, list, "toward -X", "the strap at X80 stands there")
	assert.Contains(t, list, "toward -Y")
	res = run(strings.Replace(text, "rect   = [80, 80, 110, 340]", "rect   = [60, 80, 110, 340]", 1))
	assert.True(t, res.Findings.Has("datum-blocked"), "%v", res.Findings)
	assert.Empty(t, res.Outputs)
}
