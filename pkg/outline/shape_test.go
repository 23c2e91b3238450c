package outline

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

func ExampleMake() {
	s, err := Make("servo-standard", map[string]float64{"length": 40.3, "width": 20.1, "clearance": 0.4, "corner": 0})
	if err != nil {
		fmt.Println(err)
		return
	}
	size := s.Regions[0].Bounds().Size()
	fmt.Printf("opening %.1f × %.1f mm, %d holes of %.1f mm, %d findings\n", size.X, size.Y, len(s.Points), s.Drill, len(s.Findings))
	// Output: opening 41.1 × 20.9 mm, 4 holes of 2.4 mm, 0 findings
}

// smallest holds sizes that make every kind; what is not given has a default.
func smallest() map[string]map[string]float64 {
	return map[string]map[string]float64{
		"servo":          {"length": 23, "width": 12},
		"gear-bay":       {"length": 60, "width": 40, "leg": 90, "leg_width": 12, "wheel": 50},
		"wheel-well":     {"wheel": 60},
		"wire-exit":      {"width": 6},
		"horn-slot":      {"arm": 12, "throw_deg": 30, "horn": 4, "thickness": 2},
		"hatch":          {"length": 60, "width": 40, "land": 5, "cover": 1},
		"lightening-row": {"length": 100, "count": 5, "diameter": 12},
		"slot-row":       {"count": 3, "pitch": 30, "width": 10, "thickness": 3},
		"screw-pattern":  {"length": 48, "width": 10, "drill": 2.5},
		"bolt-circle":    {"count": 6, "circle": 30, "drill": 3},
	}
}

func TestEveryKindMakesSoundRegions(t *testing.T) {
	for _, kind := range Kinds() {
		t.Run(kind, func(t *testing.T) {
			s, err := Make(kind, smallest()[kind])
			require.NoError(t, err)
			assert.Equal(t, kind, s.Kind)
			assert.NotZero(t, len(s.Regions)+len(s.Points), "nothing was made")
			if len(s.Points) > 0 {
				assert.Positive(t, s.Drill, "mm")
			}
			all := append([]geom.Region(nil), s.Regions...)
			all = append(all, s.Covers...)
			all = append(all, s.Tabs...)
			for _, r := range s.Rebates {
				all = append(all, r.Region)
				assert.Positive(t, r.Depth, "mm")
			}
			for _, g := range all {
				assert.Positive(t, g.Outer.Area(), "outer contours run counter-clockwise")
				regions, found := geom.Nest(g.Contours())
				assert.Empty(t, found)
				assert.Len(t, regions, 1)
				for _, h := range g.Holes {
					assert.Negative(t, h.Area(), "holes run clockwise")
				}
			}
			about, sizes, ok := About(kind)
			assert.True(t, ok)
			assert.NotEmpty(t, about)
			for _, z := range sizes {
				assert.NotEmpty(t, z.About, z.Name)
			}
		})
	}
}

func TestAreasAreThoseOfTheClosedForm(t *testing.T) {
	for _, tc := range []struct {
		fact   string
		kind   string
		params map[string]float64
		want   float64 // mm² of all regions
	}{
		// all closed forms
		{"a rectangle of 24 × 13 with corners of 1", "servo", map[string]float64{"length": 23, "width": 12, "clearance": 0.5}, 24*13 - (4 - math.Pi)},
		{"a round hole of 6", "wire-exit", map[string]float64{"width": 6}, 9 * math.Pi},
		{"a long hole of 20 × 6", "wire-exit", map[string]float64{"width": 6, "length": 20}, 14*6 + 9*math.Pi},
		{"a horn slot 2R sin θ + w + 2c long", "horn-slot", map[string]float64{"arm": 12, "throw_deg": 30, "horn": 4, "thickness": 2, "clearance": 0.5}, (17-3)*3 + 2.25*math.Pi},
		{"a well of wheel plus twice the clearance", "wheel-well", map[string]float64{"wheel": 60, "clearance": 2}, 32 * 32 * math.Pi},
		{"an oval well", "wheel-well", map[string]float64{"wheel": 60, "width": 20, "clearance": 2}, 40*24 + 144*math.Pi},
		{"five holes of 12", "lightening-row", map[string]float64{"length": 100, "count": 5, "diameter": 12}, 5 * 36 * math.Pi},
		{"three slots of 10.1 × 3.1", "slot-row", map[string]float64{"count": 3, "pitch": 30, "width": 10, "thickness": 3}, 3 * 10.1 * 3.1},
		// each relief adds half a circle less the corner triangle: πr²/2 - r²
		{"a slot with reliefs", "slot-row", map[string]float64{"count": 1, "pitch": 30, "width": 10, "thickness": 6, "clearance": 0, "relief": 1}, 60 + 4*(math.Pi/2-1)},
		{"the opening of a hatch", "hatch", map[string]float64{"length": 60, "width": 40, "corner": 3, "land": 5, "cover": 1}, 2400 - 9*(4-math.Pi)},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			s, err := Make(tc.kind, tc.params)
			require.NoError(t, err)
			sum := 0.0
			for _, g := range s.Regions {
				sum += g.Area()
			}
			assert.InDelta(t, tc.want, sum, 1e-9, "mm²")
		})
	}
}

func TestHornSlotAtBothSidesOfASquareThrow(t *testing.T) {
	// 2R sin θ + w + 2c, closed form
	assert.InDelta(t, 17.0, HornSlot(12, math.Pi/6, 4, 0.5), 1e-12, "mm at 30°")
	assert.InDelta(t, 29.0, HornSlot(12, math.Pi/2, 4, 0.5), 1e-12, "mm at 90°")
	assert.InDelta(t, 29.0, HornSlot(12, 2, 4, 0.5), 1e-12, "past 90° the pin has reached its furthest")
}

