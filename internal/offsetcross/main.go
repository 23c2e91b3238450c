// Command offsetcross writes the outlines on which our offset is held against a
// polygon library:
//
//	offsetcross DIR
//
// Each file holds one contour a line as "x y bulge" triples, mm, outer contours
// counter-clockwise, holes clockwise, and the offsets to try as "# d=" lines.
// The files in testdata/outlines are what it writes.
package main

import (
	"fmt"
	"math"
	"math/rand"
	"os"
	"path/filepath"
	"strings"

	"sparclear/pkg/geom"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "offsetcross: want DIR")
		os.Exit(1)
	}
	if err := write(os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, "offsetcross:", err)
		os.Exit(1)
	}
}

func write(dir string) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	for _, o := range outlines() {
		if err := os.WriteFile(filepath.Join(dir, o.name+".txt"), []byte(o.text()), 0o666); err != nil {
			return err
		}
	}
	return nil
}

// outline is one set of contours and the offsets to try on it.
type outline struct {
	name    string
	regions []geom.Region
	offsets []float64
}

// text is the outline's file, coordinates to 0.1 µm.
func (o outline) text() string {
	var b strings.Builder
	for _, d := range o.offsets {
		fmt.Fprintf(&b, "# d=%v\n", d)
	}
	for _, g := range o.regions {
		for _, c := range g.Contours() {
			for i, v := range c {
				if i > 0 {
					b.WriteByte(' ')
				}
				fmt.Fprintf(&b, "%v %v %v", round(v.X), round(v.Y), round(v.Bulge))
			}
			b.WriteByte('\n')
		}
	}
	return b.String()
}

func round(v float64) float64 { return math.Round(v*1e4)/1e4 + 0 } // no -0

// outlines returns the whole set, the same in every run.
func outlines() []outline {
	both := func(ds ...float64) (out []float64) {
		for _, d := range ds {
			out = append(out, d, -d)
		}
		return out
	}
	set := []outline{
		{"bulkhead", []geom.Region{bulkhead()}, both(0.25, 1, 2.5, 6)},
		{"gear", []geom.Region{geom.NewRegion(gear(24))}, both(0.1, 0.5, 1.3, 5)},
		{"section", []geom.Region{geom.NewRegion(section(120))}, both(0.2, 1, 3, 8)},
		{"comb", []geom.Region{geom.NewRegion(comb())}, both(0.3, 0.999, 1.501)},
		{"keyhole", []geom.Region{geom.NewRegion(keyhole())}, both(0.5, 1.9, 2.1, 5)},
		{"islands", islands(), both(0.4, 1.1, 1.3, 2.2)},
	}
	r := rand.New(rand.NewSource(4))
	for i := range 16 {
		set = append(set, outline{
			fmt.Sprintf("star-%02d", i+1),
			[]geom.Region{geom.NewRegion(star(r, 3+2*i))},
			both(0.2, 0.7, 1.9, 12),
		})
	}
	return set
}

// bulkhead is a rounded plate with a large hole and a ring of small ones.
func bulkhead() geom.Region {
	holes := []geom.Contour{geom.RoundRect(20, 15, 60, 45, 6)}
	for i := range 14 {
		p := geom.Polar(geom.Pt(40, 30), 1, 2*math.Pi*float64(i)/14)
		holes = append(holes, geom.Circle(geom.Pt(40+33*(p.X-40), 30+23.5*(p.Y-30)), 1.2+0.1*float64(i%4)))
	}
	return geom.NewRegion(geom.RoundRect(0, 0, 80, 60, 8), holes...)
}

// gear has n teeth with round tips and round roots.
func gear(n int) geom.Contour {
	var c geom.Contour
	for i := range n {
		for k, at := range [4]float64{0, 0.22, 0.5, 0.72} {
			radius := [4]float64{20, 20, 16.5, 16.5}[k]
			v := geom.Vertex{Point: geom.Polar(geom.Point{}, radius, 2*math.Pi*(float64(i)+at)/float64(n))}
			v.Bulge = [4]float64{0.8, 0, -0.6, 0}[k]
			c = append(c, v)
		}
	}
	return c
}

