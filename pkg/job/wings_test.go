package job_test

import (
	"context"
	"fmt"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/internal/demo"
	"sparclear/pkg/geom"
	"sparclear/pkg/job"
	"sparclear/pkg/rs274"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// wing is the truth that the job never sees: where the panel lies and how high
// its skin is. The job gets touched data only, with the noise of touching.
type wing struct {
	pose                geom.Rigid
	z0, tiltX, tiltY    float64
	bendX, bendY, twist float64    // 1/mm
	mid                 geom.Point // of the curvature
	thickness           float64
	radius              float64 // of the cutter as it really is, runout included
}

func randomWing(r *rand.Rand, m shop.Machine, c shop.Cutter) wing {
	w := wing{
		pose: geom.Rigid{Turn: (r.Float64() - 0.5) * 0.2, Shift: geom.Pt(40+60*r.Float64(), 40+60*r.Float64())},
		z0:   20 + 30*r.Float64(), tiltX: (r.Float64() - 0.5) * 0.03, tiltY: (r.Float64() - 0.5) * 0.04,
		bendX: -r.Float64() / 4000, bendY: -r.Float64() / 650, twist: (r.Float64() - 0.5) / 8000,
		thickness: 1.8 + 0.05*(2*r.Float64()-1),
		radius:    c.Radius() + (r.Float64()-0.5)*c.DiameterTol + r.Float64()*m.Runout/2,
	}
	w.mid = w.pose.Apply(geom.Pt(240+20*r.Float64(), 100+20*r.Float64()))
	return w
}

func (w wing) height(p geom.Point) float64 {
	d := p.Sub(w.mid)
	return w.z0 + w.tiltX*d.X + w.tiltY*d.Y + w.bendX*d.X*d.X/2 + w.bendY*d.Y*d.Y/2 + w.twist*d.X*d.Y
}

// touches returns the job's datums and heights as somebody would touch them.
func (w wing) touches(r *rand.Rand, m shop.Machine) (datums, heights string) {
	var d, h strings.Builder
	for i, p := range []geom.Point{{X: 12, Y: 60}, {X: 600, Y: 70}, {X: 420, Y: 270}, {X: 100, Y: 250}} {
		q := w.pose.Apply(p)
		fmt.Fprintf(&d, "[[datum]]\nname = \"pin %d\"\ndrawn = [%g, %g]\ntouched = [%.3f, %.3f]\n", i, p.X, p.Y, q.X+r.NormFloat64()*m.Repeat, q.Y+r.NormFloat64()*m.Repeat)
	}
	for x := 160.0; x <= 310; x += 25 {
		for y := 50.0; y <= 140; y += 15 {
			q := w.pose.Apply(geom.Pt(x, y))
			fmt.Fprintf(&h, "%.3f,%.3f,%.3f\n", q.X, q.Y, w.height(q)+r.NormFloat64()*m.RepeatZ)
		}
	}
	return d.String(), h.String()
}

const wingJob = `title = "random wing"
material = "glass-balsa-glass-1.8"
machine = "small-router-metric"
zero = "table"
panel = "port"
side_up = "upper"
no_clamps = true
[drawing]
file = "panel.dxf"
[skin]
thickness = 1.8
thickness_tol = 0.05
heights = "heights.csv"
floor = 14
[[keepout]]
name = "main spar"
layer = "SPAR"
from = 1.6
clearance = 1
[[keepout]]
name = "rib"
layer = "RIBS"
member = "rib"
width = 3
[[cut]]
name = "flap servo"
kind = "opening"
layer = "SERVO"
cutter = "carbide-2"
through = true
limit = 3.5
tabs = { count = 4, width = 4, height = 0.6 }
[[cut]]
name = "wire exit"
kind = "opening"
layer = "WIRE"
cutter = "carbide-2"
through = true
limit = 3.5
loose = true
`

type memory map[string]string

func (m memory) ReadFile(name string) ([]byte, error) {
	s, ok := m[name]
	if !ok {
		return nil, fs.ErrNotExist
	}
	return []byte(s), nil
}

// truth is what brute force finds on the real wing.
type truth struct {
	room    float64 // least distance of the cutter from a member that it is deep enough to touch, mm
	deepest float64 // deepest place under the footprint below the true skin, mm
	uncut   float64 // length of outline that is not cut through and lies at no tab, mm
}

// measure replays the program on the true wing, step by step, with no bound and
// no model: where is the cutter really, what does it really touch?
func (w wing) measure(t *testing.T, res *job.Result) truth {
	out := truth{room: math.Inf(1)}
	var through []geom.Point
	for _, p := range res.Programs {
		replay, l := rs274.Read(p.File, p.Text, rs274.Options{})
		require.False(t, l.Blocks())
		for _, m := range replay.Moves {
			if m.Motion == rs274.Rapid && m.To[2] >= m.From[2] {
				continue
			}
			for _, q := range along(m) {
				w.probe(res.Work, q, &out, &through)
			}
		}
	}
	for _, c := range res.Work.Cuts {
		for _, g := range c.Regions {
			out.uncut += w.notThrough(c, g, through)
		}
	}
	return out
}

// along returns places of a move every 0.25 mm.
func along(m rs274.Move) [][3]float64 {
	a, b := geom.Pt(m.From[0], m.From[1]), geom.Pt(m.To[0], m.To[1])
	s := geom.Line(a, b)
	if m.Motion == rs274.ArcCW || m.Motion == rs274.ArcCCW {
		s = geom.ArcThrough(a, b, geom.Pt(m.Center[0], m.Center[1]), m.Motion == rs274.ArcCCW)
	}
	n := 1 + int(math.Hypot(s.Length(), m.To[2]-m.From[2])/0.25)
	var out [][3]float64
	for i := range n + 1 {
		f := float64(i) / float64(n)
		p := s.At(f)
		out = append(out, [3]float64{p.X, p.Y, m.From[2] + f*(m.To[2]-m.From[2])})
	}
	return out
}

func (w wing) probe(job *work.Work, q [3]float64, out *truth, through *[]geom.Point) {
	p := geom.Pt(q[0], q[1])
	hi, lo := math.Inf(-1), math.Inf(1)
	for k := range 13 {
		at := p
		if k > 0 {
			at = geom.Polar(p, w.radius, float64(k)*math.Pi/6)
		}
		d := w.height(at) - q[2]
		hi, lo = math.Max(hi, d), math.Min(lo, d)
	}
	if hi <= 0 {
		return
	}
	out.deepest = math.Max(out.deepest, hi)
	if lo >= w.thickness {
		*through = append(*through, p)
	}
	for _, m := range job.Members {
		if hi < m.From {
			continue
		}
		for _, g := range m.Footprint {
			// The footprint where the job believes it, taken back to the drawing
			// and put where it really is.
			real := g.Transform(job.Frame.Inverse()).Transform(w.pose)
			d := real.Dist(p) - w.radius
			if real.ContainsInterior(p) {
				d = -w.radius
			}
			out.room = math.Min(out.room, d)
		}
	}
}

// notThrough returns the length of the outline, as the job believes it, with no
// place of the cutter beside it that was through, tabs left out.
func (w wing) notThrough(c work.Cut, g geom.Region, through []geom.Point) float64 {
	missed := 0.0
	for _, s := range g.Outer.Segs() {
		n := 1 + int(s.Length()/0.5)
		for i := range n {
			p := s.At((float64(i) + 0.5) / float64(n))
			if !slices.ContainsFunc(through, func(q geom.Point) bool { return q.Dist(p) <= w.radius+0.15 }) {
				missed += s.Length() / float64(n)
			}
		}
	}
	return missed - float64(c.Tabs.Count)*(c.Tabs.Width+2*1.2*2) // a tab with the round of the cutter at both ends
}

// A wing is laid down at random, with noise in what is touched; the job sees the
// touches only. Whatever is proven must then hold on the true wing, measured by
// brute force: no member touched, the limit never passed, the outline through.
func TestProvenProgramsHoldOnTheTrueWing(t *testing.T) {
	n := 24
	if os.Getenv("SPARCLEAR_LONG") != "" {
		n = 2000
	}
	panel, err := fs.ReadFile(demo.Files, "wing/panel.dxf")
	require.NoError(t, err)
	m, bad := shop.Embedded().Machine("small-router-metric")
	require.Nil(t, bad)
	c, bad := shop.Embedded().Cutter("carbide-2")
	require.Nil(t, bad)
	var budget tightness
	refused := 0
	for i := range n {
		r := rand.New(rand.NewPCG(uint64(i), 7))
		w := randomWing(r, m, c)
		datums, heights := w.touches(r, m)
		res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Goal: job.Prove,
			Files: memory{"job.toml": wingJob + datums, "heights.csv": heights, "panel.dxf": string(panel)}})
		require.NoError(t, err)
		if res.Findings.Blocks() { // refusing is allowed, hurting is not
			refused++
			t.Logf("wing %d refused: %v", i, res.Findings[len(res.Findings)-1])
			continue
		}
		got := w.measure(t, res)
		assert.Greaterf(t, got.room, 1.0-0.02, "wing %d: a member with a clearance of 1 mm is passed at %.3f mm", i, got.room)
		assert.LessOrEqualf(t, got.deepest, 3.5, "wing %d: the limit is passed", i)
		assert.LessOrEqualf(t, got.uncut, 0.5, "wing %d: %.2f mm of outline are not through", i, got.uncut)
		budget.add(got, res)
	}
	assert.LessOrEqual(t, refused, n/10, "a usual wing is not refused")
	require.NotEmpty(t, budget.members)
	assert.LessOrEqual(t, quantile(budget.used, 1), 1.2, "the budget is not passed by more than its coverage allows")
	assert.LessOrEqual(t, quantile(budget.used, 0.95), 1.0, "it holds 95 of 100 times")
	assert.GreaterOrEqual(t, quantile(budget.depth, 0), 0.0, "what is certified of depth holds")
	t.Logf("%d wings, %d refused", n, refused)
	t.Logf("members, true room minus distance in the program, mm: %s", spread(budget.members))
	t.Logf("members, part of the budget that was used up: %s", spread(budget.used))
	t.Logf("depth, true room above the limit minus certified, mm: %s", spread(budget.depth))
	t.Logf("depth, certified room above the limit, mm: %s", spread(budget.certified))
}

