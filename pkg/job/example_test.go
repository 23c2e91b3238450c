package job_test

import (
	"context"
	"fmt"
	"io/fs"

	"sparclear/internal/demo"
	"sparclear/pkg/job"
	"sparclear/pkg/proof"
)

// files is the folder of a job; here it is embedded, on disk it is job.Dir("…").
func files(name string) job.Files {
	sub, err := fs.Sub(demo.Files, name)
	if err != nil {
		panic(err)
	}
	return job.FromFS(sub)
}

// Cut openings in a finished wing: from the job file to a proven program.
func ExampleRun_wing() {
	res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Files: files("wing"), Goal: job.Prove})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("blocked:", res.Findings.Blocks())
	fmt.Println("proven:", res.Certificate.OK)
	for _, c := range res.Work.Cuts {
		fmt.Printf("%s: %s\n", c.Name, c.Kind)
	}
	// Output:
	// blocked: false
	// proven: true
	// hatch screws: drill
	// wire exit: opening
	// flap servo: opening
}

// Cut parts from sheet: parts that are not placed by hand are nested.
func ExampleRun_sheet() {
	res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Files: files("sheet"), Goal: job.Prove})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("proven:", res.Certificate.OK)
	for _, p := range res.Work.Parts {
		fmt.Println(p.Name)
	}
	// Output:
	// proven: true
	// bulkhead A 1
	// bulkhead B 1
	// bracket 1
	// bracket 2
	// bracket 3
}

// Prove a program from outside, here one whose deepest plunge somebody changed.
func ExampleRun_prove() {
	res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Files: files("wing"), Goal: job.Prove})
	if err != nil {
		fmt.Println(err)
		return
	}
	text := spoil(res.Programs[0].Text)
	cert, findings := proof.Prove(context.Background(), res.Work, []proof.Source{{File: "edited.nc", Text: text}})
	fmt.Println("proven:", cert.OK, "blocked:", findings.Blocks())
	// Output:
	// proven: false blocked: true
}

// spoil lets the first feed move go 30 mm deeper than it was written.
func spoil(text []byte) []byte {
	return []byte(string(text[:len(text)/2]) + "\nG1 Z-30 F100\n" + string(text[len(text)/2:]))
}
