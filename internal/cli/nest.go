package cli

import (
	"fmt"

	"github.com/spf13/pflag"

	"sparclear/pkg/job"
)

func nestCommand() command {
	return command{name: "nest", args: "JOB", short: "place the parts of a sheet job",
		long: `Places the parts of a sheet job that are not placed by hand and writes layout.toml
(placements that can be edited and named in the job by layout = "…"), the layout
as DXF and SVG, and the remnant as a DXF that can be the next job's sheet, to the
folder out beside the job. No program is written.`,
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

func (e *env) nest(file string, o jobOptions) int {
	res, _, err := e.runJob(file, o, job.Resolve)
	if err != nil {
		return e.interrupted(err)
	}
	if code := res.Findings.ExitCode(); code != 0 {
		return e.refuse(res.Findings)
	}
	outs, l := job.LayoutFiles(res)
	if l.Blocks() {
		return e.refuse(append(res.Findings, l...))
	}
	dir := o.outDir(file)
	if err := writeAll(realDisk{}, dir, outs); err != nil {
		fmt.Fprintf(e.err, "sparclear: %s\nnothing was written\n", plainWriteError(err))
		return exitElse
	}
	if e.json {
		r := reportOf(nil, res.Findings, writtenNames(dir, outs))
		e.printJSON(r)
		return exitDone
	}
	e.findings(res.Findings)
	for _, n := range writtenNames(dir, outs) {
		fmt.Fprintln(e.out, n)
	}
	fmt.Fprintf(e.err, "%d parts placed\nnext: sparclear cut %s\n", len(res.Work.Parts), file)
	return exitDone
}
