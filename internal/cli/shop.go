package cli

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/pflag"

	"sparclear/pkg/diag"
	"sparclear/pkg/shop"
)

func shopCommand() command {
	return command{name: "shop", args: "[NAME…]", short: "list machines, cutters and materials, or show some",
		long: `Without a name, lists the machines, cutters and materials that a job can name.
With names, shows every value with its unit and where it comes from.`,
		flags: func(fs *pflag.FlagSet) func(*env, []string) int {
			var o jobOptions
			fs.StringVar(&o.profiles, "profiles", "", "folder with your own machines, cutters and materials (or SPARCLEAR_PROFILES)")
			return func(e *env, args []string) int { return e.shop(args, o) }
		}}
}

// profile is one entry of the shop, for --json.
type profile struct {
	Kind   string      `json:"kind"`
	Name   string      `json:"name"`
	Title  string      `json:"title"`
	Values []shop.Item `json:"values,omitempty"`
	items  func() []shop.Item
}

func (e *env) shop(names []string, o jobOptions) int {
	lib, l := e.library(o.profiles)
	if l.Blocks() {
		return e.refuse(l)
	}
	all := profilesOf(lib)
	show := all
	if len(names) > 0 {
		show = nil
		for _, n := range names {
			found := false
			for _, p := range all {
				if p.Name == n {
					p.Values = p.items()
					show, found = append(show, p), true
				}
			}
			if !found {
				var have []string
				for _, p := range all {
					have = append(have, p.Name)
				}
				l.Add(diag.Finding{Code: "profile-unknown", Severity: diag.Stop, Input: true, Message: fmt.Sprintf("nothing in the shop is named %q", n), Help: diag.DidYouMean(n, have)})
			}
		}
	}
	if l.Blocks() {
		return e.refuse(l)
	}
	if e.json {
		e.printJSON(map[string]any{"schema": 1, "profiles": notNil(show), "findings": notNil(l)})
		return exitDone
	}
	e.findings(l)
	kind := ""
	for _, p := range show {
		if p.Kind != kind {
			kind = p.Kind
			fmt.Fprintf(e.out, "%s\n", kind)
		}
		fmt.Fprintf(e.out, "  %-26s %s\n", p.Name, p.Title)
		printItems(e.out, p.Values)
	}
	return exitDone
}

// refuse prints findings and returns their exit code.
func (e *env) refuse(l diag.List) int {
	if e.json {
		e.printJSON(map[string]any{"schema": 1, "ok": false, "findings": notNil(l.Sorted())})
	} else {
		e.findings(l)
	}
	return l.ExitCode()
}

func profilesOf(lib *shop.Library) []profile {
	var out []profile
	for _, n := range lib.Machines() {
		m, _ := lib.Machine(n)
		out = append(out, profile{Kind: "machine", Name: n, Title: m.Title, items: m.Items})
	}
	for _, n := range lib.Cutters() {
		c, _ := lib.Cutter(n)
		out = append(out, profile{Kind: "cutter", Name: n, Title: c.Title, items: c.Items})
	}
	for _, n := range lib.Materials() {
		m, _ := lib.Material(n)
		out = append(out, profile{Kind: "material", Name: n, Title: m.Title, items: m.Items})
	}
	return out
}

// printRows prints cutting data, a line each.
func printRows(w io.Writer, rows []shop.Row) {
	for _, r := range rows {
		span := ""
		if r.Range != "" {
			span = "(" + r.Range + ")"
		}
		line := fmt.Sprintf("  %-34s %-6s %10.4g %-8s %-22s %s", r.Name, r.Symbol, r.Value, r.Unit, span, r.Source)
		fmt.Fprintln(w, strings.TrimRight(line, " "))
	}
}

// printItems prints the values of a profile, a line each.
func printItems(w io.Writer, items []shop.Item) {
	for _, i := range items {
		line := fmt.Sprintf("    %-28s %-26s %-8s %s", i.Key, i.Value, i.Unit, i.Source)
		fmt.Fprintln(w, strings.TrimRight(line, " "))
	}
}
