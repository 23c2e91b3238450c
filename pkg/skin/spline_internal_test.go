package skin

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/geom"
)

func TestThinPlateSplineOfBookstein(t *testing.T) {
	// F. L. Bookstein, "Principal Warps", IEEE Trans. PAMI 11(6), 1989, 567-585,
	// the example of four landmarks moved up and down by a quarter; weights
	// ∓0.0902 for the kernel r² ln r² (from memory; recomputed −0.090168440).
	landmarks := []Touch{Tch(0, 1, 0.75), Tch(-1, 0, 0.25), Tch(0, -1, -1.25), Tch(1, 0, 0.25)}
	sys, ok := newSystem(2, placesOf(landmarks))
	require.True(t, ok)
	f, ok := sys.fit(0)
	require.True(t, ok)
	// The places are scaled by s, so that r² ln r² is r²s² (ln r²s²) / s² up to
	// a quadratic that the side conditions cancel; our kernel is half of it.
	s2 := f.scale * f.scale
	for i, want := range []float64{-0.090168440, 0.090168440, -0.090168440, 0.090168440} {
		assert.InDelta(t, want, f.w[i]*s2/2, 1e-9)
	}
	assert.InDelta(t, 0, f.height(geom.Pt(0, 0)), 1e-12)
	assert.InDelta(t, 0.5, f.height(geom.Pt(0.5, 0.5)), 1e-12)
	assert.InDelta(t, 0.022078098, f.height(geom.Pt(0.25, 0)), 1e-9)
}

func randomTouches(r *rand.Rand, n int, f func(x, y float64) float64) []Touch {
	out := make([]Touch, n)
	for i := range out {
		x, y := 150*r.Float64()+40, 90*r.Float64()-20
		out[i] = Tch(x, y, f(x, y))
	}
	return out
}

func TestPolynomialsAreReproduced(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		c := make([]float64, 6)
		for i := range c {
			c[i] = r.NormFloat64()
		}
		order := rapid.SampledFrom([]int{2, 3}).Draw(t, "order")
		if order == 2 {
			c[3], c[4], c[5] = 0, 0, 0
		}
		f := func(x, y float64) float64 {
			x, y = x/50, y/50
			return c[0] + c[1]*x + c[2]*y + c[3]*x*x + c[4]*x*y + c[5]*y*y
		}
		sys, ok := newSystem(order, placesOf(randomTouches(r, rapid.IntRange(10, 30).Draw(t, "n"), f)))
		require.True(t, ok)
		for _, rho := range []float64{0, 1e-3} {
			s, ok := sys.fit(rho)
			require.True(t, ok)
			for range 5 {
				x, y := 150*r.Float64()+40, 90*r.Float64()-20
				assert.InDelta(t, f(x, y), s.height(geom.Pt(x, y)), 1e-6)
			}
		}
	})
}

func TestLeaveOneOutIsARefitWithoutTheTouch(t *testing.T) {
	r := rand.New(rand.NewSource(5))
	touches := randomTouches(r, 24, func(x, y float64) float64 {
		return x*x/900 - math.Sin(y/20) + 0.05*r.NormFloat64()
	})
	p := placesOf(touches)
	for _, order := range []int{2, 3} {
		for _, rho := range []float64{0, 1e-4, 1e-2} {
			sys, ok := newSystem(order, p)
			require.True(t, ok)
			f, ok := sys.fit(rho)
			require.True(t, ok)
			for i := range touches {
				left := places{centre: p.centre, scale: p.scale}
				for k := range touches {
					if k != i {
						left.at, left.z = append(left.at, p.at[k]), append(left.z, p.z[k])
					}
				}
				sub, ok := newSystem(order, left)
				require.True(t, ok)
				g, ok := sub.fit(rho)
				require.True(t, ok)
				assert.InDelta(t, touches[i].Z-g.height(touches[i].At()), f.loo[i], 1e-7, "order %d, smoothing %g, touch %d", order, rho, i)
			}
		}
	}
}

func TestPlacesThatDoNotDetermineAPolynomial(t *testing.T) {
	line := []Touch{Tch(0, 0, 0), Tch(10, 5, 1), Tch(20, 10, 1), Tch(40, 20, 3), Tch(60, 30, 3)}
	_, ok := newSystem(2, placesOf(line))
	assert.False(t, ok, "all on one line")
	var rows []Touch
	for i := range 6 {
		rows = append(rows, Tch(float64(i)*10, 0, 1), Tch(float64(i)*10, 30, 1))
	}
	_, ok = newSystem(2, placesOf(rows))
	assert.True(t, ok, "two rows give a plane")
	_, ok = newSystem(3, placesOf(rows))
	assert.False(t, ok, "but no bend across")
}

