package shop_test

import (
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
	"sparclear/pkg/shop"
	"sparclear/profiles"
)

func folder(files ...string) fs.FS {
	f := fstest.MapFS{}
	for i := 0; i+1 < len(files); i += 2 {
		f[files[i]] = &fstest.MapFile{Data: []byte(files[i+1])}
	}
	return f
}

func TestTheEmbeddedProfilesAreComplete(t *testing.T) {
	l, list := shop.Load(profiles.Files)
	require.Empty(t, list)
	assert.GreaterOrEqual(t, len(l.Machines()), 3)
	assert.GreaterOrEqual(t, len(l.Cutters()), 10)
	assert.GreaterOrEqual(t, len(l.Materials()), 8)
	assert.Len(t, l.Files(), 3)
	for _, f := range l.Files() {
		assert.Len(t, f.SHA256, 64)
	}
	numbers := map[int]string{}
	for _, n := range l.Cutters() {
		c, f := l.Cutter(n)
		require.Nil(t, f)
		assert.Empty(t, numbers[c.Number], "cutter %s has the number of another", n)
		numbers[c.Number] = n
	}
}

// Arc forms, tool changes, units and path modes that a controller may have are
// all there to try.
func TestTheEmbeddedMachinesDifferInWhatTheyCanDo(t *testing.T) {
	l := shop.Embedded()
	seen := map[string]bool{}
	for _, n := range l.Machines() {
		m, _ := l.Machine(n)
		for _, s := range []string{string(m.Controller.Arcs), string(m.Controller.ToolChange), m.Controller.Units, string(m.Controller.PathMode)} {
			seen[s] = true
		}
		assert.NotZero(t, m.Controller.ArcTol)
		assert.NotZero(t, m.Controller.MaxLine)
	}
	for _, want := range []string{"centre", "radius", "none", "word", "pause", "files", "mm", "inch", "exact-path", "blend", "unstated"} {
		assert.True(t, seen[want], want)
	}
}

func TestEveryEmbeddedValueHasASource(t *testing.T) {
	l := shop.Embedded()
	check := func(what string, items []shop.Item) {
		for _, it := range items {
			given := it.Value != "" && it.Value != "0" && it.Value != "false"
			if given && it.Key != "controller.arc_tolerance" && it.Key != "controller.max_line" {
				assert.NotEmpty(t, it.Source, "%s, %s = %s", what, it.Key, it.Value)
			}
			assert.NotEqual(t, shop.SourceUnstated, it.Source, "%s, %s", what, it.Key)
		}
	}
	for _, n := range l.Machines() {
		m, _ := l.Machine(n)
		check(n, m.Items())
	}
	for _, n := range l.Cutters() {
		c, _ := l.Cutter(n)
		check(n, c.Items())
	}
	for _, n := range l.Materials() {
		m, _ := l.Material(n)
		check(n, m.Items())
		require.NotEmpty(t, m.Rules, n)
		for _, r := range m.Rules {
			assert.NotEmpty(t, r.Source, n+" "+r.Form)
			check(n+" "+r.Form, r.Items())
		}
	}
}

func TestInchesAreReadExactly(t *testing.T) {
	m, f := shop.Embedded().Machine("small-router-inch")
	require.Nil(t, f)
	assert.InDelta(t, -609.6, m.TravelMin[0], 1e-9, "-24 in")
	assert.InDelta(t, 63.5, m.Holder[1].Diameter, 1e-9, "2 1/2 in")
}

func TestANameMistypedGetsTheNearest(t *testing.T) {
	l := shop.Embedded()
	_, f := l.Machine("small-router-metrik")
	require.NotNil(t, f)
	assert.Equal(t, "machine-unknown", f.Code)
	assert.Contains(t, f.Help, "did you mean small-router-metric?")
	_, f = l.Cutter("carbid-2")
	assert.Contains(t, f.Help, "carbide-2")
	_, f = l.Material("carbon-plat-2")
	assert.Contains(t, f.Help, "carbon-plate-2")
	assert.True(t, f.Input)
}

const own = `
[cutter.long-2]
like = "carbide-2"
stick_out = "22 mm"
source = "measured"

[cutter.carbide-2]
like = "carbide-2"
max_rpm = 20000
`

