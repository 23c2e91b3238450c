package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"syscall"

	"sparclear/pkg/diag"
	"sparclear/pkg/job"
)

// putAside sets the earlier outputs of a job aside, since the job as it stands now
// has none, and says so; what could not be set aside is named. A job that was not
// found says nothing about what lies there.
func (e *env) putAside(d disk, dir string, keep []string, l diag.List) (moved []string) {
	if l.Has("job-missing") || l.Has("file-mistaken") {
		return nil
	}
	moved, err := setAside(d, dir, keep)
	told := moved
	if e.json {
		told = nil // they stand in its object
	}
	if errors.Is(err, fs.ErrNotExist) || errors.Is(err, syscall.ENOTDIR) {
		err = nil
	}
	e.tellAside(dir, told, err)
	return moved
}

// tellAside says which earlier outputs were set aside, and that the others could not
// be.
func (e *env) tellAside(dir string, moved []string, err error) {
	if len(moved) > 0 {
		fmt.Fprintf(e.err, "earlier outputs in %s are set aside as %s…%s: %s\n", dir, stalePre, stalePost, strings.Join(moved, ", "))
	}
	if err != nil {
		fmt.Fprintf(e.err, "sparclear: earlier outputs in %s could not be set aside (%v): do not run them\n", dir, err)
	}
}

// earlier warns of programs that a run before this one left in a folder.
func (e *env) earlier(d disk, dir string) {
	names, err := d.ReadDir(dir)
	if err != nil {
		return
	}
	programs := named(d, dir, names)
	var old []string
	for _, n := range names {
		if strings.HasSuffix(n, ".nc") && isOurs(d, dir, n, programs) {
			old = append(old, n)
		}
	}
	slices.Sort(old)
	if len(old) > 0 {
		fmt.Fprintf(e.err, "%s still holds programs of an earlier run, proven against the job as it was then: %s\n", dir, strings.Join(old, ", "))
	}
}

// sideCertificates are those of the programs beside the cut: a trace, a touch-off, a
// restart.
var sideCertificates = regexp.MustCompile(`^(trace|touch|resume)-certificate(-[a-z0-9-]+)?\.json$`)

// asideAlone sets the earlier programs of one side command aside, with their
// certificates.
func asideAlone(d disk, dir, word string) (moved []string, err error) {
	names, err := d.ReadDir(dir)
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			err = nil
		}
		return nil, err
	}
	var certs []string
	for _, n := range names {
		if m := sideCertificates.FindStringSubmatch(n); m != nil && m[1] == word {
			certs = append(certs, n)
		}
	}
	for _, n := range append(named(d, dir, certs), certs...) {
		if n != filepath.Base(n) || !slices.Contains(names, n) {
			continue
		}
		if err := d.Rename(filepath.Join(dir, n), filepath.Join(dir, stalePre+n+stalePost)); err != nil {
			return moved, err
		}
		moved = append(moved, n)
	}
	return moved, nil
}

// writeBeside writes outputs beside those of the cut: all under temporary names
// first, then what the same command left earlier is set aside, then each gets its
// name. A word of "" sets nothing aside.
func writeBeside(d disk, dir, word string, outs []job.Output) error {
	return writeWhole(d, dir, outs, func([]string) error {
		if word == "" {
			return nil
		}
		_, err := asideAlone(d, dir, word)
		return err
	})
}

// hand writes what a side command made, or says why there is nothing; what it made
// earlier does not stay behind as if it were current.
func (e *env) hand(file, word string, res *job.Result, o jobOptions, next func()) int {
	dir := o.outDir(file)
	if code := res.Findings.ExitCode(); code != 0 {
		e.refuse(res.Findings)
		if res.Findings.Has("job-missing") || res.Findings.Has("file-mistaken") {
			return code
		}
		moved, err := asideAlone(realDisk{}, dir, word)
		e.tellAside(dir, moved, err)
		fmt.Fprintln(e.err, "nothing was written")
		return code
	}
	if err := writeBeside(realDisk{}, dir, word, res.Outputs); err != nil {
		fmt.Fprintf(e.err, "sparclear: %s\nnothing was written; check the folder, its permissions and the space on the disk\n", plainWriteError(err))
		e.earlier(realDisk{}, dir)
		return exitElse
	}
	return e.told(dir, res, next)
}

// writePicture writes a picture whole or not at all. Only an SVG file is written over.
func writePicture(file string, b []byte) error {
	if !strings.EqualFold(filepath.Ext(file), ".svg") {
		return fmt.Errorf("%s: the name of a picture ends in .svg", file)
	}
	return writeBeside(realDisk{}, filepath.Dir(file), "", []job.Output{{Name: filepath.Base(file), Data: b}})
}
