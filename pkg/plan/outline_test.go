package plan

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

// assertSafe holds every motion against what no path may do: leave the finite
// numbers, go across below safe height by rapid, go down by rapid nearer to the
// skin than 0.5 mm, and go down and across in one rapid.
func assertSafe(t *testing.T, w *work.Work, ps []toolpath.Program) {
	t.Helper()
	for _, p := range ps {
		for _, q := range p.Paths {
			first, last := q.Moves[0], q.Moves[len(q.Moves)-1]
			assert.Equal(t, toolpath.Rapid, first.Kind)
			assert.Equal(t, w.SafeZ, first.Z, "a path starts at safe height")
			assert.Equal(t, w.SafeZ, last.Z, "a path ends at safe height")
		}
	}
	for _, m := range replay(ps) {
		if !assert.True(t, finite(m.X, m.Y, m.Z, m.Feed)) {
			return
		}
		across := m.X != m.from[0] || m.Y != m.from[1]
		if m.Kind == toolpath.Rapid {
			if across {
				assert.True(t, m.Z >= w.SafeZ && m.from[2] >= w.SafeZ, "rapid across at %v to %v", m.from, m.Move)
			}
			if m.Z < m.from[2] {
				assert.GreaterOrEqual(t, m.Z, w.Skin.Height(geom.Pt(m.X, m.Y))+0.5, "rapid down to %v", m.Move)
			}
			continue
		}
		assert.Greater(t, m.Feed, 0.0)
	}
}

// deepest returns the lowest z of feed moves.
func deepest(ps []toolpath.Program) float64 {
	z := math.Inf(1)
	for _, m := range replay(ps) {
		z = math.Min(z, m.Z)
	}
	return z
}

func TestCutterStaysInsideAnOpeningAndOutsideAPart(t *testing.T) {
	shapes := map[string]geom.Contour{
		"rectangle with corner radius": geom.RoundRect(10, 10, 50, 30, 3),
		"square corners":               geom.Rect(0, 0, 40, 23),
		"circle":                       geom.Circle(geom.Pt(5, 5), 12),
		"triangle":                     geom.Polygon(geom.Pt(0, 0), geom.Pt(60, 0), geom.Pt(20, 40)),
		"an L":                         geom.Polygon(geom.Pt(0, 0), geom.Pt(60, 0), geom.Pt(60, 20), geom.Pt(20, 20), geom.Pt(20, 50), geom.Pt(0, 50)),
	}
	for name, c := range shapes {
		for _, kind := range []work.Kind{work.Opening, work.PartCut} {
			for _, finish := range []float64{0, 0.15} {
				for _, climb := range []bool{true, false} {
					t.Run(name+" "+string(kind), func(t *testing.T) {
						cut := through("a", kind, region(c))
						cut.Finish, cut.Climb = finish, climb
						cut.Tabs = work.Tabs{Count: 3, Width: 3, Height: 0.6}
						w := sheet([]shop.Cutter{endmill2()}, cut)
						ps := mustPlan(t, w)
						assertSafe(t, w, ps)
						assert.InDelta(t, -2.2, deepest(ps), 1e-9)
						g := cut.Regions[0]
						sampled(replay(ps), 0.05, func(m motion, p geom.Point, z float64) {
							if z >= 0.5 {
								return
							}
							d := g.SignedDist(p)
							if kind == work.Opening {
								d = -d
							}
							if d < 1-1e-6 {
								t.Fatalf("centre %v at z %.3f lies %.6f mm from the outline, 1 mm needed", p, z, d)
							}
						})
					})
				}
			}
		}
	}
}
