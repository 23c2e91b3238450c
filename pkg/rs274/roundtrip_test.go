package rs274_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/geom"
	"sparclear/pkg/rs274"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

// controllers draws any controller that a profile can describe.
func controllers(t *rapid.T) shop.Controller {
	c := shop.Controller{
		Arcs:        rapid.SampledFrom([]shop.ArcForm{shop.ArcCentre, shop.ArcRadius, shop.ArcNone}).Draw(t, "arcs"),
		Units:       rapid.SampledFrom([]string{"mm", "inch"}).Draw(t, "units"),
		ToolChange:  rapid.SampledFrom([]shop.ToolChange{shop.ChangeWord, shop.ChangePause}).Draw(t, "change"),
		PathMode:    rapid.SampledFrom([]shop.PathMode{shop.PathExactStop, shop.PathExact, shop.PathBlend, shop.PathUnstated}).Draw(t, "mode"),
		LineNumbers: rapid.Bool().Draw(t, "numbers"),
		Percent:     rapid.Bool().Draw(t, "percent"),
		Comments:    rapid.Bool().Draw(t, "comments"),
		Dwell:       rapid.Bool().Draw(t, "dwell"),
		LengthWord:  rapid.Bool().Draw(t, "length"),
		BlendTol:    0.02,
		DustOn:      "M8",
		DustOff:     "M9",
		MaxLine:     80,
	}
	c.ArcTol = rapid.SampledFrom([]float64{0, 0.0005, 0.002}).Draw(t, "arc tolerance")
	c.Decimals = rapid.IntRange(3, 5).Draw(t, "decimals")
	if c.Units == "inch" {
		c.Decimals++
	}
	return c
}

func stepOf(c shop.Controller) float64 {
	s := math.Pow(10, -float64(c.Decimals))
	if c.Units == "inch" {
		s *= 25.4
	}
	return s
}

// randomPath draws a path of lines, arcs, helices and rapids.
func randomPath(t *rapid.T, cutter int) toolpath.Path {
	p := toolpath.Path{Cut: "flap servo", Op: "rough", Cutter: cutter, RPM: 18000}
	length := rapid.Float64Range(-80, 80)
	at := [3]float64{length.Draw(t, "x"), length.Draw(t, "y"), 5}
	p.Moves = append(p.Moves, toolpath.Move{Kind: toolpath.Rapid, X: at[0], Y: at[1], Z: at[2]})
	for range rapid.IntRange(1, 10).Draw(t, "moves") {
		m := toolpath.Move{Kind: toolpath.Line, Feed: rapid.Float64Range(50, 2000).Draw(t, "feed")}
		z := rapid.SampledFrom([]float64{at[2], at[2], rapid.Float64Range(-4, 5).Draw(t, "z")}).Draw(t, "which z")
		if rapid.Bool().Draw(t, "arc") {
			m.Kind = toolpath.Arc
			r := math.Pow(10, rapid.Float64Range(-2.5, 2.5).Draw(t, "log radius"))
			a := rapid.Float64Range(0, 2*math.Pi).Draw(t, "angle")
			sweep := rapid.SampledFrom([]float64{2 * math.Pi, math.Pi, math.Pi / 2, rapid.Float64Range(1e-4, 2*math.Pi-1e-4).Draw(t, "sweep")}).Draw(t, "which sweep")
			m.Center = geom.Polar(geom.Pt(at[0], at[1]), r, a+math.Pi)
			m.CCW = rapid.Bool().Draw(t, "ccw")
			if !m.CCW {
				sweep = -sweep
			}
			e := geom.Polar(m.Center, r, a+sweep)
			if math.Abs(sweep) == 2*math.Pi {
				e = geom.Pt(at[0], at[1])
			}
			m.X, m.Y = e.X, e.Y
		} else {
			m.X, m.Y = at[0]+rapid.Float64Range(-10, 10).Draw(t, "dx"), at[1]+rapid.Float64Range(-10, 10).Draw(t, "dy")
		}
		m.Z = z
		at = [3]float64{m.X, m.Y, m.Z}
		p.Moves = append(p.Moves, m)
	}
	p.Moves = append(p.Moves, toolpath.Move{Kind: toolpath.Rapid, X: at[0], Y: at[1], Z: 5})
	return p
}

