package proof

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/work"
)

// touchText touches a pin at X100 Y100 from its left, and the skin at X150 Y100.
const touchText = `G21 G17 G90 G94
G40 G49 G80
G61
M5
G0 Z40.000
G0 X92.000 Y100.000
G0 Z30.000
M0
G1 Z24.000 F100
G38.2 X99.000 F100
G91
G1 X-1.000 F100
G90
G38.2 X99.000 F25
M0
G1 X92.000 F100
G0 Z40.000
G0 X150.000 Y100.000
G0 Z30.000
G38.2 Z22.000 F100
G91
G1 Z1.000 F100
G90
G38.2 Z22.000 F25
M0
G0 Z40.000
M2
`

func touchWork() (*work.Work, TouchLimits) {
	w := &work.Work{Name: "touch", Machine: router(), Skin: level{z: 30}, SafeZ: 40}
	w.Cutters = append(w.Cutters, mm2())
	return w, TouchLimits{Reach: 8, Feed: 150, Back: 1, Rooms: []TouchRoom{{Name: "root pin", At: geom.Pt(100, 100), Radius: 9.5, Low: 24}}}
}

func TestAGentleTouchOffIsProven(t *testing.T) {
	w, limits := touchWork()
	cert, l := ProveTouch(context.Background(), w, limits, []Source{{File: "touch.nc", Text: []byte(touchText)}})
	require.False(t, l.Blocks(), "%v", l)
	assert.True(t, cert.OK)
}

// Each line spoils one thing; the proof must name it.
func TestATouchOffThatMightDragOrHitIsRefused(t *testing.T) {
	for _, tc := range []struct{ fact, old, new, code string }{
		{"down where no room is", "G0 X92.000 Y100.000", "G0 X80.000 Y100.000", "touch-feed"},
		{"down faster than allowed", "G1 Z24.000 F100", "G1 Z24.000 F151", "touch-feed"},
		{"down by rapid", "G1 Z24.000 F100", "G0 Z24.000", "touch-feed"},
		{"a hair deeper than the room", "G1 Z24.000 F100", "G1 Z23.998 F100", "touch-feed"},
		{"a probe that may go beyond the room", "G38.2 X99.000 F100", "G38.2 X109.600 F100", "touch-deep"},
		{"a probe whose way back may leave the room", "G0 X92.000 Y100.000\nG0 Z30.000\nM0", "G0 X91.000 Y100.000\nG0 Z30.000\nM0", "touch-deep"},
		{"a fast probe", "G38.2 X99.000 F25", "G38.2 X99.000 F151", "touch-fast"},
		{"a probe along two axes", "G38.2 X99.000 F100", "G38.2 X99.000 Y101.000 F100", "touch-slant"},
		{"a probe down beside the pin", "G38.2 X99.000 F100", "G38.2 Z23.000 F100", "touch-drag"},
		{"sideways by rapid", "G38.2 X99.000 F100", "G0 X95.000", "rapid-low"},
		{"sideways without probing", "G38.2 X99.000 F100", "G1 X95.000 F100", "touch-drag"},
		{"a second touch without going back", "G91\nG1 X-1.000 F100\nG90\nG38.2 X99.000 F25", "G38.2 X100.000 F25", "touch-drag"},
		{"back too far under G91", "G1 X-1.000 F100", "G1 X-1.010 F100", "relative"},
		{"on instead of back under G91", "G1 X-1.000 F100", "G1 X1.000 F100", "relative"},
		{"aside instead of back under G91", "G91\nG1 X-1.000 F100\nG90\nG38.2 X99.000 F25", "G91\nG1 Y-1.000 F100\nG90\nG38.2 Y101.000 F25", "relative"},
		{"up where it touches", "G1 X92.000 F100\nG0 Z40.000", "G0 Z40.000", "touch-drag"},
		{"back by rapid", "G1 X92.000 F100", "G0 X92.000", "rapid-low"},
		{"not back to where it came down", "G1 X92.000 F100", "G1 X92.500 F100", "touch-drag"},
		{"up by half only", "G1 X92.000 F100\nG0 Z40.000", "G1 X92.000 F100\nG0 Z35.000", "touch-drag"},
		{"driven on to where the text believes to be", "M0\nG1 X92.000 F100", "M0\nG1 X99.000 F100", "touch-drag"},
		{"ends with the probe down", "M0\nG0 Z40.000\nM2", "M0\nM2", "touch-end"},
		{"across below safe height", "G0 Z40.000\nG0 X150.000 Y100.000", "G0 Z39.000\nG0 X150.000 Y100.000", "touch-drag"},
		{"deeper than the reach", "G38.2 Z22.000 F100", "G38.2 Z21.900 F100", "touch-deep"},
		{"spindle on", "M5\nG0 Z40.000", "S10000 M3\nG0 Z40.000", ""},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			require.Contains(t, touchText, tc.old)
			w, limits := touchWork()
			cert, l := ProveTouch(context.Background(), w, limits, []Source{{File: "touch.nc", Text: []byte(strings.Replace(touchText, tc.old, tc.new, 1))}})
			assert.True(t, l.Blocks())
			assert.False(t, cert.OK)
			if tc.code != "" {
				assert.True(t, l.Has(tc.code), "%v", l)
			}
		})
	}
}

func TestATouchOffKeepsClearOfClamps(t *testing.T) {
	w, limits := touchWork()
	w.ClampsSaid = true
	w.Clamps = []keepout.Volume{{Name: "strap", Kind: keepout.Clamp, From: -12, To: 0, Clearance: 3,
		Footprint: []geom.Region{geom.NewRegion(geom.Rect(120, 90, 130, 110))}}}
	_, l := ProveTouch(context.Background(), w, limits, []Source{{File: "touch.nc", Text: []byte(touchText)}})
	assert.True(t, l.Blocks(), "goes over a strap that stands up to 2 mm above safe height")
	w.Clamps[0].From = -5
	_, l = ProveTouch(context.Background(), w, limits, []Source{{File: "touch.nc", Text: []byte(touchText)}})
	assert.False(t, l.Blocks(), "%v", l)
}
