package plan

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

// under returns the lowest and highest skin under a flat cutter of radius r at
// p: a plain slow search over its rim and middle.
func under(s bowl, p geom.Point, r float64) (lo, hi float64) {
	lo, hi = s.Height(p), s.Height(p)
	for i := range 72 {
		h := s.Height(geom.Polar(p, r, float64(i)*math.Pi/36))
		lo, hi = math.Min(lo, h), math.Max(hi, h)
	}
	return lo, hi
}

func TestACutThroughACurvedSkinIsThroughAndNeverBelowTheLimit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := bowl{a: rapid.Float64Range(-5, 5).Draw(t, "a"), b: rapid.Float64Range(-0.1, 0.1).Draw(t, "b"), c: rapid.Float64Range(-0.1, 0.1).Draw(t, "c"),
			k: rapid.Float64Range(-1.0/500, 1.0/500).Draw(t, "k"), err: rapid.Float64Range(0, 0.05).Draw(t, "err")}
		x, y := rapid.Float64Range(-40, 40).Draw(t, "x"), rapid.Float64Range(-40, 40).Draw(t, "y")
		c := through("o", work.Opening, region(geom.RoundRect(x, y, x+36, y+18, 3)))
		c.Limit, c.Finish = 4, rapid.SampledFrom([]float64{0, 0.15}).Draw(t, "finish")
		w := wing(s, []shop.Cutter{endmill2()}, c)
		p, ops := planOps(t.Context(), w)
		if p.stopped() || len(ops) < 1 {
			t.Fatalf("%v", p.found)
		}
		ms := replay(p.programs(ops))
		sampled(ms, 0.5, func(_ motion, q geom.Point, z float64) {
			if _, hi := under(s, q, 1); hi-z+s.err > 4+1e-9 {
				t.Fatalf("%.4f mm below the skin at %v", hi-z+s.err, q)
			}
		})
		path, err := c.Regions[0].Offset(-1, 1e-3)
		if err != nil {
			t.Fatal(err)
		}
		for _, seg := range path[0].Outer.Segs() {
			for k := range 4 {
				q := seg.At((float64(k) + 0.37) / 4)
				lo, _ := under(s, q, 1)
				best := math.Inf(-1)
				for _, m := range ms {
					if g := m.seg(); m.Kind != toolpath.Rapid && g.Length() > 0 && g.Dist(q) < 1e-6 {
						_, z := m.at(along(g, g.Nearest(q)) / g.Length())
						best = math.Max(best, lo-z)
					}
				}
				if best < 2+s.err-1e-6 {
					t.Fatalf("only %.4f mm below the lowest skin at %v", best, q)
				}
			}
		}
	})
}

func TestDrapedPathKeepsItsDepth(t *testing.T) {
	// a groove at 0.5 mm: the tip stays within the height tolerance of it
	for _, s := range []bowl{{a: 1}, {a: 1, b: 0.1}, {a: 1, b: 0.05, c: 0.1, k: -1.0 / 300}} {
		c := through("s", work.Score)
		c.Through, c.Depth, c.Limit, c.Step = false, 0.5, 1.2, 1
		q := math.Tan(math.Pi / 8)
		c.Chains = []geom.Chain{{{Point: geom.Pt(0, 0)}, {Point: geom.Pt(60, 10), Bulge: q}, {Point: geom.Pt(80, 40)}}}
		w := wing(s, []shop.Cutter{vee90()}, c)
		ms := replay(mustPlan(t, w))
		n, worst, down := 0, 0.0, 0
		for s.Height(geom.Pt(ms[down].X, ms[down].Y))-ms[down].Z < c.Depth-w.HeightTol {
			down++ // the ramp
		}
		sampled(ms[down+1:len(ms)-1], 0.1, func(m motion, p geom.Point, z float64) {
			if m.Kind == toolpath.Rapid {
				return
			}
			d := s.Height(p) - z
			if d > 0.45 {
				n++
				worst = math.Max(worst, math.Abs(d-0.5))
			}
		})
		assert.Greater(t, n, 100)
		assert.LessOrEqual(t, worst, w.HeightTol+1e-9, "skin %+v", s)
	}
}

