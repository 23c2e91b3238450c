package attack_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/work"
)

const otherOpening = "G0 Z5\nG0 X76 Y1\nG0 Z0.5\nG1 Z0 F200\nG1 X94 Z-1 F600\nG1 X99\nG1 Y19\nG1 X71\nG1 Y1\nG1 X76\nG1 X94 Z-2\nG1 X99\nG1 Y19\nG1 X71\nG1 Y1\nG1 X99\n"

// crossRib is a rib under both openings.
func crossRib() keepout.Volume {
	return keepout.Volume{Name: "long rib", Kind: keepout.Rib, Footprint: rect(-50, 9, 150, 11), From: 1.8, To: math.Inf(1), Clearance: 0.5}
}

// Each row lays what is kept in the way of a program that is certified without it.
func TestWhatIsKeptIsKept(t *testing.T) {
	for _, tc := range []struct {
		fact string
		make func(*work.Work)
		code string
	}{
		{"a spar that the job accepts in every way", func(w *work.Work) {
			w.Members[0].Footprint, w.Members[0].Accept = rect(-50, 9, 150, 11), true
			w.Cuts[0].Accept = []string{"rib-entered", "rib-entered: main spar", "keepout-near", "keepout-near: main spar", "holder-near"}
			w.Accepted = []work.Acceptance{{Cut: "servo", Code: "keepout-near"}}
		}, "keepout-near"},
		{"a clamp that the job accepts", func(w *work.Work) {
			w.Clamps = []keepout.Volume{{Name: "toe", Kind: keepout.Clamp, Footprint: rect(10, 0, 12, 4), From: -10, To: 0, Accept: true}}
			w.Cuts[0].Accept = []string{"clamp-near", "rib-entered"}
		}, "clamp-near"},
		{"a member that surrounds the opening, nearer than its clearance", func(w *work.Work) {
			w.Members[0].Footprint = []geom.Region{{Outer: geom.Rect(-40, -40, 80, 60), Holes: []geom.Contour{geom.Rect(-0.9, -0.9, 30.9, 20.9).Reverse()}}}
		}, "keepout-near"},
		{"a member that stands above the skin", func(w *work.Work) {
			w.Members[0].From, w.Members[0].To, w.Members[0].Footprint = -3, -2, rect(10, 8, 12, 22)
		}, "keepout-near"},
		{"a member drawn for the other wing and mirrored", func(w *work.Work) {
			w.Members[0].Footprint = []geom.Region{geom.NewRegion(geom.Rect(-100, -30, 100, 30)).Transform(geom.Rigid{Mirror: true})}
		}, "keepout-near"},
		{"datums far away, so that nobody knows where the spar lies", func(w *work.Work) {
			w.Members[0].Footprint = rect(-40, -11, 80, -1.3)
			w.Register.Base, w.Register.Spread, w.Register.Centroid = 0.05, 10, geom.Pt(500, 0)
		}, "keepout-near"},
		{"a limit one nanometre above the deepest place", func(w *work.Work) {
			w.Cuts[0].Limit = 2.02 + 0.0005 - 1e-6
		}, "depth-limit"},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			w := panel()
			tc.make(w)
			refused(t, w, tc.code, whole)
		})
	}
}

func TestARapidCrossesAClampOnAnyPathOfItsAxes(t *testing.T) {
	w := panel()
	w.Clamps = []keepout.Volume{{Name: "toe", Kind: keepout.Clamp, Footprint: rect(40, 40, 45, 45), From: -10, To: 0, Clearance: 3}}
	// the straight line from (60, 20) to (30, 60) misses the clamp's corner, the box does not
	refused(t, w, "clamp-near", edit(t, whole, "G0 Z5.000\nM5\n", "G0 Z5\nG0 X60 Y20\nG0 X30 Y60\nM5\n"))
}

func TestOneCutDoesNotAcceptForAnother(t *testing.T) {
	w := panel()
	c := opening()
	c.Name, c.Regions = "second", rect(70, 0, 100, 20)
	w.Cuts = append(w.Cuts, c)
	w.Members = append(w.Members[:1], crossRib())
	w.Cuts[0].Accept = []string{"rib-entered: long rib"}
	refused(t, w, "rib-entered", head+enter+round+otherOpening+tail)
}

// Accepting one rib does not accept what else lies under the cut.
func TestAnAcceptanceNamesItsMember(t *testing.T) {
	make := func(accept ...string) *work.Work {
		w := panel()
		rib := crossRib()
		wire := rib
		wire.Name, wire.Kind, wire.Footprint = "wire 1", keepout.Wire, rect(14, -1, 16, 40)
		w.Members = append(w.Members[:1], rib, wire)
		w.Cuts[0].Accept = accept
		return w
	}
	refused(t, make("rib-entered"), "rib-entered", whole)
	refused(t, make("rib-entered: long rib"), "rib-entered", whole)
	refused(t, make("rib-entered: wire 1"), "rib-entered", whole)
	refused(t, make("rib-entered: long"), "rib-entered", whole)
	c, l := prove(make("rib-entered: long rib", "rib-entered: wire 1"), whole)
	require.True(t, c.OK, told(l))
}