// samples returns points along the cuts of a path, in order.
func samples(p toolpath.Path, n int) [][3]float64 {
	var out [][3]float64
	at := [3]float64{}
	for i, m := range p.Moves {
		to := [3]float64{m.X, m.Y, m.Z}
		mv := rs274.Move{From: at, To: to, Motion: rs274.Feed}
		if m.Kind == toolpath.Arc {
			mv.Motion = rs274.ArcCW
			if m.CCW {
				mv.Motion = rs274.ArcCCW
			}
			mv.Center = [2]float64{m.Center.X, m.Center.Y}
		}
		if i > 0 && m.Kind != toolpath.Rapid {
			for k := range n + 1 {
				out = append(out, mv.At(float64(k)/float64(n)))
			}
		}
		at = to
	}
	return out
}

// distance returns how far a point is from the path of a move, by a plain search.
func distance(m *rs274.Move, p [3]float64) float64 {
	d := func(t float64) float64 {
		q := m.At(t)
		return math.Hypot(math.Hypot(q[0]-p[0], q[1]-p[1]), q[2]-p[2])
	}
	best, at := math.Inf(1), 0.0
	const n = 64
	for k := range n + 1 {
		if v := d(float64(k) / n); v < best {
			best, at = v, float64(k)/n
		}
	}
	lo, hi := at-1.0/n, at+1.0/n
	for range 60 {
		a, b := lo+(hi-lo)/3, hi-(hi-lo)/3
		if d(a) < d(b) {
			hi = b
		} else {
			lo = a
		}
	}
	return math.Min(best, d((lo+hi)/2))
}

func TestWhatIsWrittenIsReadBackEqual(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := controllers(t)
		w := &work.Work{ChordTol: 0.02, Machine: shop.Machine{Controller: c, SpinUp: 3},
			Cutters: []shop.Cutter{{Name: "a", Number: 1}, {Name: "b", Number: 7}},
			Cuts:    []work.Cut{{Name: "flap servo", Climb: rapid.Bool().Draw(t, "climb")}}}
		prog := toolpath.Program{Name: "p", SafeZ: 5, Head: []string{"port panel (flap)"},
			Paths: []toolpath.Path{randomPath(t, 0), randomPath(t, 1)}}
		text, fs := rs274.Write(prog, w)
		require.False(t, fs.Blocks(), "%v", fs)
		again, _ := rs274.Write(prog, w)
		require.Equal(t, text, again)

		r, faults := rs274.Read("p.nc", text, rs274.Options{ArcTol: c.ArcTol})
		require.False(t, faults.Blocks(), "%v\n%s", faults, text)
		require.Empty(t, faults)
		assert.True(t, r.Ended)
		step := stepOf(c)
		// Rounding moves ends by 0.71 of the grid, the writer's own bound for the
		// middle of an arc is 3; radii that differ add their tolerance.
		bound := 4*step + 0.002
		if c.Units == "inch" {
			bound += 0.004
		}
		if c.Arcs == shop.ArcNone {
			bound += w.ChordTol
		}
		next := 0
		for _, p := range prog.Paths {
			for _, s := range samples(p, 8) {
				best := math.Inf(1)
				// The text follows the plan in order: never look back further than
				// one move.
				for i := next; i < len(r.Moves); i++ {
					if d := distance(&r.Moves[i], s); d < best {
						best = d
						if d <= bound {
							next = max(next, i-1)
							break
						}
					}
				}
				if best > bound {
					t.Fatalf("point %v of the plan lies %g mm from the text, %g allowed\n%s", s, best, bound, text)
				}
			}
		}
		for i := range r.Moves {
			m := &r.Moves[i]
			if m.Motion == rs274.Rapid {
				across := m.To[0] != m.From[0] || m.To[1] != m.From[1]
				assert.False(t, across && m.To[2] != m.From[2], "rapid across and along Z, line %d", m.Line)
				continue
			}
			s := r.States[m.State]
			assert.True(t, s.UnitsSaid && s.PlaneSaid && s.DistSaid && s.FeedSaid)
			assert.EqualValues(t, 1, s.Spindle)
			assert.Contains(t, []int{1, 7}, s.Cutter())
		}
		last := r.Moves[len(r.Moves)-1]
		assert.InDelta(t, 5, last.To[2], step)
		assert.Zero(t, r.Final.Spindle)
		if c.Arcs == shop.ArcNone {
			return // chords are shorter than their arcs
		}
		lp, lt := planLength(prog), textLength(r)
		assert.InDelta(t, lp, lt, 1e-3*lp+float64(len(r.Moves))*4*step, "length of cuts, mm")
	})
}