func TestASlotReliefLetsTheCutterReachTheCorner(t *testing.T) {
	s, err := Make("slot-row", map[string]float64{"count": 1, "pitch": 30, "width": 10, "thickness": 6, "clearance": 0, "relief": 1})
	require.NoError(t, err)
	// The corner of the tab lies on the relief, and a cutter of radius 1 stands
	// inside the slot with its edge there.
	corner := geom.Pt(5, 3)
	assert.InDelta(t, 0, s.Regions[0].Dist(corner), 1e-12, "mm")
	middle := corner.Sub(geom.Pt(1, 1).Unit())
	assert.InDelta(t, -1, s.Regions[0].SignedDist(middle), 1e-9, "mm")
}

func TestWhatIsWrongIsNamed(t *testing.T) {
	for _, tc := range []struct {
		fact   string
		kind   string
		params map[string]float64
		code   string
		help   string
	}{
		{"a kind that does not exist", "servo-standart", nil, "outline-unknown", "servo-standard"},
		{"a size that is missing", "wire-exit", nil, "outline-size-missing", "mm"},
		{"a size that the kind does not have", "wire-exit", map[string]float64{"widht": 3}, "outline-size-unknown", "width"},
		{"a size that is no number", "wire-exit", map[string]float64{"width": math.NaN()}, "outline-size-wrong", ""},
		{"a size of nothing", "wire-exit", map[string]float64{"width": 0}, "outline-size-wrong", ""},
		{"holes that run into each other", "lightening-row", map[string]float64{"length": 30, "count": 5, "diameter": 12}, "outline-size-wrong", ""},
		{"a cover that falls through", "hatch", map[string]float64{"length": 60, "width": 40, "land": 0.2, "cover": 1}, "outline-size-wrong", ""},
		{"screws in the opening", "servo", map[string]float64{"length": 23, "width": 12, "hole_spacing": 24, "screw": 2}, "outline-size-wrong", ""},
		{"half a hole", "bolt-circle", map[string]float64{"count": 2.5, "circle": 30, "drill": 3}, "outline-size-wrong", ""},
		{"a wheel that never meets the mount", "gear-bay", map[string]float64{"length": 60, "width": 40, "leg": 90, "leg_width": 12, "wheel": 50, "pivot": 40}, "", ""},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			_, err := Make(tc.kind, tc.params)
			if tc.code == "" {
				require.NoError(t, err)
				return
			}
			var f diag.Finding
			require.ErrorAs(t, err, &f)
			assert.Equal(t, tc.code, f.Code)
			assert.True(t, f.Input)
			assert.Contains(t, f.Help, tc.help)
		})
	}
}

func TestAServoFromATableIsAskedAbout(t *testing.T) {
	s, err := Make("servo-standard", nil)
	require.NoError(t, err)
	assert.True(t, s.Findings.Has("servo-not-measured"))
	s, err = Make("servo-standard", map[string]float64{"length": 40.7, "width": 20})
	require.NoError(t, err)
	assert.Empty(t, s.Findings)
	// 15 to 80 and 6 to 40 mm, common practice, no source: at the limit and past it
	for _, tc := range []struct {
		l, w float64
		asks bool
	}{{15, 6, false}, {80, 40, false}, {14.9, 6, true}, {80.1, 40, true}, {15, 5.9, true}, {80, 40.1, true}} {
		s, err = Make("servo", map[string]float64{"length": tc.l, "width": tc.w})
		require.NoError(t, err)
		assert.Equal(t, tc.asks, s.Findings.Has("servo-size-unusual"), "%g × %g mm", tc.l, tc.w)
	}
}

func TestTheShaftGoesToTheSideAsked(t *testing.T) {
	for _, side := range []float64{1, -1} {
		s, err := Make("servo-mini", map[string]float64{"length": 29, "width": 13, "shaft": side})
		require.NoError(t, err)
		assert.Equal(t, geom.Pt(side*29/4, 0), s.Marks[0].Point)
	}
}

// A case always passes its opening, with the clearance asked for on every side;
// a cover always passes its rebate with its gap.
func TestWhatGoesInGoesIn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := rapid.Float64Range(16, 70).Draw(t, "length")
		w := rapid.Float64Range(7, 16).Draw(t, "width")
		k := rapid.Float64Range(0, 2).Draw(t, "clearance")
		s, err := Make("servo", map[string]float64{"length": l, "width": w, "clearance": k, "corner": k * (1 + math.Sqrt2/2)})
		require.NoError(t, err)
		for _, p := range []geom.Point{{X: l / 2, Y: w / 2}, {X: -l / 2, Y: w / 2}, {X: l / 2}, {Y: -w / 2}} {
			if d := -s.Regions[0].SignedDist(p); d < k/2-1e-9 && d < k-1e-9 {
				t.Fatalf("only %.4f mm at %v, clearance %.4f", d, p, k)
			}
		}
		gap := rapid.Float64Range(0.05, 1).Draw(t, "gap")
		h, err := Make("hatch", map[string]float64{"length": l, "width": w, "land": gap + 2, "cover": 1, "gap": gap, "corner": 2})
		require.NoError(t, err)
		rebate := geom.Region{Outer: h.Rebates[0].Region.Outer}
		for _, v := range h.Covers[0].Outer {
			if d := -rebate.SignedDist(v.Point); math.Abs(d-gap) > 1e-9 {
				t.Fatalf("gap %.6f mm at %v, %.6f asked for", d, v.Point, gap)
			}
		}
	})
}
