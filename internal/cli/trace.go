package cli

import (
	"time"

	"github.com/spf13/pflag"

	"sparclear/pkg/diag"
	"sparclear/pkg/job"
	"sparclear/pkg/shop"
)

func traceCommand() command {
	return command{name: "trace", args: "JOB", short: "write an air pass above the skin, spindle stopped",
		long: `Writes a program that follows every outline of the job at a height above the
local skin with the spindle stopped, so that you see that it lies right before
anything is cut. It is proven like any program: the tip never comes nearer to the
skin, members and clamps keep their clearance, the spindle never turns.`,
		flags: func(fs *pflag.FlagSet) func(*env, []string) int {
			var o jobOptions
			var height string
			o.bind(fs)
			o.bindSheet(fs)
			fs.StringVar(&height, "height", "3", "height above the skin, mm or with its unit")
			fs.StringVar(&o.out, "out", "", "folder for the outputs (default: out beside the job)")
			return func(e *env, args []string) int {
				if !e.wantArgs("trace", args, 1, 1, "one job file is needed") {
					return exitInput
				}
				h, err := shop.ParseLength(height)
				if err != nil {
					return e.refuse(diag.List{{Code: "length-broken", Severity: diag.Stop, Input: true, Subject: "--height", Message: err.Error(), Help: "write a number in mm, or text such as \"1/8 in\""}})
				}
				return e.trace(args[0], h, o)
			}
		}}
}

func (e *env) trace(file string, height float64, o jobOptions) int {
	req, l := e.request(file, o)
	if l.Blocks() {
		return e.refuse(l)
	}
	start := time.Now()
	res, err := job.Trace(e.ctx, req, height)
	if err != nil {
		return e.interrupted(err)
	}
	return e.hand(file, "trace", res, o, func() { e.summary(res.Certificate, time.Since(start)) })
}