func planLength(p toolpath.Program) float64 {
	l := 0.0
	for _, path := range p.Paths {
		at := [3]float64{}
		for i, m := range path.Moves {
			to := [3]float64{m.X, m.Y, m.Z}
			mv := rs274.Move{From: at, To: to, Motion: rs274.Feed}
			if m.Kind == toolpath.Arc {
				mv.Motion = rs274.ArcCW
				if m.CCW {
					mv.Motion = rs274.ArcCCW
				}
				mv.Center = [2]float64{m.Center.X, m.Center.Y}
			}
			if i > 0 && m.Kind != toolpath.Rapid {
				l += mv.Length()
			}
			at = to
		}
	}
	return l
}

func textLength(r *rs274.Replay) float64 {
	l := 0.0
	for i := range r.Moves {
		if r.Moves[i].Motion != rs274.Rapid {
			l += r.Moves[i].Length()
		}
	}
	return l
}

// replan turns what was read back into a plan of one path.
func replan(r *rs274.Replay) toolpath.Program {
	p := toolpath.Path{Cut: "flap servo", Op: "rough", RPM: 18000}
	for i := range r.Moves {
		m := &r.Moves[i]
		t := toolpath.Move{Kind: toolpath.Line, X: m.To[0], Y: m.To[1], Z: m.To[2], Feed: m.Feed}
		switch {
		case m.Motion == rs274.Rapid:
			t.Kind = toolpath.Rapid
		case m.Arc():
			t.Kind, t.CCW, t.Center = toolpath.Arc, m.Motion == rs274.ArcCCW, geom.Pt(m.Center[0], m.Center[1])
		}
		if i > 0 { // the first goes up from an unknown place
			p.Moves = append(p.Moves, t)
		}
	}
	return toolpath.Program{Name: "p", SafeZ: 5, Paths: []toolpath.Path{p}}
}

func TestWhatIsReadIsWrittenAgainAlike(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := controllers(t)
		if c.Arcs == shop.ArcRadius {
			c.Arcs = shop.ArcCentre // R rounds the sweep, and with it the cut into thirds
		}
		w := &work.Work{ChordTol: 0.02, Machine: shop.Machine{Controller: c, SpinUp: 3}, Cutters: []shop.Cutter{{Name: "a", Number: 1}}}
		first, fs := rs274.Write(toolpath.Program{Name: "p", SafeZ: 5, Paths: []toolpath.Path{randomPath(t, 0)}}, w)
		require.False(t, fs.Blocks(), "%v", fs)
		r, faults := rs274.Read("p.nc", first, rs274.Options{ArcTol: c.ArcTol})
		require.Empty(t, faults)
		for i := range r.Moves {
			if m := &r.Moves[i]; m.Arc() && m.Radius()*(1-math.Cos(math.Min(math.Abs(m.Sweep()), math.Pi)/2)) < 4*stepOf(c) {
				t.Skip("an arc at the limit of becoming a line may become one")
			}
		}
		second, fs := rs274.Write(replan(r), w)
		require.False(t, fs.Blocks(), "%v", fs)
		assert.Equal(t, motions(first), motions(second))
	})
}
