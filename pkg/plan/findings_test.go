package plan

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// TestImpossibleCutsAreRefused holds one smallest work against every finding.
func TestImpossibleCutsAreRefused(t *testing.T) {
	box := region(geom.Rect(0, 0, 40, 20))
	drill := endmill2()
	drill.Name, drill.Kind, drill.PointAngle, drill.Diameter = "drill-2", shop.Drill, 118*math.Pi/180, 2
	type fix func(w *work.Work, c *work.Cut)
	shallow := func(c *work.Cut) { c.Through, c.Depth, c.Limit = false, 0.8, 1.5 }
	for _, tc := range []struct {
		code string
		sev  diag.Severity
		kind work.Kind
		fact string
		fix  fix
	}{
		{"cutter-too-wide", diag.Stop, work.Opening, "an opening narrower than the cutter", func(_ *work.Work, c *work.Cut) { c.Regions = []geom.Region{region(geom.Rect(0, 0, 20, 1.9))} }},
		{"cutter-too-wide", diag.Stop, work.Opening, "a neck narrower than the cutter", func(_ *work.Work, c *work.Cut) {
			c.Regions = []geom.Region{region(geom.Polygon(geom.Pt(0, 0), geom.Pt(10, 0), geom.Pt(10, 4), geom.Pt(20, 4), geom.Pt(20, 0), geom.Pt(30, 0), geom.Pt(30, 10), geom.Pt(20, 10), geom.Pt(20, 5.5), geom.Pt(10, 5.5), geom.Pt(10, 10), geom.Pt(0, 10)))}
		}},
		{"cutter-too-wide", diag.Stop, work.Bore, "a hole narrower than the cutter", func(_ *work.Work, c *work.Cut) { c.Points, c.Diameter = []geom.Point{{}}, 1.99 }},
		{"cutter-too-wide", diag.Stop, work.Drill, "a drill wider than the hole", func(_ *work.Work, c *work.Cut) { c.Points, c.Diameter = []geom.Point{{}}, 1.5 }},
		{"cutter-too-wide", diag.Stop, work.Slot, "a slot narrower than the cutter", func(_ *work.Work, c *work.Cut) {
			c.Regions, c.Chains = nil, []geom.Chain{{{Point: geom.Pt(0, 0)}, {Point: geom.Pt(9, 0)}}}
			c.Options = map[string]float64{"width": 1.5}
		}},
		{"drill-too-thin", diag.Stop, work.Drill, "a drill thinner than the hole", func(_ *work.Work, c *work.Cut) { c.Points, c.Diameter = []geom.Point{{}}, 3 }},
		{"allowance-vanishes", diag.Stop, work.Opening, "a finish allowance that leaves no roughing path", func(_ *work.Work, c *work.Cut) {
			c.Regions, c.Finish = []geom.Region{region(geom.Rect(0, 0, 20, 2.2))}, 0.15
		}},
		{"allowance-vanishes", diag.Stop, work.Bore, "a finish allowance that leaves no helix", func(_ *work.Work, c *work.Cut) {
			c.Points, c.Diameter, c.Finish = []geom.Point{{}}, 2.2, 0.1
		}},
		{"tab-too-wide", diag.Stop, work.Opening, "a tab longer than the path", func(_ *work.Work, c *work.Cut) { c.Tabs = work.Tabs{Count: 1, Width: 120, Height: 0.5} }},
		{"tabs-too-many", diag.Stop, work.Opening, "more tabs than there is room for", func(_ *work.Work, c *work.Cut) { c.Tabs = work.Tabs{Count: 12, Width: 8, Height: 0.5} }},
		{"tab-thin", diag.Stop, work.Opening, "a tab that the slope takes", func(w *work.Work, c *work.Cut) {
			w.Skin, w.SafeZ, c.Limit, w.Floor, c.Tabs = bowl{b: 0.4}, 50, 4, 5, work.Tabs{Count: 3, Width: 3, Height: 0.5}
		}},
		{"tab-visible", diag.Stop, work.Opening, "tabs on a visible edge", func(_ *work.Work, c *work.Cut) { c.Visible, c.Tabs = true, work.Tabs{Count: 3, Width: 3, Height: 0.5} }},
		{"tabs-and-onion", diag.Stop, work.Opening, "tabs on an onion skin", func(_ *work.Work, c *work.Cut) {
			c.Through, c.Depth, c.Onion, c.Tabs = false, 1.8, 0.2, work.Tabs{Count: 3, Width: 3, Height: 0.5}
		}},
		{"layer-unsure", diag.Stop, work.Opening, "an onion skin thinner than the height is known to", func(w *work.Work, c *work.Cut) {
			c.Through, c.Depth, c.Onion, w.Skin = false, 1.8, 0.2, bowl{err: 0.2}
		}},
		{"plunge-not-centre-cutting", diag.Stop, work.Opening, "a stepped tab with a cutter that cannot plunge", func(w *work.Work, c *work.Cut) {
			w.Cutters[0].CentreCutting = false
			c.Tabs, c.Options = work.Tabs{Count: 3, Width: 3, Height: 0.5}, map[string]float64{"tab_step": 1}
		}},
		{"plunge-not-centre-cutting", diag.Stop, work.Drill, "drilling with a cutter that cannot plunge", func(w *work.Work, c *work.Cut) { w.Cutters[0].CentreCutting, c.Points = false, []geom.Point{{}} }},
		{"ramp-too-long", diag.Stop, work.Opening, "a ramp longer than thirty rounds of the path", func(w *work.Work, c *work.Cut) {
			w.Cutters[0].CentreCutting = false
			c.Ramp, c.Regions = 0.0005, []geom.Region{region(geom.Circle(geom.Pt(0, 0), 1.5))}
		}},
		{"flute-too-short", diag.Stop, work.Opening, "flutes shorter than the depth", func(w *work.Work, _ *work.Cut) { w.Cutters[0].FluteLength = 2.1 }},
		{"stickout-too-short", diag.Stop, work.Opening, "a collet nut that would touch the skin", func(w *work.Work, _ *work.Cut) { w.Cutters[0].StickOut = 3 }},
		{"limit-passed", diag.Stop, work.Opening, "a limit above the bottom", func(_ *work.Work, c *work.Cut) { c.Limit = 2.19 }},
		{"limit-passed", diag.Stop, work.Drill, "a drill point below the limit", func(w *work.Work, c *work.Cut) { w.Cutters[0], c.Points = drill, []geom.Point{{}} }},
		{"limit-passed", diag.Stop, work.Opening, "a floor above the limit", func(w *work.Work, _ *work.Cut) { w.Floor = 2.1 }},
		{"slope-too-steep", diag.Stop, work.Opening, "a skin too steep for the cutter", func(w *work.Work, _ *work.Cut) { w.Skin, w.SafeZ = bowl{b: 0.2}, 50 }},
		{"height-unknown", diag.Stop, work.Opening, "an error of the height that nobody knows", func(w *work.Work, _ *work.Cut) { w.Skin = bowl{err: math.NaN()} }},
		{"layer-gone", diag.Stop, work.Rebate, "a rebate through the skin", func(_ *work.Work, c *work.Cut) { shallow(c); c.Depth, c.Limit = 2, 2.4 }},
		{"layer-unsure", diag.Stop, work.Score, "a layer thinner than what the height is known to", func(w *work.Work, c *work.Cut) {
			shallow(c)
			c.Depth, c.Limit, w.Skin = 1.85, 2.4, bowl{err: 0.1}
			c.Chains = []geom.Chain{{{Point: geom.Pt(0, 0)}, {Point: geom.Pt(9, 0)}}}
		}},
		{"layer-thin", diag.Warn, work.Rebate, "a thin layer under a rebate", func(_ *work.Work, c *work.Cut) { shallow(c); c.Depth, c.Limit = 1.75, 2.4 }},
		{"passes-too-many", diag.Stop, work.Opening, "a depth per pass by a slip of the pen", func(_ *work.Work, c *work.Cut) { c.Step = 0.001 }},
		{"passes-too-many", diag.Stop, work.Drill, "pecks by a slip of the pen", func(_ *work.Work, c *work.Cut) { c.Peck, c.Points = 0.001, []geom.Point{{}} }},
		{"cut-empty", diag.Stop, work.Opening, "nothing to cut", func(_ *work.Work, c *work.Cut) { c.Regions = nil }},
		{"kind-unknown", diag.Stop, "carve", "a kind that there is not", func(*work.Work, *work.Cut) {}},
		{"path-too-long", diag.Stop, work.Bore, "a hole as wide as a house", func(_ *work.Work, c *work.Cut) {
			c.Points, c.Diameter, c.Regions, c.Step = []geom.Point{{}}, 1e5, nil, 0.05
		}},
		{"cut-too-large", diag.Stop, work.Opening, "an outline of a kilometre", func(_ *work.Work, c *work.Cut) {
			c.Regions = []geom.Region{region(geom.Rect(0, 0, 1e6, 20))}
		}},
		{"not-positive", diag.Stop, work.Opening, "a thousand tabs", func(_ *work.Work, c *work.Cut) { c.Tabs = work.Tabs{Count: 1000, Width: 3, Height: 0.5} }},
		{"outline-degenerate", diag.Stop, work.Opening, "an outline of one point", func(_ *work.Work, c *work.Cut) {
			c.Regions = []geom.Region{{Outer: geom.Polygon(geom.Pt(3, 3))}}
		}},
		{"option-unknown", diag.Stop, work.Opening, "a mistyped option", func(_ *work.Work, c *work.Cut) { c.Options = map[string]float64{"overlp": 2} }},
		{"relief-unknown", diag.Stop, work.Opening, "a relief that there is not", func(_ *work.Work, c *work.Cut) { c.Relief = "dogbon" }},
		{"cutter-missing", diag.Stop, work.Opening, "a cutter that there is not", func(_ *work.Work, c *work.Cut) { c.Cutter = 3 }},
		{"cutter-cannot-mill", diag.Stop, work.Opening, "milling with a drill", func(w *work.Work, c *work.Cut) { w.Cutters[0] = drill; c.Limit = 9 }},
		{"chamfer-cutter", diag.Stop, work.Chamfer, "a chamfer with a flat cutter", func(_ *work.Work, c *work.Cut) { shallow(c) }},
		{"groove-wider", diag.Stop, work.Score, "a groove wider than the cutter", func(_ *work.Work, c *work.Cut) { shallow(c); c.Options = map[string]float64{"width": 3} }},
		{"mark-placeless", diag.Stop, work.Mark, "a text without a place", func(_ *work.Work, c *work.Cut) { shallow(c); c.Text = "A" }},
		{"letter-unknown", diag.Stop, work.Mark, "a letter that the alphabet lacks", func(_ *work.Work, c *work.Cut) { shallow(c); c.Text, c.Points = "Ω", []geom.Point{{}} }},
		{"door-gap", diag.Warn, work.Door, "a gap that looks bad", func(*work.Work, *work.Cut) {}},
		{"slot-one-pass", diag.Warn, work.Slot, "both walls at once", func(_ *work.Work, c *work.Cut) { c.Regions = []geom.Region{region(geom.RoundRect(0, 0, 30, 2, 1))} }},
		{"slug-loose", diag.Warn, work.Opening, "a slug that nothing holds", func(*work.Work, *work.Cut) {}},
		{"slug-loose", diag.Note, work.Opening, "a slug that the job lets go", func(_ *work.Work, c *work.Cut) { c.Open = true }},
		{"part-loose", diag.Warn, work.PartCut, "a large part that nothing holds", func(_ *work.Work, c *work.Cut) { c.Regions = []geom.Region{region(geom.Rect(0, 0, 50, 30))} }},
		{"part-loose", diag.Confirm, work.PartCut, "a small part that nothing holds", func(*work.Work, *work.Cut) {}},
		{"tabs-few", diag.Warn, work.PartCut, "a small part on one tab", func(_ *work.Work, c *work.Cut) { c.Tabs = work.Tabs{Count: 1, Width: 3, Height: 0.5} }},
		{"corner-left", diag.Warn, work.Opening, "square corners", func(*work.Work, *work.Cut) {}},
		{"outline-unreached", diag.Confirm, work.Opening, "a sharp tip that stays", func(_ *work.Work, c *work.Cut) {
			c.Regions = []geom.Region{region(geom.Polygon(geom.Pt(0, 0), geom.Pt(60, 0), geom.Pt(0, 12)))}
		}},
		{"number-not-finite", diag.Stop, work.Opening, "a coordinate that is not a number", func(_ *work.Work, c *work.Cut) {
			c.Regions = []geom.Region{region(geom.Rect(0, 0, math.NaN(), 20))}
		}},
		{"not-positive", diag.Stop, work.Pocket, "a stepover that leaves strips", func(_ *work.Work, c *work.Cut) { shallow(c); c.Options = map[string]float64{"stepover": 0.7} }},
		{"contour-crosses", diag.Stop, work.Opening, "an outline that crosses itself", func(_ *work.Work, c *work.Cut) {
			c.Regions = []geom.Region{region(geom.Polygon(geom.Pt(0, 0), geom.Pt(20, 20), geom.Pt(20, 0), geom.Pt(0, 18)))}
		}},
		{"tip-left", diag.Stop, work.Pocket, "a tip that is to be cleared and cannot", func(_ *work.Work, c *work.Cut) {
			shallow(c)
			c.Regions = []geom.Region{region(geom.Polygon(geom.Pt(0, 0), geom.Pt(50, 0), geom.Pt(0, 12)))}
		}},
		{"tabs-needless", diag.Stop, work.Opening, "tabs where the cutter leaves no slug", func(_ *work.Work, c *work.Cut) {
			c.Regions, c.Tabs = []geom.Region{region(geom.RoundRect(0, 0, 30, 3.5, 1.5))}, work.Tabs{Count: 2, Width: 2, Height: 0.5}
		}},
		{"cuts-overlap", diag.Confirm, work.Opening, "two openings that reach into each other", func(w *work.Work, c *work.Cut) {
			w.Cuts = append(w.Cuts, through("other", work.Opening, region(geom.Rect(30, 10, 60, 30))))
		}},
		{"holes-overlap", diag.Confirm, work.Bore, "two holes that reach into each other", func(w *work.Work, c *work.Cut) {
			c.Regions, c.Points, c.Diameter = nil, []geom.Point{geom.Pt(0, 0), geom.Pt(3, 0)}, 5
		}},
		{"holes-overlap", diag.Confirm, work.Drill, "a drilled hole at the edge of a bored one", func(w *work.Work, c *work.Cut) {
			c.Points = []geom.Point{geom.Pt(0, 0)}
			b := through("bore", work.Bore)
			b.Points, b.Diameter = []geom.Point{geom.Pt(2, 0)}, 3
			w.Cuts = append(w.Cuts, b)
		}},
		{"cuts-ordered", diag.Note, work.Pocket, "a pocket over a rebate", func(w *work.Work, c *work.Cut) {
			shallow(c)
			r := through("ledge", work.Rebate, region(geom.Rect(30, 5, 60, 15)))
			r.Through, r.Depth, r.Limit = false, 0.5, 1
			w.Cuts = append(w.Cuts, r)
		}},
		{"cuts-ordered", diag.Note, work.Slot, "a slot that runs into an opening", func(w *work.Work, c *work.Cut) {
			c.Regions, c.Chains = nil, []geom.Chain{{{Point: geom.Pt(-20, 10)}, {Point: geom.Pt(5, 10)}}}
			w.Cuts = append(w.Cuts, through("other", work.Opening, box))
		}},
		{"cuts-ordered", diag.Note, work.Pocket, "two pockets of different depth that overlap", func(w *work.Work, c *work.Cut) {
			shallow(c)
			d := *c
			d.Name, d.Depth, d.Regions = "other", 0.4, []geom.Region{region(geom.Rect(30, 5, 60, 30))}
			w.Cuts = append(w.Cuts, d)
		}},
		{"tabs-and-onion", diag.Stop, work.Opening, "tabs and a skin for the last pass", func(_ *work.Work, c *work.Cut) {
			c.Tabs, c.Options = work.Tabs{Count: 3, Width: 3, Height: 0.5}, map[string]float64{"skin": 0.3}
		}},
		{"skin-and-onion", diag.Stop, work.Opening, "a skin for the last pass of a cut that leaves one for good", func(_ *work.Work, c *work.Cut) {
			c.Through, c.Depth, c.Onion, c.Options = false, 1.8, 0.2, map[string]float64{"skin": 0.3}
		}},
		{"skin-thick", diag.Stop, work.Opening, "a skin as thick as the sheet", func(_ *work.Work, c *work.Cut) { c.Options = map[string]float64{"skin": 2} }},
		{"layer-unsure", diag.Stop, work.Opening, "a skin for the last pass thinner than the height is known to", func(w *work.Work, c *work.Cut) {
			w.Skin, c.Options, c.Limit = bowl{err: 0.25}, map[string]float64{"skin": 0.2}, 4
			w.Floor = 9
		}},
		{"not-positive", diag.Stop, work.Opening, "a skin below nothing", func(_ *work.Work, c *work.Cut) { c.Options = map[string]float64{"skin": -1} }},
		{"parts-overlap", diag.Stop, work.PartCut, "two parts that overlap", func(w *work.Work, c *work.Cut) {
			w.Cuts = append(w.Cuts, through("other", work.PartCut, region(geom.Rect(30, 10, 60, 30))))
		}},
		{"spring-pass", diag.Warn, work.Opening, "a spring pass in carbon", func(w *work.Work, c *work.Cut) {
			w.Material.Family, c.Finish, c.Options = "cfrp", 0.1, map[string]float64{"finish_passes": 2}
		}},
		{"spring-pass", diag.Warn, work.Opening, "a spring pass in a soft plastic", func(w *work.Work, c *work.Cut) {
			w.Material.Family, c.Finish, c.Options = "abs", 0.1, map[string]float64{"finish_passes": 2}
		}},
		{"corner-tight", diag.Warn, work.Opening, "a square corner in a skin", func(w *work.Work, c *work.Cut) { w.Sheet, w.Hollow = false, true }},
		{"corner-tight", diag.Warn, work.Opening, "a corner of 1.5 mm in a skin", func(w *work.Work, c *work.Cut) {
			w.Sheet, c.Regions = false, []geom.Region{region(geom.RoundRect(0, 0, 40, 20, 1.5))}
		}},
		{"ledge-ridge", diag.Warn, work.Rebate, "a ledge that does not reach the opening", func(w *work.Work, c *work.Cut) {
			shallow(c)
			c.Options = map[string]float64{"ledge": 5}
			w.Cuts = append(w.Cuts, through("other", work.Opening, region(geom.RoundRect(5.5, 5.5, 34.5, 14.5, 2))))
		}},
		{"flute-too-short", diag.Stop, work.Opening, "flutes too short for the slope", func(w *work.Work, c *work.Cut) {
			w.Skin, w.SafeZ, w.Cutters[0].FluteLength, c.Limit = bowl{b: 0.1}, 50, 2.3, 4
		}},
		{"relief-near", diag.Warn, work.Opening, "a relief that runs into another cut", func(w *work.Work, c *work.Cut) {
			c.Relief = "dogbone"
			w.Cuts = append(w.Cuts, through("other", work.Opening, region(geom.Rect(40.5, 20.5, 60, 30))))
		}},
		{"relief-near", diag.Warn, work.Opening, "a relief into a wall of the outline itself", func(_ *work.Work, c *work.Cut) {
			c.Relief = "dogbone" // the corner at 0, 10 lies 0.15 mm from the arm that comes round it
			c.Regions = []geom.Region{region(geom.Polygon(geom.Pt(0, 0), geom.Pt(20, 0), geom.Pt(20, 14), geom.Pt(-4, 14), geom.Pt(-4, 10.15), geom.Pt(15, 10.15), geom.Pt(15, 10), geom.Pt(0, 10)))}
		}},
		{"relief-near", diag.Warn, work.Opening, "a relief at the edge of its part", func(w *work.Work, c *work.Cut) {
			c.Relief, c.Part = "dogbone", 0
			w.Parts = []work.Part{{Name: "p", Region: region(geom.Rect(-10, -10, 41, 21))}}
		}},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			cut := through("x", tc.kind, box)
			w := sheet([]shop.Cutter{endmill2()}, cut)
			tc.fix(w, &w.Cuts[0])
			ps, l := Plan(context.Background(), w)
			var got *diag.Finding
			for i := range l {
				if l[i].Code == tc.code {
					got = &l[i]
				}
			}
			require.NotNil(t, got, "found %v", l)
			assert.Equal(t, tc.sev, got.Severity)
			assert.NotEmpty(t, got.Help, "every finding says what to do")
			assert.Equal(t, tc.sev == diag.Stop, len(ps) == 0, "programs come unless something stops")
		})
	}
}

