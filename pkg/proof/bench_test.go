package proof

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"syscall"
	"testing"

	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/rs274"
	"sparclear/pkg/skin"
	"sparclear/pkg/work"
)

// field returns n keep-outs of 100 edges each, strewn over a wing of 1,500 × 400 mm.
func strewn(n int) []keepout.Volume {
	var out []keepout.Volume
	for i := 0; i < n; i++ {
		c := geom.Pt(10+math.Mod(float64(i)*137.5, 1480), 10+math.Mod(float64(i)*61.7, 380))
		p := make([]geom.Point, 100)
		for k := range p {
			p[k] = geom.Polar(c, 3+math.Sin(5*float64(k)*2*math.Pi/100), float64(k)*2*math.Pi/100)
		}
		out = append(out, keepout.Volume{Name: fmt.Sprintf("member %d", i), Kind: keepout.Primary, Footprint: []geom.Region{{Outer: geom.Polygon(p...)}}, From: 1.8, To: math.Inf(1), Clearance: 0.5})
	}
	return out
}

// draped returns n short moves at 0.7 mm below a curved skin, row after row, with
// rapids between rows: right across members.
func draped(s skin.Model, n int) []rs274.Move {
	out := make([]rs274.Move, 0, n)
	at := func(x, y float64) [3]float64 { return [3]float64{x, y, s.Height(geom.Pt(x, y)) - 0.7} }
	x, y, dir := 0.0, 0.0, 1.0
	rows := 400.0 / math.Max(1, math.Floor(float64(n)/1500))
	step := 1500 * math.Floor(400/rows) / float64(n)
	p := at(0, 0)
	for len(out) < n {
		nx := x + dir*step
		if nx < 0 || nx > 1500 {
			y += rows
			dir = -dir
			nx = x
		}
		q := at(nx, y)
		out = append(out, rs274.Move{From: p, To: q, Motion: rs274.Feed, Feed: 600, Line: int32(len(out) + 1)})
		p, x = q, nx
	}
	return out
}

func heavy(n, members int) *prover {
	s := dome{at: geom.Pt(750, 200), z: 20, k: 1.0 / 2500, u: 0.01, e: 0.02}
	w := square(3)
	w.Skin, w.Members, w.Cuts = s, strewn(members), nil
	w.Register = work.Registration{Base: 0.02, Centroid: geom.Pt(700, 200), Spread: 300}
	p := &prover{ctx: context.Background(), w: w, checks: map[string]*Check{}, detail: map[string][]string{}, cert: &Certificate{}}
	for _, c := range checkNames() {
		p.checks[c] = &Check{Name: c, OK: true}
	}
	p.tools = []tool{newTool(w.Cutters[0], w.Machine.Holder)}
	p.budgets = []budget{newBudget(w, p.tools[0], 0)}
	p.areas = newAreas(w)
	p.progs = []*program{{src: Source{File: "x"}, replay: &rs274.Replay{Moves: draped(s, n), States: []rs274.State{{Tool: 1}}}, tools: []int{0}}}
	return p
}

func BenchmarkMembers(b *testing.B) {
	for _, n := range []int{10_000, 100_000, 1_000_000} {
		b.Run(fmt.Sprintf("moves=%d/members=200", n), func(b *testing.B) {
			p := heavy(n, 200)
			b.ReportAllocs()
			b.ResetTimer()
			for b.Loop() {
				p.progs[0].trees = p.plant(p.progs[0])
				p.cert.Margins, p.findings = nil, nil
				p.members()
			}
			b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "moves/s")
			if len(p.cert.Margins) != 200 {
				b.Fatal("members not found")
			}
		})
	}
}

// processor is the processor time of all threads so far, s: on a machine with much
// else to do it tells more than the clock.
func processor(b *testing.B) float64 {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return float64(u.Utime.Nano()+u.Stime.Nano()) / 1e9
}

// text writes moves as a program.
func text(moves []rs274.Move) []byte {
	var b bytes.Buffer
	b.WriteString("G17 G21 G90 G94 G61\nT1 M6\nM3 S18000\nG0 Z60\nG0 X0 Y0\n")
	for _, m := range moves {
		fmt.Fprintf(&b, "G1 X%.3f Y%.3f Z%.3f F600\n", m.To[0], m.To[1], m.To[2])
	}
	b.WriteString("G0 Z60\nM5\nM2\n")
	return b.Bytes()
}

// touchedSkin is the surface through 120 heights touched on a dome.
func touchedSkin(b *testing.B, d dome) skin.Model {
	var t []skin.Touch
	for i := range 15 {
		for k := range 8 {
			x, y := -20+float64(i)*110, -20+float64(k)*65
			t = append(t, skin.Touch{X: x, Y: y, Z: d.Height(geom.Pt(x, y))})
		}
	}
	m, l := skin.Points(t, skin.Options{})
	if m == nil {
		b.Fatal(codes(l))
	}
	return m
}

