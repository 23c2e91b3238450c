package plan

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// blocks counts the blocks of a program text that move an axis.
func blocks(text []byte) int {
	n := 0
	for _, l := range strings.Split(string(text), "\n") {
		if i := strings.IndexByte(l, '('); i >= 0 {
			l = l[:i]
		}
		if strings.ContainsAny(l, "XYZ") && !strings.Contains(l, "G53") {
			n++
		}
	}
	return n
}

// TestProgramsHaveHardlyMoreBlocksThanTheGeometryNeeds: every edge of a path is
// one block, one more where a ramp ends; arcs stay arcs, turns stay whole. The
// least number is counted by hand (closed form), the way in and out beside it:
// across, down, down by feed, up.
func TestProgramsHaveHardlyMoreBlocksThanTheGeometryNeeds(t *testing.T) {
	const inOut = 4
	box := region(geom.RoundRect(0, 0, 60, 30, 4)) // 8 edges
	line := geom.Chain{{Point: geom.Pt(0, 0)}, {Point: geom.Pt(60, 0)}, {Point: geom.Pt(90, 10)}}
	blind := func(c work.Cut) work.Cut {
		c.Through, c.Depth, c.Limit = false, 1.2, 1.5
		return c
	}
	shape := func(kind work.Kind, g ...geom.Region) work.Cut {
		c := through("x", kind, g...)
		c.Step = 0.6 // 2.2 mm in 4 passes, 1.2 mm in 2
		return c
	}
	all, least := 0, 0
	for _, tc := range []struct {
		name string
		cut  work.Cut
		need int
	}{
		{"opening", shape(work.Opening, box), 4*(8+1) + 1 + 2 + inOut}, // lead in, overlap
		{"part on 3 tabs", func() work.Cut { // of each tab 4 bends in the two passes below its top
			c := shape(work.PartCut, box)
			c.Tabs = work.Tabs{Count: 3, Width: 4, Height: 0.6}
			return c
		}(), 4*(8+1) + 2*3*4 + 1 + 2 + inOut},
		{"opening with finish and tabs", func() work.Cut { // and the two arcs across
			c := shape(work.Opening, box)
			c.Tabs, c.Finish = work.Tabs{Count: 3, Width: 4, Height: 0.6}, 0.1
			return c
		}(), 4*(8+1) + 3*3*4 + 8 + 3 + inOut},
		{"bores", func() work.Cut {
			c := shape(work.Bore)
			c.Diameter = 4
			for i := range 6 {
				c.Points = append(c.Points, geom.Pt(float64(i)*10, 0))
			}
			return c
			// turns of 2π·1 mm·tan 3°; once round at the bottom, to the middle, out to the wall
		}(), 6 * (int(math.Ceil(2.2/(2*math.Pi*math.Tan(3*math.Pi/180)))) + 3 + inOut)},
		{"drilled holes", func() work.Cut {
			c := shape(work.Drill)
			for i := range 6 {
				c.Points = append(c.Points, geom.Pt(float64(i)*10, 0))
			}
			return c
		}(), 6 * inOut},
		{"slot on a line", func() work.Cut { // to and fro, each ramp out and back
			c := shape(work.Slot)
			c.Chains = []geom.Chain{line}
			return c
		}(), 4*(2+2) + inOut},
		{"groove", func() work.Cut {
			c := blind(shape(work.Score))
			c.Chains = []geom.Chain{line}
			return c
		}(), 2*(2+2) + inOut},
		// 30 mm less the cutter are 14 mm to the middle: 16 rings of 8 edges, the
		// inner 10 without the rounding of their corners, and a helix in each layer
		{"pocket", blind(shape(work.Pocket, box)), 2*(6*8+10*4+8) + inOut},
	} {
		w := sheet([]shop.Cutter{endmill2()}, tc.cut)
		w.Machine, w.ClampsSaid = bench(), true
		w.Cutters[0].Number, w.Cutters[0].MaxRPM = 1, 30000
		_, _, src := provenOf(t, w, mustPlan(t, w))
		n := blocks(src[0].Text)
		t.Logf("%-30s %4d blocks, %4d needed", tc.name, n, tc.need)
		all, least = all+n, least+tc.need
		if tc.name != "pocket" { // its least is counted roughly; it is in the sum
			assert.LessOrEqual(t, float64(n), 1.2*float64(tc.need), tc.name)
		}
	}
	t.Logf("%d blocks, %d needed: %.2f", all, least, float64(all)/float64(least))
	assert.LessOrEqual(t, float64(all), 1.2*float64(least))
}