// section is a cambered wing section of 2n straight edges and a chord of
// 150 mm, by the four-digit formulas of NACA Report 460 (2412); its trailing
// edge stays open by 0.38 mm.
func section(n int) geom.Contour {
	const chord, thick, camber, place = 150, 0.12, 0.02, 0.4
	at := func(x, side float64) geom.Point {
		t := 5 * thick * (0.2969*math.Sqrt(x) - 0.1260*x - 0.3516*x*x + 0.2843*x*x*x - 0.1015*x*x*x*x)
		y, slope := camber/(place*place)*(2*place*x-x*x), 2*camber/(place*place)*(place-x)
		if x > place {
			q := (1 - place) * (1 - place)
			y, slope = camber/q*(1-2*place+2*place*x-x*x), 2*camber/q*(place-x)
		}
		a := math.Atan(slope)
		return geom.Pt(chord*(x-side*t*math.Sin(a)), chord*(y+side*t*math.Cos(a)))
	}
	var ps []geom.Point
	for i := range 2*n + 1 {
		u := math.Pi * float64(i) / float64(n)
		side := 1.0
		if i > n {
			side = -1
		}
		ps = append(ps, at((1+math.Cos(u))/2, side))
	}
	return geom.Polygon(ps...)
}

// comb is a strip with slots 2 mm and 3 mm wide, fingers of as much.
func comb() geom.Contour {
	ps := []geom.Point{geom.Pt(0, 0), geom.Pt(40, 0)}
	for i := range 8 {
		x := 40 - 5*float64(i)
		ps = append(ps, geom.Pt(x, 14), geom.Pt(x-2, 14+0.5*float64(i%3)), geom.Pt(x-2, 4), geom.Pt(x-5, 4))
	}
	return geom.Polygon(ps...)
}

// keyhole is an arc of more than half a turn on a neck 4 mm wide.
func keyhole() geom.Contour {
	return geom.Contour{
		{Point: geom.Pt(-10, -25)}, {Point: geom.Pt(10, -25)}, {Point: geom.Pt(10, -15)},
		{Point: geom.Pt(2, -15)}, {Point: geom.Pt(2, -6), Bulge: 2.5}, {Point: geom.Pt(-2, -6)},
		{Point: geom.Pt(-2, -15)}, {Point: geom.Pt(-10, -15)},
	}
}

// islands are squares and discs 2.4 mm apart, one of them a ring with an island
// in it.
func islands() []geom.Region {
	gs := []geom.Region{
		geom.NewRegion(geom.Circle(geom.Pt(40, 10), 10), geom.Circle(geom.Pt(40, 10), 7)),
		geom.NewRegion(geom.Rect(38, 8, 42, 12)),
	}
	for i := range 3 {
		for k := range 2 {
			x, y := 8.4*float64(i), 8.4*float64(k)
			if (i+k)%2 == 0 {
				gs = append(gs, geom.NewRegion(geom.Rect(x, y, x+6, y+6)))
			} else {
				gs = append(gs, geom.NewRegion(geom.Circle(geom.Pt(x+3, y+3), 3)))
			}
		}
	}
	return gs
}

// star is an outline of n corners about the origin with straight and bulged
// edges that crosses nothing.
func star(r *rand.Rand, n int) geom.Contour {
	for {
		c := make(geom.Contour, n)
		for i := range c {
			a := 2 * math.Pi * (float64(i) + 0.6*r.Float64()) / float64(n)
			c[i].Point = geom.Polar(geom.Point{}, 3+9*r.Float64(), a)
			if r.Intn(2) == 0 {
				c[i].Bulge = 1.2 * (r.Float64() - 0.5)
			}
			c[i].X, c[i].Y, c[i].Bulge = round(c[i].X), round(c[i].Y), round(c[i].Bulge)
		}
		if _, err := geom.NewOffsetter(geom.Region{Outer: c}); err == nil && c.Area() > 0 {
			return c
		}
	}
}
