package geom

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func chainOf(ps ...Point) Chain {
	var c Chain
	for _, p := range ps {
		c = append(c, Vertex{Point: p})
	}
	return c
}

func TestSweepAreasInClosedForm(t *testing.T) {
	for _, tc := range []struct {
		fact string
		c    Chain
		r    float64
		want float64 // mm²
		n    int
	}{
		{"a line", chainOf(Pt(0, 0), Pt(30, 0)), 2, 30*4 + math.Pi*4, 1},
		{"a point", chainOf(Pt(3, 4)), 2, math.Pi * 4, 1},
		{"nothing", nil, 2, 0, 0},
		{"no radius", chainOf(Pt(0, 0), Pt(30, 0)), 0, 0, 0},
		// an elbow: two arms and the outer quarter; inside they overlap in a
		// square of r less nothing
		{"an elbow", chainOf(Pt(0, 0), Pt(20, 0), Pt(20, 20)), 1, 2*20*2 + math.Pi + math.Pi/4 - 1, 1},
		{"a half circle", Chain{{Pt(10, 0), 1}, {Pt(-10, 0), 0}}, 2, math.Pi*10*4 + math.Pi*4, 1},
		{"there and back again", chainOf(Pt(0, 0), Pt(30, 0), Pt(0, 0)), 2, 30*4 + math.Pi*4, 1},
		{"a cross", chainOf(Pt(-10, 0), Pt(10, 0), Pt(10, 10), Pt(0, 10), Pt(0, -10)), 1, -1, 1},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			out, err := tc.c.Sweep(tc.r)
			require.NoError(t, err)
			assert.Len(t, out, tc.n)
			if tc.want >= 0 {
				assert.InDelta(t, tc.want, areaOf(out), 1e-6, "mm²")
			}
		})
	}
	_, err := chainOf(Pt(0, 0), Pt(1, 0)).Sweep(-1)
	assert.Error(t, err)
}

func TestSweepIsWhatLiesWithinTheRadius(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		var c Chain
		for range 2 + r.Intn(8) {
			v := Vertex{Point: Pt(float64(r.Intn(20)), float64(r.Intn(20)))}
			if r.Intn(2) == 0 {
				v.Bulge = 2 * (r.Float64() - 0.5)
			}
			c = append(c, v)
		}
		rad := 0.25 * float64(1+r.Intn(12))
		out, err := c.Sweep(rad)
		require.NoError(t, err, "%#v by %g", c, rad)
		f := dense(out)
		for range 300 {
			p := Pt(30*r.Float64()-5, 30*r.Float64()-5)
			d := math.Inf(1)
			for _, s := range c.Segs() {
				d = math.Min(d, s.Dist(p))
			}
			if len(c) > 0 {
				d = math.Min(d, p.Dist(c[0].Point))
			}
			if math.Abs(d-rad) > 1e-5 {
				require.Equal(t, d < rad, f.winding(p) > 0, "%v is %g mm from the chain of %#v, radius %g", p, d, c, rad)
			}
		}
	})
}

func TestParallelOfAnElbow(t *testing.T) {
	c := chainOf(Pt(0, 0), Pt(20, 0), Pt(20, 20))
	right, err := c.Parallel(2)
	require.NoError(t, err)
	require.Len(t, right, 1)
	assert.InDelta(t, 40+math.Pi, right[0].Length(), 1e-9, "two arms and a quarter circle, mm")
	assert.InDelta(t, 0, right[0][0].Dist(Pt(0, -2)), 1e-9, "runs the same way")
	left, err := c.Parallel(-2)
	require.NoError(t, err)
	require.Len(t, left, 1)
	assert.InDelta(t, 36, left[0].Length(), 1e-9, "two shortened arms, mm")
	assert.InDelta(t, 0, left[0][0].Dist(Pt(0, 2)), 1e-9)
	assert.InDelta(t, 0, left[0][len(left[0])-1].Dist(Pt(18, 20)), 1e-9)
}

func TestParallelKeepsItsDistance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		c := Chain{}
		for i := range 3 + r.Intn(6) {
			c = append(c, Vertex{Point: Pt(float64(5*i), 8*r.Float64()), Bulge: r.Float64() - 0.5})
		}
		d := (r.Float64() - 0.5) * 6
		out, err := c.Parallel(d)
		require.NoError(t, err)
		for _, k := range out {
			for _, s := range k.Segs() {
				for _, u := range []float64{0, 0.5, 1} {
					e := math.Inf(1)
					for _, q := range c.Segs() {
						e = math.Min(e, q.Dist(s.At(u)))
					}
					require.InDelta(t, math.Abs(d), e, 1e-6, "mm")
				}
			}
		}
	})
}
