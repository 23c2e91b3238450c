package cli

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/pflag"

	"sparclear/pkg/diag"
	"sparclear/pkg/job"
	"sparclear/pkg/picture"
	"sparclear/pkg/proof"
	"sparclear/pkg/shop"
)

// jobOptions are the options that check, cut and nest share.
type jobOptions struct {
	profiles string
	stages   bool
	out      string
	noDraw   bool
	also     []string // further forms of the plan view: "pdf", "png"
	sheet    string   // name of the sheet, where a job uses several
	enough   <-chan struct{}
}

func (o *jobOptions) bind(fs *pflag.FlagSet) {
	fs.StringVar(&o.profiles, "profiles", "", "folder with your own machines, cutters and materials (or SPARCLEAR_PROFILES)")
	fs.BoolVar(&o.stages, "check-stages", false, "check the promises between stages as well")
}

func (o *jobOptions) bindSheet(fs *pflag.FlagSet) {
	fs.StringVar(&o.sheet, "sheet", "", "name of the sheet, where the job uses several")
}

func checkCommand() command {
	return command{name: "check", args: "JOB", short: "check a job: everything but writing",
		long: `Reads the job, locates, plans and proves it, and writes nothing. What would keep
cut from writing is named with its place and its repair.`,
		flags: func(fs *pflag.FlagSet) func(*env, []string) int {
			var o jobOptions
			o.bind(fs)
			return func(e *env, args []string) int {
				if !e.wantArgs("check", args, 1, 1, "one job file is needed") {
					return exitInput
				}
				return e.check(args[0], o)
			}
		}}
}

func cutCommand() command {
	return command{name: "cut", args: "JOB", short: "plan, prove and write the programs of a job",
		long: `Plans the job, reads the program text back, proves it against the job, and only
then writes programs, certificate and pictures to the folder out beside the job.
A job that is refused leaves no program behind; earlier outputs are set aside as
NOT-CURRENT-….old so that nobody runs a stale one.`,
		flags: func(fs *pflag.FlagSet) func(*env, []string) int {
			var o jobOptions
			o.bind(fs)
			fs.StringVar(&o.out, "out", "", "folder for the outputs (default: out beside the job)")
			fs.BoolVar(&o.noDraw, "no-pictures", false, "write programs and certificate only")
			fs.StringSliceVar(&o.also, "plan-as", nil, "write the plan view as pdf or png, too, or the located outlines as dxf")
			return func(e *env, args []string) int {
				if !e.wantArgs("cut", args, 1, 1, "one job file is needed") {
					return exitInput
				}
				return e.cut(args[0], o)
			}
		}}
}

func (o jobOptions) outDir(jobFile string) string {
	if o.out != "" {
		return o.out
	}
	return filepath.Join(filepath.Dir(jobFile), "out")
}

// library loads the embedded profiles and, over them, the user's own.
func (e *env) library(dir string) (*shop.Library, diag.List) {
	if dir == "" {
		dir = os.Getenv("SPARCLEAR_PROFILES")
	}
	if dir == "" {
		return shop.Embedded(), nil
	}
	if st, err := os.Stat(dir); err != nil || !st.IsDir() {
		return nil, diag.List{{Code: "profiles-missing", Severity: diag.Stop, Input: true, Subject: dir,
			Message: "there is no such folder of profiles", Help: "check --profiles and SPARCLEAR_PROFILES"}}
	}
	return shop.WithUser(os.DirFS(dir))
}

// runJob runs a job as far as goal.
func (e *env) runJob(file string, o jobOptions, goal job.Goal) (*job.Result, time.Duration, error) {
	lib, l := e.library(o.profiles)
	if f := mistaken(file, "job"); f != nil {
		l.Add(*f)
	}
	if l.Blocks() {
		return &job.Result{Findings: l}, 0, nil
	}
	start := time.Now()
	bar := newProgress(e, start)
	defer bar.done()
	res, err := job.Run(e.ctx, job.Request{Name: filepath.Base(file), Files: job.Dir(filepath.Dir(file)),
		Library: lib, Goal: goal, Version: Version, Check: o.stages, Progress: bar.stage, Nesting: bar.nesting, Enough: o.enough})
	if err == nil {
		res.Findings = append(l, res.Findings...)
	}
	return res, time.Since(start), err
}

