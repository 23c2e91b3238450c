package attack_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// edit changes a text at the first place of each pair, which must be there.
func edit(t *testing.T, text string, pairs ...string) string {
	t.Helper()
	for i := 0; i < len(pairs); i += 2 {
		require.Contains(t, text, pairs[i])
		text = strings.Replace(text, pairs[i], pairs[i+1], 1)
	}
	return text
}

const (
	whole  = head + enter + round + tail
	second = "G1 X24.000 Z-2.000\n" // the way down to the second round
	last   = "G1 X29.000\nG0 Z5.000\n"
)

// Each row changes one thing in a program that is certified as it stands.
func TestOneHarmfulCommandIsRefused(t *testing.T) {
	for _, tc := range []struct {
		fact, from, to, code string
	}{
		{"zero moved by G92", "G0 X6", "G92 Z6\nG0 X6", "offsets-changed"},
		{"zero moved by G10", "G0 X6", "G10 L2 P1 Z-1\nG0 X6", "offsets-changed"},
		{"another coordinate system", "G0 X6", "G55 G0 X6", "offsets-changed"},
		{"machine coordinates with no origin known", "M5\nM2", "G53 G0 Z10\nM5\nM2", "origin-unknown"},
		{"inches in the middle", second, "G20\nG1 X0.9 Z-0.2\n", "depth-limit"},
		{"inverse time hides a fast move", second, "G93 G1 X24.000 Z-2.000 F500\nG94\nF600\nG1 X24 Z-2\n", "feed-high"},
		{"spindle backwards", "M3", "M4", "spindle-reverse"},
		{"spindle stopped in the cut", second, "M5\n" + second, "spindle-off"},
		{"spindle stopped above, then cutting", second, "G0 Z5\nM5\nG0 Z0.1\n" + second, "spindle-off"},
		{"speed of nothing", second, "S0\n" + second, "spindle-off"},
		{"speed raised by the way", second, "S23999\n" + second, "rpm-off"},
		{"feed of nothing", second, "F0\n" + second, "rs274-feed"},
		{"rapid across in the cut", "G1 Y19.000", "G0 Y19.000", "rapid-in-material"},
		{"rapid down and across into the skin", "G0 X6.000 Y1.000\nG0 Z0.500\n", "G0 X6 Y1 Z-0.5\n", "rapid-in-material"},
		{"coolant into a hollow wing", "M3 S18000", "M3 S18000 M8", "coolant-wet"},
		{"a line that a switch may skip", "G0 X6.000", "/G0 Z5\nG0 X6.000", "block-delete"},
		{"drilling cycle below the limit", last, "G0 Z5\nG98 G81 X10 Y10 Z-4 R1 F200\nG80\nG0 Z5\n", "depth-limit"},
		{"cycle whose R lies in the skin", last, "G0 Z5\nG99 G81 X10 Y10 Z-2 R-1 F200\nX20\nG80\nG0 Z5\n", "rapid-in-material"},
		{"peck cycle over the spar", last, "G0 Z5\nG99 G83 X10 Y-5 Z-2 R1 Q0.5 F200\nG80\nG0 Z5\n", "keepout-near"},
		{"repeats of a relative cycle that walk onto the spar", last, "G0 Z5\nG91 G99 G81 Y-4 Z-3 R-4 L3 F200\nG80\nG90\nG0 Z5\n", "keepout-near"},
		{"end in the cut", "G0 Z5.000\nM5\nM2\n", "M2\n", "end-not-retracted"},
		{"end of the text lost", "M2\n", "", "rs274-no-end"},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			refused(t, panel(), tc.code, edit(t, whole, tc.from, tc.to))
		})
	}
}

func TestAnArcThatLeavesItsPlaceIsRefused(t *testing.T) {
	for _, tc := range []struct{ fact, to, code string }{
		{"full circle below the edge", "G1 X15\nG2 X15 Y1 I0 J-3\nG0 Z5\n", "gouge"},
		{"larger of two arcs by R", "G1 X10\nG3 X20 Y1 R-5.001\nG0 Z5\n", "gouge"},
		{"helix to a depth that nobody asked for", "G1 X15\nG3 X15 Y1 Z-5 I0 J9\nG0 Z5\n", "depth-limit"},
		{"end that a rounding turns into a full circle", "G1 X10\nG2 X10.009 Y1 I3 J0\nG0 Z5\n", "gouge"},
		{"half circle that dips in the plane of Z and X", "G1 X28\nG18 G3 X20 Z-2 I-4 K0\nG17\nG0 Z5\n", "floor-passed"},
		{"half circle that dips in the plane of Y and Z", "G1 X28\nG1 Y18\nG19 G2 Y10 Z-2 J-4 K0\nG17\nG0 Z5\n", "floor-passed"},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			refused(t, panel(), tc.code, edit(t, whole, last, tc.to))
		})
	}
}

