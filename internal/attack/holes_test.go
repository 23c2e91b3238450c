package attack_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// What a machine remembers must neither be read nor changed: M2 puts it to use.
func TestStoredOffsetsAreLeftAlone(t *testing.T) {
	for _, tc := range []struct{ fact, to, code string }{
		{"reads which system is active", "G1 X[28+#5220]\n", "start-dependent"},
		{"sets the origin of G54 for the next program", "#5221=1\nG1 X29\n", "offsets-changed"},
		{"sets the system for the next program", "#5220=2\nG1 X29\n", "offsets-changed"},
		{"sets where G28 goes", "#5161=9\nG1 X29\n", "offsets-changed"},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			refused(t, panel(), tc.code, edit(t, whole, "G1 X29.000\n", tc.to))
		})
	}
	c, l := prove(panel(), edit(t, whole, "G1 X29.000\n", "G54\n#100=[28+#5220]\nG1 X#100\n"))
	require.True(t, c.OK, told(l))
}

// A controller that cuts corners by half a millimetre cuts them off the part: the
// path's corner stands 0.41 mm further out than the cutter's radius (closed form:
// (√2 − 1)·r), so that 0.09 mm are lost.
func TestACutCornerStaysOutOfThePart(t *testing.T) {
	text := boardProgram(outside(-3.2) + "G1 X91.000\n")
	refused(t, board(), "gouge", strings.Replace(text, "G61", "G64 P0.5", 1))
	c, l := prove(board(), strings.Replace(text, "G61", "G64 P0.4", 1))
	require.True(t, c.OK, told(l))
}

// Half a millimetre above the skin is no room for a corner that is cut by as much.
func TestARapidClearsTheSkinByTheCornersItCuts(t *testing.T) {
	w := panel()
	w.Members = nil
	low := edit(t, whole, "G0 Z5.000\nM5\n", "G0 Z0.4\nG0 X40\nG0 Z5\nM5\n")
	refused(t, w, "rapid-in-material", strings.Replace(low, "G61", "G64 P0.5", 1))
	c, l := prove(w, low)
	require.True(t, c.OK, told(l))
}

// A thousand steps of 0.4 µm are 0.4 mm to us and nothing to a controller that
// takes three decimals.
func TestRelativeStepsHaveNoMoreDigitsThanTheControllerTakes(t *testing.T) {
	steps := "G91\n" + strings.Repeat("G1 Y0.0004\n", 500) + "G90\n"
	refused(t, panel(), "relative-digits", edit(t, whole, "G1 Y19.000\nG1 X1", steps+"G1 Y19.000\nG1 X1"))
	c, l := prove(panel(), edit(t, whole, "G1 Y19.000\nG1 X1", "G91\n"+strings.Repeat("G1 Y0.004\n", 50)+"G90\nG1 Y19.000\nG1 X1"))
	require.True(t, c.OK, told(l))
}

func TestADwellInMillisecondsIsSaid(t *testing.T) {
	_, l := prove(panel(), edit(t, whole, "G4 P3\n", "G4 P3000\n"))
	require.True(t, l.Has("dwell-long"), told(l))
}
