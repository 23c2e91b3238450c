package rs274_test

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/rs274"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// slotted is a closed slot with round ends, entered by a ramp, then a bored hole
// by helix: 18 blocks of motion.
func slotted(cutter int) toolpath.Path {
	line := func(x, y, z, f float64) toolpath.Move {
		return toolpath.Move{Kind: toolpath.Line, X: x, Y: y, Z: z, Feed: f}
	}
	arc := func(x, y, z float64, c geom.Point, f float64) toolpath.Move {
		return toolpath.Move{Kind: toolpath.Arc, X: x, Y: y, Z: z, Center: c, CCW: true, Feed: f}
	}
	rapid := func(x, y, z float64) toolpath.Move {
		return toolpath.Move{Kind: toolpath.Rapid, X: x, Y: y, Z: z}
	}
	return toolpath.Path{Cut: "flap servo", Op: "rough", Cutter: cutter, RPM: 18000, Notes: []string{"climb, 2 passes"},
		Moves: []toolpath.Move{
			rapid(10, 0, 8), rapid(10, 0, 1), line(10, 0, 0, 300),
			line(30, 0, -1, 300), arc(30, 8, -1, geom.Pt(30, 4), 900),
			line(10, 8, -1, 900), arc(10, 0, -1, geom.Pt(10, 4), 900), line(30, 0, -1, 900),
			rapid(30, 0, 8),
			rapid(-12.7, 3, 8), rapid(-12.7, 3, 0.5),
			arc(-12.7, 3, -0.5, geom.Pt(-15.7, 3), 450.25), arc(-12.7, 3, -1.5, geom.Pt(-15.7, 3), 450.25), arc(-12.7, 3, -1.5, geom.Pt(-15.7, 3), 450.25),
			rapid(-12.7, 3, 8),
		}}
}

func workFor(c shop.Controller) *work.Work {
	return &work.Work{ChordTol: 0.01, Machine: shop.Machine{Controller: c, SpinUp: 5},
		Cutters: []shop.Cutter{{Name: "carbide-2", Title: "carbide end mill 2 mm", Number: 1}, {Name: "drill-1.6", Number: 4}}}
}

var metric = shop.Controller{Arcs: shop.ArcCentre, Units: "mm", Decimals: 3, ToolChange: shop.ChangePause,
	PathMode: shop.PathExact, Comments: true, Dwell: true, DustOn: "M8", DustOff: "M9", ArcTol: 0.002, MaxLine: 256}

func TestGoldenPrograms(t *testing.T) {
	big := metric
	big.ToolChange, big.PathMode, big.BlendTol = shop.ChangeWord, shop.PathBlend, 0.02
	big.LineNumbers, big.Percent, big.LengthWord, big.Decimals = true, true, true, 4
	imperial := shop.Controller{Arcs: shop.ArcRadius, Units: "inch", Decimals: 4, ToolChange: shop.ChangeFiles,
		PathMode: shop.PathUnstated, BlendTol: 0.05, Comments: true, MaxLine: 80}
	bare := shop.Controller{Arcs: shop.ArcNone, Units: "mm", Decimals: 3, ToolChange: shop.ChangePause,
		PathMode: shop.PathExactStop, Start: []string{"M48"}, End: []string{"M9"}}
	for _, tc := range []struct {
		name  string
		c     shop.Controller
		paths int
	}{{"centre-pause", metric, 2}, {"centre-word", big, 2}, {"radius-inch-files", imperial, 1}, {"lines-bare", bare, 2}} {
		t.Run(tc.name, func(t *testing.T) {
			second := slotted(1)
			second.Op, second.RPM = "finish", 12000
			p := toolpath.Program{Name: tc.name, SafeZ: 8, Head: []string{"Wing panel (port) – µ-test"}, Paths: []toolpath.Path{slotted(0), second}[:tc.paths]}
			text, fs := rs274.Write(p, workFor(tc.c))
			require.False(t, fs.Blocks(), "%v", fs)
			file := filepath.Join("testdata", "golden", tc.name+".nc")
			if *update {
				require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o755))
				require.NoError(t, os.WriteFile(file, text, 0o644))
			}
			want, err := os.ReadFile(file)
			require.NoError(t, err)
			assert.Equal(t, string(want), string(text))
			_, faults := rs274.Read(file, text, rs274.Options{})
			assert.Empty(t, faults)
		})
	}
}

