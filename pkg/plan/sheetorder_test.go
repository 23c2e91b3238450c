package plan

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// A sheet stays stiff for longest when nothing is freed before it must be.
func TestOnASheetNoPartIsFreedBeforeAllHolesAreDone(t *testing.T) {
	w := partsWithHoles(3, 2, 4, []shop.Cutter{endmill2()}, 0)
	freed := false
	for _, n := range names(t, w) {
		outline := false
		for i := range 6 {
			outline = outline || n == fmt.Sprintf("part %d", i+1)
		}
		assert.False(t, freed && !outline, "%s comes after an outline", n)
		freed = freed || outline
	}
	assert.True(t, freed)
}

func TestPartsAreFreedSmallToLargeFromTheMiddleOutwards(t *testing.T) {
	w := sheet([]shop.Cutter{endmill2()})
	w.Stock = []geom.Region{region(geom.Rect(0, 0, 300, 60))}
	for i, p := range []struct {
		name string
		x, r float64
	}{{"large outer", 30, 20}, {"small outer", 270, 11}, {"large middle", 110, 20}, {"small middle", 150, 11}, {"small between", 210, 11}} {
		g := region(geom.Circle(geom.Pt(p.x, 30), p.r))
		c := through(p.name, work.PartCut, g)
		c.Part, c.Tabs = i, work.Tabs{Count: 2, Width: 3, Height: 0.6}
		w.Cuts = append(w.Cuts, c)
		w.Parts = append(w.Parts, work.Part{Name: p.name, Region: g})
	}
	assert.Equal(t, []string{"small middle", "small between", "small outer", "large middle", "large outer"}, names(t, w))
}

// A part that lies in the hole of another is cut while the slug around it is held.
func TestAPartInAHoleComesBeforeTheHole(t *testing.T) {
	w := sheet([]shop.Cutter{endmill2()})
	host := geom.Region{Outer: geom.Rect(0, 0, 100, 80), Holes: []geom.Contour{geom.Circle(geom.Pt(50, 40), 30).Reverse()}}
	inner := region(geom.Circle(geom.Pt(50, 40), 12))
	w.Parts = []work.Part{{Name: "host", Region: host}, {Name: "inner", Region: inner}}
	hole := through("hole of host", work.Opening, region(geom.Circle(geom.Pt(50, 40), 30)))
	hole.Part, hole.Tabs = 0, work.Tabs{Count: 3, Width: 4, Height: 0.6}
	edge := through("host", work.PartCut, region(geom.Rect(0, 0, 100, 80)))
	edge.Part, edge.Tabs = 0, work.Tabs{Count: 3, Width: 4, Height: 0.6}
	bore := through("hole of inner", work.Bore)
	bore.Part, bore.Diameter, bore.Points = 1, 3.2, []geom.Point{geom.Pt(50, 40)}
	bore.Regions = []geom.Region{{Outer: geom.Circle(geom.Pt(50, 40), 1.6)}}
	disc := through("inner", work.PartCut, inner)
	disc.Part, disc.Tabs = 1, work.Tabs{Count: 2, Width: 3, Height: 0.6}
	w.Cuts = []work.Cut{edge, hole, disc, bore}
	assert.Equal(t, []string{"hole of inner", "inner", "hole of host", "host"}, names(t, w))
}
