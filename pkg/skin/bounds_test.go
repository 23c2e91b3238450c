package skin_test

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/geom"
	"sparclear/pkg/skin"
)

// saddle is a made-up skin with bends of both senses, mm.
func saddle(x, y float64) float64 {
	return 20 + 0.03*x - 0.02*y - x*x/1300 + x*y/3000 + 2*math.Sin(y/60)
}

func scattered(n int, seed int64, f func(x, y float64) float64) []skin.Touch {
	r := rand.New(rand.NewSource(seed))
	out := make([]skin.Touch, n)
	for i := range out {
		x, y := 300*r.Float64(), 200*r.Float64()
		out[i] = skin.Tch(x, y, f(x, y))
	}
	return out
}

// models are one of every kind that there is.
func models(t require.TestingT) map[string]skin.Model {
	plane, found := skin.Plane([]skin.Touch{skin.Tch(0, 0, 10), skin.Tch(300, 0, 19), skin.Tch(300, 200, 15), skin.Tch(0, 200, 6), skin.Tch(150, 100, 12.5)}, 0)
	require.Empty(t, found)
	points, found := skin.Points(scattered(80, 1, saddle), skin.Options{})
	require.Empty(t, found)
	few, _ := skin.Points(scattered(5, 2, saddle), skin.Options{})
	require.NotNil(t, few)
	return map[string]skin.Model{"flat": skin.Flat(12), "plane": plane, "points": points, "five points": few}
}

func TestBoundsHoldOverEveryBox(t *testing.T) {
	all := models(t)
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom([]string{"flat", "plane", "points", "five points"}).Draw(t, "model")
		m := all[name]
		coord := rapid.Float64Range(-150, 450)
		size := rapid.SampledFrom([]float64{0, 0.01, 1, 10, 80, 400}).Draw(t, "size")
		b := geom.Box{Min: geom.Pt(coord.Draw(t, "x"), coord.Draw(t, "y"))}
		b.Max = b.Min.Add(geom.Pt(size*rapid.Float64Range(0, 1).Draw(t, "w"), size*rapid.Float64Range(0, 1).Draw(t, "h")))
		lo, hi := m.Range(b)
		slope, bend := m.Slope(b), m.Bend(b)
		at := func(u, v float64) geom.Point {
			return geom.Pt(b.Min.X+u*(b.Max.X-b.Min.X), b.Min.Y+v*(b.Max.Y-b.Min.Y))
		}
		unit := rapid.Float64Range(0, 1)
		for range 10 {
			p, q := at(unit.Draw(t, "u"), unit.Draw(t, "v")), at(unit.Draw(t, "u"), unit.Draw(t, "v"))
			hp, hq := m.Height(p), m.Height(q)
			assert.LessOrEqual(t, lo, hp)
			assert.LessOrEqual(t, hp, hi)
			l := p.Dist(q)
			assert.LessOrEqual(t, math.Abs(hp-hq), slope*l+1e-9)
			mid := m.Height(p.Lerp(q, 0.5))
			assert.LessOrEqual(t, math.Abs(mid-(hp+hq)/2), bend*l*l/8+1e-9)
		}
		if size <= 1 {
			assert.LessOrEqual(t, hi-lo, 1.5*slope*b.Size().Len()+1e-6, "small boxes have tight bounds")
		}
	})
}

func TestPointsPassTheTouches(t *testing.T) {
	touches := scattered(80, 1, saddle)
	m, found := skin.Points(touches, skin.Options{})
	require.Empty(t, found)
	r := m.(skin.Fitted).Report()
	t.Logf("%+v", r)
	for _, p := range touches {
		assert.InDelta(t, p.Z, m.Height(p.At()), r.Worst+1e-12)
	}
	assert.Less(t, r.Worst, 0.01)
	assert.Less(t, r.LeaveOut, 0.05)
}

func BenchmarkPoints1000(b *testing.B) {
	touches := scattered(1000, 1, saddle)
	for b.Loop() {
		_, _ = skin.Points(touches, skin.Options{})
	}
	b.ReportMetric(1000, "touches")
}

func BenchmarkRange(b *testing.B) {
	m, _ := skin.Points(scattered(200, 1, saddle), skin.Options{})
	i := 0
	for b.Loop() {
		x, y := float64(i%300), float64(i%200)
		m.Range(geom.Box{Min: geom.Pt(x, y), Max: geom.Pt(x+2, y+1)})
		i++
	}
}

func BenchmarkHeight(b *testing.B) {
	m, _ := skin.Points(scattered(200, 1, saddle), skin.Options{})
	i := 0
	for b.Loop() {
		m.Height(geom.Pt(float64(i%300), float64(i%200)))
		i++
	}
}

func BenchmarkRangeOfLongMoves(b *testing.B) {
	m, _ := skin.Points(scattered(200, 1, saddle), skin.Options{})
	i := 0
	for b.Loop() {
		x, y := float64(i%100), float64(i%50)
		m.Range(geom.Box{Min: geom.Pt(x, y), Max: geom.Pt(x+150, y+80)})
		i++
	}
}

// BenchmarkDrape is a fit to 1000 touches and a path of 100 000 points over it.
func BenchmarkDrape(b *testing.B) {
	touches := scattered(1000, 1, saddle)
	for b.Loop() {
		m, _ := skin.Points(touches, skin.Options{})
		var low float64
		for i := range 100_000 {
			p := geom.Pt(150+140*math.Cos(float64(i)/997), 100+90*math.Sin(float64(i)/613))
			z := m.Height(p)
			lo, _ := m.Range(geom.Box{Min: p, Max: p}.Grow(1.5))
			low = math.Min(low, lo-z)
		}
	}
	b.ReportMetric(100_000, "points")
	b.ReportMetric(1000, "touches")
}

func BenchmarkError(b *testing.B) {
	m, _ := skin.Points(scattered(200, 1, saddle), skin.Options{})
	i := 0
	for b.Loop() {
		x, y := float64(i%300), float64(i%200)
		m.Error(geom.Box{Min: geom.Pt(x, y), Max: geom.Pt(x+2, y+1)})
		i++
	}
}

func BenchmarkWindow(b *testing.B) {
	m, _ := skin.Points(scattered(200, 1, saddle), skin.Options{})
	i := 0
	for b.Loop() {
		skin.Window(m, geom.Pt(float64(i%300), float64(i%200)), skin.Tip{Radius: 1}, skin.Through{Thickness: 1.8, Limit: 3})
		i++
	}
}

func BenchmarkLay(b *testing.B) {
	l, _ := skin.NewLoft(panelOf(b), geom.Rigid{}, false)
	var touches []skin.Touch
	drawn, _ := l.Lay(nil, skin.LoftOptions{})
	for k := range 12 {
		p := geom.Pt(60+30*float64(k%4), 100+40*float64(k/4))
		touches = append(touches, skin.Tch(p.X, p.Y, drawn.Skin.Height(p)+0.02*p.X))
	}
	for b.Loop() {
		_, _ = l.Lay(touches, skin.LoftOptions{Over: geom.Box{Min: geom.Pt(60, 100), Max: geom.Pt(150, 180)}})
	}
}
