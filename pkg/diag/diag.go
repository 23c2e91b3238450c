// Package diag holds findings as data: what is wrong, by how much, where, and
// what to do next. It imports nothing of ours, so that every other package,
// geom included, can return a finding. It never prints and never exits; text
// and JSON renderings are made from a List by Text and JSON.
//
//	f := diag.Finding{Code: "outline-open", Severity: diag.Stop, Subject: "panel.dxf",
//		Message: "outline on layer SERVO is open, gap 0.42 mm"}
package diag

import (
	"fmt"
	"math"
	"sort"
	"strings"
)

// Severity tells what a finding does to the job.
type Severity uint8

// The severities, from harmless to fatal.
const (
	// Note is information only.
	Note Severity = iota
	// Warn is written and printed on the run sheet.
	Warn
	// Confirm stops the job until the job file accepts that very finding.
	Confirm
	// Stop means that nothing is written.
	Stop
)

// String returns "note", "warn", "confirm" or "stop".
func (s Severity) String() string {
	switch s {
	case Note:
		return "note"
	case Warn:
		return "warn"
	case Confirm:
		return "confirm"
	}
	return "stop"
}

// MarshalText renders the severity as its word.
func (s Severity) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads a severity word.
func (s *Severity) UnmarshalText(b []byte) error {
	for v := Note; v <= Stop; v++ {
		if v.String() == string(b) {
			*s = v
			return nil
		}
	}
	return fmt.Errorf("unknown severity %q", b)
}

// Place says where a finding lies. Every part is optional; the smallest place
// that shows the fault is the best one.
type Place struct {
	Drawing *[2]float64 `json:"drawing_mm,omitempty"` // X, Y on the drawing, mm
	Layer   string      `json:"layer,omitempty"`      // layer of the drawing
	Handle  string      `json:"handle,omitempty"`     // handle of the entity in the drawing
	Machine *[3]float64 `json:"machine_mm,omitempty"` // X, Y, Z on the machine, mm; Z is NaN-free, 0 when unknown
	HasZ    bool        `json:"-"`                    // Machine[2] means something
	File    string      `json:"file,omitempty"`       // job file, profile, drawing or program
	Line    int         `json:"line,omitempty"`       // from 1
	Col     int         `json:"column,omitempty"`     // from 1
}

// Finding is one fault or remark. Message is one line, lower case first, no
// full stop; the repair stands only in Help.
type Finding struct {
	Code     string   `json:"code"`     // stable, e.g. "keepout-near"
	Severity Severity `json:"severity"` //
	Subject  string   `json:"subject,omitempty"`
	Message  string   `json:"message"`
	Value    *float64 `json:"value,omitempty"` // what was found
	Limit    *float64 `json:"limit,omitempty"` // what it is held against
	Unit     string   `json:"unit,omitempty"`  // of Value and Limit
	At       []Place  `json:"at,omitempty"`
	Help     string   `json:"help,omitempty"`
	Cut      string   `json:"cut,omitempty"`      // name of the cut concerned
	Member   string   `json:"member,omitempty"`   // name of the keep-out concerned
	Accepted bool     `json:"accepted,omitempty"` // a Confirm that the job accepts
	// Input marks a fault of the input itself (exit code 2); otherwise a Stop is
	// a refusal (exit code 3).
	Input bool `json:"-"`
}

// With returns f with value, limit and unit set. Values that are not finite
// are left out, since JSON has no word for them.
func (f Finding) With(value, limit float64, unit string) Finding {
	if !math.IsNaN(value) && !math.IsInf(value, 0) {
		f.Value = &value
	}
	if !math.IsNaN(limit) && !math.IsInf(limit, 0) {
		f.Limit = &limit
	}
	f.Unit = unit
	return f
}

// On returns f with one more place: a point of the drawing, mm.
func (f Finding) On(x, y float64) Finding {
	f.At = append(append([]Place(nil), f.At...), Place{Drawing: &[2]float64{x, y}})
	return f
}

// AtMachine returns f with one more place: a point on the machine, mm.
func (f Finding) AtMachine(x, y, z float64) Finding {
	f.At = append(append([]Place(nil), f.At...), Place{Machine: &[3]float64{x, y, z}, HasZ: true})
	return f
}

// AtLine returns f with one more place: a line and column (0 = unknown) of a file.
func (f Finding) AtLine(file string, line, col int) Finding {
	f.At = append(append([]Place(nil), f.At...), Place{File: file, Line: line, Col: col})
	return f
}

// Error makes a finding usable as a Go error: subject, message and code on one line.
func (f Finding) Error() string {
	s := f.Message
	if f.Subject != "" {
		s = f.Subject + ": " + s
	}
	return s + " [" + f.Code + "]"
}

// Blocks tells whether f keeps the job from being written.
func (f Finding) Blocks() bool {
	return f.Severity == Stop || f.Severity == Confirm && !f.Accepted
}

// List is a set of findings.
type List []Finding

// Add appends findings.
func (l *List) Add(f ...Finding) { *l = append(*l, f...) }

// Blocks tells whether any finding keeps the job from being written.
func (l List) Blocks() bool {
	for _, f := range l {
		if f.Blocks() {
			return true
		}
	}
	return false
}

// ExitCode returns 0 when nothing blocks, 2 when an input is wrong, else 3.
func (l List) ExitCode() int {
	code := 0
	for _, f := range l {
		if !f.Blocks() {
			continue
		}
		if f.Input {
			return 2
		}
		code = 3
	}
	return code
}

// Worst returns the highest severity that stands (accepted ones count as
// Warn), and Note for an empty list.
func (l List) Worst() Severity {
	w := Note
	for _, f := range l {
		s := f.Severity
		if f.Accepted {
			s = Warn
		}
		w = max(w, s)
	}
	return w
}

// Has tells whether a finding with the code is in the list.
func (l List) Has(code string) bool {
	for _, f := range l {
		if f.Code == code {
			return true
		}
	}
	return false
}

// Sorted returns the list by severity, the most important last (it is what
// stays on the screen), then by subject, code, place and message, so that the
// same findings come in the same order however they were found.
func (l List) Sorted() List {
	out := append(List(nil), l...)
	sort.SliceStable(out, func(i, j int) bool {
		a, b := out[i], out[j]
		if sa, sb := a.rank(), b.rank(); sa != sb {
			return sa < sb
		}
		if a.Subject != b.Subject {
			return a.Subject < b.Subject
		}
		if pa, pb := a.placeKey(), b.placeKey(); pa != pb {
			return pa < pb
		}
		if a.Code != b.Code {
			return a.Code < b.Code
		}
		return a.Message < b.Message
	})
	return out
}

func (f Finding) rank() Severity {
	if f.Accepted {
		return Warn
	}
	return f.Severity
}

func (f Finding) placeKey() string {
	var b strings.Builder
	for _, p := range f.At {
		fmt.Fprintf(&b, "%s:%09d:%06d;", p.File, p.Line, p.Col)
		if p.Drawing != nil {
			fmt.Fprintf(&b, "%020.6f,%020.6f;", p.Drawing[0], p.Drawing[1])
		}
	}
	return b.String()
}