func (e *env) check(file string, o jobOptions) int {
	res, took, err := e.runJob(file, o, job.Prove)
	if err != nil {
		return e.interrupted(err)
	}
	code := res.Findings.ExitCode()
	if e.json {
		e.printJSON(reportOf(res.Certificate, res.Findings, nil).placed(res.Work))
		return code
	}
	e.findings(res.Findings)
	if code == 0 {
		e.places(res.Work)
		e.summary(res.Certificate, took)
		fmt.Fprintf(e.err, "next: sparclear cut %s\n", file)
	} else if !res.Findings.Has("job-missing") {
		e.earlier(realDisk{}, o.outDir(file))
	}
	return code
}

func (e *env) cut(file string, o jobOptions) int {
	goal := job.Draw
	if o.noDraw {
		goal = job.Prove
	}
	res, took, err := e.runJob(file, o, goal)
	if err != nil {
		return e.interrupted(err)
	}
	dir := o.outDir(file)
	code := res.Findings.ExitCode()
	if code != 0 {
		if !e.json {
			e.findings(res.Findings)
		}
		moved := e.putAside(realDisk{}, dir, read(file, res), res.Findings)
		if e.json {
			r := reportOf(res.Certificate, res.Findings, nil)
			r.Aside = moved
			e.printJSON(r)
		} else {
			fmt.Fprintln(e.err, "nothing was written")
		}
		return code
	}
	inputs := read(file, res)
	if code := e.alsoAs(res, o.also); code != exitDone {
		e.putAside(realDisk{}, dir, inputs, nil)
		return code
	}
	if l := overInputs(dir, res.Outputs, inputs); l.Blocks() {
		code := e.refuse(append(res.Findings, l...))
		e.putAside(realDisk{}, dir, inputs, nil)
		return code
	}
	if err := writeAll(realDisk{}, dir, res.Outputs, inputs...); err != nil {
		fmt.Fprintf(e.err, "sparclear: %s\nnothing was written; check the folder, its permissions and the space on the disk\n", plainWriteError(err))
		e.putAside(realDisk{}, dir, inputs, nil)
		return exitElse
	}
	return e.told(dir, res, func() {
		e.places(res.Work)
		e.summary(res.Certificate, took)
		sheet, film := "run-sheet.pdf", "film.html"
		if len(res.Sheets) > 0 {
			sheet, film = "run-sheet-….pdf of each sheet", "film-….html"
		}
		fmt.Fprintf(e.err, "next: read %s with its cautions, then watch %s\n", filepath.Join(dir, sheet), filepath.Join(dir, film))
	})
}

// alsoAs adds further forms of the plan view to the outputs, of every sheet its own.
func (e *env) alsoAs(res *job.Result, forms []string) int {
	draw := map[string]func(*job.Result) ([]byte, error){
		"pdf": func(r *job.Result) ([]byte, error) { return picture.PlanPDF(r.Scene()) },
		"png": func(r *job.Result) ([]byte, error) { return picture.PlanPNG(r.Scene()) },
		"dxf": job.LocatedDXF,
	}
	for _, form := range forms {
		if draw[form] == nil {
			return e.refuse(diag.List{{Code: "word-unknown", Severity: diag.Stop, Input: true, Subject: "--plan-as", Message: fmt.Sprintf("there is no form %q", form), Help: "say pdf, png, dxf or several of them: pdf,png"}})
		}
		for _, p := range res.Pieces() {
			name := "plan" + p.Suffix() + "." + form
			b, err := draw[form](p)
			if err != nil {
				fmt.Fprintf(e.err, "sparclear: %s cannot be drawn: %v\nnothing was written\n", name, err)
				return exitElse
			}
			res.Outputs = append(res.Outputs, job.Output{Name: name, Data: b})
		}
	}
	return exitDone
}

