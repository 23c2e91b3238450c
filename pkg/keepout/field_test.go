package keepout

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
)

func shapes(r *rand.Rand) []geom.Region {
	x, y := 20*r.Float64()-10, 20*r.Float64()-10
	p := make([]geom.Point, 3+r.Intn(60))
	for i := range p {
		p[i] = geom.Polar(geom.Pt(x, y), 1+4*r.Float64(), 2*math.Pi*float64(i)/float64(len(p)))
	}
	return []geom.Region{
		geom.NewRegion(geom.Polygon(p...)),
		geom.NewRegion(geom.RoundRect(x+8, y, x+16, y+6, 2), geom.Circle(geom.Pt(x+12, y+3), 1.5)),
		{Outer: geom.Contour{{Point: geom.Pt(x-9, y), Bulge: 2}, {Point: geom.Pt(x-7, y), Bulge: -0.3}}},
	}
}

func someSeg(r *rand.Rand) geom.Seg {
	s := geom.Line(geom.Pt(40*r.Float64()-20, 40*r.Float64()-20), geom.Pt(40*r.Float64()-20, 40*r.Float64()-20))
	if r.Intn(2) == 0 {
		s.Bulge = 3*r.Float64() - 1.5
	}
	return s
}

func TestFieldAgreesWithASlowLoop(t *testing.T) {
	r := rand.New(rand.NewSource(1))
	for range 300 {
		gs := shapes(r)
		f := NewField(gs)
		for range 20 {
			p := geom.Pt(50*r.Float64()-25, 50*r.Float64()-25)
			inside, d := false, math.Inf(1)
			for _, g := range gs {
				inside = inside || g.ContainsInterior(p)
				d = math.Min(d, g.Dist(p))
			}
			require.Equal(t, inside, f.Inside(p), "%v", p)
			require.InDelta(t, d, f.EdgeDist(p), 2*Slack)
			require.LessOrEqual(t, f.EdgeDist(p), d)
			q, _, ok := f.Nearest(p)
			require.True(t, ok)
			require.InDelta(t, d, q.Dist(p), 1e-9)
		}
	}
}

func TestSegmentDistanceIsTheSmallestOfSamples(t *testing.T) {
	r := rand.New(rand.NewSource(2))
	for i := range 3000 {
		a, b := someSeg(r), someSeg(r)
		d := SegDist(a, b)
		require.InDelta(t, d, SegDist(b, a), 1e-9)
		best := math.Inf(1)
		for k := 0; k <= 200; k++ {
			best = math.Min(best, b.Dist(a.At(float64(k)/200)))
		}
		require.LessOrEqual(t, d, best+1e-9, "%d: %v %v", i, a, b)
		require.GreaterOrEqual(t, d, best-a.Length()/400-1e-9, "%d: %v %v", i, a, b)
	}
}

func TestBoxDistanceIsTheSmallestOfSamples(t *testing.T) {
	r := rand.New(rand.NewSource(3))
	for range 1000 {
		gs := shapes(r)
		f := NewField(gs)
		b := geom.EmptyBox().Extend(geom.Pt(40*r.Float64()-20, 40*r.Float64()-20))
		if r.Intn(4) > 0 {
			b = b.Extend(b.Min.Add(geom.Pt(10*r.Float64(), 10*r.Float64())))
		}
		d := f.DistBox(b)
		best := math.Inf(1)
		for i := 0; i <= 12; i++ {
			for j := 0; j <= 12; j++ {
				best = math.Min(best, f.Dist(geom.Pt(b.Min.X+b.Size().X*float64(i)/12, b.Min.Y+b.Size().Y*float64(j)/12)))
			}
		}
		require.LessOrEqual(t, d, best+1e-9)
		require.GreaterOrEqual(t, d, best-b.Size().Len()/12-1e-6)
	}
}

func TestDistancesOfKnownShapes(t *testing.T) {
	f := NewField([]geom.Region{geom.NewRegion(geom.Rect(0, 0, 10, 10), geom.Circle(geom.Pt(5, 5), 2))})
	// closed form
	assert.InDelta(t, 3, f.Dist(geom.Pt(13, 5)), 2*Slack)
	assert.InDelta(t, 5, f.Dist(geom.Pt(13, 14)), 2*Slack)
	assert.Zero(t, f.Dist(geom.Pt(1, 1)))
	assert.InDelta(t, 2, f.Dist(geom.Pt(5, 5)), 2*Slack)
	assert.InDelta(t, 1, f.DistSeg(geom.Line(geom.Pt(-5, 11), geom.Pt(20, 11))), 2*Slack)
	assert.Zero(t, f.DistSeg(geom.Line(geom.Pt(-5, 5), geom.Pt(20, 5))))
	assert.True(t, math.IsInf(NewField(nil).Dist(geom.Pt(0, 0)), 1), "an empty footprint is nowhere")
	v := Volume{Footprint: []geom.Region{{Outer: geom.Rect(0, 0, 1, 2)}}, To: math.Inf(1)}
	assert.True(t, v.Through())
	assert.Equal(t, geom.Pt(1, 2), v.Bounds().Max)
}

func BenchmarkDistSeg(b *testing.B) {
	p := make([]geom.Point, 100)
	for i := range p {
		p[i] = geom.Polar(geom.Point{}, 4+math.Sin(float64(i)), 2*math.Pi*float64(i)/100)
	}
	f := NewField([]geom.Region{{Outer: geom.Polygon(p...)}})
	s := geom.Line(geom.Pt(6, -1), geom.Pt(6, 1))
	for b.Loop() {
		f.DistSeg(s)
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "distances/s")
}

// Hundreds of regions are sorted into rows; each place gets the answer of the
// regions one by one.
func TestInsideManyRegionsIsInsideOneOfThem(t *testing.T) {
	r := rand.New(rand.NewSource(5))
	var g []geom.Region
	for range 300 {
		at := geom.Pt(100*r.Float64(), 80*r.Float64())
		g = append(g, geom.NewRegion(geom.Circle(at, 0.2+3*r.Float64())))
	}
	f := NewField(g)
	in := 0
	for range 4000 {
		p := geom.Pt(120*r.Float64()-10, 100*r.Float64()-10)
		want := false
		for i := range g {
			want = want || g[i].ContainsInterior(p)
		}
		require.Equal(t, want, f.Inside(p), "at %v", p)
		if want {
			in++
		}
	}
	require.Greater(t, in, 400)
}
