package attack_test

import (
	"testing"

	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// Each row asks the operator for one cutter and the program for another.
func TestTheCutterAskedForIsTheOneCalled(t *testing.T) {
	with := func(change shop.ToolChange) *work.Work {
		w := panel()
		w.Machine.Controller.ToolChange = change
		w.Cutters = append(w.Cutters, flat6())
		return w
	}
	for _, tc := range []struct {
		fact string
		w    *work.Work
		to   string
		code string
	}{
		{"message, then a remark", with(shop.ChangePause), "M5\nM0 (MSG, load T2)\n(outline was drawn for T1)\n", "gouge"}, // with the wide cutter
		{"word, then a message", with(shop.ChangeWord), "T1 M6\nM0 (MSG, load T2)\n", "wrong-cutter"},
		{"word, then a message, by hand", with(shop.ChangePause), "T1 M6\nM0 (MSG, load T2)\n", "wrong-cutter"},
		{"message of a cutter that nobody knows", with(shop.ChangePause), "T1\nM0 (MSG, load T7)\n", "wrong-cutter"},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			refused(t, tc.w, tc.code, edit(t, whole, "T1 M6\n", tc.to))
		})
	}
}

func TestALengthOnceSaidMayNotBeDropped(t *testing.T) {
	refused(t, panel(), "length-offset", edit(t, whole, "T1 M6\n", "T1 M6\nG43 H1\n", "G1 Z0.000 F200\n", "G49\nG1 Z0.000 F200\n"))
}