func TestALaterFolderLiesOverAnEarlierOne(t *testing.T) {
	l, list := shop.WithUser(folder("mine.toml", own))
	require.Empty(t, list)
	c, f := l.Cutter("carbide-2")
	require.Nil(t, f)
	assert.Equal(t, 20000.0, c.MaxRPM)
	assert.Equal(t, 2.0, c.Diameter, "the rest stays")
	assert.Equal(t, shop.SourceUnstated, c.Source["max_rpm"], "changed without a source")
	long, f := l.Cutter("long-2")
	require.Nil(t, f)
	assert.Equal(t, 22.0, long.StickOut)
	assert.Equal(t, 20000.0, long.MaxRPM, "like the topmost of that name")
	assert.Equal(t, "measured", long.Source["stick_out"])
	assert.Equal(t, "common practice, no source", long.Source["diameter"])
	before, _ := shop.Embedded().Cutter("carbide-2")
	assert.Equal(t, 30000.0, before.MaxRPM, "the embedded library is not touched")
}

func TestALibraryHandsOutCopies(t *testing.T) {
	l := shop.Embedded()
	m, _ := l.Material("carbon-plate-2")
	m.Rules[0].Form, m.Source["family"], m.Dust[0] = "spoiled", "spoiled", "spoiled"
	again, _ := l.Material("carbon-plate-2")
	assert.NotEqual(t, "spoiled", again.Rules[0].Form)
	assert.NotEqual(t, "spoiled", again.Source["family"])
	assert.NotEqual(t, "spoiled", again.Dust[0])
	x, _ := l.Machine("small-router-metric")
	x.Holder[0].Diameter = 0
	y, _ := l.Machine("small-router-metric")
	assert.NotZero(t, y.Holder[0].Diameter)
}