func TestAProgramMayNotRelyOnTheOneBefore(t *testing.T) {
	refused(t, panel(), "units-unstated", whole, enter+round+"G0 Z5\nM2\n")
}

func TestTheCutterIsTheOneThatStandsInTheSpindle(t *testing.T) {
	byHand := func() *work.Work {
		w := panel()
		w.Machine.Controller.ToolChange = shop.ChangePause
		w.Cutters = append(w.Cutters, flat6())
		return w
	}
	t.Run("a remark behind T names another cutter", func(t *testing.T) {
		refused(t, byHand(), "", edit(t, whole, "T1 M6\n", "T2\n(cut servo with T1)\n"))
	})
	t.Run("a pause that a switch may skip names the right one", func(t *testing.T) {
		refused(t, byHand(), "wrong-cutter", edit(t, whole, "T1 M6\n", "(MSG, load T2)\nG0 X6 Y1\nM1 (MSG, load T1)\n"))
	})
	t.Run("length of another cutter", func(t *testing.T) {
		w := panel()
		w.Cutters = append(w.Cutters, flat6())
		refused(t, w, "length-offset", edit(t, whole, "T1 M6\n", "T1 M6\nG43 H2\n"))
	})
	t.Run("changed low above the skin", func(t *testing.T) {
		w := panel()
		w.Cutters = append(w.Cutters, flat6())
		refused(t, w, "change-low", edit(t, whole, "T1 M6\nM3 S18000\nG4 P3\n", "T2 M6\n", "G0 Z0.500\n", "G0 Z0.500\nT1 M6\nM3 S18000\nG4 P3\n"))
	})
	t.Run("changed in the cut behind a short lift", func(t *testing.T) {
		w := panel()
		w.Cutters = append(w.Cutters, flat6())
		refused(t, w, "change-low", edit(t, whole, "G0 Z5.000\nM5\n", "G0 Z-1.900\nT2 M6\nG0 Z5.000\nM5\n"))
	})
	t.Run("nut lower than the cut is deep", func(t *testing.T) {
		w := panel()
		w.Cutters[0].StickOut, w.Members = 1.5, nil
		refused(t, w, "holder-in-work", whole)
	})
}

// G53 counts from the machine's own zero: where the job says where the program's
// zero lies it is as good as any other move, but for Z when cutters differ in
// length.
func TestMachineCoordinatesNeedAnOriginThatHolds(t *testing.T) {
	lift := edit(t, whole, "M5\nM2", "G53 G0 Z-1\nM5\nM2")
	across := edit(t, whole, "M5\nM2", "G53 G0 X150 Y150\nM5\nM2")
	known := func() *work.Work {
		w := panel()
		w.Machine.TravelMin, w.Machine.TravelMax = [3]float64{0, 0, -80}, [3]float64{600, 400, 0}
		w.Origin = &[3]float64{100, 100, -60}
		return w
	}
	for _, text := range []string{lift, across} {
		c, l := prove(known(), text)
		require.True(t, c.OK, told(l))
	}
	two := known()
	two.Cutters = append(two.Cutters, flat6())
	refused(t, two, "origin-unknown", lift)
	c, l := prove(two, across)
	require.True(t, c.OK, told(l))
	refused(t, known(), "origin-unknown", edit(t, lift, "T1 M6\n", "T1 M6\nG43 H1\n"))
	refused(t, known(), "rapid-in-material", edit(t, whole, "G0 Z0.500\n", "G53 G0 Z-61\n"))
	refused(t, known(), "start-dependent", edit(t, whole, "G1 X24.000 Z-2.000\n", "#1=[#5223+60]\nG1 X24.000 Z[#1-2+#5241]\n"))
}

// A controller that does not know a word stops in the cut, or reads on without it.
func TestAProgramSaysWhatItsControllerKnows(t *testing.T) {
	for _, tc := range []struct {
		fact string
		c    func(*shop.Controller)
		text string
	}{
		{"line longer than the controller takes", func(c *shop.Controller) { c.MaxLine = 40 }, edit(t, whole, "G1 X29.000\n", "G1 X29.000                              F600\n")},
		{"arc for a controller of straight lines", func(c *shop.Controller) { c.Arcs = shop.ArcNone }, edit(t, whole, last, "G1 X29.000\nG1 Y2\nG3 X28 Y3 R1\nG0 Z5\n")},
		{"dwell that is not known", func(c *shop.Controller) { c.Dwell = false }, whole},
		{"comment that is not known", func(c *shop.Controller) { c.Comments = false }, edit(t, whole, "G1 X29.000\n", "G1 (Y50) X29.000\n")},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			w := panel()
			tc.c(&w.Machine.Controller)
			refused(t, w, "controller-word", tc.text)
		})
	}
}
