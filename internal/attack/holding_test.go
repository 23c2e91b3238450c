package attack_test

import (
	"strings"
	"testing"

	"sparclear/pkg/work"
)

// Each row leaves less than what was to stay.
func TestWhatHoldsIsLeft(t *testing.T) {
	pocket := work.Cut{Name: "pocket", Kind: work.Pocket, Part: -1, Regions: rect(10, 8, 20, 10), Depth: 1, Limit: 3, Step: 1, RPM: 18000, Feed: 600, Plunge: 200, Ramp: 1, Tol: 0.05}
	rebate := func() *work.Work {
		w := panel()
		c := &w.Cuts[0]
		c.Kind, c.Through, c.Depth, c.Regions = work.Rebate, false, 0.5, rect(0, 0, 30, 2)
		return w
	}
	held := func(tabs work.Tabs) *work.Work {
		w := board()
		w.Cuts[0].Tabs = tabs
		return w
	}
	onion := func() *work.Work {
		w := board()
		w.Cuts[0].Onion, w.Cuts[0].Through, w.Cuts[0].Depth = 0.3, false, 2.7
		return w
	}
	slug := func() *work.Work {
		w := panel()
		w.Cuts[0].Depth, w.Cuts[0].Overcut = 1.8, 0
		w.Cuts = append(w.Cuts, pocket)
		return w
	}
	toSkin := strings.ReplaceAll(whole, "Z-2.000", "Z-1.800")
	for _, tc := range []struct {
		fact string
		w    *work.Work
		code string
		text string
	}{
		{"tabs of a thousandth", held(work.Tabs{Count: 2, Width: 4, Height: 1}), "tab-small",
			boardProgram("G1 X60 Z-3.2\nG1 Z-2.999\nG1 X66\nG1 Z-3.2 F200\nG1 X91 F600\nG1 Y81\nG1 X80\nG1 Z-2.999\nG1 X74\nG1 Z-3.2 F200\nG1 X49 F600\nG1 Y49\nG1 X60\n")},
		{"a tab of no width", held(work.Tabs{Auto: true, Width: 4, Height: 1}), "tab-missing",
			boardProgram("G1 X60 Z-3.2\nG1 Z-2\nG1 X61.8\nG1 Z-3.2 F200\nG1 X91 F600\nG1 Y81\nG1 X49\nG1 Y49\nG1 X60\n")},
		{"an onion skin cut through", onion(), "depth-limit", boardProgram(outside(-3.2) + "G1 X91\n")},
		{"a rebate as deep as its floor allows", rebate(), "depth-limit",
			head + "G0 X1 Y1\nG0 Z0.5\nG1 Z0 F200\nG1 X29 Z-1.3 F600\nG1 X1 Z-2.5\nG1 X29\n" + tail},
		{"a slug cut after it came loose", slug(), "loose-part",
			edit(t, toSkin, "G0 Z5.000\nM5\n", "G0 Z5\nG0 X11 Y9\nG0 Z0.5\nG1 Z-1 F200\nG1 X19 F600\nG0 Z5.000\nM5\n")},
	} {
		t.Run(tc.fact, func(t *testing.T) { refused(t, tc.w, tc.code, tc.text) })
	}
}