func TestEveryNumberOfACutMustMakeSense(t *testing.T) {
	fields := map[string]func(c *work.Cut, v float64){
		"depth": func(c *work.Cut, v float64) { c.Depth = v }, "limit": func(c *work.Cut, v float64) { c.Limit = v }, "step": func(c *work.Cut, v float64) { c.Step = v },
		"rpm": func(c *work.Cut, v float64) { c.RPM = v }, "feed": func(c *work.Cut, v float64) { c.Feed = v }, "plunge": func(c *work.Cut, v float64) { c.Plunge = v },
		"ramp": func(c *work.Cut, v float64) { c.Ramp = v },
	}
	for name, set := range fields {
		for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, -1} {
			c := through("x", work.Opening, region(geom.Rect(0, 0, 40, 20)))
			set(&c, v)
			ps, l := Plan(context.Background(), sheet([]shop.Cutter{endmill2()}, c))
			assert.Empty(t, ps, "%s = %v", name, v)
			assert.True(t, l.Has("not-positive") || l.Has("number-not-finite"), "%s = %v: %v", name, v, l)
			assert.Equal(t, 2, l.ExitCode(), "the input is wrong")
		}
	}
}

func TestWorkThatCannotBePlanned(t *testing.T) {
	c := through("x", work.Opening, region(geom.Rect(0, 0, 40, 20)))
	w := sheet([]shop.Cutter{endmill2()}, c)
	w.Skin = nil
	_, l := Plan(context.Background(), w)
	assert.True(t, l.Has("skin-missing"))
	w = sheet([]shop.Cutter{endmill2()}, c)
	w.SafeZ = math.NaN()
	_, l = Plan(context.Background(), w)
	assert.True(t, l.Has("number-not-finite"))
	w = wing(bowl{k: 0.001}, []shop.Cutter{endmill2()}, c)
	w.HeightTol = 0
	_, l = Plan(context.Background(), w)
	assert.True(t, l.Has("not-positive"))
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	ps, l := Plan(ctx, sheet([]shop.Cutter{endmill2()}, c))
	assert.Empty(t, ps)
	assert.True(t, l.Has("cancelled"))
}

