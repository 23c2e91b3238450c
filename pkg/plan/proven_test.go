package plan

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/proof"
	"sparclear/pkg/rs274"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

// provenOf writes the programs and has the proof read them back: what the
// planner hands out must hold before a judge that shares no code with it.
func provenOf(t testing.TB, w *work.Work, ps []toolpath.Program) (*proof.Certificate, diag.List, []proof.Source) {
	t.Helper()
	var src []proof.Source
	for _, p := range ps {
		text, l := rs274.Write(p, w)
		require.False(t, l.Blocks(), "%v", l)
		src = append(src, proof.Source{File: p.Name + ".nc", Text: text})
	}
	cert, l := proof.Prove(context.Background(), w, src)
	return cert, l, src
}

// bench is a machine that the proof knows the limits of.
func bench() shop.Machine {
	return shop.Machine{Name: "test", TravelMin: [3]float64{-500, -500, -100}, TravelMax: [3]float64{1500, 1500, 200}, FeedXY: 4000, FeedZ: 1500, RapidXY: 5000, RapidZ: 2000,
		Accel: 300, AccelZ: 200, SpindleMin: 5000, SpindleMax: 24000, SpinUp: 3,
		Controller: shop.Controller{Arcs: shop.ArcCentre, Units: "mm", Decimals: 3, ToolChange: shop.ChangeWord, PathMode: shop.PathExact, Dwell: true, ArcTol: 0.01, Comments: true}}
}

// wild is an outline as people draw them: star-shaped, with straight and bulging
// sides, sharp tips, narrow places and fine steps.
func wild(r *rand.Rand, at geom.Point, size float64) geom.Contour {
	n := 3 + r.IntN(8)
	var c geom.Contour
	for i := range n {
		a := (float64(i) + 0.8*r.Float64()) * 2 * math.Pi / float64(n)
		v := geom.Vertex{Point: geom.Polar(at, size*(0.35+0.65*r.Float64()), a)}
		if r.IntN(3) == 0 {
			v.Bulge = 0.6 * (r.Float64() - 0.5)
		}
		c = append(c, v)
	}
	return c
}

