package cli

import (
	"bytes"
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
	f, err := os.OpenFile(name, os.O_CREATE|os.O_WRONLY|os.O_TRUNC, 0o644)
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

// ourMark stands in the head of every program that we write.
const ourMark = "sparclear"

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
		if !isOurs(d, dir, n) {
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

// isOurs tells whether a file in the output folder is an output of a job.
func isOurs(d disk, dir, name string) bool {
	switch name {
	case "certificate.json", "trace-certificate.json", "touch-certificate.json", "resume-certificate.json", "plan.svg", "run-sheet.pdf", "film.html", "layout.toml", "layout.dxf", "layout.svg", "remnant.dxf":
		return true
	}
	if !strings.HasSuffix(name, ".nc") {
		return false
	}
	b, err := d.ReadFile(filepath.Join(dir, name))
	return err == nil && bytes.Contains(b[:min(len(b), 512)], []byte(ourMark))
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
