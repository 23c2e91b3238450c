package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"sparclear/internal/demo"
	"sparclear/pkg/diag"
)

func demoCommand() command {
	return command{name: "demo", args: "DIR", short: "write two demo jobs into DIR and run them",
		long: `Writes DIR/wing (a hollow moulded panel: flap servo, screw holes, wire exit near a
spar and two ribs) and DIR/sheet (two bulkheads and three brackets from carbon
sheet), each with its drawings and job.toml, and runs both. With --kind, writes
DIR/KIND instead: a small job that shows one kind of cut, or "onion", "corners",
"fit"; "all" writes them all, "wing" or "sheet" is one of the two. Files of the same
name in DIR are not overwritten.`,
		flags: func(fs *pflag.FlagSet) func(*env, []string) int {
			var o jobOptions
			var kinds []string
			o.bind(fs)
			fs.StringSliceVar(&kinds, "kind", nil, "small jobs in place of the two: "+strings.Join(demo.Kinds(), ", ")+", or all")
			return func(e *env, args []string) int {
				if !e.wantArgs("demo", args, 1, 1, "one folder is needed") {
					return exitInput
				}
				if len(kinds) > 0 {
					return e.kindDemos(args[0], kinds, o)
				}
				return e.kindDemos(args[0], largeDemos, o)
			}
		}}
}

// largeDemos are the two jobs that show the whole way.
var largeDemos = []string{"wing", "sheet"}

func (e *env) cannotUnpack(err error) int {
	fmt.Fprintf(e.err, "sparclear: %s\n", plainWriteError(err))
	return exitElse
}

// kindDemos writes demo jobs by name and runs them.
func (e *env) kindDemos(dir string, kinds []string, o jobOptions) int {
	if slices.Contains(kinds, "all") {
		kinds = demo.Kinds()
	}
	for _, k := range kinds {
		if slices.Contains(largeDemos, k) {
			if err := unpack(demo.Files, k, dir); err != nil {
				return e.cannotUnpack(err)
			}
			continue
		}
		files, ok := demo.Kind(k)
		if !ok {
			var l diag.List
			l.Add(diag.Finding{Code: "demo-unknown", Severity: diag.Stop, Input: true, Message: fmt.Sprintf("there is no demo of %q", k), Help: diag.DidYouMean(k, append(demo.Kinds(), "all", "wing", "sheet"))})
			return e.refuse(l)
		}
		for name, b := range files {
			if err := unpackFile(filepath.Join(dir, k, name), b); err != nil {
				return e.cannotUnpack(err)
			}
		}
	}
	return e.runDemos(dir, kinds, o)
}

// runDemos cuts the job of each folder below dir.
func (e *env) runDemos(dir string, names []string, o jobOptions) int {
	var reports []json.RawMessage
	code := exitDone
	for _, name := range names {
		file := filepath.Join(dir, name, "job.toml")
		if !e.json {
			fmt.Fprintf(e.err, "%s: sparclear cut %s\n", name, file)
			if code := e.cut(file, o); code != exitDone {
				return code
			}
			continue
		}
		var b bytes.Buffer
		one := *e
		one.out = &stream{w: &b}
		code = max(code, one.cut(file, o))
		reports = append(reports, b.Bytes())
	}
	if e.json {
		e.printJSON(map[string]any{"schema": 1, "ok": code == exitDone, "jobs": reports})
	}
	return code
}

// unpack writes those files of a folder that are not there yet.
func unpack(files fs.FS, folder, dir string) error {
	return fs.WalkDir(files, folder, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		to := filepath.Join(dir, filepath.FromSlash(path.Clean(p)))
		if d.IsDir() {
			return os.MkdirAll(to, 0o755)
		}
		b, err := fs.ReadFile(files, p)
		if err != nil {
			return err
		}
		return unpackFile(to, b)
	})
}

// unpackFile writes one demo file that is not there yet, with its folder.
func unpackFile(to string, b []byte) error {
	if _, err := os.Stat(to); err == nil {
		return nil
	}
	if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
		return err
	}
	return os.WriteFile(to, b, 0o644)
}