// tightness is how much of what was kept clear was needed on the true wings.
type tightness struct {
	members   []float64 // true room minus distance in the program, mm
	used      []float64 // that loss in parts of the error budget
	depth     []float64 // true room above the limit minus certified, mm
	certified []float64 // room above the limit that was certified, mm
}

func (b *tightness) add(got truth, res *job.Result) {
	distance, budget, limit := math.Inf(1), 0.0, math.Inf(1)
	for _, x := range res.Certificate.Margins {
		switch {
		case x.Check == "members" && x.MarginMM < distance:
			distance, budget = x.MarginMM, x.NeededMM-1
		case x.Check == "depth" && strings.HasPrefix(x.Member, "limit"):
			limit = math.Min(limit, x.MarginMM)
		}
	}
	b.members = append(b.members, got.room-distance)
	b.used = append(b.used, (distance-got.room)/budget)
	b.depth = append(b.depth, 3.5-got.deepest-limit)
	b.certified = append(b.certified, limit)
}

func quantile(v []float64, q float64) float64 {
	s := slices.Sorted(slices.Values(v))
	return s[int(q*float64(len(s)-1))]
}

func spread(v []float64) string {
	return fmt.Sprintf("least %.3f, 5 %% %.3f, median %.3f, 95 %% %.3f, most %.3f", quantile(v, 0), quantile(v, 0.05), quantile(v, 0.5), quantile(v, 0.95), quantile(v, 1))
}
