package picture

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/proof"
)

func TestEqualScenesDifferInNothing(t *testing.T) {
	svg, changes, err := Difference(wingScene(t), wingScene(t))
	require.NoError(t, err)
	assert.Empty(t, changes)
	assert.True(t, bytes.Contains(svg, []byte("nothing moved")))
}

func TestWhatMovedIsDrawnAndListed(t *testing.T) {
	a, b := wingScene(t), wingScene(t)
	text := bytes.ReplaceAll(b.Programs[0].Text, []byte("X89"), []byte("X88.5"))
	text = bytes.ReplaceAll(text, []byte("Z-2.5 "), []byte("Z-2.7 "))
	b = proven(t, b.Work, proof.Source{File: "panel.nc", Text: text})
	svg, changes, err := Difference(a, b)
	require.NoError(t, err)
	got := map[string]Change{}
	for _, c := range changes {
		got[c.Kind+" "+c.Name] = c
		assert.NotEmpty(t, c.Text)
	}
	require.Contains(t, got, "cut-moved servo")
	assert.InDelta(t, 0.5, got["cut-moved servo"].After, 1e-9, "mm")
	require.Contains(t, got, "depth screw")
	assert.InDelta(t, 2.5, got["depth screw"].Before, 1e-9, "mm")
	assert.InDelta(t, 2.7, got["depth screw"].After, 1e-9, "mm")
	assert.NotContains(t, got, "cut-moved screw")
	golden(t, "difference.svg", svg)
	again, _, err := Difference(a, b)
	require.NoError(t, err)
	assert.True(t, bytes.Equal(svg, again))
}

func TestACutThatIsGoneIsSaid(t *testing.T) {
	a, b := wingScene(t), wingScene(t)
	b.Programs = []proof.Source{{File: "panel.nc", Text: bytes.Replace(b.Programs[0].Text, []byte("G1 Z-2.5 F300\n"), nil, 1)}}
	_, there, err := Difference(b, a)
	require.NoError(t, err)
	_, gone, err := Difference(a, b)
	require.NoError(t, err)
	kinds := func(cs []Change) (out []string) {
		for _, c := range cs {
			out = append(out, c.Kind+" "+c.Name)
		}
		return out
	}
	assert.Contains(t, kinds(gone), "cut-gone screw")
	assert.Contains(t, kinds(there), "cut-new screw")
}

func TestAProgramThatCannotBeReadHasNoDifference(t *testing.T) {
	a, b := wingScene(t), wingScene(t)
	b.Programs = []proof.Source{{File: "x.nc", Text: []byte("G1 X(\n")}}
	for _, pair := range [][2]Scene{{a, b}, {b, a}} {
		_, _, err := Difference(pair[0], pair[1])
		assert.ErrorContains(t, err, "x.nc")
	}
}