// programOf writes one path that begins at X0 Y0 at safe height, goes down and
// makes the moves.
func programOf(c shop.Controller, moves ...toolpath.Move) ([]byte, diag.List) {
	p := toolpath.Path{Cut: "c", Op: "o", RPM: 10000, Moves: append([]toolpath.Move{{Kind: toolpath.Rapid, Z: 8}}, moves...)}
	return rs274.Write(toolpath.Program{Name: "p", SafeZ: 8, Paths: []toolpath.Path{p}}, workFor(c))
}

// motions returns the lines of a program that move.
func motions(text []byte) []string {
	var out []string
	for _, l := range strings.Split(string(text), "\n") {
		if regexp.MustCompile(`^(N\d+ )?G[0-3] `).MatchString(l) {
			out = append(out, l)
		}
	}
	return out
}

func TestNothingIsInherited(t *testing.T) {
	text, _ := programOf(metric)
	head, _, _ := strings.Cut(string(text), "G0")
	for _, w := range []string{"G21", "G17", "G90", "G94", "G40", "G49", "G80", "G54", "G61", "S10000 M3", "G4 P5"} {
		assert.Contains(t, head, w)
	}
}

func TestProgramEndsRetractedAndStopped(t *testing.T) {
	text, _ := programOf(metric, toolpath.Move{Kind: toolpath.Line, Z: -1, Feed: 100})
	assert.True(t, strings.HasSuffix(string(text), "G0 Z8.000\nM9\nM5\nM2\n"), "%s", text)
}

func TestAnUnknownPlaceIsLeftUpwardFirst(t *testing.T) {
	p := toolpath.Path{RPM: 10000, Moves: []toolpath.Move{{Kind: toolpath.Rapid, X: 4, Y: 5, Z: 2}}}
	text, fs := rs274.Write(toolpath.Program{SafeZ: 8, Paths: []toolpath.Path{p}}, workFor(metric))
	assert.Empty(t, fs)
	assert.Equal(t, []string{"G0 Z8.000", "G0 X4.000 Y5.000", "G0 Z2.000", "G0 Z8.000"}, motions(text))
}

func TestRapidsRiseBeforeTheyGoAcross(t *testing.T) {
	text, fs := programOf(metric, toolpath.Move{Kind: toolpath.Line, Z: -1, Feed: 100}, toolpath.Move{Kind: toolpath.Rapid, X: 5, Z: 8})
	assert.Empty(t, fs)
	assert.Equal(t, []string{"G0 Z8.000", "G0 X5.000"}, motions(text)[3:])
}

func TestFindingsOfTheWriter(t *testing.T) {
	line := toolpath.Move{Kind: toolpath.Line, X: 1, Feed: 100}
	with := func(f func(*toolpath.Move)) toolpath.Move { m := line; f(&m); return m }
	for _, tc := range []struct {
		fact, code string
		move       toolpath.Move
	}{
		{"rapid across and down", "write-dive", toolpath.Move{Kind: toolpath.Rapid, X: 1, Z: 7}},
		{"no feed", "write-feed", with(func(m *toolpath.Move) { m.Feed = 0 })},
		{"negative feed", "write-feed", with(func(m *toolpath.Move) { m.Feed = -5 })},
		{"feed that rounds to nothing", "write-feed", with(func(m *toolpath.Move) { m.Feed = 0.04 })},
		{"feed that is no number", "write-feed", with(func(m *toolpath.Move) { m.Feed = math.NaN() })},
		{"place that is no number", "write-coordinate", with(func(m *toolpath.Move) { m.Y = math.NaN() })},
		{"endless place", "write-coordinate", with(func(m *toolpath.Move) { m.Z = math.Inf(-1) })},
		{"arc with two radii", "write-arc", toolpath.Move{Kind: toolpath.Arc, X: 5, Z: 8, Center: geom.Pt(1, 0), Feed: 100}},
		{"arc about its own start", "write-arc", toolpath.Move{Kind: toolpath.Arc, Z: 8, Feed: 100}},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			_, fs := programOf(metric, tc.move)
			require.Len(t, fs, 1)
			assert.Equal(t, tc.code, fs[0].Code)
			assert.True(t, fs.Blocks())
			assert.NotEmpty(t, fs[0].Help)
		})
	}
	run := func(p toolpath.Program, c shop.Controller) string {
		_, fs := rs274.Write(p, workFor(c))
		require.NotEmpty(t, fs)
		return fs[0].Code
	}
	files := metric
	files.ToolChange = shop.ChangeFiles
	assert.Equal(t, "write-cutter", run(toolpath.Program{SafeZ: 8, Paths: []toolpath.Path{slotted(0), slotted(1)}}, files), "two cutters in one of several files")
	assert.Equal(t, "write-cutter", run(toolpath.Program{Paths: []toolpath.Path{{Cutter: 7, RPM: 100}}}, metric))
	assert.Equal(t, "write-speed", run(toolpath.Program{Paths: []toolpath.Path{{RPM: 0}}}, metric))
	assert.Equal(t, "write-coordinate", run(toolpath.Program{SafeZ: math.NaN()}, metric))
	assert.Equal(t, "write-start", run(toolpath.Program{Paths: []toolpath.Path{{RPM: 100, Moves: []toolpath.Move{line}}}}, metric))
	short := metric
	short.MaxLine = 12
	assert.Equal(t, "write-line-long", run(toolpath.Program{SafeZ: 8, Paths: []toolpath.Path{slotted(0)}}, short))
	quiet := metric
	quiet.Dwell = false
	_, fs := programOf(quiet)
	require.Len(t, fs, 1)
	assert.Equal(t, "write-wait", fs[0].Code)
	assert.False(t, fs.Blocks())
}

