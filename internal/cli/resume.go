package cli

import (
	"fmt"
	"time"

	"github.com/spf13/pflag"

	"sparclear/pkg/job"
	"sparclear/pkg/plan"
)

func resumeCommand() command {
	return command{name: "resume", args: "JOB", short: "go on after a broken cutter, from a pass",
		long: `Without --from, lists the passes of the job in their order. With --from N, writes
a program that starts again with pass N: down to a place that is known to be cut
free, spindle up, ramp back in, and everything that follows. It is proven together
with what was cut before. Touch off the new cutter and look that nothing has moved.`,
		flags: func(fs *pflag.FlagSet) func(*env, []string) int {
			var o jobOptions
			var from int
			o.bind(fs)
			o.bindSheet(fs)
			fs.IntVar(&from, "from", 0, "number of the pass to start with")
			fs.StringVar(&o.out, "out", "", "folder for the outputs (default: out beside the job)")
			return func(e *env, args []string) int {
				if !e.wantArgs("resume", args, 1, 1, "one job file is needed") {
					return exitInput
				}
				if from == 0 {
					return e.stages(args[0], o)
				}
				return e.resume(args[0], from, o)
			}
		}}
}

func (e *env) stages(file string, o jobOptions) int {
	req, l := e.request(file, o)
	if l.Blocks() {
		return e.refuse(l)
	}
	res, stages, err := job.Stages(e.ctx, req)
	if err != nil {
		return e.interrupted(err)
	}
	if code := res.Findings.ExitCode(); code != 0 {
		return e.refuse(res.Findings)
	}
	if e.json {
		e.printJSON(map[string]any{"schema": 1, "ok": true, "stages": stagesJSON(stages)})
		return exitDone
	}
	for i, s := range stages {
		fmt.Fprintf(e.out, "%4d  %-28s %-10s pass %d of %d, to %.2f mm, from X %.2f Y %.2f\n", i+1, s.Cut, s.Op, s.Pass, s.Passes, s.Depth, s.Start[0], s.Start[1])
	}
	fmt.Fprintf(e.err, "next: sparclear resume %s --from N, with the pass that was not finished\n", file)
	return exitDone
}

type stageJSON struct {
	From   int        `json:"from"`
	Cut    string     `json:"cut"`
	Op     string     `json:"operation"`
	Pass   int        `json:"pass"`
	Passes int        `json:"passes"`
	Depth  float64    `json:"depth_mm"`
	Start  [2]float64 `json:"start_mm"`
}

func stagesJSON(l []plan.Stage) []stageJSON {
	out := []stageJSON{}
	for i, s := range l {
		out = append(out, stageJSON{i + 1, s.Cut, s.Op, s.Pass, s.Passes, round4(s.Depth), [2]float64{round4(s.Start[0]), round4(s.Start[1])}})
	}
	return out
}

func (e *env) resume(file string, from int, o jobOptions) int {
	req, l := e.request(file, o)
	if l.Blocks() {
		return e.refuse(l)
	}
	start := time.Now()
	res, err := job.Resume(e.ctx, req, from-1)
	if err != nil {
		return e.interrupted(err)
	}
	return e.hand(file, "resume", res, o, func() { e.summary(res.Certificate, time.Since(start)) })
}
