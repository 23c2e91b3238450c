package rs274_test

import (
	"math"
	"strings"
	"testing"

	"sparclear/pkg/geom"
	"sparclear/pkg/rs274"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

// spiral is a path of n lines and arcs in turn.
func spiral(n int) (toolpath.Program, *work.Work) {
	p := toolpath.Path{Cut: "spiral", Op: "rough", RPM: 18000}
	p.Moves = append(p.Moves, toolpath.Move{Kind: toolpath.Rapid, X: 10, Z: 5}, toolpath.Move{Kind: toolpath.Line, X: 10, Z: -1, Feed: 200})
	a, at := 0.0, geom.Pt(10, 0)
	for i := range n {
		r := 10 + float64(i)*200/float64(n)
		a += 0.05
		to := geom.Polar(geom.Pt(0, 0), r, a)
		m := toolpath.Move{Kind: toolpath.Line, X: to.X, Y: to.Y, Z: -1, Feed: 1000 + float64(i%7)}
		if i%2 == 1 {
			m.Kind, m.CCW = toolpath.Arc, true
			d := to.Sub(at)
			m.Center = at.Lerp(to, 0.5).Add(d.Left().Mul(0.8))
		}
		p.Moves = append(p.Moves, m)
		at = to
	}
	p.Moves = append(p.Moves, toolpath.Move{Kind: toolpath.Rapid, X: at.X, Y: at.Y, Z: 5})
	w := &work.Work{ChordTol: 0.01, Cutters: []shop.Cutter{{Name: "a", Number: 1}},
		Machine: shop.Machine{SpinUp: 3, Accel: 300, AccelZ: 200, FeedXY: 3000, FeedZ: 1000, RapidXY: 4000, RapidZ: 1500,
			Controller: shop.Controller{Arcs: shop.ArcCentre, Units: "mm", Decimals: 3, Dwell: true, Comments: true, PathMode: shop.PathBlend, BlendTol: 0.02}}}
	return toolpath.Program{Name: "spiral", SafeZ: 5, Paths: []toolpath.Path{p}}, w
}

func report(b *testing.B, blocks, bytes int) {
	b.SetBytes(int64(bytes))
	b.ReportMetric(float64(blocks)*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mblocks/s")
}

func BenchmarkReadMixed(b *testing.B) {
	prog, w := spiral(200_000)
	text, _ := rs274.Write(prog, w)
	var r *rs274.Replay
	b.ReportAllocs()
	for b.Loop() {
		r, _ = rs274.Read("p.nc", text, rs274.Options{})
	}
	report(b, r.Blocks, len(text))
}

func BenchmarkReadLines(b *testing.B) {
	prog, w := spiral(200_000)
	for i := range prog.Paths[0].Moves {
		if m := &prog.Paths[0].Moves[i]; m.Kind == toolpath.Arc {
			m.Kind = toolpath.Line
		}
	}
	text, _ := rs274.Write(prog, w)
	var r *rs274.Replay
	b.ReportAllocs()
	for b.Loop() {
		r, _ = rs274.Read("p.nc", text, rs274.Options{})
	}
	report(b, r.Blocks, len(text))
}

func BenchmarkReadExpressions(b *testing.B) {
	text := []byte(strings.Repeat("#1=[#1 + sin[30] * 2]\ng1 x[#1 mod 100] y[2 ** 3 - #1 / 1000] f[100 + 5]\n", 20_000) + "m2\n")
	var r *rs274.Replay
	for b.Loop() {
		r, _ = rs274.Read("p.nc", text, rs274.Options{})
	}
	report(b, r.Blocks, len(text))
}

func BenchmarkWrite(b *testing.B) {
	prog, w := spiral(200_000)
	var text []byte
	b.ReportAllocs()
	for b.Loop() {
		text, _ = rs274.Write(prog, w)
	}
	report(b, len(prog.Paths[0].Moves), len(text))
}

func BenchmarkTime(b *testing.B) {
	prog, w := spiral(200_000)
	text, _ := rs274.Write(prog, w)
	r, _ := rs274.Read("p.nc", text, rs274.Options{})
	for b.Loop() {
		low, high := rs274.Time(r, w.Machine)
		if !(low > 0) || low > high || math.IsInf(high, 0) {
			b.Fatal(low, high)
		}
	}
	report(b, len(r.Moves), len(text))
}