func TestNothingIsSplitOnAFlatSkinNorLinesOnAPlane(t *testing.T) {
	c := through("o", work.Opening, region(geom.RoundRect(0, 0, 40, 20, 3)))
	c.Step, c.Limit = 3, 5
	flat := len(replay(mustPlan(t, sheet([]shop.Cutter{endmill2()}, func() work.Cut { d := c; d.Limit = 2.4; return d }()))))
	ws := wing(bowl{b: 0.1}, []shop.Cutter{endmill2()}, c)
	d := &draper{w: &workSkin{height: ws.Skin.Height, slope: ws.Skin.Slope, bend: ws.Skin.Bend, tol: 0.005}, cutter: &ws.Cutters[0], cache: map[geom.Seg][]piece{}}
	assert.Len(t, d.pieces(geom.Line(geom.Pt(0, 0), geom.Pt(500, 20))), 1, "a line on a plane stays whole")
	arc := geom.Circle(geom.Pt(0, 0), 20).Seg(0)
	n := len(d.pieces(arc))
	assert.Greater(t, n, 1)
	// closed form: the plane bends along the arc by slope/R, error slope/R·l²/8
	assert.LessOrEqual(t, n, 2*int(math.Ceil(arc.Length()*math.Sqrt(0.1/20/8/0.005))))
	for _, p := range d.pieces(arc) {
		assert.False(t, p.seg.IsLine(), "arcs stay arcs")
	}
	assert.Less(t, flat, 40)
}

func TestFewestBlocksOnAFlatSkin(t *testing.T) {
	// One pass around a rounded rectangle: 4 lines, one of them cut in two by the
	// start, 4 arcs; a ramp, lead and close-up beside it.
	c := through("o", work.Opening, region(geom.RoundRect(0, 0, 60, 30, 4)))
	c.Step, c.Tabs = 3, work.Tabs{}
	ms := replay(mustPlan(t, sheet([]shop.Cutter{endmill2()}, c)))
	arcs := 0
	for _, m := range ms {
		if m.Kind == toolpath.Arc {
			arcs++
		}
	}
	assert.LessOrEqual(t, len(ms), 24)
	assert.GreaterOrEqual(t, arcs, 5)
}

func TestMovingTheJobMovesTheResultOnly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shape := geom.Contour{{Point: geom.Pt(0, 0)}, {Point: geom.Pt(50, 2)}, {Point: geom.Pt(44, 31), Bulge: 0.3}, {Point: geom.Pt(20, 24)}, {Point: geom.Pt(-3, 19)}}
		f := geom.Rigid{Turn: rapid.Float64Range(-3, 3).Draw(t, "turn"), Shift: geom.Pt(rapid.Float64Range(-100, 100).Draw(t, "x"), rapid.Float64Range(-100, 100).Draw(t, "y"))}
		kind := rapid.SampledFrom([]work.Kind{work.Opening, work.PartCut, work.Pocket}).Draw(t, "kind")
		make := func(f geom.Rigid) []motion {
			c := through("a", kind, region(shape).Transform(f))
			c.Frame = f
			if kind == work.Pocket {
				c.Through, c.Depth = false, 1.1
			} else {
				c.Tabs = work.Tabs{Count: 2, Width: 3, Height: 0.5}
			}
			p, ops := planOps(t.Context(), sheet([]shop.Cutter{endmill2()}, c))
			if p.stopped() {
				t.Fatalf("%v", p.found)
			}
			return replay(p.programs(ops))
		}
		a, b := make(geom.Rigid{}), make(f)
		if len(a) != len(b) {
			t.Fatalf("%d moves become %d", len(a), len(b))
		}
		for i := range a {
			q := f.Apply(geom.Pt(a[i].X, a[i].Y))
			if d := q.Dist(geom.Pt(b[i].X, b[i].Y)); d > 1e-5 || math.Abs(a[i].Z-b[i].Z) > 1e-6 {
				t.Fatalf("move %d is %.7f mm off, Z %.7f", i, d, a[i].Z-b[i].Z)
			}
		}
	})
}

