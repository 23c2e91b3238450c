package cli

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/pflag"

	"sparclear/pkg/diag"
	"sparclear/pkg/job"
	"sparclear/pkg/proof"
	"sparclear/pkg/work"
)

func proveCommand() command {
	return command{name: "prove", args: "JOB PROGRAM…", short: "hold any program against a job",
		long: `Reads programs, also ones written or edited by hand, and proves them against the
job: members, depth, rapids, shape, holding, travel and sense. The programs of one
job are given together, in the order in which they run. With --certificate the
certificate of an earlier run is held against job and programs as well: one
changed byte is noticed.`,
		flags: func(fs *pflag.FlagSet) func(*env, []string) int {
			var o jobOptions
			var cert string
			o.bind(fs)
			o.bindSheet(fs)
			fs.StringVar(&cert, "certificate", "", "certificate to check against")
			return func(e *env, args []string) int {
				if !e.wantArgs("prove", args, 2, -1, "a job file and at least one program are needed") {
					return exitInput
				}
				return e.prove(args[0], args[1:], cert, o)
			}
		}}
}

func (e *env) prove(file string, programs []string, cert string, o jobOptions) int {
	res, _, err := e.runJob(file, o, job.Resolve)
	if err != nil {
		return e.interrupted(err)
	}
	l := res.Findings
	if !l.Blocks() {
		one, unsaid := res.Piece(o.sheet)
		if l = append(l, unsaid...); one != nil {
			res = one
		}
	}
	var c *proof.Certificate
	if !l.Blocks() {
		var src []proof.Source
		for _, p := range programs {
			if f := mistaken(p, "program"); f != nil {
				l.Add(*f)
				continue
			}
			text, err := os.ReadFile(p)
			if err != nil {
				l.Add(unreadable("program-missing", p, err))
				continue
			}
			src = append(src, proof.Source{File: filepath.Base(p), Text: text})
		}
		if !l.Blocks() {
			var found diag.List
			c, found = e.hold(res.Work, src, cert)
			if err := e.ctx.Err(); err != nil {
				return e.interrupted(err)
			}
			l = append(l, job.Accept(res, found)...)
		}
	}
	code := l.ExitCode()
	if code == 0 && (c == nil || !c.OK) {
		code = exitRefused
	}
	if e.json {
		e.printJSON(reportOf(c, l, nil))
		return code
	}
	e.findings(l)
	if code == 0 {
		fmt.Fprintln(e.out, "proven")
		e.summary(c, 0)
	} else {
		fmt.Fprintln(e.err, "not proven: do not run it")
	}
	return code
}

// hold proves programs, and holds the certificate of an earlier run against them
// when one is named.
func (e *env) hold(w *work.Work, src []proof.Source, cert string) (*proof.Certificate, diag.List) {
	if cert == "" {
		return proof.Prove(e.ctx, w, src)
	}
	b, err := os.ReadFile(cert)
	if err != nil {
		return nil, diag.List{unreadable("certificate-missing", cert, err)}
	}
	return proof.Recheck(e.ctx, filepath.Base(cert), toolName(), b, w, src)
}
