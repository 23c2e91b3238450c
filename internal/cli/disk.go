package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strings"

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

// certificates are the files that name programs of ours.
var certificates = []string{"certificate.json", "trace-certificate.json", "touch-certificate.json", "resume-certificate.json"}

// pictures and layouts are what else a job writes.
var others = []string{"plan.svg", "plan.pdf", "plan.png", "strip.svg", "run-sheet.pdf", "film.html", "layout.toml", "layout.dxf", "layout.svg", "remnant.dxf"}

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
	programs := named(d, dir)
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
func named(d disk, dir string) []string {
	var out []string
	for _, c := range certificates {
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
	if slices.Contains(certificates, name) || slices.Contains(others, name) || slices.Contains(programs, name) {
		return true
	}
	if !strings.HasSuffix(name, ".nc") {
		return false
	}
	b, err := d.ReadFile(filepath.Join(dir, name))
	return err == nil && bytes.HasPrefix(bytes.TrimLeft(b[:min(len(b), 64)], "%\r\n"), []byte(ourMark))
}

// writeAll writes all outputs or none: first under temporary names, then the
// earlier outputs are set aside, then the new ones get their names.
func writeAll(d disk, dir string, outs []job.Output) (err error) {
	if err := d.MkdirAll(dir); err != nil {
		return fmt.Errorf("make folder %s: %w", dir, err)
	}
	var temps, done []string
	defer func() {
		if err == nil {
			return
		}
		for _, t := range append(temps, done...) {
			_ = d.Remove(t) // what cannot be removed carries a name that nobody runs, or is reported below
		}
	}()
	for _, o := range outs {
		if o.Name != filepath.Base(o.Name) {
			return fmt.Errorf("%q is no name of a file", o.Name)
		}
		t := filepath.Join(dir, tempMark+o.Name)
		temps = append(temps, t)
		if err := d.WriteFile(t, o.Data); err != nil {
			return fmt.Errorf("write %s: %w", o.Name, err)
		}
	}
	if _, err := setAside(d, dir, temps); err != nil {
		return fmt.Errorf("set earlier outputs aside: %w", err)
	}
	for i, o := range outs {
		to := filepath.Join(dir, o.Name)
		if err := d.Rename(temps[i], to); err != nil {
			return fmt.Errorf("write %s: %w", o.Name, err)
		}
		done = append(done, to)
	}
	return nil
}
