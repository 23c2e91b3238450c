package plan

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// TestNothingInAWorkPanics plans works of nonsense: whatever comes in, there is
// a program of finite numbers or a finding that stops.
func TestNothingInAWorkPanics(t *testing.T) {
	odd := []float64{0, -1, 1e-12, 1e-3, 0.1, 1, 3, 40, 1e4, 1e9, math.MaxFloat64, math.Inf(1), math.Inf(-1), math.NaN()}
	kinds := []work.Kind{work.Opening, work.PartCut, work.Pocket, work.Rebate, work.Bore, work.Drill, work.Slot, work.Score, work.Mark, work.Chamfer, work.Door}
	rapid.Check(t, func(t *rapid.T) {
		num := func(name string, usual float64) float64 {
			if rapid.IntRange(0, 9).Draw(t, name+"?") > 0 {
				return usual
			}
			return rapid.SampledFrom(odd).Draw(t, name)
		}
		contour := func() geom.Contour {
			var c geom.Contour
			for range rapid.IntRange(0, 6).Draw(t, "vertices") {
				c = append(c, geom.Vertex{Point: geom.Pt(num("x", rapid.Float64Range(-30, 30).Draw(t, "px")), num("y", rapid.Float64Range(-30, 30).Draw(t, "py"))), Bulge: num("bulge", 0)})
			}
			return c
		}
		c := through("n", rapid.SampledFrom(kinds).Draw(t, "kind"))
		for range rapid.IntRange(0, 2).Draw(t, "regions") {
			g := geom.Region{Outer: contour()}
			if rapid.Bool().Draw(t, "hole") {
				g.Holes = append(g.Holes, contour())
			}
			c.Regions = append(c.Regions, g)
		}
		for range rapid.IntRange(0, 2).Draw(t, "chains") {
			c.Chains = append(c.Chains, geom.Chain(contour()))
		}
		for range rapid.IntRange(0, 2).Draw(t, "points") {
			c.Points = append(c.Points, geom.Pt(num("qx", 1), num("qy", 2)))
		}
		c.Diameter, c.Depth, c.Overcut, c.Limit = num("diameter", 4), num("depth", 2.2), num("overcut", 0.2), num("limit", 3)
		c.Step, c.Feed, c.Plunge, c.Ramp = num("step", 0.6), num("feed", 600), num("plunge", 100), num("ramp", 0.05)
		c.Finish, c.Onion, c.Peck, c.Tol = num("finish", 0), num("onion", 0), num("peck", 0), num("tol", 0.1)
		c.Tabs = work.Tabs{Count: rapid.IntRange(0, 5).Draw(t, "tabs"), Width: num("width", 3), Height: num("height", 0.5)}
		c.Through, c.Climb = rapid.Bool().Draw(t, "through"), rapid.Bool().Draw(t, "climb")
		c.Relief = rapid.SampledFrom([]string{"", "dogbone", "tbone"}).Draw(t, "relief")
		c.Text = rapid.SampledFrom([]string{"", "A1", "\x00", "é"}).Draw(t, "text")
		if names := optionsFor(c.Kind); rapid.Bool().Draw(t, "options") && len(names) > 0 {
			c.Options = map[string]float64{rapid.SampledFrom(names).Draw(t, "option"): num("value", 1)}
		}
		cutter := endmill2()
		cutter.Diameter, cutter.CornerRadius, cutter.PointAngle = num("cutter", 2), num("corner", 0.3), num("point", 2)
		cutter.Kind = rapid.SampledFrom([]shop.CutterKind{shop.Flat, shop.Ball, shop.BullNose, shop.Vee, shop.Drill, ""}).Draw(t, "form")
		w := sheet([]shop.Cutter{cutter}, c)
		if rapid.Bool().Draw(t, "curved") {
			w = wing(bowl{a: 1, b: 0.05, k: -1.0 / 600}, []shop.Cutter{cutter}, c)
		}
		p, seq := sequenced(t.Context(), w)
		if p.stopped() {
			return
		}
		for _, m := range replay(p.programs(seq)) {
			if !finite(m.X, m.Y, m.Z, m.Feed) {
				t.Fatalf("%+v", m)
			}
		}
	})
}
