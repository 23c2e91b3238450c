package skin_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"sparclear/pkg/skin"
)

// Decimal commas between commas, under a head of three columns, would be read as
// other numbers: 72,13 and 75,92 and 40,50 as 72, 13 and 75.
func TestMoreFieldsThanNamedColumnsAreRefused(t *testing.T) {
	for _, tc := range []struct {
		text string
		ok   bool
	}{
		{"x,y,z\n72,13,75,92,40,50\n", false},
		{"x,y,z\n72.13,75.92,40.50,left\n", false},
		{"x;y;z\n72,13;75,92;40,50\n", true},
		{"x,y,z,name\n72.13,75.92,40.50,left\n", true},
		{"x y z name\n72.13 75.92 40.50 left of the spar\n", true},
		{"x,y,z,name,remark\n72.13,75.92,40.50,left,dusty\n", true},
	} {
		got, l := skin.ReadHeights(strings.NewReader(tc.text), "h.csv")
		assert.Equal(t, tc.ok, !l.Blocks(), "%q: %v", tc.text, l)
		if tc.ok {
			assert.InDelta(t, 40.5, got[0].Z, 1e-12)
		}
	}
}

// A list in inches says so, in every column; where the display shows inches a list
// that says nothing may be in either unit.
func TestUnitsOfHeightsAreSaidOrRefused(t *testing.T) {
	none := func(string) bool { return false }
	for _, tc := range []struct {
		text string
		inch bool
		z    float64 // 0 = refused
	}{
		{"x_in,y_in,z_in\n3,3,1.5\n", false, 38.1},
		{"X [inch],Y [inch],Z [inch]\n3,3,1.5\n", true, 38.1},
		{"x_in,y_in,z_mm\n3,3,1.5\n", false, 0},
		{"x_in,y_in,z\n3,3,1.5\n", false, 0},
		{"x_mil,y_mil,z_mil\n3,3,1.5\n", false, 0},
		{"x,y,z\n3,3,1.5\n", false, 1.5},
		{"x,y,z\n3,3,1.5\n", true, 0},
		{"3,3,1.5\n", true, 0},
		{"x_mm,y_mm,z_mm\n3,3,1.5\n", true, 1.5},
		{"X3 Y3 Z1.5 (touch 1)\n", true, 38.1},
		{"X3 Y3 Z1.5 (touch 1)\n", false, 1.5},
	} {
		got, l := skin.ReadMeasured(strings.NewReader(tc.text), "h.csv", tc.inch, none)
		if tc.z == 0 {
			assert.True(t, l.Has("heights-units"), "%q: %v", tc.text, l)
			continue
		}
		assert.False(t, l.Blocks(), "%q: %v", tc.text, l)
		assert.InDelta(t, tc.z, got[0].Z, 1e-9, tc.text)
		assert.InDelta(t, 2*tc.z, got[0].X, 1e-9, "the same unit in every column: %q", tc.text)
	}
}