func TestFaultyProfilesAreNamedByLine(t *testing.T) {
	for _, tc := range []struct {
		fact, src, code, message string
		line                     int
	}{
		{"a key mistyped", "[cutter.a]\nlike = \"carbide-2\"\nstickout = \"3 mm\"\n", "profile-key", "unknown key \"stickout\"", 3},
		{"a unit mistyped", "[cutter.a]\nlike = \"carbide-2\"\ndiameter = \"3 mn\"\n", "profile-value", "unknown unit", 3},
		{"not a number", "[cutter.a]\nlike = \"carbide-2\"\ndiameter = nan\n", "profile-value", "not finite", 3},
		{"infinite", "[machine.a]\nlike = \"small-router-metric\"\nfeed_xy_mm_min = inf\n", "profile-value", "not finite", 3},
		{"diameter 0", "[cutter.a]\nlike = \"carbide-2\"\ndiameter = 0\n", "profile-value", "at least", 3},
		{"speed 0", "[machine.a]\nlike = \"small-router-metric\"\nfeed_z_mm_min = 0\n", "profile-value", "above 0", 3},
		{"a text for a number", "[machine.a]\nlike = \"small-router-metric\"\nfeed_z_mm_min = \"fast\"\n", "profile-value", "must be a number, not a text", 3},
		{"a number for a length's table", "[machine.a]\nlike = \"small-router-metric\"\nrunout = {}\n", "profile-value", "must be a length", 3},
		{"a date for a flag", "[cutter.a]\nlike = \"carbide-2\"\ncentre_cutting = 2020-01-01\n", "profile-value", "true or false", 3},
		{"half a tooth", "[cutter.a]\nlike = \"carbide-2\"\nflutes = 1.5\n", "profile-value", "whole number", 3},
		{"too many teeth", "[cutter.a]\nlike = \"carbide-2\"\nflutes = 21\n", "profile-value", "0 to 20", 3},
		{"no such kind", "[cutter.a]\nlike = \"carbide-2\"\nkind = \"square\"\n", "profile-value", "there is flat", 3},
		{"a control character", "[cutter.a]\nlike = \"carbide-2\"\ntitle = \"a\\u0007\"\n", "profile-value", "control character", 3},
		{"a text far too long", "[cutter.a]\nlike = \"carbide-2\"\ntitle = \"" + strings.Repeat("x", 401) + "\"\n", "profile-value", "longer than 400", 3},
		{"like nothing", "[cutter.a]\nlike = \"carbide-22\"\n", "profile-unknown", "which there is not", 2},
		{"like a number", "[cutter.a]\nlike = 2\n", "profile-value", "like must be a text", 2},
		{"like itself in a circle", "[cutter.a]\nlike = \"b\"\n[cutter.b]\nlike = \"a\"\n", "profile-circle", "like itself", 4},
		{"like itself with nothing below", "[cutter.a]\nlike = \"a\"\n", "profile-unknown", "which there is not", 2},
		{"keys missing", "[cutter.a]\ndiameter = \"2 mm\"\n", "profile-missing", "missing number, kind", 1},
		{"travel the wrong way", "[machine.a]\nlike = \"small-router-metric\"\ntravel_max = [-1, 10, 10]\n", "profile-contradiction", "travel of X", 3},
		{"travel of two axes", "[machine.a]\nlike = \"small-router-metric\"\ntravel_max = [1, 10]\n", "profile-value", "three lengths", 3},
		{"slowest above fastest", "[machine.a]\nlike = \"small-router-metric\"\nspindle_min_rpm = 30000\n", "profile-contradiction", "above spindle_max", 3},
		{"blend without a tolerance", "[machine.a]\nlike = \"small-router-metric\"\n[machine.a.controller]\npath_mode = \"blend\"\n", "profile-contradiction", "blend_tolerance", 3},
		{"a key of the controller mistyped", "[machine.a]\nlike = \"small-router-metric\"\n[machine.a.controller]\nunit = \"mm\"\n", "profile-key", "controller.unit", 4},
		{"a holder without cylinders", "[machine.a]\nlike = \"small-router-metric\"\nholder = []\n", "profile-value", "1 to 20 cylinders", 3},
		{"a holder of numbers", "[machine.a]\nlike = \"small-router-metric\"\nholder = [3]\n", "profile-value", "list of cylinders", 3},
		{"a cylinder of length 0", "[machine.a]\nlike = \"small-router-metric\"\nholder = [{diameter=3,length=0}]\n", "profile-value", "cylinder 1, length", 3},
		{"a cylinder with something else", "[machine.a]\nlike = \"small-router-metric\"\nholder = [{diameter=3,length=1,x=1}]\n", "profile-value", "nothing else", 3},
		{"flutes longer than the stick-out", "[cutter.a]\nlike = \"carbide-2\"\nflute_length = \"17 mm\"\n", "profile-contradiction", "flutes are longer", 3},
		{"a drill without a point", "[cutter.a]\nlike = \"carbide-2\"\nkind = \"drill\"\n", "profile-contradiction", "point_angle_deg", 3},
		{"an end mill without teeth", "[cutter.a]\nlike = \"carbide-2\"\nflutes = 0\n", "profile-contradiction", "flutes is 0", 3},
		{"a compression cutter without its up-cut", "[cutter.a]\nlike = \"carbide-2\"\nform = \"compression\"\n", "profile-contradiction", "upcut_length", 3},
		{"an up-cut longer than the flutes", "[cutter.a]\nlike = \"compression-3\"\nupcut_length = 13\n", "profile-contradiction", "longer than the flutes", 3},
		{"a corner radius beyond half", "[cutter.a]\nlike = \"carbide-2\"\ncorner_radius = 1.1\n", "profile-contradiction", "corner_radius", 3},
		{"a tolerance of half the diameter", "[cutter.a]\nlike = \"carbide-2\"\ndiameter_tolerance = 1\n", "profile-contradiction", "half the diameter", 3},
		{"a dust there is no caution for", "[material.a]\nlike = \"balsa-3\"\ndust = [\"hardwod\"]\n", "profile-value", "there is carbon", 3},
		{"a list that is a text", "[machine.a]\nlike = \"small-router-metric\"\n[machine.a.controller]\nstart = \"G90\"\n", "profile-value", "list of at most", 4},
		{"kc outside its range", "[material.a]\nlike = \"balsa-3\"\nkc_n_mm2 = 50\n", "profile-contradiction", "own range", 3},
		{"a source of a key there is not", "[cutter.a]\nlike = \"carbide-2\"\nsource = { diametr = \"x\" }\n", "profile-key", "source names an unknown key", 3},
		{"a source that is a number", "[cutter.a]\nlike = \"carbide-2\"\nsource = 3\n", "profile-value", "text or a table", 3},
		{"a source of numbers", "[cutter.a]\nlike = \"carbide-2\"\nsource = { diameter = 3 }\n", "profile-value", "source of diameter", 3},
		{"a rule that is a number", "[material.a]\nlike = \"balsa-3\"\nrule = 3\n", "profile-value", "list of at most 100 tables", 3},
		{"rules that are numbers", "[material.a]\nlike = \"balsa-3\"\nrule = [3]\n", "profile-value", "list of tables", 3},
		{"a key of a rule mistyped", "[material.a]\nlike = \"balsa-3\"\n[[material.a.rule]]\nfrom = \"burr\"\n", "profile-key", "unknown key \"from\"", 4},
		{"a range upside down", "[material.a]\nlike = \"balsa-3\"\n[[material.a.rule]]\nform = \"burr\"\nspeed_m_min = [3, 2]\n", "profile-value", "lowest value", 5},
		{"a range of three", "[material.a]\nlike = \"balsa-3\"\n[[material.a.rule]]\nform = \"burr\"\nspeed_m_min = [1, 2, 3]\n", "profile-value", "range", 5},
		{"a rule without its source", "[material.a]\nlike = \"balsa-3\"\n[[material.a.rule]]\nform = \"burr\"\nspeed_m_min = 3\n", "profile-missing", "needs form", 3},
		{"a rule without a feed", "[material.a]\nlike = \"balsa-3\"\n[[material.a.rule]]\nform = \"burr\"\nspeed_m_min = 3\nsource = \"x\"\n", "profile-missing", "no feed", 3},
		{"a burr fed by the tooth", "[material.a]\nlike = \"balsa-3\"\n[[material.a.rule]]\nform = \"burr\"\nspeed_m_min = 3\nfeed_tooth_mm = 1\nstep_d = 1\nsource = \"x\"\n", "profile-missing", "feed per revolution", 3},
		{"a rule without a depth", "[material.a]\nlike = \"balsa-3\"\n[[material.a.rule]]\nform = \"burr\"\nspeed_m_min = 3\nfeed_rev_mm = 1\nsource = \"x\"\n", "profile-missing", "depth per pass", 3},
		{"a kind of profile mistyped", "[cuter.a]\nlike = \"x\"\n", "profile-key", "unknown key \"cuter\"", 1},
		{"a kind that is a number", "cutter = 3\n", "profile-value", "table of profiles", 1},
		{"a profile that is a number", "[cutter]\na = 3\n", "profile-value", "must be a table", 2},
		{"a name far too long", "[cutter." + strings.Repeat("a", 61) + "]\n", "profile-name", "too long", 1},
		{"no TOML", "[cutter.a]\nlike = \n", "profile-syntax", "not valid TOML", 2},
		{"the same key twice", "[cutter.a]\nlike = \"carbide-2\"\nlike = \"carbide-2\"\n", "profile-syntax", "not valid TOML", 3},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			l, list := shop.WithUser(folder("mine.toml", tc.src))
			require.True(t, list.Blocks(), "%v", list)
			assert.Equal(t, 2, list.ExitCode())
			i := -1
			for k, f := range list {
				if f.Code == tc.code && strings.Contains(f.Message, tc.message) {
					i = k
				}
			}
			require.GreaterOrEqual(t, i, 0, "%v", list)
			require.NotEmpty(t, list[i].At)
			assert.Equal(t, "mine.toml", list[i].At[0].File)
			assert.Equal(t, tc.line, list[i].At[0].Line)
			assert.NotEmpty(t, list[i].Help)
			assert.NotContains(t, list[i].Message, "\n")
			_, f := l.Cutter("a")
			assert.NotNil(t, f, "a faulty profile is left out")
			_, f = l.Cutter("carbide-3")
			assert.Nil(t, f, "the rest is there")
		})
	}
}

