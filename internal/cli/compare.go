package cli

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/pflag"

	"sparclear/pkg/diag"
	"sparclear/pkg/job"
	"sparclear/pkg/picture"
	"sparclear/pkg/proof"
)

func compareCommand() command {
	return command{name: "compare", args: "JOB A B", short: "say and draw what differs between two programs",
		long: `Reads two programs of one job, or with --job two jobs, and lists what moved: cuts
that are new, gone or elsewhere, depths, order, time, margins. --svg draws it.`,
		flags: func(fs *pflag.FlagSet) func(*env, []string) int {
			var o jobOptions
			var svg string
			var jobs bool
			o.bind(fs)
			o.bindSheet(fs)
			fs.StringVar(&svg, "svg", "", "draw the difference into this SVG file")
			fs.BoolVar(&jobs, "job", false, "the arguments are two jobs, planned and proven afresh")
			return func(e *env, args []string) int {
				want, what := 3, "a job and two programs are needed"
				if jobs {
					want, what = 2, "two jobs are needed"
				}
				if !e.wantArgs("compare", args, want, want, what) {
					return exitInput
				}
				var a, b picture.Scene
				var code int
				if jobs {
					if a, code = e.sceneOfJob(args[0], o); code == exitDone {
						b, code = e.sceneOfJob(args[1], o)
					}
				} else {
					a, b, code = e.scenesOfPrograms(args, o)
				}
				if code != exitDone {
					return code
				}
				return e.compare(a, b, svg)
			}
		}}
}

// sceneOfJob plans and proves a job.
func (e *env) sceneOfJob(file string, o jobOptions) (picture.Scene, int) {
	res, _, err := e.runJob(file, o, job.Prove)
	if err != nil {
		return picture.Scene{}, e.interrupted(err)
	}
	if code := res.Findings.ExitCode(); code != 0 {
		return picture.Scene{}, e.refuse(res.Findings)
	}
	one, l := res.Piece(o.sheet)
	if one == nil {
		return picture.Scene{}, e.refuse(append(res.Findings, l...))
	}
	return one.Scene(), exitDone
}

// scenesOfPrograms holds two programs against one job; what is not proven may be
// compared all the same.
func (e *env) scenesOfPrograms(args []string, o jobOptions) (a, b picture.Scene, code int) {
	res, _, err := e.runJob(args[0], o, job.Resolve)
	if err != nil {
		return a, b, e.interrupted(err)
	}
	if code := res.Findings.ExitCode(); code != 0 {
		return a, b, e.refuse(res.Findings)
	}
	one, l := res.Piece(o.sheet)
	if one == nil {
		return a, b, e.refuse(append(res.Findings, l...))
	}
	res = one
	scene := func(file string) (picture.Scene, bool) {
		text, err := os.ReadFile(file)
		if err != nil {
			e.refuse(diag.List{unreadable("program-missing", file, err)})
			return picture.Scene{}, false
		}
		src := []proof.Source{{File: filepath.Base(file), Text: text}}
		cert, _ := proof.Prove(e.ctx, res.Work, src)
		return picture.Scene{Work: res.Work, Programs: src, Certificate: cert}, true
	}
	var ok bool
	if a, ok = scene(args[1]); ok {
		b, ok = scene(args[2])
	}
	if !ok {
		return a, b, exitInput
	}
	return a, b, exitDone
}

func (e *env) compare(a, b picture.Scene, svg string) int {
	picture, changes, err := picture.Difference(a, b)
	if err != nil {
		return e.refuse(diag.List{{Code: "compare-failed", Severity: diag.Stop, Input: true, Message: err.Error(), Help: "prove both programs first"}})
	}
	if svg != "" {
		if err := writePicture(svg, picture); err != nil {
			fmt.Fprintf(e.err, "sparclear: %s\n", plainWriteError(err))
			return exitElse
		}
	}
	if e.json {
		e.printJSON(map[string]any{"schema": 1, "ok": true, "changes": notNil(changes)})
		return exitDone
	}
	if len(changes) == 0 {
		fmt.Fprintln(e.out, "nothing differs that a cut could show")
	}
	for _, c := range changes {
		fmt.Fprintln(e.out, c.Text)
	}
	return exitDone
}
