package cli

import (
	"context"
	"fmt"
	"math"
	"os"
	"os/signal"
	"syscall"

	"github.com/spf13/pflag"

	"sparclear/pkg/job"
)

func nestCommand() command {
	return command{name: "nest", args: "JOB", short: "place the parts of a sheet job",
		long: `Places the parts of a sheet job that are not placed by hand, on as many of its
sheets as they need, and writes layout.toml (placements that can be edited and named
in the job by layout = "…"), for every sheet the layout as DXF and SVG and labels for
its parts, and what is left as drawings that can be the next job's sheets, with their
tables in remnants.toml, to the folder out beside the job. No program is written.
Ctrl-C ends the search with the best layout so far; a second one gives up.`,
		flags: func(fs *pflag.FlagSet) func(*env, []string) int {
			var o jobOptions
			o.bind(fs)
			fs.StringVar(&o.out, "out", "", "folder for the outputs (default: out beside the job)")
			return func(e *env, args []string) int {
				if !e.wantArgs("nest", args, 1, 1, "one job file is needed") {
					return exitInput
				}
				return e.nest(args[0], o)
			}
		}}
}

// patiently runs f so that the first interruption only closes the channel and the
// second ends it.
func (e *env) patiently(f func(*env, <-chan struct{}) int) int {
	one := *e
	ctx, cancel := context.WithCancel(context.WithoutCancel(e.ctx))
	defer cancel()
	one.ctx = ctx
	more := make(chan os.Signal, 1)
	done := make(chan struct{})
	defer close(done)
	go func() {
		select {
		case <-e.ctx.Done(): // by the first; from now on the signals are counted here
			signal.Notify(more, os.Interrupt, syscall.SIGTERM)
			defer signal.Stop(more)
		case <-done:
			return
		}
		select {
		case <-more:
			cancel()
		case <-done:
		}
	}()
	return f(&one, e.ctx.Done())
}

func (e *env) nest(file string, o jobOptions) int {
	return e.patiently(func(e *env, enough <-chan struct{}) int {
		o.enough = enough
		return e.nestWhile(file, o)
	})
}

func (e *env) nestWhile(file string, o jobOptions) int {
	res, _, err := e.runJob(file, o, job.Resolve)
	if err != nil {
		return e.interrupted(err)
	}
	if code := res.Findings.ExitCode(); code != 0 {
		e.refuse(res.Findings)
		if !res.Findings.Has("job-missing") {
			e.earlier(realDisk{}, o.outDir(file))
		}
		return code
	}
	outs, l := job.LayoutFiles(res)
	dir := o.outDir(file)
	inputs := read(file, res)
	// Its own layout may be completed in its place; the old one is set aside.
	l = append(l, overInputs(dir, outs[min(1, len(outs)):], inputs)...)
	if l.Blocks() {
		return e.refuse(append(res.Findings, l...))
	}
	var keep []string
	for _, in := range inputs {
		if len(overInputs(dir, outs[:1], []string{in})) == 0 {
			keep = append(keep, in)
		}
	}
	if err := writeAll(realDisk{}, dir, outs, keep...); err != nil {
		fmt.Fprintf(e.err, "sparclear: %s\nnothing was written\n", plainWriteError(err))
		return exitElse
	}
	uses := job.Uses(res)
	if e.json {
		e.printJSON(nestReport{report: reportOf(nil, res.Findings, writtenNames(dir, outs)), Sheets: usesJSON(uses)})
		return exitDone
	}
	e.findings(res.Findings)
	for _, n := range writtenNames(dir, outs) {
		fmt.Fprintln(e.out, n)
	}
	for _, u := range uses {
		fmt.Fprintln(e.err, u.String())
	}
	fmt.Fprintf(e.err, "next: sparclear cut %s\n", file)
	return exitDone
}

// nestReport is the JSON of nest: that of every job, and the sheets in use.
type nestReport struct {
	report
	Sheets []useJSON `json:"sheets"`
}

type useJSON struct {
	Sheet     string   `json:"sheet"`
	Piece     int      `json:"piece"`
	Parts     int      `json:"parts"`
	UsePct    *float64 `json:"use_percent"`
	PartsG    *float64 `json:"parts_g"`
	SheetG    *float64 `json:"sheet_g"`
	Cost      *float64 `json:"cost"`
	PartsCost *float64 `json:"parts_cost"`
	Remnants  int      `json:"remnants"`
}

func usesJSON(l []job.Use) []useJSON {
	out := []useJSON{}
	for _, u := range l {
		share := 100 * u.Share
		out = append(out, useJSON{u.Sheet, u.Piece, u.Parts, round2(&share), round2(u.PartsG), round2(u.SheetG), round2(u.Cost), round2(u.PartsCost), u.Remnants})
	}
	return out
}

// round2 rounds to two decimals; nil stays unknown.
func round2(v *float64) *float64 {
	if v == nil {
		return nil
	}
	r := math.Round(*v*100) / 100
	return &r
}
