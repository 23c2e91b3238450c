// Package job reads a job file, resolves it to a work value and runs the whole
// row of rooms in memory: drawing, place, plan, program, proof, picture. It opens
// no file but through Files, writes none, and knows neither clock nor terminal.
//
//	res, err := job.Run(ctx, job.Request{Name: "job.toml", Files: job.Dir("wing")})
//	if err == nil && !res.Findings.Blocks() { … res.Outputs … }
//
// A result whose findings block carries no outputs: what is not proven is not
// handed out.
package job

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/drawing"
	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/nest"
	"sparclear/pkg/proof"
	"sparclear/pkg/shop"
	"sparclear/pkg/skin"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

// Files reads the files that a job names, by the name that stands in the job.
type Files interface {
	ReadFile(name string) ([]byte, error)
}

// Dir reads files of one folder of the disk; absolute names are read as they are.
type Dir string

// Path returns where on the disk a name of a job lies. Names written with the
// backslashes of another system are found as well.
func (d Dir) Path(name string) string {
	at := func(name string) string {
		if filepath.IsAbs(name) {
			return name
		}
		return filepath.Join(string(d), name)
	}
	if p := at(strings.ReplaceAll(name, `\`, "/")); strings.Contains(name, `\`) {
		if _, err := os.Lstat(at(name)); err != nil {
			return p
		}
	}
	return at(name)
}

// ReadFile reads a file relative to the folder.
func (d Dir) ReadFile(name string) ([]byte, error) {
	name = d.Path(name)
	st, err := os.Stat(name)
	if err != nil {
		return nil, err
	}
	if !st.Mode().IsRegular() || st.Size() > maxFile {
		return nil, fmt.Errorf("%s is no ordinary file of at most %d MB", name, maxFile>>20)
	}
	return os.ReadFile(name)
}

// maxFile is the largest file that a job may name: far above any drawing.
const maxFile = 1 << 30

// FromFS reads files of any file system, such as one embedded in a program;
// names are slash-separated and relative to its root.
func FromFS(f fs.FS) Files { return fsFiles{f} }

type fsFiles struct{ fs.FS }

func (f fsFiles) ReadFile(name string) ([]byte, error) { return fs.ReadFile(f.FS, path.Clean(name)) }

// Goal says how far Run goes.
type Goal uint8

// The goals, each including those before it.
const (
	Resolve Goal = iota // to the work value: what is to be made, and where
	Prove               // plan, write and prove, without pictures
	Draw                // and the pictures
)

// Request is what Run needs.
type Request struct {
	Name     string                           // of the job file, as Files knows it
	Files    Files                            //
	Library  *shop.Library                    // profiles; nil means the embedded ones
	Goal     Goal                             //
	Version  string                           // of the tool, for certificate and run sheet
	Progress func(stage string, done, of int) // called at the start of every stage; may be nil
	Check    bool                             // check the promises between stages
	Sheet    string                           // Trace, Stages and Resume: name of the sheet, where the job uses several
	Nesting  func(nest.Progress)              // called now and then while parts are placed; may be nil
	Enough   <-chan struct{}                  // closed to end the placing of parts with the best layout so far; may be nil
}

// Output is one file to be written.
type Output struct {
	Name string
	Data []byte
}

// Result is all that a run made. Outputs is empty when Findings blocks. A sheet
// job that needs several pieces of stock has one work and one certificate for each,
// in Sheets; then Work is that of the first, Programs and Outputs are those of all,
// and Certificate sums up all certificates without being one that is written.
type Result struct {
	Job         *File
	Work        *work.Work
	Sheets      []*Result
	Remnants    []geom.Region // what is worth keeping of the sheet, the largest first
	Paths       []toolpath.Program
	Programs    []proof.Source
	Certificate *proof.Certificate
	Outputs     []Output
	Edits       []Output // of ReadMeasured: files beside the job as they are to become
	Findings    diag.List

	sheet  int     // index of the sheet in the job
	suffix string  // of the names of its outputs
	keep   float64 // narrowest remnant that is kept, mm
}

// Run takes a job from its file to proven programs and pictures. Faults of the
// job come as findings in the result; the error is only that of ctx. It is safe
// for concurrent use.
func Run(ctx context.Context, req Request) (*Result, error) {
	s := &state{req: req, lib: req.Library, res: &Result{}}
	s.begin()
	stages := stagesFor(req.Goal)
	for i, st := range stages {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if req.Progress != nil {
			req.Progress(st.name, i, len(stages))
		}
		for _, t := range s.each() {
			st.run(ctx, t)
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			if req.Check {
				t.add(promises(st.name, t)...)
			}
			t.acceptAll()
		}
		if s.stopped() {
			break
		}
	}
	s.gather()
	s.res.Findings = s.res.Findings.Sorted()
	return s.res, nil
}

// begin fills in what every run starts with.
func (s *state) begin() {
	s.drawings = map[string]*drawing.Drawing{}
	s.life = map[int]float64{}
	s.worn = map[string]float64{}
	if s.lib == nil {
		s.lib = shop.Embedded()
	}
}

type stage struct {
	name string
	run  func(context.Context, *state)
}

// stagesFor is the row of rooms. Data only flows downwards.
func stagesFor(g Goal) []stage {
	row := []stage{
		{"read job", readJob},
		{"read drawings", readDrawings},
		{"locate", locateWork},
		{"skin", layOutSkin},
		{"members", resolveMembers},
		{"cuts", resolveCuts},
		{"nest", placeParts},
		{"heights", settleHeights},
		{"place of the cuts", weighPlaces},
	}
	if g >= Prove {
		row = append(row, stage{"plan", planPaths}, stage{"cutter life", countWear}, stage{"write", writePrograms}, stage{"prove", provePrograms})
	}
	if g >= Draw {
		row = append(row, stage{"draw", drawPictures})
	}
	return row
}

// state is what the stages of one run hand on.
type state struct {
	req        Request
	lib        *shop.Library
	file       *File
	pos        *Positions
	drawings   map[string]*drawing.Drawing // by file and units
	w          *work.Work
	cutters    map[string]int         // name → index into w.Cutters
	ownCutters map[string]shop.Cutter // cutters that stand in the job itself
	res        *Result
	shapes     []geom.Region      // of each part, on its drawing
	allowed    [][]int            // sheets that each part may be cut from
	blanks     []blank            // the sheets, resolved
	layout     []placement        // where the copies lie
	keepouts   []keepout.Volume   // that the job names, on every sheet
	clampOn    [][]string         // by clamp of the work: the sheets on which it stands, none for all
	sheet      int                // index of the sheet in use
	children   []*state           // one for each piece, where there are several
	known      int                // findings taken over from the parent
	numbers    map[string]int     // cutter → its number on all pieces
	worn       map[string]float64 // cutter → m cut on the pieces before
	life       map[int]float64    // of each cutter in this material, m; 0 unknown
	farSkin    skin.Far           // of a wing, nil unknown
	measuring  bool               // datums are about to be touched again
	cutBox     *geom.Box          // of what a wing job cuts, nil not known yet
	// byResiduals says that the residuals of the datums say worse than touching.
	byResiduals bool
}

func (s *state) add(f ...diag.Finding) { s.res.Findings = append(s.res.Findings, f...) }

// fault adds a finding about a key of the job file.
func (s *state) fault(key string, f diag.Finding) {
	line, col := s.pos.Of(key)
	f.Input = true
	if f.Subject == "" {
		f.Subject = s.req.Name
	}
	s.add(f.AtLine(s.req.Name, line, col))
}

func (s *state) stop(key, code, message, help string) {
	s.fault(key, diag.Finding{Code: code, Severity: diag.Stop, Message: message, Help: help})
}

// confirm adds a finding that the job can accept.
func (s *state) confirm(key, code, message, help string) {
	line, col := s.pos.Of(key)
	s.add(diag.Finding{Code: code, Severity: diag.Confirm, Subject: s.req.Name, Message: message, Help: help}.AtLine(s.req.Name, line, col))
}

func stops(l diag.List) bool {
	for _, f := range l {
		if f.Severity == diag.Stop {
			return true
		}
	}
	return false
}

// readFile reads an input and remembers its hash for the certificate.
func (s *state) readFile(role, name string) ([]byte, error) {
	b, err := s.req.Files.ReadFile(name)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(b)
	in := work.Input{Role: role, File: filepath.ToSlash(name), SHA256: hex.EncodeToString(sum[:])}
	for _, old := range s.w.Inputs {
		if old == in {
			return b, nil
		}
	}
	s.w.Inputs = append(s.w.Inputs, in)
	return b, nil
}

// Accept marks the confirms among findings that the job of a run accepts, as Run
// does with its own: for findings of a proof made outside of Run.
func Accept(r *Result, l diag.List) diag.List {
	s := &state{file: r.Job, w: r.Work, res: &Result{Findings: append(diag.List(nil), l...)}}
	s.acceptAll()
	return s.res.Findings
}

// acceptAll marks the confirms that the job accepts: by the cut they belong to,
// or job-wide when they belong to none.
func (s *state) acceptAll() {
	if s.file == nil {
		return
	}
	for i := range s.res.Findings {
		f := &s.res.Findings[i]
		if f.Severity != diag.Confirm || f.Accepted {
			continue
		}
		if s.accepts(*f) {
			f.Accepted = true
			if s.w != nil {
				s.w.Accepted = append(s.w.Accepted, work.Acceptance{Cut: f.Cut, Code: acceptKey(*f)})
			}
		}
	}
}

// acceptKey is what a job says to accept a finding: its code, and the member that
// it is about, so that a cut which is moved later does not enter another one.
func acceptKey(f diag.Finding) string {
	if f.Member == "" {
		return f.Code
	}
	return f.Code + ": " + f.Member
}

func (s *state) accepts(f diag.Finding) bool {
	if f.Cut == "" {
		return has(s.file.Accept, acceptKey(f))
	}
	for _, c := range s.w.Cuts {
		if c.Name == f.Cut && has(c.Accept, acceptKey(f)) {
			return true
		}
	}
	return false
}

func has(l []string, s string) bool {
	for _, x := range l {
		if x == s {
			return true
		}
	}
	return false
}
