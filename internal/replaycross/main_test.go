package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestDumpHoldsEndsLengthsAndBoxes(t *testing.T) {
	file := filepath.Join(t.TempDir(), "p.nc")
	require.NoError(t, os.WriteFile(file, []byte("g0 x3 y4\ng1 z-2 f10\nm2\n"), 0o644))
	var b bytes.Buffer
	require.NoError(t, run([]string{file}, &b))
	var got []program
	require.NoError(t, json.Unmarshal(b.Bytes(), &got))
	require.Len(t, got, 1)
	p := got[0]
	assert.Equal(t, [3]float64{3, 4, -2}, p.End)
	assert.Equal(t, 2.0, p.Cut)
	assert.Equal(t, 5.0, p.Rapid)
	assert.Equal(t, [3]float64{0, 0, -2}, p.Low)
	assert.Equal(t, [3]float64{3, 4, 0}, p.High)
	assert.EqualValues(t, 2, p.Moves[1].Line)
}

func TestAProgramThatCannotBeReadIsAnError(t *testing.T) {
	file := filepath.Join(t.TempDir(), "p.nc")
	require.NoError(t, os.WriteFile(file, []byte("g5\n"), 0o644))
	assert.ErrorContains(t, run([]string{file}, &bytes.Buffer{}), "rs274-g-code")
	assert.Error(t, run([]string{file + "x"}, &bytes.Buffer{}))
}