// told says what was written, and what comes next.
func (e *env) told(dir string, res *job.Result, next func()) int {
	if e.json {
		e.printJSON(reportOf(res.Certificate, res.Findings, writtenNames(dir, res.Outputs)).placed(res.Work))
		return exitDone
	}
	e.findings(res.Findings)
	for _, n := range writtenNames(dir, res.Outputs) {
		fmt.Fprintln(e.out, n)
	}
	next()
	return exitDone
}

func plainWriteError(err error) string {
	if errors.Is(err, fs.ErrPermission) {
		return err.Error() + " (no permission to write there)"
	}
	return err.Error()
}

func (e *env) interrupted(err error) int {
	if errors.Is(err, context.Canceled) {
		fmt.Fprintln(e.err, "interrupted; nothing was written")
	} else {
		fmt.Fprintf(e.err, "sparclear: %v\n", err)
	}
	return exitElse
}

func writtenNames(dir string, outs []job.Output) []string {
	var names []string
	for _, o := range outs {
		names = append(names, filepath.ToSlash(filepath.Join(dir, o.Name)))
	}
	return names
}

// summary is what a person wants to know on success, in few lines.
func (e *env) summary(c *proof.Certificate, took time.Duration) {
	if c == nil {
		return
	}
	if m, ok := smallest(c.Margins); ok {
		fmt.Fprintf(e.err, "smallest margin: %.2f mm to %s, %.2f mm needed (%s:%d)\n", m.MarginMM, m.Member, m.NeededMM, m.File, m.Line)
	}
	lo, hi, moves := 0.0, 0.0, 0
	for _, p := range c.Programs {
		lo, hi, moves = lo+p.TimeS[0], hi+p.TimeS[1], moves+p.Moves
	}
	span := minutes(lo) + " to " + minutes(hi)
	if minutes(lo) == minutes(hi) {
		span = minutes(hi)
	}
	fmt.Fprintf(e.err, "%d moves proven, %s for all of it; on the machine %s\n", moves, took.Round(time.Millisecond), span)
}

// smallest is the member margin with the least room above what is needed.
func smallest(l []proof.Margin) (proof.Margin, bool) {
	best, ok := proof.Margin{}, false
	for _, m := range l {
		if m.Check == "members" && (!ok || m.MarginMM-m.NeededMM < best.MarginMM-best.NeededMM) {
			best, ok = m, true
		}
	}
	return best, ok
}

func minutes(s float64) string {
	if s < 90 {
		return fmt.Sprintf("%.0f s", math.Ceil(s))
	}
	return fmt.Sprintf("%.0f min", math.Ceil(s/60))
}

// report is the JSON of check, cut, prove and nest.
type report struct {
	Schema   int                 `json:"schema"`
	OK       bool                `json:"ok"`
	Findings diag.List           `json:"findings"`
	Programs []proof.ProgramInfo `json:"programs"`
	Margins  []proof.Margin      `json:"margins"`
	Written  []string            `json:"written"`
	Aside    []string            `json:"set_aside,omitempty"` // outputs of an earlier run that are current no more
	Places   []placeJSON         `json:"places,omitempty"`
}

func reportOf(c *proof.Certificate, l diag.List, written []string) report {
	r := report{Schema: 1, OK: !l.Blocks(), Findings: notNil(l.Sorted()), Programs: []proof.ProgramInfo{}, Margins: []proof.Margin{}, Written: notNil(written)}
	if c != nil {
		r.OK = r.OK && c.OK
		r.Programs, r.Margins = notNil(c.Programs), notNil(c.Margins)
	}
	return r
}