func TestTheSameWorkGivesTheSameMoves(t *testing.T) {
	w := partsWithHoles(3, 2, 5, []shop.Cutter{endmill2()}, 0)
	assert.Equal(t, mustPlan(t, w), mustPlan(t, w))
}

// mixedCuts is a work of n cuts of all kinds.
func mixedCuts(n int) *work.Work {
	w := sheet([]shop.Cutter{endmill2(), vee90()})
	for i := range n {
		x, y := float64(i%40)*50, float64(i/40)*40
		var c work.Cut
		name := fmt.Sprintf("cut %d", i)
		switch i % 8 {
		case 0:
			c = through(name, work.Opening, region(geom.RoundRect(x, y, x+40, y+20, 3)))
			c.Tabs, c.Finish = work.Tabs{Auto: true, Width: 3, Height: 0.6}, 0.1
		case 1:
			c = through(name, work.PartCut, region(geom.RoundRect(x, y, x+40, y+20, 3)))
			c.Tabs = work.Tabs{Count: 3, Width: 3, Height: 0.6}
		case 2:
			c = through(name, work.Pocket, geom.NewRegion(geom.RoundRect(x, y, x+40, y+20, 3), geom.Circle(geom.Pt(x+20, y+10), 4)))
			c.Through, c.Depth = false, 1
		case 3:
			c = through(name, work.Bore)
			c.Points, c.Diameter = []geom.Point{geom.Pt(x, y)}, 6
		case 4:
			c = through(name, work.Drill)
			c.Points = []geom.Point{geom.Pt(x, y), geom.Pt(x+10, y)}
		case 5:
			c = through(name, work.Slot)
			c.Chains = []geom.Chain{{{Point: geom.Pt(x, y)}, {Point: geom.Pt(x+30, y+5)}}}
		case 6:
			c = through(name, work.Score)
			c.Through, c.Depth = false, 1
			c.Chains = []geom.Chain{{{Point: geom.Pt(x, y)}, {Point: geom.Pt(x+30, y+5)}}}
		default:
			c = through(name, work.Mark)
			c.Through, c.Depth, c.Cutter, c.Text, c.Points = false, 0.2, 1, name, []geom.Point{geom.Pt(x, y)}
		}
		w.Cuts = append(w.Cuts, c)
	}
	return w
}

func BenchmarkPlan1000MixedCuts(b *testing.B) {
	w := mixedCuts(1000)
	b.ReportAllocs()
	for b.Loop() {
		mustPlan(b, w)
	}
}

func BenchmarkDrape100kPathPoints(b *testing.B) {
	s := bowl{a: 2, b: 0.05, k: -1.0 / 600}
	w := wing(s, []shop.Cutter{endmill2()})
	o := &op{cut: 0}
	var l legs
	l.begin(geom.Pt(0, 0), 0)
	for i := range 100000 {
		l.line(geom.Pt(float64(i%317), float64(i)/400), 1, 600)
	}
	o.legs = l.list
	b.ReportAllocs()
	moves := 0
	for b.Loop() {
		d := &draper{w: &workSkin{height: w.Skin.Height, slope: w.Skin.Slope, bend: w.Skin.Bend, tol: 0.005, top: func(geom.Box) float64 { return 30 }}, cutter: &w.Cutters[0], base: atLowest, safe: 40, cache: map[geom.Seg][]piece{}}
		moves = len(d.moves(o))
	}
	b.ReportMetric(float64(moves), "moves")
}
