package plan

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// awkward are parts whose middle is hard to hold.
func awkward() map[string]geom.Contour {
	return map[string]geom.Contour{
		"an L":             geom.Polygon(geom.Pt(0, 0), geom.Pt(80, 0), geom.Pt(80, 18), geom.Pt(18, 18), geom.Pt(18, 90), geom.Pt(0, 90)),
		"a U":              geom.Polygon(geom.Pt(0, 0), geom.Pt(70, 0), geom.Pt(70, 60), geom.Pt(50, 60), geom.Pt(50, 20), geom.Pt(20, 20), geom.Pt(20, 60), geom.Pt(0, 60)),
		"a long wedge":     geom.Polygon(geom.Pt(0, 0), geom.Pt(140, 12), geom.Pt(140, 22), geom.Pt(0, 40)),
		"a crescent":       {{Point: geom.Pt(0, 0), Bulge: 0.9}, {Point: geom.Pt(60, 0), Bulge: -0.35}},
		"a tadpole":        geom.Polygon(geom.Pt(0, 0), geom.Pt(40, 0), geom.Pt(40, 16), geom.Pt(120, 16), geom.Pt(120, 24), geom.Pt(40, 24), geom.Pt(40, 40), geom.Pt(0, 40)),
		"a disc":           geom.Circle(geom.Pt(0, 0), 22),
		"a rounded square": geom.RoundRect(0, 0, 40, 40, 19),
	}
}

func TestTabsHoldTheMiddleOfAwkwardParts(t *testing.T) {
	for name, c := range awkward() {
		for _, n := range []int{3, 4, 5} {
			for _, cutter := range []shop.Cutter{endmill2(), burr2()} {
				t.Run(name, func(t *testing.T) {
					cut := through("part", work.PartCut, region(c))
					cut.Tabs = work.Tabs{Count: n, Width: 3, Height: 0.5}
					cutter.Number, cutter.MaxRPM = 1, 30000
					w := sheet([]shop.Cutter{cutter}, cut)
					w.Machine, w.ClampsSaid, w.Parts = bench(), true, []work.Part{{Name: "part", Region: cut.Regions[0]}}
					w.Cuts[0].Part = 0
					cert, found, _ := provenOf(t, w, mustPlan(t, w))
					require.True(t, cert.OK, "%v", found)
					var held geom.Contour
					for _, l := range cert.Leftovers {
						if l.Kind != "tab" {
							continue
						}
						assert.GreaterOrEqual(t, l.SizeMM, 3-0.3, "a tab is as wide on the outline as asked for")
						held = append(held, geom.Vertex{Point: geom.Pt(l.At[0], l.At[1])})
					}
					require.Len(t, held, n)
					g := geom.NewRegion(held)
					d := -g.SignedDist(cut.Regions[0].Centroid())
					assert.Greater(t, d, 0.02*math.Sqrt(math.Abs(c.Area())), "the middle lies %.2f mm inside the polygon of the tabs", d)
				})
			}
		}
	}
}

func TestNoTabOnAVisibleEdge(t *testing.T) {
	for _, tabs := range []work.Tabs{{Count: 3, Width: 3, Height: 0.5}, {Auto: true, Width: 3, Height: 0.5}} {
		for _, kind := range []work.Kind{work.Opening, work.PartCut, work.Door} {
			c := through("x", kind, region(geom.RoundRect(0, 0, 60, 40, 4)))
			c.Visible, c.Tabs = true, tabs
			ps, l := Plan(context.Background(), sheet([]shop.Cutter{endmill2()}, c))
			assert.Empty(t, ps)
			assert.True(t, l.Has("tab-visible"), "%s %v", kind, l)
		}
	}
}