// randomWork draws one work of a few cuts that a shop might ask for.
func randomWork(r *rand.Rand) *work.Work {
	cutter := endmill2()
	cutter.Number, cutter.MaxRPM, cutter.FluteLength = 1, 30000, 12
	switch r.IntN(4) {
	case 0:
		cutter.CentreCutting, cutter.Flutes, cutter.Form, cutter.Name = false, 0, "burr", "burr-2"
	case 1:
		cutter.Diameter = 1
	case 2:
		cutter.Diameter, cutter.Shank = 3, 3
	}
	w := sheet([]shop.Cutter{cutter})
	if r.IntN(2) == 0 {
		s := bowl{a: 5, b: 0.06 * (r.Float64() - 0.5), c: 0.06 * (r.Float64() - 0.5), k: (r.Float64() - 0.5) / 600, err: 0.02}
		w = wing(s, []shop.Cutter{cutter})
		w.Floor, w.SafeZ = 8, math.Ceil(w.SafeZ)
	}
	w.Machine, w.ClampsSaid = bench(), true
	kinds := []work.Kind{work.Opening, work.Opening, work.PartCut, work.Pocket, work.Rebate, work.Slot, work.Bore, work.Score}
	for i := range 1 + r.IntN(2) {
		at := geom.Pt(float64(i)*80, 20*r.Float64())
		c := through(fmt.Sprintf("cut %d", i), kinds[r.IntN(len(kinds))])
		c.Limit, c.Step = 2.5, 0.3+r.Float64()
		if !w.Sheet {
			c.Limit, c.Depth, c.Overcut = 4, 2.4, 0.4
		}
		c.Open, c.Climb, c.Tol = true, r.IntN(2) == 0, []float64{0.05, 0.1, 0.2}[r.IntN(3)]
		g := geom.NewRegion(wild(r, at, 8+22*r.Float64()))
		switch r.IntN(5) {
		case 0:
			g = geom.NewRegion(geom.RoundRect(at.X-20*r.Float64()-3, at.Y-8, at.X+20*r.Float64()+3, at.Y+8, 4*r.Float64()))
		case 1:
			if h := wild(r, at, 5+3*r.Float64()); g.ContainsInterior(at) && (c.Kind == work.Pocket || c.Kind == work.PartCut) {
				if gs, err := geom.Subtract([]geom.Region{g}, []geom.Region{geom.NewRegion(h)}); err == nil && len(gs) == 1 {
					g = gs[0]
				}
			}
		}
		c.Regions = []geom.Region{g}
		switch c.Kind {
		case work.Opening, work.PartCut:
			if r.IntN(2) == 0 {
				c.Tabs = work.Tabs{Count: 2 + r.IntN(3), Width: 2 + 2*r.Float64(), Height: 0.4 + 0.4*r.Float64()}
				if r.IntN(2) == 0 {
					c.Tabs.Auto, c.Tabs.Count = true, 0
				}
			}
			if r.IntN(3) == 0 {
				c.Finish = 0.1 + 0.1*r.Float64()
			}
			c.Relief = []string{"", "", "dogbone", "tbone"}[r.IntN(4)]
		case work.Pocket, work.Rebate:
			c.Through, c.Depth, c.Limit, c.Overcut = false, 0.4+r.Float64(), 1.8, 0
			if r.IntN(3) == 0 {
				c.Finish = 0.1
			}
		case work.Bore:
			c.Diameter = cutter.Diameter*(1.1+3*r.Float64()) + 0.2
			c.Points = []geom.Point{at}
			c.Regions = []geom.Region{geom.NewRegion(geom.Circle(at, c.Diameter/2))}
		case work.Slot, work.Score:
			c.Regions = nil
			ch := geom.Chain{{Point: at}}
			for range 1 + r.IntN(4) {
				last := ch[len(ch)-1].Point
				ch = append(ch, geom.Vertex{Point: last.Add(geom.Pt(4+12*r.Float64(), 16*(r.Float64()-0.5)))})
			}
			c.Chains = []geom.Chain{ch}
			if c.Kind == work.Slot && r.IntN(2) == 0 {
				gs, err := ch.Sweep(cutter.Diameter * (1.1 + 2*r.Float64()) / 2) // as jobs hand it over
				if err != nil {
					panic(err)
				}
				c.Regions, c.Chains = gs, nil
			}
			if c.Kind == work.Score {
				c.Through, c.Depth, c.Limit, c.Overcut = false, 0.8, 1.6, 0
			}
		}
		if c.Kind == work.PartCut && w.Sheet {
			c.Part = len(w.Parts)
			w.Parts = append(w.Parts, work.Part{Name: c.Name, Region: g})
		}
		w.Cuts = append(w.Cuts, c)
	}
	return w
}

// TestWhatIsPlannedIsProven plans random works and has them proven. A refusal by
// the planner is an answer; one by the proof, of a program that the planner
// handed out, is a fault of the planner.
func TestWhatIsPlannedIsProven(t *testing.T) {
	n := 100
	if os.Getenv("SPARCLEAR_LONG") != "" {
		n = 5000
	}
	planned, refused := 0, map[string]int{}
	for i := range n {
		w := randomWork(rand.New(rand.NewPCG(uint64(i), 11)))
		ps, l := Plan(context.Background(), w)
		if l.Blocks() && len(ps) == 0 {
			for _, f := range l {
				if f.Severity == diag.Stop {
					refused["plan: "+f.Code]++
				}
			}
			continue
		}
		planned++
		_, found, _ := provenOf(t, w, ps)
		bad := false
		for _, f := range found {
			if f.Severity == diag.Stop {
				bad = true
				refused[f.Code]++
				for _, c := range w.Cuts {
					if c.Name == f.Cut || f.Cut == "" {
						t.Logf("work %d (%s): %s: %s", i, c.Kind, f.Code, f.Message)
						break
					}
				}
			}
		}
		if bad {
			refused["any"]++
		}
	}
	t.Logf("%d works, %d planned, refused %v", n, planned, refused)
	assert.LessOrEqual(t, refused["any"], planned/50, "the proof refuses what the planner hands out")
}
