package attack_test

import (
	"math"
	"strings"
	"testing"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// Each row has a hand, a probe or a length where none may be.
func TestNobodyReachesUnderATurningCutter(t *testing.T) {
	two := func() *work.Work {
		w := panel()
		w.Cutters = append(w.Cutters, flat6())
		return w
	}
	lengths := panel()
	lengths.Machine.Controller.LengthWord = true
	for _, tc := range []struct {
		fact     string
		w        *work.Work
		from, to string
		code     string
	}{
		{"pause with the spindle turning", panel(), "G4 P3\n", "G4 P3\nM0 (MSG, clean the collet)\n", "pause-spinning"},
		{"change with the spindle turning", two(), "M5\nM2\n", "T2 M6\nM2\n", "pause-spinning"},
		{"pause low in the air", panel(), "G0 Z0.500\n", "G0 Z0.500\nM5\nM0\nM3\nG4 P3\n", "change-low"},
		{"pause in the cut behind a short lift", panel(), "G0 Z5.000\nM5\n", "G0 Z-1.900\nM5\nM0\nG0 Z5.000\nM5\n", "change-low"},
		{"spindle started in the cut", panel(), second, "G0 Z5\nM5\nG0 Z-0.99\nM3\nG4 P3\n" + second, "spindle-low"},
		{"probe in a program that cuts", panel(), "M3 S18000\nG4 P3\n", "G0 X6 Y1\nG38.2 Z0 F100\nG0 Z5\nM3 S18000\nG4 P3\n", "probe-in-cut"},
		{"length dropped on the way", panel(), second, "G43 H1\n" + second, "length-offset"},
		{"length never said", lengths, "G4 P3\n", "G4 P3\n", "length-offset"},
	} {
		t.Run(tc.fact, func(t *testing.T) { refused(t, tc.w, tc.code, edit(t, whole, tc.from, tc.to)) })
	}
	t.Run("a line that a switch may skip, ended by CR", func(t *testing.T) {
		refused(t, panel(), "block-delete", strings.ReplaceAll(edit(t, whole, "G1 X24.000 Z-1.000 F600\n", "/G1 X24.000 Z-1.000 F600\n"), "\n", "\r"))
	})
}

// Each row makes work that says two things, or none.
func TestWorkThatMeansTwoThingsIsRefused(t *testing.T) {
	for _, tc := range []struct {
		fact string
		make func(*work.Work)
	}{
		{"two cutters with one number", func(w *work.Work) {
			w.Cutters = append(w.Cutters, flat6())
			w.Cutters[1].Number = 1
		}},
		{"two cuts with one name", func(w *work.Work) { w.Cuts = append(w.Cuts, opening()) }},
		{"keep-out turned inside out", func(w *work.Work) {
			w.Members[0].Footprint = []geom.Region{{Outer: geom.Rect(-100, -100, 200, 200).Reverse()}}
		}},
		{"outline turned inside out", func(w *work.Work) { w.Cuts[0].Regions[0].Outer = w.Cuts[0].Regions[0].Outer.Reverse() }},
		{"hole that fills", func(w *work.Work) {
			w.Members[0].Footprint = []geom.Region{{Outer: geom.Rect(-40, -40, 80, -5), Holes: []geom.Contour{geom.Rect(-10, -20, 30, -10)}}}
		}},
		{"spindle that turns at any speed", func(w *work.Work) { w.Machine.SpindleMax = math.NaN() }},
		{"feed that is no number", func(w *work.Work) { w.Cuts[0].Feed = math.NaN() }},
		{"draping without bound", func(w *work.Work) { w.HeightTol = math.Inf(1) }},
		{"opening of nothing", func(w *work.Work) { w.Cuts[0].Regions = nil }},
		{"bore without an outline", func(w *work.Work) {
			w.Cuts = append(w.Cuts, work.Cut{Name: "bore", Kind: work.Bore, Points: []geom.Point{{X: 50, Y: 10}}, Diameter: 4, Through: true, Depth: 2, Limit: 3})
		}},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			w := panel()
			tc.make(w)
			refused(t, w, "work-unsound", whole)
		})
	}
}

func TestCornersBlendedByNobodyKnowsHowMuchAreRefused(t *testing.T) {
	w := panel()
	w.Machine.Accel = 0
	refused(t, w, "path-mode", edit(t, whole, "G61\n", "G64\n"))
	w = panel()
	w.Machine.Controller.PathMode, w.Machine.Controller.BlendTol = shop.PathUnstated, 3
	refused(t, w, "keepout-near", edit(t, whole, "G61\n", "G64 P0.001\n"))
}
