package geom

import (
	"bufio"
	"fmt"
	"math"
	"math/rand"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// verdict says how far a result is from the true offset, mm.
type verdict struct {
	off     float64 // largest | signed distance - d | over the result
	missing float64 // largest distance from a true boundary point to the result
	at      Point
}

func (v verdict) worst() float64 { return math.Max(v.off, v.missing) }

// plainSigned is the signed distance by a plain loop over all edges, sharing no
// code with the index and the prepared curves of the kernel.
func plainSigned(cs []Contour, p Point) float64 {
	d, w := math.Inf(1), 0
	for _, c := range cs {
		d = math.Min(d, plainDist(c, p))
		w += c.Winding(p)
	}
	if w > 0 {
		return -d
	}
	return d
}

// plainDist is the distance to a contour by angles about the centres.
func plainDist(c Contour, p Point) float64 {
	best := math.Inf(1)
	for i := range c {
		s := c.Seg(i)
		best = math.Min(best, math.Min(p.Dist(s.A), p.Dist(s.B)))
		d := s.B.Sub(s.A)
		if s.Bulge == 0 {
			if t := p.Sub(s.A).Dot(d) / d.Dot(d); t > 0 && t < 1 {
				best = math.Min(best, math.Abs(p.Sub(s.A).Cross(d))/d.Len())
			}
			continue
		}
		cen := s.Center()
		turn := math.Mod(p.Sub(cen).Angle()-s.A.Sub(cen).Angle(), 2*math.Pi)
		if turn*s.Bulge < 0 {
			turn += math.Copysign(2*math.Pi, s.Bulge)
		}
		if math.Abs(turn) <= math.Abs(s.Sweep()) {
			best = math.Min(best, math.Abs(p.Dist(cen)-s.Radius()))
		}
	}
	return best
}

// judge compares a result with the offset of cs by d, both ways: points of the
// result must lie at the distance, points at the distance must lie on the
// result.
func judge(cs []Contour, d float64, gs []Region, samples int) verdict {
	var v verdict
	res := contoursOf(gs)
	for _, c := range res {
		for i := range c {
			for k := range samples {
				p := c.Seg(i).At(float64(k) / float64(samples))
				if e := math.Abs(plainSigned(cs, p) - d); e > v.off {
					v.off, v.at = e, p
				}
			}
		}
	}
	const h = 1e-4
	probe := func(p, n Point) {
		if math.Abs(plainSigned(cs, p)-d) > 1e-9 || plainSigned(cs, p.Sub(n.Mul(h))) > d-h/5 || plainSigned(cs, p.Add(n.Mul(h))) < d+h/5 {
			return
		}
		e := math.Inf(1)
		for _, c := range res {
			e = math.Min(e, c.Dist(p))
		}
		if e > v.missing {
			v.missing, v.at = e, p
		}
	}
	for _, c := range cs {
		for i := range c {
			s := c.Seg(i)
			if s.A == s.B {
				continue
			}
			for k := range samples + 1 {
				t := float64(k) / float64(samples)
				n := rotate(s.B.Sub(s.A).Unit(), (t-0.5)*s.Sweep()).Right()
				probe(s.At(t).Add(n.Mul(d)), n)
			}
			for k := range 9 { // the fan about the vertex
				n := rotate(s.TangentA().Right(), (float64(k)-4)*math.Pi/4.01)
				probe(s.A.Add(n.Mul(d)), n)
			}
		}
	}
	return v
}

// offsetCase is one outline of the corpus with one offset and its answer.
type offsetCase struct {
	name         string
	cs           []Contour
	d, area, tol float64
	outer        int
	holes        []int
}

// readCases reads the outlines and answers of a folder.
func readCases(t *testing.T, dir string) []offsetCase {
	files, err := filepath.Glob(filepath.Join(dir, "*.txt"))
	require.NoError(t, err)
	var out []offsetCase
	for _, f := range files {
		r, err := os.Open(f)
		require.NoError(t, err)
		var cs []Contour
		var here []offsetCase
		sc := bufio.NewScanner(r)
		sc.Buffer(nil, 1<<24)
		for sc.Scan() {
			line := sc.Text()
			if rest, ok := strings.CutPrefix(line, "# d="); ok {
				c := offsetCase{name: strings.TrimSuffix(filepath.Base(f), ".txt")}
				head, _, _ := strings.Cut("d="+rest, ":")
				for _, w := range strings.Fields(head) {
					k, v, _ := strings.Cut(w, "=")
					if k == "holes" {
						for _, n := range strings.Split(v, "|") {
							h, err := strconv.Atoi(n)
							require.NoError(t, err)
							c.holes = append(c.holes, h)
						}
						continue
					}
					x, err := strconv.ParseFloat(v, 64)
					require.NoError(t, err, line)
					switch k {
					case "d":
						c.d = x
					case "area":
						c.area = x
					case "tol":
						c.tol = x
					case "outer":
						c.outer = int(x)
					}
				}
				here = append(here, c)
				continue
			}
			if w := strings.Fields(line); len(w) > 0 && w[0] != "#" {
				c := make(Contour, len(w)/3)
				for i := range c {
					var v [3]float64
					for k := range v {
						v[k], err = strconv.ParseFloat(w[3*i+k], 64)
						require.NoError(t, err)
					}
					c[i] = Vertex{Pt(v[0], v[1]), v[2]}
				}
				cs = append(cs, c)
			}
		}
		r.Close()
		for i := range here {
			here[i].cs = cs
		}
		out = append(out, here...)
	}
	return out
}

// variants returns the same case shifted along its contours, with its contours
// in another order, mirrored, turned, far away and in inches.
func (c offsetCase) variants() []offsetCase {
	change := func(what string, f func(Contour) Contour) offsetCase {
		o := c
		o.name += ", " + what
		o.cs = nil
		for _, k := range c.cs {
			o.cs = append(o.cs, f(k))
		}
		return o
	}
	scaled := change("in units of 1/25.4", func(k Contour) Contour {
		out := append(Contour(nil), k...)
		for i := range out {
			out[i].Point = out[i].Mul(25.4)
		}
		return out
	})
	scaled.d *= 25.4
	scaled.area *= 25.4 * 25.4
	scaled.tol *= 25.4 * 25.4
	other := c
	other.name += ", other order"
	other.cs = nil
	for i := len(c.cs) - 1; i >= 0; i-- {
		other.cs = append(other.cs, c.cs[i])
	}
	far := change("far away", func(k Contour) Contour { return k.Transform(Rigid{Shift: Pt(1e4, -2e4)}) })
	far.tol = math.Max(far.tol, 1e-6)
	return []offsetCase{c, scaled, other, far,
		change("shifted by one", func(k Contour) Contour { return append(append(Contour(nil), k[1:]...), k[0]) }),
		change("mirrored", func(k Contour) Contour { return k.Transform(Rigid{Mirror: true}) }),
		change("turned by 0.1 rad", func(k Contour) Contour { return k.Transform(Rigid{Turn: 0.1}) }),
	}
}

func (c offsetCase) check(t *testing.T) {
	var in Region
	for _, k := range c.cs {
		if k.Area() > 0 {
			in.Outer = k
		} else {
			in.Holes = append(in.Holes, k)
		}
	}
	gs, err := in.Offset(c.d, 0)
	require.NoError(t, err)
	assert.InDelta(t, c.area, areaOf(gs), c.tol, "area, mm²")
	assert.Len(t, gs, c.outer, "outer contours")
	holes := 0
	for _, g := range gs {
		holes += len(g.Holes)
		for _, k := range g.Contours() {
			for i := range k {
				assert.Greater(t, k.Seg(i).Length(), 1e-7, "edge, mm")
			}
		}
	}
	assert.Contains(t, c.holes, holes, "holes")
	v := judge(c.cs, c.d, gs, 5)
	assert.LessOrEqual(t, v.worst(), 1e-6, "deviation at %v, mm", v.at)
	crossed, _ := newField(curvesOf(contoursOf(gs))).crossings(1)
	assert.Empty(t, crossed, "edges of the answer cross")
}

func TestOffsetOfReportedFailures(t *testing.T) {
	root := os.Getenv("SPARCLEAR_CORPUS")
	if root == "" {
		t.Skip("SPARCLEAR_CORPUS is not set")
	}
	cases := readCases(t, filepath.Join(root, "corpus", "offset-cases"))
	require.NotEmpty(t, cases)
	for _, c := range cases {
		for _, v := range c.variants() {
			t.Run(fmt.Sprintf("%s by %g", v.name, v.d), v.check)
		}
	}
}

// degenerate returns an outline made to be difficult and an offset for it: whole
// numbers with offsets in halves, fillets of exactly the offset, minute edges,
// necks of exactly twice the offset or a hair more or less.
func degenerate(r *rand.Rand) ([]Contour, float64) {
	pick := func(v ...float64) float64 { return v[r.Intn(len(v))] }
	sign := pick(-1, 1)
	switch r.Intn(5) {
	case 0: // a plate with a lattice of equal holes, gaps of exactly 2 d
		n, m := 1+r.Intn(3), 1+r.Intn(3)
		p, rad := pick(4, 5, 6), pick(0.5, 1, 1.5)
		e := pick(0.5, 1, 2) + rad
		cs := []Contour{RoundRect(-e, -e, p*float64(n-1)+e, p*float64(m-1)+e, pick(0.25, 0.5, rad))}
		for i := range n * m {
			if r.Intn(5) > 0 {
				cs = append(cs, Circle(Pt(p*float64(i%n), p*float64(i/n)), rad).Reverse())
			}
		}
		return cs, pick(-(p-2*rad)/2, sign*0.25, sign*0.5, sign*1, sign*rad)
	case 1: // a star with fillets
		c := starContour(r, 3+r.Intn(12))
		return []Contour{c}, sign * pick(0.25, 0.5, 1, 2)
	case 2: // a keyhole whose neck is twice the offset or nearly
		d := pick(0.5, 1)
		w := d + pick(0, 1e-12, -1e-12, 1e-9, -1e-9, 1e-7, -1e-7, 1e-5, -1e-5, 1e-3, -1e-3)
		R := 3 + 3*r.Float64()
		L := R + 1 + 5*r.Float64()
		x, a := math.Sqrt(R*R-w*w), math.Asin(w/R)
		b := math.Tan((2*math.Pi - 2*a) / 8)
		return []Contour{{{Pt(x, w), b}, {Pt(-R, 0), b}, {Pt(x, -w), 0}, {Pt(L, -w), 1}, {Pt(L, w), 0}}}, -d
	case 3: // two blocks of whole numbers joined by a bridge
		d := pick(0.5, 1, 1.5)
		g := 2 * d
		return []Contour{Polygon(Pt(0, 0), Pt(10, 0), Pt(10, 4), Pt(16, 4), Pt(16, 0), Pt(26, 0), Pt(26, 10),
			Pt(16, 10), Pt(16, 4+g), Pt(10, 4+g), Pt(10, 10), Pt(0, 10))}, sign * pick(d, d/2, 2*d)
	}
	c := RoundRect(0, 0, float64(3+r.Intn(6)), float64(3+r.Intn(6)), pick(0.5, 1))
	var out Contour // cut into pieces, some of them minute, some a little out of line
	jitter := pick(0, 0, 1e-9, 1e-8, 1e-7)
	for i := range c {
		s := c.Seg(i)
		last := 0.0
		for _, t := range []float64{r.Float64() * 0.5, 0.5, 0.5 + pick(1e-9, 1e-7, 1e-5, 1e-3)/s.Length(), 1} {
			p := s.At(last)
			out = append(out, Vertex{p.Add(Pt(jitter*(r.Float64()-0.5), jitter*(r.Float64()-0.5))), math.Tan(s.Sweep() * (t - last) / 4)})
			last = t
		}
	}
	return []Contour{out}, sign * pick(0.25, 0.5, 1)
}

func TestOffsetOfDegenerateOutlines(t *testing.T) {
	n := runs(250, 20000)
	second := 0
	worst := 0.0
	for seed := range n {
		cs, d := degenerate(rand.New(rand.NewSource(int64(seed))))
		in, err := prepare(cs)
		require.NoError(t, err, "seed %d", seed)
		loops, tries, err := in.offset(d)
		require.NoError(t, err, "seed %d", seed)
		if tries > 1 {
			second++
		}
		v := judge(cs, d, nestLoops(loops), 3)
		worst = math.Max(worst, v.worst())
		assert.LessOrEqual(t, v.worst(), 1e-6, "seed %d, offset %g: deviation at %v, mm", seed, d, v.at)
	}
	t.Logf("%d outlines, worst deviation %.2g mm, %d needed the second tolerance", n, worst, second)
	// fillets of exactly the offset whose vertices are 1e-7 mm out of line take it
	assert.LessOrEqual(t, second, 1+n/500, "calls that needed the second tolerance")
}

// Outlines of a folder, each with its offsets in "# d=" lines, as generated by
// other tools.
func TestOffsetOfOutlinesInAFolder(t *testing.T) {
	dir := os.Getenv("SPARCLEAR_OUTLINES")
	if dir == "" {
		t.Skip("SPARCLEAR_OUTLINES is not set")
	}
	second, worst := 0, 0.0
	cases := readCases(t, dir)
	for _, c := range cases {
		in, err := prepare(c.cs)
		if !assert.NoError(t, err, c.name) {
			continue
		}
		loops, tries, err := in.offset(c.d)
		if !assert.NoError(t, err, c.name) {
			continue
		}
		if tries > 1 {
			second++
		}
		v := judge(c.cs, c.d, nestLoops(loops), 3)
		worst = math.Max(worst, v.worst())
		assert.LessOrEqual(t, v.worst(), 1e-6, "%s by %g: deviation at %v, mm", c.name, c.d, v.at)
	}
	t.Logf("%d offsets, worst deviation %.2g mm, %d needed the second tolerance", len(cases), worst, second)
}

// Offsets of offsets, turned and moved by up to 10 m.
func TestOffsetsOfOffsets(t *testing.T) {
	n := runs(60, 10000)
	second, calls := 0, 0
	worst := 0.0
	for seed := range n {
		r := rand.New(rand.NewSource(int64(seed)))
		cs, d := degenerate(r)
		for range 3 {
			m := Rigid{Turn: 6 * r.Float64(), Shift: Pt(2e4*(r.Float64()-0.5), 2e4*(r.Float64()-0.5)), Mirror: r.Intn(2) == 0}
			for i := range cs {
				cs[i] = cs[i].Transform(m)
			}
			in, err := prepare(cs)
			require.NoError(t, err, "seed %d", seed)
			loops, tries, err := in.offset(d)
			require.NoError(t, err, "seed %d", seed)
			calls++
			if tries > 1 {
				second++
			}
			v := judge(cs, d, nestLoops(loops), 2)
			worst = math.Max(worst, v.worst())
			assert.LessOrEqual(t, v.worst(), 1e-6, "seed %d, offset %g: deviation at %v, mm", seed, d, v.at)
			if cs = loops; len(cs) == 0 {
				break
			}
			d = []float64{0.5, -0.5, 0.25, -0.25, 1}[r.Intn(5)]
		}
	}
	t.Logf("%d offsets, worst deviation %.2g mm, %d needed the second tolerance", calls, worst, second)
}
