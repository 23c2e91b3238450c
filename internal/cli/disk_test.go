package cli

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/job"
)

// failing is the real disk that fails at its nth write, rename or folder.
type failing struct {
	realDisk
	left *int
}

var errDisk = errors.New("the disk is full")

func (f failing) step() error {
	if *f.left--; *f.left < 0 {
		return errDisk
	}
	return nil
}

func (f failing) MkdirAll(dir string) error {
	if err := f.step(); err != nil {
		return err
	}
	return f.realDisk.MkdirAll(dir)
}

func (f failing) WriteFile(name string, data []byte) error {
	if err := f.step(); err != nil {
		_ = f.realDisk.WriteFile(name, data[:len(data)/2]) // half a file, as a full disk leaves it
		return err
	}
	return f.realDisk.WriteFile(name, data)
}

func (f failing) Rename(from, to string) error {
	if err := f.step(); err != nil {
		return err
	}
	return f.realDisk.Rename(from, to)
}

var outputs = []job.Output{
	{Name: "job.nc", Data: []byte("(sparclear 1)\nnew program\n")},
	{Name: "certificate.json", Data: []byte("new certificate")},
	{Name: "plan.svg", Data: []byte("new plan")},
}

func TestWritingFailsAtEveryStepAndLeavesNothingThatCouldBeRun(t *testing.T) {
	for n := 0; ; n++ {
		dir := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(dir, "job.nc"), []byte("(sparclear 1)\nold program\n"), 0o644))
		require.NoError(t, os.WriteFile(filepath.Join(dir, "mine.nc"), []byte("(by hand)\n"), 0o644))
		left := n
		err := writeAll(failing{left: &left}, dir, outputs)
		names := list(t, dir)
		assert.Contains(t, names, "mine.nc", "what is not ours stays")
		for _, name := range names {
			assert.False(t, strings.HasPrefix(name, tempMark), "step %d leaves %s half made", n, name)
		}
		if err == nil {
			for _, o := range outputs {
				got, err := os.ReadFile(filepath.Join(dir, o.Name))
				require.NoError(t, err)
				assert.Equal(t, o.Data, got)
			}
			assert.Contains(t, names, stalePre+"job.nc"+stalePost)
			require.Greater(t, n, 5, "every step was failed once")
			return
		}
		require.ErrorIs(t, err, errDisk)
		if b, err := os.ReadFile(filepath.Join(dir, "job.nc")); err == nil {
			assert.Equal(t, "(sparclear 1)\nold program\n", string(b), "step %d: a program without its certificate", n)
		} else {
			assert.ErrorIs(t, err, fs.ErrNotExist)
		}
	}
}

func TestEarlierOutputsAreSetAside(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{"job.nc": "%\n(sparclear 1)\n", "mine.nc": "(by hand)\n", "notes.txt": "sparclear", "certificate.json": "{}", tempMark + "x.nc": "half"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
	moved, err := setAside(realDisk{}, dir, nil)
	require.NoError(t, err)
	assert.Equal(t, []string{"certificate.json", "job.nc"}, moved)
	assert.Equal(t, []string{stalePre + "certificate.json" + stalePost, stalePre + "job.nc" + stalePost, "mine.nc", "notes.txt"}, list(t, dir))
	moved, err = setAside(realDisk{}, filepath.Join(dir, "nowhere"), nil)
	assert.NoError(t, err)
	assert.Empty(t, moved)
}

func list(t *testing.T, dir string) []string {
	t.Helper()
	es, err := os.ReadDir(dir)
	require.NoError(t, err)
	var names []string
	for _, e := range es {
		names = append(names, e.Name())
	}
	slices.Sort(names)
	return names
}
