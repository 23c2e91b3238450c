package attack_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// A finish pass that trims 0.2 mm with a cutter of 2 mm takes a chip of
// 2·√(0.1·0.9) = 0.6 of the feed per tooth (closed form): it may go 1.6 times as
// fast. In full material the same feed is too fast, and so it is where the finish
// pass meets material ahead.
func TestAFeedIsJudgedByTheChipItTakes(t *testing.T) {
	rough := ring(1.2, 1.2, 28.8, 18.8, -1, -1.7)
	finish := "G0 Z5\nG0 X6 Y1.2\nG0 Z0.5\nG1 Z-1.7 F200\nG1 Y1\nG1 X28 F600\nG1 X29\nG1 Y18 F980\nG1 Y19 F600\nG1 X2 F980\nG1 X1 F600\nG1 Y1\nG1 X29\n"
	last := "G1 X6\nG1 X24 Z-2 F600\nG1 X29\nG1 Y19\nG1 X1\nG1 Y1\nG1 X29\n"
	w := panel()
	w.Cuts[0].Step = 1.8
	text := head + rough + finish + last + tail
	c, l := prove(w, text)
	require.True(t, c.OK, told(l))
	refused(t, w, "feed-high", strings.ReplaceAll(text, "F980", "F1300"))
	refused(t, w, "feed-high", strings.Replace(text, "G1 X28.8 Z-1.7 F600", "G1 X28.8 Z-1.7 F980", 1)) // the slot itself
	refused(t, panel(), "feed-high", strings.ReplaceAll(whole, "F600", "F980"))
}
