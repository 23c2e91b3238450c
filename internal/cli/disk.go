package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"sort"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/job"
)

// disk is the part of the file system that writing outputs needs; a test fails
// it at every step.
type disk interface {
	MkdirAll(dir string) error
	ReadDir(dir string) ([]string, error)
	ReadFile(name string) ([]byte, error)
	WriteFile(name string, data []byte) error
	Rename(from, to string) error
	Remove(name string) error
}

type realDisk struct{}

func (realDisk) MkdirAll(dir string) error { return os.MkdirAll(dir, 0o755) }
func (realDisk) ReadDir(dir string) ([]string, error) {
	es, err := os.ReadDir(dir)
	var names []string
	for _, e := range es {
		if e.Type().IsRegular() {
			names = append(names, e.Name())
		}
	}
	return names, err
}
func (realDisk) ReadFile(name string) ([]byte, error) { return os.ReadFile(name) }

// WriteFile writes and syncs, so that a rename never reveals half a file.
func (realDisk) WriteFile(name string, data []byte) (err error) {
	// What stands there already (a link, perhaps) is not written through.
	if err := os.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	f, err := os.OpenFile(name, os.O_CREATE|os.O_WRONLY|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if _, err = f.Write(data); err != nil {
		return err
	}
	return f.Sync()
}
func (realDisk) Rename(from, to string) error { return os.Rename(from, to) }
func (realDisk) Remove(name string) error     { return os.Remove(name) }

const (
	tempMark  = ".sparclear-half-"
	stalePre  = "NOT-CURRENT-"
	stalePost = ".old"
)

// ourMark begins the head of every program that we write for a controller that
// takes comments; the certificates name the programs as well.
const ourMark = "(sparclear "

// certificates are the files that name programs of ours; a job of several sheets
// writes one for each, with the name of the sheet behind the word.
var certificates = regexp.MustCompile(`^(trace-|touch-|resume-)?certificate(-[a-z0-9-]+)?\.json$`)

// others are what else a job writes.
var others = regexp.MustCompile(`^((plan|strip|layout)(-[a-z0-9-]+)?\.svg|plan(-[a-z0-9-]+)?\.(pdf|png|dxf)|(run-sheet|labels)(-[a-z0-9-]+)?\.pdf|film(-[a-z0-9-]+)?\.html|layout\.toml|remnants\.toml|(layout|remnant)(-[a-z0-9-]+)?\.dxf)$`)

// setAside renames earlier outputs in dir so that nobody runs a stale program,
// and removes what a killed run left half made, but for the files in leave.
func setAside(d disk, dir string, leave []string) (moved []string, err error) {
	names, err := d.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	sort.Strings(names)
	programs := named(d, dir, names)
	for _, n := range names {
		if slices.Contains(leave, filepath.Join(dir, n)) {
			continue
		}
		if strings.HasPrefix(n, tempMark) {
			if err := d.Remove(filepath.Join(dir, n)); err != nil {
				return moved, err
			}
			continue
		}
		if !isOurs(d, dir, n, programs) {
			continue
		}
		to := stalePre + n + stalePost
		if err := d.Rename(filepath.Join(dir, n), filepath.Join(dir, to)); err != nil {
			return moved, err
		}
		moved = append(moved, n)
	}
	return moved, nil
}

// named lists the programs that the certificates in a folder speak of.
func named(d disk, dir string, names []string) []string {
	var out []string
	for _, c := range names {
		if !certificates.MatchString(c) {
			continue
		}
		b, err := d.ReadFile(filepath.Join(dir, c))
		if err != nil {
			continue
		}
		var cert struct {
			Programs []struct{ File string }
		}
		if json.Unmarshal(b, &cert) == nil {
			for _, p := range cert.Programs {
				out = append(out, p.File)
			}
		}
	}
	return out
}

// isOurs tells whether a file in the output folder is an output of a job.
func isOurs(d disk, dir, name string, programs []string) bool {
	if certificates.MatchString(name) || others.MatchString(name) || slices.Contains(programs, name) {
		return true
	}
	if !strings.HasSuffix(name, ".nc") {
		return false
	}
	b, err := d.ReadFile(filepath.Join(dir, name))
	return err == nil && bytes.HasPrefix(bytes.TrimLeft(b[:min(len(b), 64)], "%\r\n"), []byte(ourMark))
}

// writeAll writes all outputs or none, and sets all earlier outputs aside but for
// those to keep.
func writeAll(d disk, dir string, outs []job.Output, keep ...string) error {
	return writeWhole(d, dir, outs, func(half []string) error {
		_, err := setAside(d, dir, append(keep, half...))
		return err
	})
}

// writeWhole writes all outputs or none: first under temporary names, then aside
// moves what is current no more, then the new ones get their names. aside is told
// the temporary names.
func writeWhole(d disk, dir string, outs []job.Output, aside func(half []string) error) (err error) {
	if err := d.MkdirAll(dir); err != nil {
		return fmt.Errorf("make folder %s: %w", dir, err)
	}
	var half []string
	defer func() {
		if err == nil {
			return
		}
		for _, f := range half {
			_ = d.Remove(f) // what cannot be removed carries a name that nobody runs, or is reported below
		}
	}()
	for _, o := range outs {
		if o.Name != filepath.Base(o.Name) {
			return fmt.Errorf("%q is no name of a file", o.Name)
		}
		t := filepath.Join(dir, tempMark+o.Name)
		half = append(half, t)
		if err := d.WriteFile(t, o.Data); err != nil {
			return fmt.Errorf("write %s: %w", o.Name, err)
		}
	}
	if err := aside(slices.Clone(half)); err != nil {
		return fmt.Errorf("set earlier outputs aside: %w", err)
	}
	for i, o := range outs {
		to := filepath.Join(dir, o.Name)
		if err := d.Rename(half[i], to); err != nil {
			return fmt.Errorf("write %s: %w", o.Name, err)
		}
		half[i] = to
	}
	return nil
}

// read lists the paths of the files that a job reads, so that no output takes
// their place or sends them aside: a layout in the folder out is one.
func read(jobFile string, res *job.Result) []string {
	var out []string
	add := func(name string) {
		if name == "" {
			return
		}
		out = append(out, filepath.Clean(job.Dir(filepath.Dir(jobFile)).Path(filepath.FromSlash(name))))
	}
	if res.Job != nil {
		add(res.Job.Layout)
	}
	if res.Work != nil {
		for _, in := range res.Work.Inputs {
			if in.Role != "job" {
				add(in.File)
			}
		}
	}
	return out
}

// overInputs refuses outputs that would take the place of a file that the job reads.
func overInputs(dir string, outs []job.Output, inputs []string) diag.List {
	var l diag.List
	for _, o := range outs {
		if p := filepath.Join(dir, o.Name); slices.Contains(inputs, p) {
			l.Add(diag.Finding{Code: "output-over-input", Severity: diag.Stop, Input: true, Subject: filepath.ToSlash(p),
				Message: "the job reads this file and would write over it", Help: "move it beside the job and name it there, or name another folder by --out"})
		}
	}
	return l
}
