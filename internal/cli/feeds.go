package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/pflag"

	"sparclear/pkg/diag"
	"sparclear/pkg/shop"
)

func feedsCommand() command {
	return command{name: "feeds", args: "", short: "cutting data for a cutter in a material on a machine",
		long: `Prints speed, feeds, depth per pass, chip, power, force and deflection, each with
its unit and where it comes from. Forces in composites are estimates: the specific
cutting force assumed stands beside them.`,
		flags: func(fs *pflag.FlagSet) func(*env, []string) int {
			var o jobOptions
			var machine, cutter, material, depth, width, tol string
			var drill, finish bool
			fs.StringVar(&machine, "machine", "small-router-metric", "machine")
			fs.StringVar(&cutter, "cutter", "", "cutter")
			fs.StringVar(&material, "material", "", "material")
			fs.StringVar(&depth, "depth", "", "depth of the whole cut, such as 1.8 or \"1/16 in\"")
			fs.StringVar(&width, "width", "", "working engagement; default: a slot of full width")
			fs.StringVar(&tol, "tolerance", "0.1", "tolerance of the finished edge")
			fs.BoolVar(&drill, "drill", false, "straight down with a drill")
			fs.BoolVar(&finish, "finish", false, "a finish pass")
			fs.StringVar(&o.profiles, "profiles", "", "folder with your own machines, cutters and materials (or SPARCLEAR_PROFILES)")
			return func(e *env, args []string) int {
				if len(args) > 0 {
					fmt.Fprintln(e.err, "sparclear feeds: takes options only; see sparclear feeds --help")
					return exitInput
				}
				lib, l := e.library(o.profiles)
				if l.Blocks() {
					return e.refuse(l)
				}
				en := shop.Engagement{Drill: drill, Finish: finish, Slot: width == ""}
				for _, x := range []struct {
					name, text string
					to         *float64
				}{{"depth", depth, &en.Depth}, {"width", width, &en.Width}, {"tolerance", tol, &en.Tolerance}} {
					if x.text == "" {
						continue
					}
					v, err := shop.ParseLength(x.text)
					if err != nil {
						l.Add(diag.Finding{Code: "length-broken", Severity: diag.Stop, Input: true, Subject: "--" + x.name, Message: err.Error(), Help: "write a number in mm, or text such as \"1/8 in\""})
					}
					*x.to = v
				}
				m, bad := lib.Machine(machine)
				addBad(&l, bad)
				c, bad := lib.Cutter(cutter)
				addBad(&l, bad)
				mat, bad := lib.Material(material)
				addBad(&l, bad)
				if l.Blocks() {
					return e.refuse(l)
				}
				d, found := shop.Data(m, c, mat, en)
				return e.printFeeds(d, append(l, found...))
			}
		}}
}

func addBad(l *diag.List, f *diag.Finding) {
	if f != nil {
		f.Input = true
		l.Add(*f)
	}
}

func (e *env) printFeeds(d shop.CuttingData, l diag.List) int {
	if e.json {
		e.printJSON(map[string]any{"schema": 1, "ok": !l.Blocks(), "data": notNil(d.Rows()), "findings": notNil(l.Sorted())})
		return l.ExitCode()
	}
	e.findings(l)
	if l.Blocks() {
		return l.ExitCode()
	}
	fmt.Fprintf(e.out, "%s in %s on %s, %s\n", d.Cutter, d.Material, d.Machine, d.Mode)
	printRows(e.out, d.Rows())
	fmt.Fprintln(e.out, strings.TrimSpace("These are figures to start from; listen, look at the edge, and change them in the job."))
	return exitDone
}
