// Package cli is the outermost layer: flags, files, terminal and clock. It calls
// the packages under pkg and computes nothing itself.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"strings"
	"syscall"

	"github.com/spf13/pflag"

	"sparclear/pkg/diag"
)

// Version is the version of the tool; it stands in certificates and run sheets.
const Version = "0.1.0"

// toolName stands in certificates.
func toolName() string { return "sparclear " + Version }

// The exit codes.
const (
	exitDone    = 0 // done
	exitElse    = 1 // anything else: disk full, no permission to write, interrupted
	exitInput   = 2 // input or command wrong
	exitRefused = 3 // not proven, so not written
)

// command is one word after sparclear. flags binds its options to a fresh set
// and returns what runs when they have been read.
type command struct {
	name  string
	args  string
	short string
	long  string
	flags func(*pflag.FlagSet) func(*env, []string) int
}

// env is the world that a command sees.
type env struct {
	ctx    context.Context
	in     io.Reader
	out    *stream
	err    *stream
	json   bool
	colour bool
}

func commands() []command {
	return []command{
		lookCommand(), checkCommand(), cutCommand(), proveCommand(), nestCommand(), measureCommand(), traceCommand(), resumeCommand(), compareCommand(),
		feedsCommand(), shopCommand(), demoCommand(),
	}
}

// Run runs one command line and returns the exit code. Results go to stdout,
// talk to stderr.
func Run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	e := &env{ctx: ctx, in: stdin, out: &stream{w: stdout}, err: &stream{w: stderr}}
	code := e.run(args)
	if e.out.broken() { // a closed pipe ends quietly, but not as a success of writing
		if errors.Is(e.out.failed, syscall.EPIPE) {
			return code
		}
		fmt.Fprintf(stderr, "sparclear: cannot write the result: %v\n", e.out.failed)
		return exitElse
	}
	return code
}

func (e *env) run(args []string) int {
	if len(args) == 0 {
		usage(e.err)
		return exitInput
	}
	switch args[0] {
	case "help", "--help", "-h":
		if len(args) > 1 && !slices.Contains([]string{"help", "--help", "-h"}, args[1]) {
			return e.helpOn(args[1])
		}
		usage(e.out)
		return exitDone
	case "--version", "version":
		fmt.Fprintln(e.out, "sparclear "+Version)
		return exitDone
	}
	var names []string
	for _, c := range commands() {
		if c.name == args[0] {
			return e.runCommand(c, args[1:])
		}
		names = append(names, c.name)
	}
	fmt.Fprintf(e.err, "sparclear: no command %q", args[0])
	if n := diag.Nearest(args[0], names); n != "" {
		fmt.Fprintf(e.err, "; did you mean %s?", n)
	}
	fmt.Fprintf(e.err, "\ncommands: %s\n", strings.Join(names, ", "))
	return exitInput
}

// helpOn prints the page of a command, a kind of cut or a finding.
func (e *env) helpOn(word string) int {
	if e.jobHelp(word) || e.sheetHelp(word) || e.kindHelp(word) || e.findingHelp(word) {
		return exitDone
	}
	pages := append([]string{"job", "sheet", "codes"}, paragraphs().Codes()...)
	for _, k := range kindPages {
		pages = append(pages, string(k.kind))
	}
	for _, b := range besides {
		pages = append(pages, b.name)
	}
	for _, c := range commands() {
		if c.name == word {
			return e.runCommand(c, []string{"--help"})
		}
		pages = append(pages, c.name)
	}
	fmt.Fprintf(e.err, "sparclear: no page of help about %q", word)
	if n := diag.Nearest(word, pages); n != "" {
		fmt.Fprintf(e.err, "; did you mean %s?", n)
	}
	fmt.Fprintln(e.err, "\nsparclear help lists commands and kinds of cut, sparclear help codes the findings")
	return exitInput
}

func (e *env) runCommand(c command, args []string) int {
	fs := pflag.NewFlagSet(c.name, pflag.ContinueOnError)
	fs.SetOutput(io.Discard)
	fs.SortFlags = false
	run := c.flags(fs)
	fs.BoolVar(&e.json, "json", false, "print one JSON object on standard output")
	noColor := fs.Bool("no-color", false, "no colours")
	help := fs.BoolP("help", "h", false, "this text")
	if err := fs.Parse(args); err != nil {
		fmt.Fprintf(e.err, "sparclear %s: %s\n", c.name, flagFault(err, fs))
		return exitInput
	}
	if *help {
		fmt.Fprintf(e.out, "sparclear %s %s\n\n%s\n\noptions:\n%s", c.name, c.args, strings.TrimSpace(c.long), optionHelp(fs))
		return exitDone
	}
	e.colour = !*noColor && e.err.isTerminal() && os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
	return run(e, fs.Args())
}

// flagFault names the nearest real option for a mistyped one.
func flagFault(err error, fs *pflag.FlagSet) string {
	msg := err.Error()
	word, ok := strings.CutPrefix(msg, "unknown flag: --")
	if !ok {
		return msg
	}
	var names []string
	fs.VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
	if n := diag.Nearest(word, names); n != "" {
		return msg + "; did you mean --" + n + "?"
	}
	return msg
}

func usage(w io.Writer) {
	fmt.Fprint(w, `sparclear turns 2D outlines into proven RS-274 programs for a three-axis router:
openings in finished wings, parts from sheet. What is not proven is not written.

usage: sparclear COMMAND [options] …

`)
	for _, c := range commands() {
		fmt.Fprintf(w, "  %-8s %-14s %s\n", c.name, c.args, c.short)
	}
	fmt.Fprint(w, `
sparclear help job: every key of a job file; help sheet: those of parts from sheet

kinds of cut (sparclear help KIND):
`)
	for _, k := range kindPages {
		fmt.Fprintf(w, "  %-8s %s\n", k.kind, k.short)
	}
	for _, b := range besides {
		fmt.Fprintf(w, "  %-8s %s\n", b.name, b.short)
	}
	fmt.Fprint(w, `
sparclear COMMAND --help says more, sparclear help CODE what a finding means, the
word in square brackets behind it; sparclear help codes lists them all.
Exit codes: 0 done, 2 input or command wrong, 3 refused because not proven, 1 anything else.
`)
}

// wantArgs refuses a wrong number of arguments.
func (e *env) wantArgs(cmd string, args []string, lo, hi int, what string) bool {
	if len(args) >= lo && (hi < 0 || len(args) <= hi) {
		return true
	}
	fmt.Fprintf(e.err, "sparclear %s: %s; see sparclear %s --help\n", cmd, what, cmd)
	return false
}
