package attack_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// heard demands that the proof certifies and says so with a finding.
func heard(t *testing.T, w *work.Work, severity diag.Severity, code, text string) {
	t.Helper()
	c, l := prove(w, text)
	require.True(t, c.OK, told(l))
	for _, f := range l {
		if f.Code == code && f.Severity == severity {
			return
		}
	}
	require.Fail(t, "nothing is said of "+code, told(l))
}

func TestAFeedThatRubsIsSaid(t *testing.T) {
	w := panel()
	w.Cutters[0].Flutes = 2
	heard(t, w, diag.Warn, "feed-slow", edit(t, whole, "G1 Y19.000\n", "G1 Y19.000 F20\n"))
	c, l := prove(w, whole)
	require.True(t, c.OK && !l.Has("feed-slow"), told(l))
}

func TestMistIsCoolantToo(t *testing.T) {
	text := edit(t, whole, "M3 S18000", "M7\nM3 S18000")
	refused(t, panel(), "coolant-wet", text)
	w := panel()
	w.Hollow, w.Material = false, shop.Material{Family: "balsa"}
	refused(t, w, "coolant-wet", text)
	w.Machine.Controller.DustOn = "M7"
	c, l := prove(w, text)
	require.True(t, c.OK, told(l))
}

// A spar typed 18 mm deep instead of 1.8 is kept clear by that slip alone.
func TestAMemberBelowAllThatIsCutIsSaid(t *testing.T) {
	w := panel()
	w.Members[0].Footprint, w.Members[0].From = rect(10, -5, 14, 30), 18
	heard(t, w, diag.Note, "keepout-deep", whole)
	c, _ := prove(w, whole)
	for _, k := range c.Checks {
		if k.Name == "members" {
			assert.Contains(t, k.Detail, "main spar begins 18.00 mm below the skin")
		}
	}
	w.Members[0].Footprint = rect(100, -5, 104, 30) // away from the cut its depth does not matter
	c, l := prove(w, whole)
	require.True(t, c.OK && !l.Has("keepout-deep"), told(l))
}

// With nothing said of what lies below, a cut keeps to its own depth, and a hollow
// wing is not cut at all.
func TestNoFloorIsNoLicence(t *testing.T) {
	w := panel()
	w.Floor = math.Inf(1)
	refused(t, w, "work-unsound", whole)
	w.Hollow, w.Cuts[0].Limit = false, math.Inf(1)
	c, l := prove(w, whole)
	require.True(t, c.OK, told(l))
	assert.Contains(t, strings.Join(c.NotChecked, "\n"), "no floor")
	refused(t, w, "depth-limit", strings.ReplaceAll(whole, "Z-2.000", "Z-2.100"))
}