func TestCoordinatesAreNeverMinusNought(t *testing.T) {
	text, _ := programOf(metric, toolpath.Move{Kind: toolpath.Line, X: 1, Y: -0.0004, Z: -1e-9, Feed: 100},
		toolpath.Move{Kind: toolpath.Line, X: -0.0004, Y: -0.0006, Z: -0.0004, Feed: 100})
	assert.NotRegexp(t, `-0\.0*( |\n)`, string(text))
	assert.Contains(t, string(text), "Y-0.001")
}

func TestAMoveThatRoundsToNothingIsLeftOut(t *testing.T) {
	text, _ := programOf(metric, toolpath.Move{Kind: toolpath.Line, X: 0.0004, Z: 8, Feed: 100}, toolpath.Move{Kind: toolpath.Line, X: 0.0008, Z: 8, Feed: 100})
	assert.Equal(t, []string{"G0 Z8.000", "G0 X0.000 Y0.000", "G1 X0.001 F100"}, motions(text))
}

func TestFeedsAreRoundedDown(t *testing.T) {
	text, _ := programOf(metric, toolpath.Move{Kind: toolpath.Line, X: 1, Z: 8, Feed: 123.49}, toolpath.Move{Kind: toolpath.Line, X: 2, Z: 8, Feed: 250})
	assert.Contains(t, string(text), "F123.4\n")
	assert.Contains(t, string(text), "F250\n")
}

func TestASmallArcNeverBecomesAFullCircle(t *testing.T) {
	// 0.0003 mm of arc: both ends round to the same place, which would be read
	// as a whole turn (NISTIR 6556, 3.5.3.2).
	c := geom.Pt(5, 0)
	for _, along := range []float64{1e-6, 0.0003, 0.0006, 0.002} {
		e := geom.Polar(c, 5, math.Pi+along/5)
		text, fs := programOf(metric, toolpath.Move{Kind: toolpath.Arc, X: e.X, Y: e.Y, Z: 8, Center: c, CCW: true, Feed: 100})
		require.Empty(t, fs)
		r, faults := rs274.Read("p", text, rs274.Options{})
		require.Empty(t, faults)
		assert.Less(t, textLength(r), 0.003, "%g mm of arc:\n%s", along, text)
	}
}

func TestArcsByRadiusStayAwayFromHalfAndWholeTurns(t *testing.T) {
	c := metric
	c.Arcs = shop.ArcRadius
	for _, tc := range []struct {
		sweep float64 // deg
		want  int
	}{{90, 1}, {120, 1}, {121, 2}, {180, 2}, {270, 3}, {359, 3}, {360, 3}} {
		e := geom.Polar(geom.Pt(5, 0), 5, math.Pi+tc.sweep*math.Pi/180)
		if tc.sweep == 360 {
			e = geom.Pt(0, 0)
		}
		text, fs := programOf(c, toolpath.Move{Kind: toolpath.Arc, X: e.X, Y: e.Y, Z: 8, Center: geom.Pt(5, 0), CCW: true, Feed: 100})
		require.Empty(t, fs)
		assert.Len(t, motions(text), 2+tc.want, "%g deg\n%s", tc.sweep, text)
		r, _ := rs274.Read("p", text, rs274.Options{})
		for i := range r.Moves {
			if r.Moves[i].Arc() {
				assert.LessOrEqual(t, math.Abs(r.Moves[i].Sweep()), 121*math.Pi/180)
			}
		}
	}
}

