package proof

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// level is a flat skin at z mm with a stated error.
type level struct{ z, u, e float64 }

func (l level) Height(geom.Point) float64         { return l.z }
func (l level) Range(geom.Box) (float64, float64) { return l.z, l.z }
func (l level) Slope(geom.Box) float64            { return 0 }
func (l level) Bend(geom.Box) float64             { return 0 }
func (l level) Error(geom.Box) (float64, float64) { return l.u, l.e }
func (l level) Flat() bool                        { return true }

// dome is a curved skin: a paraboloid about at, z - k/2 |p-at|² - g·(p-at).
type dome struct {
	at   geom.Point
	z, k float64
	g    geom.Point
	u, e float64
}

func (d dome) Height(p geom.Point) float64 {
	v := p.Sub(d.at)
	return d.z - d.k/2*v.Dot(v) - d.g.Dot(v)
}

func (d dome) Range(b geom.Box) (float64, float64) {
	// separable: each axis a parabola
	axis := func(lo, hi, at, g float64) (float64, float64) {
		f := func(x float64) float64 { return -d.k/2*(x-at)*(x-at) - g*(x-at) }
		a, c := math.Min(f(lo), f(hi)), math.Max(f(lo), f(hi))
		if d.k != 0 {
			if x := at - g/d.k; x > lo && x < hi {
				a, c = math.Min(a, f(x)), math.Max(c, f(x))
			}
		}
		return a, c
	}
	x0, x1 := axis(b.Min.X, b.Max.X, d.at.X, d.g.X)
	y0, y1 := axis(b.Min.Y, b.Max.Y, d.at.Y, d.g.Y)
	return d.z + x0 + y0 - 1e-12, d.z + x1 + y1 + 1e-12
}

func (d dome) Slope(b geom.Box) float64 {
	s := 0.0
	for _, p := range []geom.Point{b.Min, b.Max, {X: b.Min.X, Y: b.Max.Y}, {X: b.Max.X, Y: b.Min.Y}} {
		s = math.Max(s, p.Sub(d.at).Mul(d.k).Add(d.g).Len())
	}
	return s
}
func (d dome) Bend(geom.Box) float64             { return math.Abs(d.k) }
func (d dome) Error(geom.Box) (float64, float64) { return d.u, d.e }
func (d dome) Flat() bool                        { return false }

// mm2 is a flat cutter of 2 mm in a small nut.
func mm2() shop.Cutter {
	return shop.Cutter{Name: "flat-2", Number: 1, Kind: shop.Flat, Diameter: 2, FluteLength: 8, Shank: 3, StickOut: 20, CentreCutting: true, MaxRPM: 30000}
}

func router() shop.Machine {
	return shop.Machine{
		Name: "test", TravelMax: [3]float64{600, 400, 80}, FeedXY: 4000, FeedZ: 1500, RapidXY: 5000, RapidZ: 2000, Accel: 300, AccelZ: 200,
		SpindleMin: 5000, SpindleMax: 24000, SpinUp: 3, Runout: 0.02, Reversal: 0.02, ReversalZ: 0.02,
		Holder:     shop.Holder{{Diameter: 19, Length: 20}},
		Controller: shop.Controller{Arcs: shop.ArcCentre, Units: "mm", Decimals: 3, ToolChange: shop.ChangeWord, PathMode: shop.PathExact, Dwell: true, ArcTol: 0.01, Comments: true},
	}
}

// square is a wing job: an opening of 30 × 20 mm in a skin of 1.8 mm whose top is
// at z 0, a spar whose near edge is at y = -gap, and a rib on the far side.
func square(gap float64) *work.Work {
	return &work.Work{
		Title: "square", Name: "square", Machine: router(), Cutters: []shop.Cutter{mm2()}, Skin: level{}, Zero: "skin",
		Thickness: 1.8, Hollow: true, Floor: 6, SafeZ: 5, ClampsSaid: true, HeightTol: 0.005, ChordTol: 0.002,
		Members: []keepout.Volume{
			{Name: "main spar", Kind: keepout.Primary, Footprint: []geom.Region{{Outer: geom.Rect(-40, -gap-8, 80, -gap)}}, From: 1.8, To: math.Inf(1), Clearance: 1},
			{Name: "rib 3", Kind: keepout.Rib, Footprint: []geom.Region{{Outer: geom.Rect(60, -40, 62, 60)}}, From: 1.8, To: math.Inf(1), Clearance: 0.5},
		},
		Cuts: []work.Cut{{
			Name: "servo", Kind: work.Opening, Part: -1, Regions: []geom.Region{{Outer: geom.Rect(0, 0, 30, 20)}}, Through: true, Depth: 2, Overcut: 0.2, Limit: 3,
			Step: 1, RPM: 18000, Feed: 600, Plunge: 200, Ramp: 5 * math.Pi / 180, Tol: 0.05, Open: true,
		}},
	}
}

// squareProgram cuts it: two rounds, each entered by a ramp along the lower side.
func squareProgram() string {
	return `(square)
G17 G21 G90 G94 G61
G0 Z5.000
T1 M6
M3 S18000
G4 P3
(cut: servo)
G0 X6.000 Y1.000
G0 Z0.500
G1 Z0.000 F200
G1 X24.000 Z-1.000 F600
G1 X29.000
G1 Y19.000
G1 X1.000
G1 Y1.000
G1 X6.000
G1 X24.000 Z-2.000
G1 X29.000
G1 Y19.000
G1 X1.000
G1 Y1.000
G1 X29.000
G0 Z5.000
M5
M2
`
}

func prove(t testing.TB, w *work.Work, text string) (*Certificate, diag.List) {
	t.Helper()
	c, l := Prove(context.Background(), w, []Source{{"square.nc", []byte(text)}})
	if c == nil {
		t.Fatal("no certificate")
	}
	return c, l
}

func codes(l diag.List) string {
	var b strings.Builder
	for _, f := range l {
		fmt.Fprintf(&b, "%s %s %s: %s | %s\n", f.Severity, f.Code, f.Cut, f.Message, f.Help)
	}
	return b.String()
}
