package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/job"
	"sparclear/pkg/shop"
)

func measureCommand() command {
	return command{name: "measure", args: "JOB", short: "say where to touch datums and skin, and read it back",
		long: `Without --read, plans where datums and skin are to be touched, the skin denser at
the openings, and writes touch-list.csv to fill in by hand and, for a controller that
can probe, a touch-off program: safe approach, straight probe, retract, slow second
touch; pins, holes and edges from the side where the job gives their size and side_z.
The program is proven to be gentle. With --read FILE, takes the filled-in list or a
log back into the job: datums and heights, all else in it left as it was; the job and
the heights as they were are kept in the folder out. Repeated touches are held against
what was stated, and what more to touch is said; --more plans just that.`,
		flags: func(fs *pflag.FlagSet) func(*env, []string) int {
			var o jobOptions
			var top, reach, spacing, coarse, read, limit string
			var more, add bool
			o.bind(fs)
			fs.StringVar(&top, "top", "", "height that nothing of the work rises above, as the display shows it")
			fs.StringVar(&reach, "reach", "8", "how far below top the lowest skin may lie")
			fs.StringVar(&spacing, "spacing", "20", "distance of the touches at the openings")
			fs.StringVar(&coarse, "coarse", "", "distance of the touches between the openings (default: none there)")
			fs.StringVar(&read, "read", "", "filled-in list or log to read back")
			fs.StringVar(&limit, "limit", "0.1", "with --read and --more: how well the height must be known at the cuts")
			fs.BoolVar(&more, "more", false, "plan only the heights that are still missing")
			fs.BoolVar(&add, "add", false, "with --read: keep the heights that the job has, too")
			fs.StringVar(&o.out, "out", "", "folder for the outputs (default: out beside the job)")
			return func(e *env, args []string) int {
				if !e.wantArgs("measure", args, 1, 1, "one job file is needed") {
					return exitInput
				}
				var l diag.List
				length := func(name, text string) float64 {
					if text == "" {
						return math.NaN()
					}
					v, err := shop.ParseLength(text)
					if err != nil {
						l.Add(diag.Finding{Code: "length-broken", Severity: diag.Stop, Input: true, Subject: "--" + name, Message: err.Error(), Help: "write a number in mm, or text such as \"1/8 in\""})
					}
					return v
				}
				m := job.Measuring{Top: length("top", top), Reach: length("reach", reach), Spacing: length("spacing", spacing), Coarse: length("coarse", coarse)}
				most := length("limit", limit)
				if more {
					m.More = most
				}
				if l.Blocks() {
					return e.refuse(l)
				}
				if read != "" {
					return e.readMeasured(args[0], job.Reading{Name: filepath.Base(read), Limit: most, Add: add}, read, o)
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
	return e.hand(file, "touch", res, o, func() {
		add := ""
		if m.More > 0 {
			add = " --add"
		}
		fmt.Fprintf(e.err, "next: touch, fill in the list, then sparclear measure %s --read %s%s\n", file, filepath.Join(o.outDir(file), "touch-list.csv"), add)
	})
}

func (e *env) readMeasured(file string, r job.Reading, read string, o jobOptions) int {
	req, l := e.request(file, o)
	if l.Blocks() {
		return e.refuse(l)
	}
	var err error
	if r.Data, err = os.ReadFile(read); err != nil {
		return e.refuse(diag.List{unreadable("heights-missing", read, err)})
	}
	res, more, err := job.ReadMeasured(e.ctx, req, r)
	if err != nil {
		return e.interrupted(err)
	}
	if code := res.Findings.ExitCode(); code != 0 {
		return e.refuse(res.Findings)
	}
	// What was there before is safe in the folder out first.
	dir := o.outDir(file)
	d := realDisk{}
	if err = keepBefore(d, dir, res.Outputs); err == nil {
		err = writeBeside(d, dir, "", res.Outputs)
	}
	for _, f := range res.Edits {
		if to := beside(file, f.Name); err == nil {
			err = writeBeside(d, filepath.Dir(to), "", []job.Output{{Name: filepath.Base(to), Data: f.Data}})
		}
	}
	if err != nil {
		fmt.Fprintf(e.err, "sparclear: %s\n", plainWriteError(err))
		return exitElse
	}
	return e.told(dir, res, func() {
		for _, f := range res.Edits {
			fmt.Fprintf(e.err, "%s holds what was touched\n", beside(file, f.Name))
		}
		e.more(file, more)
	})
}

// beside is the path of a file that a job names.
func beside(job, name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(filepath.Dir(job), filepath.FromSlash(name))
}

// keepBefore gives each output that would take the place of another one a name that
// is free: what was measured before is not lost.
func keepBefore(d disk, dir string, outs []job.Output) error {
	names, err := d.ReadDir(dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	for i := range outs {
		if !strings.Contains(outs[i].Name, "-before") {
			continue
		}
		ext := filepath.Ext(outs[i].Name)
		stem := strings.TrimSuffix(outs[i].Name, ext)
		for n := 2; slices.Contains(names, outs[i].Name); n++ {
			outs[i].Name = fmt.Sprintf("%s-%d%s", stem, n, ext)
		}
	}
	return nil
}

// more says what else to touch.
func (e *env) more(file string, places []geom.Point) {
	if len(places) == 0 {
		return
	}
	fmt.Fprintln(e.err, "touch these places too, the worst first (program coordinates, mm):")
	for _, p := range places {
		fmt.Fprintf(e.err, "  X %.2f  Y %.2f\n", p.X, p.Y)
	}
	fmt.Fprintf(e.err, "next: sparclear measure %s --more --top …, touch them, and read them back with --add\n", file)
}