func TestNearestAgreesWithAPlainLoop(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		n := rapid.IntRange(1, 60).Draw(t, "n")
		pts := make([]geom.Point, n)
		for i := range pts {
			pts[i] = geom.Pt(float64(r.Intn(40)), 3*r.Float64())
		}
		p := geom.Pt(80*r.Float64()-20, 20*r.Float64()-10)
		k := rapid.IntRange(1, 8).Draw(t, "k")
		got := bucketsOf(pts).nearest(p, k, nil)
		require.Len(t, got, min(k, n))
		worst := pts[got[len(got)-1]].Dist(p)
		seen := map[int32]bool{}
		for _, i := range got {
			seen[i] = true
		}
		require.Len(t, seen, len(got), "no place twice")
		for i, q := range pts {
			if !seen[int32(i)] {
				assert.GreaterOrEqual(t, q.Dist(p)+1e-12, worst)
			}
		}
	})
}

// wingShape is a made-up part of a wing skin: the upper side of a NACA section
// of random camber and thickness, tapered and twisted, in the middle of the chord.
func wingShape(t require.TestingT, r *rand.Rand) *Loft {
	foil := func() Airfoil {
		code := []string{"0010", "2412", "2408", "4412", "4415", "23012", "1410"}[r.Intn(7)]
		a, found := Naca(code, false)
		require.Empty(t, found)
		return a
	}
	l, found := NewLoft(Panel(foil(), foil(), 400+500*r.Float64(), 220+150*r.Float64(), 0.7+0.3*r.Float64(),
		0.2*r.Float64(), 0.1*r.Float64(), 0.05*r.Float64()), geom.Rigid{Turn: r.Float64()}, false)
	require.Empty(t, found)
	return l
}

func TestTheChosenInterpolatorIsTheBetterOne(t *testing.T) {
	// Over made-up wings, touched as an opening is touched (a grid of 12 to 22 mm
	// with 0.02 mm of noise): the true error of both splines, of the plane that
	// the trade would use, and of what leave-one-out chooses.
	r := rand.New(rand.NewSource(11))
	var sq [4]float64
	var worst, claimed, truths, outside float64
	for range 60 {
		l := wingShape(t, r)
		root := l.sections[0]
		mid := l.place.Apply(geom.Pt((0.4+0.1*r.Float64())*root.upX[foilSteps], 100+100*r.Float64()))
		gap := 12 + 10*r.Float64()
		nx, ny := 3+r.Intn(3), 3+r.Intn(3)
		var touches []Touch
		for i := range nx * ny {
			p := mid.Add(geom.Pt(gap*(float64(i%nx)-float64(nx-1)/2), gap*(float64(i/nx)-float64(ny-1)/2)))
			touches = append(touches, Tch(p.X, p.Y, l.near(p)+0.02*r.NormFloat64()))
		}
		m, found := Points(touches, Options{})
		require.Empty(t, found)
		flat, _ := Plane(touches, 0)
		sp := placesOf(touches)
		var fits [2]*spline
		for k := range fits {
			sys, ok := newSystem(k+2, sp)
			require.True(t, ok)
			fits[k], ok = sys.fit(0)
			require.True(t, ok)
		}
		for range 60 {
			p := mid.Add(geom.Pt(gap*float64(nx-1)*(r.Float64()-0.5), gap*float64(ny-1)*(r.Float64()-0.5)))
			z := l.near(p)
			errs := [4]float64{flat.Height(p) - z, fits[0].height(p) - z, fits[1].height(p) - z, m.Height(p) - z}
			for k, e := range errs {
				sq[k] += e * e
			}
			bound := Bound(m, geom.Box{Min: p, Max: p})
			claimed += bound
			truths++
			if math.Abs(errs[3]) > bound {
				outside++
			}
			worst = math.Max(worst, math.Abs(errs[3])/bound)
		}
	}
	for k := range sq {
		sq[k] = math.Sqrt(sq[k] / truths)
	}
	t.Logf("RMS error, mm: plane %.4f, thin plate %.4f, order 3 %.4f, chosen %.4f; mean bound %.3f, outside %.2f %%, worst error over bound %.2f",
		sq[0], sq[1], sq[2], sq[3], claimed/truths, 100*outside/truths, worst)
	assert.Less(t, sq[3], 0.3*sq[0], "the plane misses the round of the skin")
	assert.LessOrEqual(t, sq[3], math.Min(sq[1], sq[2]), "smoothing and choice help against both plain splines")
	assert.LessOrEqual(t, outside/truths, 0.05, "the bound is one of two standard deviations")
}