func TestLinesForAnArcStrayFromWhatIsKept(t *testing.T) {
	c := metric
	c.Arcs = shop.ArcNone
	for _, tc := range []struct {
		fact      string
		cuts      []work.Cut
		ccw       bool
		low, high float64 // how far from the centre the lines may run, radius 5 mm
	}{
		{"nothing known: toward the centre", nil, true, 4.99, 5.0008},
		{"climbing to the left: the wall is outside", []work.Cut{{Name: "c", Climb: true}}, true, 4.99, 5.0008},
		{"climbing to the right: the wall is on the centre's side", []work.Cut{{Name: "c", Climb: true}}, false, 4.9992, 5.01},
		{"conventional to the left: the wall is on the centre's side", []work.Cut{{Name: "c"}}, true, 4.9992, 5.01},
		{"conventional to the right: the wall is outside", []work.Cut{{Name: "c"}}, false, 4.99, 5.0008},
		{"two cuts of one name that differ", []work.Cut{{Name: "c"}, {Name: "c", Climb: true}}, true, 4.99, 5.0008},
		{"passes that differ", []work.Cut{{Name: "c", Options: map[string]float64{"finish_climb": 1}}}, true, 4.99, 5.0008},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			w := workFor(c)
			w.Cuts = tc.cuts
			e := geom.Polar(geom.Pt(5, 0), 5, math.Pi-1)
			if tc.ccw {
				e.Y = -e.Y
			}
			p := toolpath.Path{Cut: "c", Op: "o", RPM: 10000, Moves: []toolpath.Move{{Kind: toolpath.Rapid, Z: 8},
				{Kind: toolpath.Arc, Z: 8, Center: geom.Pt(5, 0), CCW: tc.ccw, Feed: 100},
				{Kind: toolpath.Arc, X: e.X, Y: e.Y, Z: 2, Center: geom.Pt(5, 0), CCW: tc.ccw, Feed: 100}}}
			text, fs := rs274.Write(toolpath.Program{Name: "p", SafeZ: 8, Paths: []toolpath.Path{p}}, w)
			require.Empty(t, fs)
			r, faults := rs274.Read("p", text, rs274.Options{})
			require.Empty(t, faults)
			lines, end := 0, [3]float64{}
			for i := range r.Moves {
				m := &r.Moves[i]
				if m.Motion != rs274.Feed {
					continue
				}
				lines++
				end = m.To
				for s := range 9 {
					q := m.At(float64(s) / 8)
					d := math.Hypot(q[0]-5, q[1])
					assert.LessOrEqual(t, d, tc.high, "mm from the centre")
					assert.GreaterOrEqual(t, d, tc.low, "mm from the centre")
				}
			}
			assert.InDeltaSlice(t, []float64{e.X, e.Y, 2}, end[:], 0.0006)
			// e = R(1 - cos(t/2)), closed form: at least 50 chords a turn for 0.01
			// mm of 5 mm.
			assert.GreaterOrEqual(t, lines, 58)
			assert.LessOrEqual(t, lines, 68)
		})
	}
}

func TestCommentsArePlain(t *testing.T) {
	c := metric
	c.MaxLine = 40
	p := toolpath.Program{Name: "p", SafeZ: 8, Head: []string{"Ölkühler (50 % – ±0,1 mm; ⌀3, 20°) 漢", strings.Repeat("abcdefgh ", 12)}}
	text, fs := rs274.Write(p, workFor(c))
	require.Empty(t, fs)
	assert.True(t, strings.HasPrefix(string(text), "(Olkuhler [50 - +/-0,1 mm dia 3, 20deg])\n(?)\n"), "%s", text)
	for _, l := range bytes.Split(text, []byte("\n")) {
		assert.LessOrEqual(t, len(l), 40)
		for _, b := range l {
			assert.True(t, b >= ' ' && b < 0x7f, "%q", l)
		}
	}
	_, faults := rs274.Read("p", text, rs274.Options{})
	assert.Empty(t, faults)
	quiet := metric
	quiet.Comments = false
	text, _ = rs274.Write(p, workFor(quiet))
	assert.NotContains(t, string(text), "(")
}

func TestLineNumbersBeginAnew(t *testing.T) {
	c := metric
	c.LineNumbers = true
	moves := make([]toolpath.Move, 100_010)
	for i := range moves {
		moves[i] = toolpath.Move{Kind: toolpath.Line, X: float64(i%2 + 1), Z: 8, Feed: 100}
	}
	text, fs := programOf(c, moves...)
	require.Empty(t, fs)
	assert.Contains(t, string(text), "\nN99999 ")
	assert.NotContains(t, string(text), "N100000")
	_, faults := rs274.Read("p", text, rs274.Options{})
	assert.Empty(t, faults)
}

