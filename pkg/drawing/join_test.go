package drawing

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// An end that overshoots a corner along its neighbour is cut back, and the place
// is told under the layer.
func TestEndsCutBackAreToldWithTheirPlace(t *testing.T) {
	src := dxfOf("0 LINE 8 A 10 0 20 0 11 20 21 0 0 LINE 8 A 10 20 20 0 11 20 21 6 0 LINE 5 2F 8 A 10 20 20 5.5 11 20 21 10 " +
		"0 LINE 8 A 10 20 20 10 11 0 21 10 0 LINE 8 A 10 0 20 10 11 0 21 0")
	d, found := Read(bytes.NewReader([]byte(src)), "a.dxf", Options{Units: "mm"})
	require.Len(t, d.Outlines, 1)
	assert.InDelta(t, 200, d.Outlines[0].Region.Area(), 1e-9, "mm²; closed form")
	require.True(t, found.Has("drawn-over"), "%v", found)
	c, f := d.Layer("A")
	require.Nil(t, f)
	told := false
	for _, f := range c.Findings {
		if f.Code == "drawn-over" {
			told = true
			require.Len(t, f.At, 1)
			require.NotNil(t, f.At[0].Drawing)
			assert.InDelta(t, 20, f.At[0].Drawing[0], 1e-9, "mm")
			assert.InDelta(t, 6, f.At[0].Drawing[1], 0.51, "mm")
		}
	}
	assert.True(t, told, "the layer does not tell of the trim: %v", c.Findings)
}

// The widest gaps are told one by one, the widest first.
func TestClosedGapsAreToldBySize(t *testing.T) {
	src := ""
	for i := range 25 {
		w := float64(i%13+1) * 0.0005
		src += fmt.Sprintf(" 0 LWPOLYLINE 8 A 70 0 10 %d 20 0 10 %d 20 0 10 %d 20 9 10 %d 20 %v", 20*i, 20*i+9, 20*i+9, 20*i, w)
	}
	d, found := Read(bytes.NewReader([]byte(dxfOf(src))), "a.dxf", Options{})
	assert.Len(t, d.Outlines, 25)
	assert.Equal(t, 25, d.Join.Gaps)
	require.Len(t, d.Join.Widest, 20)
	for i, g := range d.Join.Widest {
		assert.InDelta(t, float64(13-(i+1)/2)*0.0005, g.Width, 1e-9, "mm, gap %d", i)
	}
	assert.InDelta(t, 20*12, d.Join.WidestAt.X, 1e-9, "mm")
	assert.True(t, found.Has("gaps-closed"))
}

// Ends of a branch may reach further than the tolerance, from one to the next:
// nothing wider than the tolerance is bridged because a stray end lies between.
func TestNothingWiderThanTheToleranceIsBridged(t *testing.T) {
	loop := func(end string) string {
		return "0 LWPOLYLINE 8 A 90 5 70 0 10 0 20 0 10 10 20 0 10 10 20 10 10 0 20 10 10 0 20 " + end
	}
	for _, tc := range []struct {
		fact, src string
		outlines  int
		code      string
	}{
		{"a gap of 0.009 mm is closed", loop("0.009"), 1, "gaps-closed"},
		{"a gap of 0.011 mm is open", loop("0.011"), 0, "outline-open"},
		{"a gap of 0.09 mm is open", loop("0.09"), 0, "outline-open"},
		{"a stray end in the middle of 0.018 mm is a branch", loop("0.018") + " 0 LINE 8 A 10 0 20 0.009 11 -5 21 0.009", 0, "outline-branches"},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			d, found := Read(bytes.NewReader([]byte(dxfOf(tc.src))), "a.dxf", Options{Units: "mm", JoinTol: 0.01})
			assert.Len(t, d.Outlines, tc.outlines)
			assert.True(t, found.Has(tc.code), "%v", found)
			assert.LessOrEqual(t, d.Join.WidestGap, 0.01, "mm")
			if tc.code == "outline-branches" {
				c, _ := d.Layer("A")
				assert.True(t, c.Findings.Blocks(), "a layer that branches is not cut: %v", c.Findings)
			}
		})
	}
}

// The plate has a spur of 0.32 mm and an arc that runs 0.09 mm past its corner, both
// along the neighbour: both are told, and no gap is bridged.
func TestPlateWithSpurIsTrimmedAloud(t *testing.T) {
	dir := corpusDir(t, "dxf")
	src, err := os.ReadFile(filepath.Join(dir, "frame_top_plate_zero_arcs_r14.dxf"))
	require.NoError(t, err)
	d, found := Read(bytes.NewReader(src), "plate.dxf", Options{})
	assert.LessOrEqual(t, d.Join.WidestGap, 0.01, "mm")
	places := 0
	for _, f := range found {
		if f.Code == "drawn-over" {
			for _, at := range f.At {
				if at.Drawing != nil {
					places++
				}
			}
		}
	}
	assert.Equal(t, 2, places, "%v", found)
}