func TestTwoRulesOfOneFormAreAFault(t *testing.T) {
	row := "[[material.a.rule]]\nform = \"burr\"\nspeed_m_min = 3\nfeed_rev_mm = 1\nstep_d = 1\nsource = \"x\"\n"
	_, list := shop.WithUser(folder("m.toml", "[material.a]\nlike = \"balsa-3\"\n"+row+row))
	assert.True(t, list.Has("profile-value"))
	l, list := shop.WithUser(folder("m.toml", "[material.a]\nlike = \"carbon-plate-2\"\n"+row))
	require.Empty(t, list)
	m, _ := l.Material("a")
	r, exact, ok := m.RuleFor("burr")
	assert.True(t, ok && exact)
	assert.Equal(t, "x", r.Source, "a row replaces the inherited one of its form")
	_, _, ok = m.RuleFor("drill")
	assert.True(t, ok, "the others stay")
}

func TestANameTwiceInOneFolderIsAFault(t *testing.T) {
	src := "[cutter.a]\nlike = \"carbide-2\"\n"
	_, list := shop.WithUser(folder("a.toml", src, "b.toml", src))
	require.True(t, list.Has("profile-twice"))
	assert.Len(t, list[0].At, 2, "both places")
}

type brokenFS struct{ fs.FS }

func (brokenFS) Open(string) (fs.File, error) { return nil, fs.ErrPermission }