func TestWidestCutterThatWouldDoIsNamed(t *testing.T) {
	// closed form: a strip 1.9 mm wide takes a cutter of 1.9 mm
	w := sheet([]shop.Cutter{endmill2()}, through("x", work.Opening, region(geom.Rect(0, 0, 20, 1.9))))
	_, l := Plan(context.Background(), w)
	require.Len(t, l, 1)
	require.NotNil(t, l[0].Limit)
	assert.InDelta(t, 1.9, *l[0].Limit, 1e-3)
	assert.LessOrEqual(t, *l[0].Limit, 1.9)

	// closed form: 2.2 + 2·0.2·r ≤ 2.5 for r ≤ 0.75
	w = wing(bowl{b: 0.2}, []shop.Cutter{endmill2()}, through("x", work.Opening, region(geom.RoundRect(0, 0, 30, 20, 4))))
	w.HeightTol, w.Skin = 1e-6, bowl{b: 0.2}
	_, l = Plan(context.Background(), w)
	require.True(t, l.Has("slope-too-steep"))
	assert.Contains(t, l[0].Help, "1.49 mm")
}

// What the warnings of TestImpossibleCutsAreRefused ask for silences them.
func TestWarningsEndWhereTheirHelpWasFollowed(t *testing.T) {
	box := region(geom.Rect(0, 0, 40, 20))
	for _, tc := range []struct {
		code string
		kind work.Kind
		fact string
		fix  func(w *work.Work, c *work.Cut)
	}{
		{"corner-tight", work.Opening, "corners of 3 mm in a skin", func(w *work.Work, c *work.Cut) {
			w.Sheet, c.Regions = false, []geom.Region{region(geom.RoundRect(0, 0, 40, 20, 3))}
		}},
		{"corner-tight", work.Opening, "a square corner in a sheet", func(*work.Work, *work.Cut) {}},
		{"corner-tight", work.Opening, "outward corners", func(w *work.Work, c *work.Cut) {
			w.Sheet, c.Regions = false, []geom.Region{region(geom.Contour{{Point: geom.Pt(0, 0), Bulge: 1}, {Point: geom.Pt(20, 0), Bulge: 0.2}, {Point: geom.Pt(20, 20), Bulge: 1}, {Point: geom.Pt(0, 20), Bulge: 0.2}})}
		}},
		{"ledge-ridge", work.Rebate, "a ledge that reaches the opening", func(w *work.Work, c *work.Cut) {
			c.Through, c.Depth, c.Options = false, 0.8, map[string]float64{"ledge": 6}
			w.Cuts = append(w.Cuts, through("other", work.Opening, region(geom.RoundRect(5.5, 5.5, 34.5, 14.5, 2))))
		}},
		{"ledge-ridge", work.Rebate, "a hole far from the ledge", func(w *work.Work, c *work.Cut) {
			c.Through, c.Depth, c.Options = false, 0.8, map[string]float64{"ledge": 3}
			w.Cuts = append(w.Cuts, through("other", work.Opening, region(geom.Circle(geom.Pt(20, 10), 2.5))))
		}},
		{"spring-pass", work.Opening, "a spring pass in aluminium", func(w *work.Work, c *work.Cut) {
			w.Material.Family, c.Finish, c.Options = "aluminium", 0.1, map[string]float64{"finish_passes": 2}
		}},
		{"relief-near", work.Opening, "a relief far from the edge of its part", func(w *work.Work, c *work.Cut) {
			c.Relief, c.Part = "dogbone", 0
			w.Parts = []work.Part{{Name: "p", Region: region(geom.Rect(-10, -10, 50, 30))}}
		}},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			w := sheet([]shop.Cutter{endmill2()}, through("x", tc.kind, box))
			tc.fix(w, &w.Cuts[0])
			ps, l := Plan(context.Background(), w)
			require.NotEmpty(t, ps, "%v", l)
			for _, f := range l {
				assert.NotEqual(t, tc.code, f.Code, f.Error())
			}
		})
	}
}
