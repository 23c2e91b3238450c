package cli

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/pflag"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/job"
	"sparclear/pkg/shop"
)

func measureCommand() command {
	return command{name: "measure", args: "JOB", short: "say where to touch the skin, and read it back",
		long: `Without --read, plans where the skin is to be touched, denser at the openings, and
writes touch-list.csv to fill in by hand and, for a controller that can probe, a
touch-off program: safe approach, straight probe, retract, slow second touch. The
program is proven to be gentle. With --read FILE, takes the filled-in list or a log
back, checks it, writes heights.csv and says what more to touch.`,
		flags: func(fs *pflag.FlagSet) func(*env, []string) int {
			var o jobOptions
			var top, reach, spacing, read, limit string
			o.bind(fs)
			fs.StringVar(&top, "top", "", "height that nothing of the work rises above, as the display shows it")
			fs.StringVar(&reach, "reach", "8", "how far below top the lowest skin may lie")
			fs.StringVar(&spacing, "spacing", "20", "distance of the touches at the openings")
			fs.StringVar(&read, "read", "", "filled-in list or log to read back")
			fs.StringVar(&limit, "limit", "0.1", "with --read: how well the height must be known at the cuts")
			fs.StringVar(&o.out, "out", "", "folder for the outputs (default: out beside the job)")
			return func(e *env, args []string) int {
				if !e.wantArgs("measure", args, 1, 1, "one job file is needed") {
					return exitInput
				}
				var l diag.List
				length := func(name, text string) float64 {
					if text == "" {
						return 0
					}
					v, err := shop.ParseLength(text)
					if err != nil {
						l.Add(diag.Finding{Code: "length-broken", Severity: diag.Stop, Input: true, Subject: "--" + name, Message: err.Error(), Help: "write a number in mm, or text such as \"1/8 in\""})
					}
					return v
				}
				m := job.Measuring{Top: length("top", top), Reach: length("reach", reach), Spacing: length("spacing", spacing)}
				most := length("limit", limit)
				if top == "" && read == "" {
					l.Add(diag.Finding{Code: "touch-heights", Severity: diag.Stop, Input: true, Subject: "--top", Message: "the height that nothing rises above is not given", Help: "jog the tip over the highest place of the work and give what the display shows"})
				}
				if l.Blocks() {
					return e.refuse(l)
				}
				if read != "" {
					return e.readMeasured(args[0], read, most, o)
				}
				return e.measure(args[0], m, o)
			}
		}}
}

func (e *env) request(file string, o jobOptions) (job.Request, diag.List) {
	lib, l := e.library(o.profiles)
	return job.Request{Name: filepath.Base(file), Files: job.Dir(filepath.Dir(file)), Library: lib, Version: Version, Check: o.stages, Sheet: o.sheet}, l
}

func (e *env) measure(file string, m job.Measuring, o jobOptions) int {
	req, l := e.request(file, o)
	if l.Blocks() {
		return e.refuse(l)
	}
	res, err := job.Measure(e.ctx, req, m)
	if err != nil {
		return e.interrupted(err)
	}
	return e.hand(file, res, o, func() {
		fmt.Fprintf(e.err, "next: touch, fill in the list, then sparclear measure %s --read %s\n", file, filepath.Join(o.outDir(file), "touch-list.csv"))
	})
}

func (e *env) readMeasured(file, read string, limit float64, o jobOptions) int {
	req, l := e.request(file, o)
	if l.Blocks() {
		return e.refuse(l)
	}
	log, err := os.ReadFile(read)
	if err != nil {
		return e.refuse(diag.List{{Code: "heights-missing", Severity: diag.Stop, Input: true, Subject: read, Message: "cannot be read", Help: "check the name"}})
	}
	res, more, err := job.ReadMeasured(e.ctx, req, filepath.Base(read), log, limit)
	if err != nil {
		return e.interrupted(err)
	}
	return e.hand(file, res, o, func() { e.more(more) })
}

// more says what else to touch.
func (e *env) more(places []geom.Point) {
	if len(places) == 0 {
		fmt.Fprintln(e.err, "the heights are known well enough; name the file in the job: [skin] heights = \"out/heights.csv\"")
		return
	}
	fmt.Fprintln(e.err, "touch these places too, the worst first (program coordinates, mm):")
	for _, p := range places {
		fmt.Fprintf(e.err, "  X %.2f  Y %.2f\n", p.X, p.Y)
	}
}

// hand writes the outputs of a result that has no pictures, and says so.
func (e *env) hand(file string, res *job.Result, o jobOptions, next func()) int {
	if code := res.Findings.ExitCode(); code != 0 {
		return e.refuse(res.Findings)
	}
	dir := o.outDir(file)
	if err := addAll(realDisk{}, dir, res.Outputs); err != nil {
		fmt.Fprintf(e.err, "sparclear: %s\nnothing was written\n", plainWriteError(err))
		return exitElse
	}
	return e.told(dir, res, next)
}