// BenchmarkProveWhole is the whole of Prove, reading included. Memory is all that
// is allocated beside the text; what does not grow with the moves (fields of the
// members, the grid of what is cleared) is about 40 MB of it.
func BenchmarkProveWhole(b *testing.B) {
	for _, c := range []struct {
		n       int
		touched bool
	}{{10_000, false}, {100_000, false}, {1_000_000, false}, {1_000_000, true}} {
		name := fmt.Sprintf("moves=%d/members=200", c.n)
		if c.touched {
			name += "/touched"
		}
		b.Run(name, func(b *testing.B) {
			n := c.n
			p := heavy(n, 200)
			if c.touched {
				d := p.w.Skin.(dome)
				p.w.Skin = touchedSkin(b, dome{at: d.at, z: d.z, k: d.k / 4})
				p.progs[0].replay.Moves = draped(p.w.Skin, n)
			}
			src := []Source{{"x.nc", text(p.progs[0].replay.Moves)}}
			p.w.Cuts = []work.Cut{{Name: "all", Kind: work.Mark, Regions: []geom.Region{{Outer: geom.Rect(-10, -10, 1510, 410)}}, Limit: 2, Depth: 1, RPM: 18000, Feed: 600, Tol: 0.05}}
			p.w.Machine.TravelMax = [3]float64{2000, 1000, 200}
			p.w.SafeZ = 50
			b.ReportAllocs()
			b.ResetTimer()
			before := processor(b)
			for b.Loop() {
				c, _ := Prove(context.Background(), p.w, src)
				if len(c.Margins) < 200 {
					b.Fatal(codes(c.Findings))
				}
			}
			b.ReportMetric((processor(b)-before)/float64(b.N), "cpu-s/op")
			b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "moves/s")
		})
	}
}

// discs is a sheet of 3 mm with n discs of 20 mm, each with a hole of 8 mm, every
// one a cut of its own, and the program that cuts them by helices.
func discs(n int) (*work.Work, []byte) {
	w := square(3)
	side := int(math.Ceil(math.Sqrt(float64(n))))
	far := 26*float64(side) + 10
	base := w.Cuts[0]
	base.Depth, base.Limit, base.Step = 3.2, 3.5, 1.1
	w.Sheet, w.Hollow, w.Members, w.Cuts, w.Thickness, w.Floor = true, false, nil, nil, 3, 3.5
	w.Stock = []geom.Region{geom.NewRegion(geom.Rect(0, 0, far, far))}
	w.Machine.TravelMax = [3]float64{far + 100, far + 100, 200}
	var b bytes.Buffer
	b.WriteString("G17 G21 G90 G94 G54 G61\nG0 Z5\nT1 M6\nM3 S18000\nG4 P3\n")
	circle := func(at geom.Point, r float64) {
		fmt.Fprintf(&b, "G0 Z5\nG0 X%.3f Y%.3f\nG0 Z0.5\nG1 Z0 F200\n", at.X+r, at.Y)
		for _, z := range []float64{-1, -2, -2.9, -3.2, -3.2} {
			fmt.Fprintf(&b, "G3 X%.3f Y%.3f Z%.3f I%.3f J0 F600\n", at.X+r, at.Y, z, -r)
		}
	}
	for i := range n {
		at := geom.Pt(18+26*float64(i%side), 18+26*float64(i/side))
		hole, part := base, base
		hole.Name, hole.Part, hole.Regions = fmt.Sprintf("hole %d", i+1), i, []geom.Region{geom.NewRegion(geom.Circle(at, 4))}
		part.Name, part.Part, part.Kind, part.Regions = fmt.Sprintf("disc %d", i+1), i, work.PartCut, []geom.Region{geom.NewRegion(geom.Circle(at, 10))}
		w.Parts = append(w.Parts, work.Part{Name: part.Name, Region: part.Regions[0]})
		w.Cuts = append(w.Cuts, hole, part)
		circle(at, 3)
		circle(at, 11)
	}
	b.WriteString("G0 Z5\nM5\nM2\n")
	return w, b.Bytes()
}

// BenchmarkManyParts is the whole of Prove for sheets of many small parts.
func BenchmarkManyParts(b *testing.B) {
	for _, n := range []int{100, 1000, 10_000} {
		b.Run(fmt.Sprintf("parts=%d", n), func(b *testing.B) {
			w, text := discs(n)
			b.ReportAllocs()
			b.ResetTimer()
			before := processor(b)
			for b.Loop() {
				if c, l := Prove(context.Background(), w, []Source{{"x.nc", text}}); !c.OK {
					b.Fatal(codes(l)[:300])
				}
			}
			b.ReportMetric((processor(b)-before)/float64(b.N)/float64(n)*1e3, "cpu-ms/part")
			b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "parts/s")
		})
	}
}
