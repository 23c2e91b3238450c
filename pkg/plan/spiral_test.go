package plan

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

// pocketed plans a pocket of one layer.
func pocketed(t *testing.T, g geom.Region, climb bool) []motion {
	cut := through("p", work.Pocket, g)
	cut.Through, cut.Depth, cut.Limit, cut.Step, cut.Climb = false, 0.5, 1, 0.6, climb
	w := sheet([]shop.Cutter{endmill2()}, cut)
	w.Machine, w.ClampsSaid = bench(), true
	w.Cutters[0].Number, w.Cutters[0].MaxRPM = 1, 30000
	ps := mustPlan(t, w)
	_, found, _ := provenOf(t, w, ps)
	for _, f := range found {
		require.NotEqual(t, "leftover", f.Code, "%v", f)
	}
	return replay(ps)
}

func TestPocketIsOneContinuousSpiralWhereItsShapeAllows(t *testing.T) {
	for name, tc := range map[string]struct {
		g     geom.Region
		first float64 // length of helix and innermost ring, mm, at most
	}{
		"rounded rectangle": {region(geom.RoundRect(0, 0, 40, 24, 5)), 60},
		"square corners":    {region(geom.Rect(0, 0, 31, 23)), 60},
		"disc":              {region(geom.Circle(geom.Pt(0, 0), 12)), 25},
		"oblong":            {region(geom.RoundRect(0, 0, 60, 18, 9)), 120},
	} {
		g := tc.g
		for _, climb := range []bool{true, false} {
			t.Run(name, func(t *testing.T) {
				ms := pocketed(t, g, climb)
				// Engagement by brute force: from the first whole ring on, no place of
				// the path lies further from what was cut before than the stepover, but
				// for corners, where rings lie further apart by 1/sin(θ/2).
				step, corner := 0.9, 0.9/math.Sin(math.Pi/4)
				if name != "square corners" {
					corner = step / math.Sin(math.Pi/4) // inner rings of these have corners too
				}
				wide, turns, at := 0, 0.0, 0
				for i, m := range ms {
					if m.Z > -0.5+1e-9 || m.from[2] > -0.5+1e-9 || m.Kind == toolpath.Rapid {
						continue
					}
					s := m.seg()
					turns += s.Length()
					if turns < tc.first { // helix and innermost ring cut their full width
						at = i
						continue
					}
					for _, f := range []float64{0.25, 0.5, 0.75} {
						q := s.At(f)
						d := math.Inf(1)
						for k := range i - 1 {
							if p := ms[k]; p.Z <= -0.5+1e-9 && p.from[2] <= -0.5+1e-9 && p.Kind != toolpath.Rapid {
								d = math.Min(d, p.seg().Dist(q))
							}
						}
						require.LessOrEqual(t, d, corner*spiralSlack, "at %v", q)
						if d > step*spiralSlack {
							wide++
						}
					}
				}
				assert.Positive(t, at)
				assert.LessOrEqual(t, wide, 3*len(ms)/20, "few places lie in corners")
				// One way down, no joint: the cutter never leaves the layer.
				lifts := 0
				for _, m := range ms[3 : len(ms)-1] {
					if m.Kind == toolpath.Rapid {
						lifts++
					}
				}
				assert.Zero(t, lifts)
			})
		}
	}
}

func TestSpiralHasNoMoreBlocksThanTwiceTheRings(t *testing.T) {
	g := region(geom.RoundRect(0, 0, 40, 24, 5))
	ms := pocketed(t, g, true)
	// closed form: half the width less the radius of the cutter is 11 mm, a
	// stepover of 0.9 mm makes 13 rings of 8 blocks; the helix beside it.
	assert.LessOrEqual(t, len(ms), 13*8+12)
	spirals := 0
	for _, m := range ms {
		if m.Kind == toolpath.Line && m.Z <= -0.5+1e-9 && math.Abs(m.X-m.from[0]) > 4 && math.Abs(m.Y-m.from[1]) > 0.01 && math.Abs(m.Y-m.from[1]) < 0.9 {
			spirals++
		}
	}
	assert.GreaterOrEqual(t, spirals, 16, "the long sides drift outwards")
}

func TestRingsThatBranchAreJoined(t *testing.T) {
	ms := pocketed(t, region(geom.Polygon(geom.Pt(0, 0), geom.Pt(14, 0), geom.Pt(14, 6), geom.Pt(30, 6), geom.Pt(30, 0), geom.Pt(44, 0), geom.Pt(44, 15), geom.Pt(30, 15), geom.Pt(30, 9), geom.Pt(14, 9), geom.Pt(14, 15), geom.Pt(0, 15))), true)
	lifts := 0
	for _, m := range ms[3 : len(ms)-1] {
		if m.Kind == toolpath.Rapid && m.Z == 5 && m.X == m.from[0] && m.Y == m.from[1] {
			lifts++
		}
	}
	assert.Equal(t, 1, lifts, "once from bay to bay")
}
