package main

import (
	"errors"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"sparclear/internal/cli"
	"sparclear/internal/touchsim"
	"sparclear/pkg/geom"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"sparclear": func() { os.Exit(cli.Run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) },
	})
}

// Every script starts in a folder that holds a copy of testdata/base: a small
// panel job that is proven as it stands. A script spoils one thing in it.
func TestScripts(t *testing.T) {
	base, err := filepath.Abs("testdata/base")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(e *testscript.Env) error {
			return os.CopyFS(e.WorkDir, os.DirFS(base))
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"edit":      edit,
			"exits":     exits,
			"noprogram": noProgram,
			"cutoff":    cutOff,
			"touchoff":  touchOff,
		},
	})
}

// edit FILE OLD NEW replaces the first OLD; it fails when there is none.
func edit(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: edit FILE OLD NEW")
	}
	text := ts.ReadFile(args[0])
	old, with := strings.ReplaceAll(args[1], `\n`, "\n"), strings.ReplaceAll(args[2], `\n`, "\n")
	if !strings.Contains(text, old) {
		ts.Fatalf("%s does not hold %q", args[0], old)
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(strings.Replace(text, old, with, 1)), 0o644))
}

// cutoff FILE removes the second half of a file.
func cutOff(ts *testscript.TestScript, _ bool, args []string) {
	b := []byte(ts.ReadFile(args[0]))
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), b[:len(b)/2], 0o644))
}

// touchoff PROGRAM LOG runs a touch-off program on the true panel of the base job,
// which lies turned by 0.002 rad and is round, and writes the log of the controller.
func touchOff(ts *testscript.TestScript, _ bool, args []string) {
	pose := geom.Rigid{Turn: 0.002, Shift: geom.Pt(50.2, 49.9)}
	mid := pose.Apply(geom.Pt(50, 40))
	r := rand.New(rand.NewPCG(1, 2))
	work := touchsim.Work{Ball: 1.5, Noise: func() float64 { return 0.005 * r.NormFloat64() },
		Skin: func(p geom.Point) float64 {
			d := p.Sub(mid)
			return 0.2 - d.Y*d.Y/1300 - d.X*d.X/8000
		}}
	for _, drawn := range []geom.Point{{}, {X: 120}} {
		work.Rounds = append(work.Rounds, touchsim.Round{At: pose.Apply(drawn), Diameter: 6, Top: 8})
	}
	work.Rounds = append(work.Rounds, touchsim.Round{At: pose.Apply(geom.Pt(60, 80)), Diameter: 8, Hole: true})
	log, err := work.Run(ts.ReadFile(args[0]), [3]float64{0, 0, 30})
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte(log), 0o644))
}

// exits CODE sparclear ARGS… runs the command and checks its exit code; stdout
// and stderr can be matched afterwards as after exec.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 || args[1] != "sparclear" {
		ts.Fatalf("usage: exits CODE sparclear ARGS…")
	}
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("cannot run: %v", err)
		}
		got = exit.ExitCode()
	}
	if strconv.Itoa(got) != args[0] {
		ts.Fatalf("exit code %d, want %s", got, args[0])
	}
}

// noprogram checks that nothing in the folder out can be taken for a current program.
func noProgram(ts *testscript.TestScript, neg bool, _ []string) {
	es, _ := os.ReadDir(ts.MkAbs("out"))
	for _, e := range es {
		if strings.HasSuffix(e.Name(), ".nc") != neg {
			if !neg {
				ts.Fatalf("a program was left behind: %s", e.Name())
			}
			return
		}
	}
	if neg {
		ts.Fatalf("no program was written")
	}
}