func TestNumberOfBlocksIsNearTheLeast(t *testing.T) {
	// Each move of the plan is one block where arcs are known; 1.2 times the
	// fewest blocks are allowed.
	prog, w := spiral(5000)
	text, fs := rs274.Write(prog, w)
	require.Empty(t, fs)
	assert.LessOrEqual(t, bytes.Count(text, []byte("\n")), 5000*12/10)
	for _, units := range []string{"mm", "inch"} {
		for _, form := range []shop.ArcForm{shop.ArcCentre, shop.ArcRadius} {
			c := metric
			c.Units, c.Arcs, c.ArcTol, c.Decimals = units, form, 0, 0
			rng := rand.New(rand.NewPCG(1, 2))
			var moves []toolpath.Move
			at := geom.Pt(0, 0)
			for range 2000 {
				r := math.Pow(10, rng.Float64()*4-1) // 0.1 to 1000 mm
				a, sweep := rng.Float64()*2*math.Pi, math.Min(rng.Float64()*2, 10/r)
				centre := geom.Polar(at, r, a+math.Pi)
				at = geom.Polar(centre, r, a+sweep)
				moves = append(moves, toolpath.Move{Kind: toolpath.Arc, X: at.X, Y: at.Y, Z: 8, Center: centre, CCW: true, Feed: 100})
			}
			text, fs := programOf(c, moves...)
			require.Empty(t, fs)
			assert.LessOrEqual(t, len(motions(text)), 2100, "%s %s", units, form)
		}
	}
}

func TestAPauseNamesTheNextCutter(t *testing.T) {
	text, fs := rs274.Write(toolpath.Program{SafeZ: 8, Paths: []toolpath.Path{slotted(0), slotted(1)}}, workFor(metric))
	require.Empty(t, fs)
	r, _ := rs274.Read("p", text, rs274.Options{})
	seen := map[int]bool{}
	for i := range r.Moves {
		s := &r.States[r.Moves[i].State]
		if r.Moves[i].Motion != rs274.Rapid {
			assert.EqualValues(t, 1, s.Spindle)
			seen[s.Cutter()] = true
		}
	}
	assert.Equal(t, map[int]bool{1: true, 4: true}, seen)
	assert.Contains(t, string(text), "M9\nM5\n(MSG,fit cutter T4: drill-1.6, then touch Z again)\nT4\nM0\n")
}

func ExampleWrite() {
	c := shop.Controller{Arcs: shop.ArcCentre, Units: "mm", Decimals: 2, ToolChange: shop.ChangeWord, PathMode: shop.PathExact}
	w := &work.Work{Machine: shop.Machine{Controller: c}, Cutters: []shop.Cutter{{Name: "carbide-2", Number: 1}}}
	p := toolpath.Path{Cut: "hole", Op: "bore", RPM: 18000, Moves: []toolpath.Move{
		{Kind: toolpath.Rapid, X: 12, Y: 5, Z: 5},
		{Kind: toolpath.Line, X: 12, Y: 5, Z: 0, Feed: 100},
		{Kind: toolpath.Arc, X: 12, Y: 5, Z: -1, Center: geom.Pt(10, 5), CCW: true, Feed: 400},
		{Kind: toolpath.Rapid, X: 12, Y: 5, Z: 5},
	}}
	text, findings := rs274.Write(toolpath.Program{Name: "hole", SafeZ: 5, Paths: []toolpath.Path{p}}, w)
	fmt.Printf("%s%d findings\n", text, len(findings))
	// Output:
	// G21 G17 G90 G94
	// G40 G49 G80
	// G54
	// G61
	// T1 M6
	// S18000 M3
	// G0 Z5.00
	// G0 X12.00 Y5.00
	// G1 Z0.00 F100
	// G3 X12.00 Y5.00 Z-1.00 I-2.00 J0.00 F400
	// G0 Z5.00
	// M5
	// M2
	// 0 findings
}

func TestTheMessageThatAsksForACutterIsTheLastBeforeThePause(t *testing.T) {
	second := slotted(1)
	second.Cut, second.Notes = "T1 slot", []string{"as with T1"}
	text, fs := rs274.Write(toolpath.Program{SafeZ: 8, Paths: []toolpath.Path{slotted(0), second}}, workFor(metric))
	require.Empty(t, fs)
	_, after, found := strings.Cut(string(text), "(MSG,fit cutter T4")
	require.True(t, found)
	assert.NotContains(t, after, "T1")
}
