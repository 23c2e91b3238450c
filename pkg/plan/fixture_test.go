package plan

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

// bowl is a skin z = a + bx + cy + k(x²+y²)/2 with exact bounds.
type bowl struct{ a, b, c, k, err float64 }

func (s bowl) Height(p geom.Point) float64 {
	return s.a + s.b*p.X + s.c*p.Y + s.k*(p.X*p.X+p.Y*p.Y)/2
}
func (s bowl) Range(b geom.Box) (lo, hi float64) {
	span := func(g, lo, hi float64) (float64, float64) {
		f := func(x float64) float64 { return g*x + s.k*x*x/2 }
		m, n := math.Min(f(lo), f(hi)), math.Max(f(lo), f(hi))
		if s.k != 0 {
			if x := -g / s.k; x > lo && x < hi {
				m, n = math.Min(m, f(x)), math.Max(n, f(x))
			}
		}
		return m, n
	}
	xl, xh := span(s.b, b.Min.X, b.Max.X)
	yl, yh := span(s.c, b.Min.Y, b.Max.Y)
	return s.a + xl + yl, s.a + xh + yh
}
func (s bowl) Slope(b geom.Box) float64 {
	far := 0.0
	for _, x := range []float64{b.Min.X, b.Max.X} {
		for _, y := range []float64{b.Min.Y, b.Max.Y} {
			far = math.Max(far, math.Hypot(s.b+s.k*x, s.c+s.k*y))
		}
	}
	return far
}
func (s bowl) Bend(geom.Box) float64             { return math.Abs(s.k) }
func (s bowl) Error(geom.Box) (float64, float64) { return 0, s.err }
func (s bowl) Flat() bool                        { return s.b == 0 && s.c == 0 && s.k == 0 }

// endmill2 is a 2 mm centre-cutting cutter, burr2 one that is not.
func endmill2() shop.Cutter {
	return shop.Cutter{Name: "endmill-2", Kind: shop.Flat, Form: "endmill", Diameter: 2, Flutes: 2, FluteLength: 8, Shank: 3.175, StickOut: 18, CentreCutting: true}
}

func burr2() shop.Cutter {
	c := endmill2()
	c.Name, c.Form, c.CentreCutting = "burr-2", "burr", false
	return c
}

// sheet is a work on flat stock of 2 mm with the top at zero.
func sheet(cutters []shop.Cutter, cuts ...work.Cut) *work.Work {
	return &work.Work{Name: "job", Sheet: true, Cutters: cutters, Skin: bowl{}, Thickness: 2, Floor: 2.5, SafeZ: 5, HeightTol: 0.005, ChordTol: 0.002, Cuts: cuts}
}

// wing is a work on a skin of 2 mm over air.
func wing(s bowl, cutters []shop.Cutter, cuts ...work.Cut) *work.Work {
	w := sheet(cutters, cuts...)
	w.Sheet, w.Hollow, w.Skin, w.Floor = false, true, s, 20
	_, hi := s.Range(geom.Box{Min: geom.Pt(-200, -200), Max: geom.Pt(200, 200)})
	w.SafeZ = hi + 5
	return w
}

func through(name string, kind work.Kind, regions ...geom.Region) work.Cut {
	return work.Cut{Name: name, Kind: kind, Part: -1, Regions: regions, Through: true, Depth: 2.2, Overcut: 0.2, Limit: 2.5, Step: 0.6,
		RPM: 18000, Feed: 600, Plunge: 150, Ramp: 3 * math.Pi / 180, Climb: true, Tol: 0.1}
}

func region(c geom.Contour) geom.Region { return geom.NewRegion(c) }

func mustPlan(t testing.TB, w *work.Work) []toolpath.Program {
	t.Helper()
	ps, l := Plan(context.Background(), w)
	for _, f := range l {
		require.NotEqual(t, diag.Stop, f.Severity, f.Error())
	}
	require.NotEmpty(t, ps)
	return ps
}

// motion is one move with its start, as a machine would run it.
type motion struct {
	toolpath.Move
	from [3]float64
	cut  string
}

// replay lists all motions; the first start is the first move's end.
func replay(ps []toolpath.Program) []motion {
	var out []motion
	for _, p := range ps {
		var at [3]float64
		first := true
		for _, q := range p.Paths {
			for _, m := range q.Moves {
				to := [3]float64{m.X, m.Y, m.Z}
				if first {
					at, first = to, false
				}
				if m.Kind == toolpath.Arc && at[0] == to[0] && at[1] == to[1] { // a whole turn, as two halves
					half := m
					half.X, half.Y, half.Z = 2*m.Center.X-m.X, 2*m.Center.Y-m.Y, (at[2]+m.Z)/2
					out = append(out, motion{half, at, q.Cut})
					at = [3]float64{half.X, half.Y, half.Z}
				}
				out = append(out, motion{m, at, q.Cut})
				at = to
			}
		}
	}
	return out
}

// at returns where the tip is at parameter u of the motion.
func (m motion) at(u float64) (geom.Point, float64) {
	a, b := geom.Pt(m.from[0], m.from[1]), geom.Pt(m.X, m.Y)
	z := m.from[2] + (m.Z-m.from[2])*u
	if m.Kind != toolpath.Arc {
		return a.Lerp(b, u), z
	}
	return m.seg().At(u), z
}

func (m motion) seg() geom.Seg {
	a, b := geom.Pt(m.from[0], m.from[1]), geom.Pt(m.X, m.Y)
	if m.Kind != toolpath.Arc {
		return geom.Line(a, b)
	}
	return geom.ArcThrough(a, b, m.Center, m.CCW)
}

// sampled calls f for places not further than step apart on every motion.
func sampled(ms []motion, step float64, f func(m motion, p geom.Point, z float64)) {
	for _, m := range ms {
		n := int(math.Ceil(math.Max(m.seg().Length(), math.Abs(m.Z-m.from[2]))/step)) + 1
		for i := range n + 1 {
			p, z := m.at(float64(i) / float64(n))
			f(m, p, z)
		}
	}
}
