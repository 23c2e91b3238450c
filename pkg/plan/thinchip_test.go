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

// With 0.1 mm of a 2 mm cutter engaged material begins asin(1 − 2·0.05) = 64.2° off
// the way ahead, 54.2° with the margin of 10°: 1/cos 54.2° = 1.708 times the feed
// (closed form), on straights only, off corners and tabs, and the proof agrees.
func TestAFinishPassIsFedFasterWhereItsChipIsThin(t *testing.T) {
	c := through("c", work.PartCut, region(geom.RoundRect(0, 0, 80, 50, 5)))
	c.Finish, c.Tabs = 0.1, work.Tabs{Count: 3, Width: 3, Height: 0.5}
	made := func(change func(w *work.Work)) (*work.Work, []toolpath.Program) {
		cutter := endmill2()
		cutter.Number, cutter.MaxRPM = 1, 30000
		w := sheet([]shop.Cutter{cutter}, c)
		w.Machine, w.ClampsSaid, w.Parts = bench(), true, []work.Part{{Name: "c", Region: c.Regions[0]}}
		w.Cuts[0].Part = 0
		change(w)
		return w, mustPlan(t, w)
	}
	w, ps := made(func(*work.Work) {})
	fast, level := 0.0, 0.0
	for _, m := range replay(ps) {
		if m.Kind == toolpath.Rapid || m.Z > -2.2+1e-9 || m.from[2] > -2.2+1e-9 || c.Regions[0].Dist(m.seg().Mid()) > 1+1e-6 {
			continue
		}
		level += m.seg().Length()
		if m.Feed <= c.Feed {
			continue
		}
		fast += m.seg().Length()
		assert.InDelta(t, 600/math.Cos(math.Asin(0.9)-math.Pi/18), m.Feed, 0.01)
		assert.Equal(t, toolpath.Line, m.Kind)
		for _, q := range []geom.Point{m.seg().A, m.seg().B} { // a corner's arc begins 5 mm from the corner of the box
			assert.True(t, q.X >= 5 && q.X <= 75 || q.Y >= 5 && q.Y <= 45, "%v lies on a corner", q)
		}
	}
	assert.Greater(t, fast, 0.6*level)
	cert, found, _ := provenOf(t, w, ps)
	assert.True(t, cert.OK, "%v", found)

	for name, change := range map[string]func(w *work.Work){
		"a burr has no teeth to count by":      func(w *work.Work) { w.Cutters[0].Flutes = 0 },
		"what is roughed less makes a chip":    func(w *work.Work) { w.Cuts[0].Finish = 0.6 },
		"on a slope roughing stood higher":     func(w *work.Work) { w.Skin, w.SafeZ, w.Cuts[0].Limit = bowl{b: 0.05}, 30, 4 },
		"the machine goes no faster than that": func(w *work.Work) { w.Machine.FeedXY = 600 },
		"no finish pass":                       func(w *work.Work) { w.Cuts[0].Finish = 0 },
	} {
		_, ps := made(change)
		most := 0.0
		for _, m := range replay(ps) {
			if m.Kind != toolpath.Rapid {
				most = math.Max(most, m.Feed)
			}
		}
		assert.LessOrEqual(t, most, 600.0, name)
	}
}
