package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What the comparison reads is what the generator writes, so that nobody bends
// an outline to fit.
func TestTheOutlinesAreTheGenerators(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, write(dir))
	made, err := filepath.Glob(filepath.Join(dir, "*.txt"))
	require.NoError(t, err)
	kept, err := filepath.Glob("testdata/outlines/*.txt")
	require.NoError(t, err)
	require.Len(t, kept, len(made))
	for _, f := range made {
		want, err := os.ReadFile(f)
		require.NoError(t, err)
		got, err := os.ReadFile(filepath.Join("testdata/outlines", filepath.Base(f)))
		require.NoError(t, err)
		assert.Equal(t, string(want), string(got), "%s: run go run ./internal/offsetcross internal/offsetcross/testdata/outlines", filepath.Base(f))
	}
}
