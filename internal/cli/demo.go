package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"

	"github.com/spf13/pflag"

	"sparclear/internal/demo"
)

func demoCommand() command {
	return command{name: "demo", args: "DIR", short: "write two demo jobs into DIR and run them",
		long: `Writes DIR/wing (a hollow moulded panel: flap servo, screw holes, wire exit near a
spar and two ribs) and DIR/sheet (two bulkheads and three brackets from carbon
sheet), each with its drawings and job.toml, and runs both. Files of the same name
in DIR are not overwritten.`,
		flags: func(fs *pflag.FlagSet) func(*env, []string) int {
			var o jobOptions
			o.bind(fs)
			return func(e *env, args []string) int {
				if !e.wantArgs("demo", args, 1, 1, "one folder is needed") {
					return exitInput
				}
				return e.demo(args[0], o)
			}
		}}
}

func (e *env) demo(dir string, o jobOptions) int {
	if err := unpack(demo.Files, dir); err != nil {
		fmt.Fprintf(e.err, "sparclear: %s\n", plainWriteError(err))
		return exitElse
	}
	var reports []json.RawMessage
	code := exitDone
	for _, name := range []string{"wing", "sheet"} {
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

// unpack writes the demo files that are not there yet.
func unpack(files fs.FS, dir string) error {
	return fs.WalkDir(files, ".", func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		to := filepath.Join(dir, filepath.FromSlash(path.Clean(p)))
		if d.IsDir() {
			return os.MkdirAll(to, 0o755)
		}
		if _, err := os.Stat(to); err == nil {
			return nil
		}
		b, err := fs.ReadFile(files, p)
		if err != nil {
			return err
		}
		return os.WriteFile(to, b, 0o644)
	})
}
