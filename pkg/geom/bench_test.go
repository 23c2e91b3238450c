package geom

import (
	"fmt"
	"math"
	"math/rand"
	"testing"
)

// section is a wing section of n straight edges, chord 250 mm: 12 % thick, 2 %
// camber. Thickness by the four-digit formula: E. N. Jacobs, K. E. Ward, R. M.
// Pinkerton, NACA report 460, 1933.
func section(n int) Contour {
	var ps []Point
	add := func(k int, side float64) {
		x := (1 + math.Cos(2*math.Pi*float64(k)/float64(n))) / 2
		y := 0.6 * (0.2969*math.Sqrt(x) - 0.1260*x - 0.3516*x*x + 0.2843*x*x*x - 0.1036*x*x*x*x)
		ps = append(ps, Pt(250*x, 250*(0.08*x*(1-x)+side*y)))
	}
	for k := range n / 2 {
		add(k, 1)
	}
	for k := range n / 2 {
		add(n/2+k, -1)
	}
	return Polygon(ps...)
}

// plate is a rounded plate with n round holes that stay off each other.
func plate(w, h float64, n int) Region {
	r := rand.New(rand.NewSource(1))
	var holes []Contour
	type disc struct {
		c Point
		r float64
	}
	var ds []disc
	for len(ds) < n {
		d := disc{Pt(w*r.Float64(), h*r.Float64()), 3 + 6*r.Float64()}
		ok := d.c.X > d.r+4 && d.c.Y > d.r+4 && d.c.X < w-d.r-4 && d.c.Y < h-d.r-4
		for _, e := range ds {
			ok = ok && d.c.Dist(e.c) > d.r+e.r+0.6
		}
		if ok {
			ds = append(ds, d)
			holes = append(holes, Circle(d.c, d.r))
		}
	}
	return NewRegion(RoundRect(0, 0, w, h, 12), holes...)
}

// band is a strip of about 4 mm along a spiral with noisy edges.
func band(n int, noise float64) Contour {
	r := rand.New(rand.NewSource(2))
	var ps []Point
	edge := func(i int, off float64) {
		a := 12*math.Pi*math.Sqrt(float64(i)/float64(n/2-1)) + 2
		ps = append(ps, Polar(Point{}, 8+9*a/(2*math.Pi)+off+noise*(r.Float64()-0.5), a))
	}
	for i := range n / 2 {
		edge(i, 2)
	}
	for i := range n / 2 {
		edge(n/2-1-i, -2)
	}
	return Polygon(ps...)
}

func benchOutlines() []struct {
	name string
	g    Region
} {
	return []struct {
		name string
		g    Region
	}{
		{"roundrect", Region{Outer: RoundRect(0, 0, 100, 60, 8)}},
		{"plate30", plate(180, 120, 30)},
		{"plate1000", plate(600, 600, 1000)},
		{"section1000", Region{Outer: section(1000)}},
		{"section10000", Region{Outer: section(10000)}},
		{"section100000", Region{Outer: section(100000)}},
		{"band40000", Region{Outer: band(40000, 0.05)}},
	}
}

func BenchmarkOffset(b *testing.B) {
	for _, o := range benchOutlines() {
		for _, d := range []float64{-1, 1} {
			edges := 0
			for _, c := range o.g.Contours() {
				edges += len(c)
			}
			b.Run(fmt.Sprintf("%s/%+gmm", o.name, d), func(b *testing.B) {
				b.ReportAllocs()
				out := 0
				for b.Loop() {
					gs, err := o.g.Offset(d, 0)
					if err != nil {
						b.Fatal(err)
					}
					out = 0
					for _, g := range gs {
						for _, c := range g.Contours() {
							out += len(c)
						}
					}
				}
				b.ReportMetric(float64(edges), "edges-in")
				b.ReportMetric(float64(out), "edges-out")
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(edges), "ns/edge")
			})
		}
	}
}

func BenchmarkPocketRings(b *testing.B) {
	g := plate(180, 120, 30)
	rings := 0
	for b.Loop() {
		o, err := NewOffsetter(g)
		if err != nil {
			b.Fatal(err)
		}
		rings = 0
		for d := -1.0; ; d-- {
			gs, err := o.Offset(d, 0)
			if err != nil {
				b.Fatal(err)
			}
			if len(gs) == 0 {
				break
			}
			rings++
		}
	}
	b.ReportMetric(float64(rings), "rings")
}

func BenchmarkBoolean(b *testing.B) {
	g := plate(180, 120, 30)
	moved := g.Transform(Rigid{Turn: 0.1, Shift: Pt(7, -3)})
	out := 0
	for b.Loop() {
		gs, err := Subtract([]Region{g}, []Region{moved})
		if err != nil {
			b.Fatal(err)
		}
		out = len(gs)
	}
	b.ReportMetric(136, "edges-in")
	b.ReportMetric(float64(out), "regions-out")
}

func BenchmarkNearest(b *testing.B) {
	x := NewIndex(section(10000))
	r := rand.New(rand.NewSource(3))
	var ps [1024]Point
	for i := range ps {
		ps[i] = Pt(250*r.Float64(), 40*(r.Float64()-0.5))
	}
	k := 0
	for b.Loop() {
		x.Dist(ps[k&1023])
		k++
	}
	b.ReportMetric(10000, "edges")
}