func TestAFolderThatCannotBeReadIsAFinding(t *testing.T) {
	_, list := shop.WithUser(brokenFS{})
	assert.True(t, list.Has("profile-unreadable"))
	_, list = shop.WithUser(folder("a.toml", strings.Repeat("#", 1<<20+1)))
	assert.True(t, list.Has("profile-unreadable"), "a file of more than a megabyte")
	many := fstest.MapFS{}
	for i := range 1001 {
		many[strings.Repeat("a", i%40+1)+string(rune('a'+i/40))+".toml"] = &fstest.MapFile{}
	}
	_, list = shop.WithUser(many)
	assert.True(t, list.Has("profile-too-many"))
}

func TestAJobMayDescribeItsOwn(t *testing.T) {
	l := shop.Embedded()
	at := diag.Place{File: "job.toml", Line: 7, Col: 3}
	c, list := l.CutterFrom("", "carbide-2", at)
	require.Empty(t, list)
	assert.Equal(t, "carbide-2", c.Name)
	c, list = l.CutterFrom("mine", map[string]any{"like": "carbide-2", "stick_out": "1/2 in", "number": int64(9)}, at)
	require.Empty(t, list)
	assert.Equal(t, "mine", c.Name)
	assert.InDelta(t, 12.7, c.StickOut, 1e-9)
	for _, bad := range []any{"carbide-22", 3, nil, []any{}, map[string]any{"like": "carbide-2", "x": 1}, map[string]any{}, map[string]any{"like": "nobody"}} {
		_, list := l.CutterFrom("", bad, at)
		require.True(t, list.Blocks(), "%v", bad)
		assert.Equal(t, 7, list[0].At[len(list[0].At)-1].Line)
		assert.Equal(t, 2, list.ExitCode())
	}
	m, list := l.MachineFrom("", map[string]any{"like": "small-router-metric", "controller": map[string]any{"decimals": int64(2)}}, at)
	require.Empty(t, list)
	assert.Equal(t, 2, m.Controller.Decimals)
	assert.Equal(t, shop.ArcCentre, m.Controller.Arcs, "other keys of the controller stay")
	mat, list := l.MaterialFrom("", map[string]any{"like": "balsa-3", "thickness": 2.0}, at)
	require.Empty(t, list)
	assert.Equal(t, 2.0, mat.Thickness)
}

func TestProfilesAreReadFromText(t *testing.T) {
	l := shop.Embedded()
	c, list := l.ParseCutter("x", "x.toml", []byte("like = \"carbide-2\"\nnumber = 4"))
	require.Empty(t, list)
	assert.Equal(t, 4, c.Number)
	_, list = l.ParseMachine("x", "x.toml", []byte("like = \"small-router-metric\"\n\nspeed = 4"))
	require.True(t, list.Has("profile-key"))
	assert.Equal(t, 3, list[0].At[0].Line)
	m, list := l.ParseMaterial("x", "x.toml", []byte("like = \"balsa-3\"\ncost_m2 = 4"))
	require.Empty(t, list)
	assert.Equal(t, 4.0, m.Cost)
	_, list = l.ParseMaterial("x", "x.toml", []byte("=="))
	assert.True(t, list.Has("profile-syntax"))
	_, list = l.ParseMaterial("x", "x.toml", make([]byte, 1<<20+1))
	assert.True(t, list.Has("profile-too-long"))
}

func FuzzProfile(f *testing.F) {
	for _, s := range []string{own, "[[material.a.rule]]\n[material.a.source]\n", "[cutter.a]\nholder = [[{a=1}]]", "cutter.a.like = 'a'", "[[cutter]]\n", "[[a]]\n[[a.b]]\n[a.b.c]\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		l, list := shop.WithUser(fstest.MapFS{"a.toml": &fstest.MapFile{Data: src}})
		if _, f := l.Cutter("carbide-3"); f != nil && !list.Blocks() && !strings.Contains(string(src), "carbide-3") {
			t.Fatal("an embedded cutter is gone")
		}
		for _, f := range list {
			if f.Code == "" || strings.Contains(f.Message, "\n") {
				t.Fatalf("finding %+v", f)
			}
		}
	})
}

func BenchmarkLoad(b *testing.B) {
	var l *shop.Library
	for b.Loop() {
		l, _ = shop.Load(profiles.Files)
	}
	b.ReportMetric(float64(len(l.Machines())+len(l.Cutters())+len(l.Materials())), "profiles")
}
