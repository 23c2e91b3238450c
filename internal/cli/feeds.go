package cli

import (
	"fmt"
	"math"

	"github.com/spf13/pflag"

	"sparclear/pkg/diag"
	"sparclear/pkg/job"
	"sparclear/pkg/picture"
	"sparclear/pkg/proof"
	"sparclear/pkg/shop"
)

func feedsCommand() command {
	return command{name: "feeds", args: "[JOB]", short: "cutting data of a job, or for a cutter in a material on a machine",
		long: `Prints speed, feeds, depth per pass, chip, power, force and deflection, each with
its unit and where it comes from. Forces in composites are estimates: the specific
cutting force assumed stands beside them, --kc puts a measured one in its place.
With a job, prints the data of each of its cuts, the feed that the machine reaches
in them, how far each cutter cuts, and how the edges meet the fibre.`,
		flags: func(fs *pflag.FlagSet) func(*env, []string) int {
			var o jobOptions
			var machine, cutter, material, depth, width, tol, pass, block string
			var drill, finish bool
			var rpm, feed, kc float64
			fs.StringVar(&machine, "machine", "small-router-metric", "machine")
			fs.StringVar(&cutter, "cutter", "", "cutter")
			fs.StringVar(&material, "material", "", "material")
			fs.StringVar(&depth, "depth", "", "depth of the whole cut, such as 1.8 or \"1/16 in\"")
			fs.StringVar(&width, "width", "", "working engagement; default: a slot of full width")
			fs.StringVar(&tol, "tolerance", "0.1", "tolerance of the finished edge")
			fs.StringVar(&pass, "pass", "", "depth per pass; default: by the material's data")
			fs.StringVar(&block, "block", "", "typical length of a block of the path; default: long")
			fs.Float64Var(&rpm, "rpm", 0, "spindle speed; default: by the material's data")
			fs.Float64Var(&feed, "feed", 0, "feed in mm/min; default: by the material's data")
			fs.Float64Var(&kc, "kc", 0, "measured specific cutting force in N/mm²")
			fs.BoolVar(&drill, "drill", false, "straight down with a drill")
			fs.BoolVar(&finish, "finish", false, "a finish pass")
			fs.StringVar(&o.profiles, "profiles", "", "folder with your own machines, cutters and materials (or SPARCLEAR_PROFILES)")
			return func(e *env, args []string) int {
				if len(args) > 0 {
					if !e.wantArgs("feeds", args, 1, 1, "one job file, or options only") {
						return exitInput
					}
					return e.jobFeeds(args[0], o)
				}
				if cutter == "" || material == "" {
					fmt.Fprintln(e.err, "sparclear feeds: name a job, or --cutter and --material; sparclear shop lists them")
					return exitInput
				}
				lib, l := e.library(o.profiles)
				if l.Blocks() {
					return e.refuse(l)
				}
				en := shop.Engagement{Drill: drill, Finish: finish, Slot: width == "", RPM: rpm, Feed: feed}
				for _, x := range []struct {
					name, text string
					to         *float64
				}{{"depth", depth, &en.Depth}, {"width", width, &en.Width}, {"tolerance", tol, &en.Tolerance}, {"pass", pass, &en.Pass}, {"block", block, &en.Block}} {
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
				if kc != 0 {
					mat = mat.Measured(kc)
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
	fmt.Fprintln(e.out, "These are figures to start from; listen, look at the edge, and change them in the job.")
	return exitDone
}

// cutFeeds are the cutting data of one cut of a job, for --json.
type cutFeeds struct {
	Cut     string     `json:"cut"`
	Kind    string     `json:"kind"`
	Data    []shop.Row `json:"data"`
	Reached float64    `json:"feed_reached_mm_min,omitempty"`
	ShortMM float64    `json:"slow_mm,omitempty"`
	PathMM  float64    `json:"path_mm,omitempty"`
}

// jobFeeds prints the cutting data of a job.
func (e *env) jobFeeds(file string, o jobOptions) int {
	res, _, err := e.runJob(file, o, job.Prove)
	if err != nil {
		return e.interrupted(err)
	}
	if res.Work == nil || len(res.Programs) == 0 {
		return e.refuse(res.Findings)
	}
	reach, err := picture.Reached(res.Scene())
	if err != nil {
		fmt.Fprintf(e.err, "sparclear feeds: %v\n", err)
		return exitElse
	}
	by := map[string]picture.Reach{}
	for _, r := range reach {
		by[r.Cut] = r
	}
	var cuts []cutFeeds
	for _, c := range res.Work.Cuts {
		r := by[c.Name]
		cuts = append(cuts, cutFeeds{Cut: c.Name, Kind: string(c.Kind), Data: c.Data.Rows(), Reached: math.Round(r.Mean), ShortMM: r.Short, PathMM: r.Path})
	}
	if e.json {
		e.printJSON(map[string]any{"schema": 1, "ok": !res.Findings.Blocks(), "cuts": notNil(cuts), "wear": notNil(wearOf(res)), "fibre": notNil(res.Certificate.Fibre), "findings": notNil(res.Findings.Sorted())})
		return res.Findings.ExitCode()
	}
	e.findings(res.Findings)
	said := map[string]bool{}
	for _, c := range cuts {
		key := fmt.Sprintf("%s %v", c.Kind, c.Data)
		if said[key] { // copies of a part are cut alike
			fmt.Fprintf(e.out, "%s: as above\n", c.Cut)
			continue
		}
		said[key] = true
		fmt.Fprintf(e.out, "%s (%s)\n", c.Cut, c.Kind)
		printRows(e.out, c.Data)
		if c.Reached > 0 {
			printRows(e.out, []shop.Row{{Name: "mean feed reached in the program", Value: c.Reached, Unit: "mm/min", Source: "program text, acceleration"},
				{Name: "path that reaches less than 90 %", Value: math.Round(c.ShortMM), Unit: "mm", Source: "program text, acceleration", Range: fmt.Sprintf("of %.0f", c.PathMM)}})
		}
	}
	e.printWear(wearOf(res))
	e.printFibre(res.Certificate.Fibre)
	return res.Findings.ExitCode()
}

// cutterWear is how far a cutter cuts, for --json.
type cutterWear struct {
	Cutter  string   `json:"cutter"`
	Metres  float64  `json:"metres"`
	Before  float64  `json:"before_m"`
	Life    float64  `json:"life_m,omitempty"`
	Changes []string `json:"fresh_before,omitempty"`
}

func wearOf(res *job.Result) (out []cutterWear) {
	for _, u := range res.Work.Wear {
		w := cutterWear{Cutter: res.Work.Cutters[u.Cutter].Name, Metres: math.Round(u.Metres*100) / 100, Before: u.Before, Life: u.Life}
		for _, c := range u.Changes {
			w.Changes = append(w.Changes, c.Cut)
		}
		out = append(out, w)
	}
	return out
}

func (e *env) printWear(all []cutterWear) {
	for _, w := range all {
		text := fmt.Sprintf("%s cuts %.2f m", w.Cutter, w.Metres)
		if w.Life > 0 {
			text += fmt.Sprintf(", blunt after about %.0f m (%.0f m were cut before)", w.Life, w.Before)
		}
		for _, c := range w.Changes {
			text += ", fresh one before " + c
		}
		fmt.Fprintln(e.out, text)
	}
}

// printFibre prints how edges meet the fibre: classes of 15° and the stretches that
// are cut against it.
func (e *env) printFibre(all []proof.Fibre) {
	if len(all) > 0 {
		fmt.Fprintln(e.out, "fibre: mm of edge by the angle between the way of the tooth and the top ply, 15° each; beyond 90° against it")
	}
	for _, f := range all {
		text := ""
		for _, l := range f.Histogram {
			text += fmt.Sprintf(" %4.0f", l)
		}
		fmt.Fprintf(e.out, "  %-28s%s   against %.0f of %.0f mm\n", f.Of, text, f.AgainstMM, f.EdgeMM)
		for _, s := range f.Stretches {
			fmt.Fprintf(e.out, "    machine X%.2f Y%.2f to X%.2f Y%.2f: %.1f mm at %.0f to %.0f°\n", s.From[0], s.From[1], s.To[0], s.To[1], s.Length, s.Angles[0], s.Angles[1])
		}
	}
}
