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

func at(x, y float64) geom.Box { return geom.Box{Min: geom.Pt(x, y), Max: geom.Pt(x, y)} }

func TestPlaneIsFoundWhereverItLies(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		a, b, c := r.NormFloat64(), r.NormFloat64()/10, r.NormFloat64()/10
		shift := geom.Pt(1000*r.NormFloat64(), 1000*r.NormFloat64())
		n := rapid.IntRange(4, 12).Draw(t, "n")
		var touches []skin.Touch
		for range n {
			p := shift.Add(geom.Pt(200*r.Float64(), 100*r.Float64()))
			touches = append(touches, skin.Tch(p.X, p.Y, a+b*p.X+c*p.Y))
		}
		m, found := skin.Plane(touches, 0)
		for _, f := range found { // some lie on their own border
			require.Equal(t, "plane-unchecked", f.Code)
		}
		p := shift.Add(geom.Pt(500*r.Float64(), -300*r.Float64()))
		assert.InDelta(t, a+b*p.X+c*p.Y, m.Height(p), 1e-6)
		assert.InDelta(t, math.Hypot(b, c), m.Slope(at(p.X, p.Y)), 1e-8)
		assert.Zero(t, m.Bend(at(0, 0)))
	})
}

func TestUncertaintyOfAPlaneGrowsAwayFromItsTouches(t *testing.T) {
	// Four corners of a square of side 2a: the variance of the height is
	// u²(1/4 + x²/(4a²) + y²/(4a²)) and that of one touch is added; closed form.
	m, _ := skin.Plane([]skin.Touch{skin.Tch(-50, -50, 0), skin.Tch(50, -50, 0), skin.Tch(50, 50, 0), skin.Tch(-50, 50, 0)}, 0.04)
	for _, tc := range []struct{ x, y float64 }{{0, 0}, {50, 50}, {100, 0}} {
		u, e := m.Error(at(tc.x, tc.y))
		assert.InDelta(t, 0.04*math.Sqrt(1.25+(tc.x*tc.x+tc.y*tc.y)/10000), u, 1e-12)
		assert.Zero(t, e)
	}
	assert.True(t, m.Flat())
	assert.True(t, skin.Covered(m, geom.Pt(53, 0), 3))
	assert.False(t, skin.Covered(m, geom.Pt(53.1, 0), 3))
}

func TestFindingsOfHeights(t *testing.T) {
	square := []skin.Touch{skin.Tch(0, 0, 0), skin.Tch(40, 0, 0), skin.Tch(40, 40, 0), skin.Tch(0, 40, 0)}
	high := append(append([]skin.Touch(nil), square...), skin.Tch(20, 20, 0.9))
	line := []skin.Touch{skin.Tch(0, 0, 0), skin.Tch(20, 10, 0), skin.Tch(40, 20, 0), skin.Tch(80, 40, 0)}
	for _, tc := range []struct {
		fact    string
		touches []skin.Touch
		code    string
		plane   bool
	}{
		{"a plane through two touches", square[:2], "heights-few", true},
		{"a plane through three touches", square[:3], "plane-unchecked", true},
		{"a plane through the corners of an opening", square, "plane-unchecked", true},
		{"a plane through corners and the middle of a side", append(append([]skin.Touch(nil), square...), skin.Tch(20, 4, 0)), "plane-unchecked", true},
		{"a plane through a line", line, "heights-degenerate", true},
		{"a plane through a dome", high, "plane-poor", true},
		{"a surface through two touches", square[:2], "heights-few", false},
		{"a surface through a line", line, "heights-degenerate", false},
		{"a surface through one spot", []skin.Touch{skin.Tch(1, 1, 1), skin.Tch(1, 1.01, 1), skin.Tch(1.01, 1, 1)}, "heights-degenerate", false},
		{"a surface through four corners", square, "heights-sparse", false},
		{"a touch that is no number", append([]skin.Touch{skin.Tch(math.NaN(), 0, 0)}, square...), "height-invalid", false},
		{"too many touches", make([]skin.Touch, 3000), "heights-many", false},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			m, found := skin.Points(tc.touches, skin.Options{})
			if tc.plane {
				m, found = skin.Plane(tc.touches, 0)
			}
			require.NotEmpty(t, found)
			assert.Equal(t, tc.code, found[0].Code)
			assert.Equal(t, found.ExitCode() == 2, m == nil, "no model with a stop")
		})
	}
}

func TestWhereTouchesTellNothingTheBendIsAllowedFor(t *testing.T) {
	// Four corners of 40 mm on a wing of radius 625 mm: the middle stands higher
	// than the corners by 20²·2/(2·625) = 0.64 mm (closed form), and no corner
	// tells. The error must own up to it.
	dome := func(x, y float64) float64 { return -(x*x + y*y) / (2 * 625) }
	var four []skin.Touch
	for _, p := range []geom.Point{{X: -20, Y: -20}, {X: 20, Y: -20}, {X: 20, Y: 20}, {X: -20, Y: 20}} {
		four = append(four, skin.Tch(p.X, p.Y, dome(p.X, p.Y)))
	}
	m, _ := skin.Points(four, skin.Options{})
	assert.Greater(t, math.Abs(m.Height(geom.Pt(0, 0))), 0.6)
	assert.LessOrEqual(t, math.Abs(m.Height(geom.Pt(0, 0))), skin.Bound(m, at(0, 0)))
	assert.True(t, skin.Covered(m, geom.Pt(0, 0), 1))
	stiff, _ := skin.Points(four, skin.Options{MaxBend: 1e-5})
	assert.Less(t, skin.Bound(stiff, at(0, 0)), 0.05, "a skin said to be almost flat")
	var nine []skin.Touch
	for k := range 9 {
		x, y := float64(k%3-1)*20, float64(k/3-1)*20
		nine = append(nine, skin.Tch(x, y, dome(x, y)))
	}
	m, found := skin.Points(nine, skin.Options{})
	assert.Empty(t, found)
	assert.InDelta(t, dome(10, 10), m.Height(geom.Pt(10, 10)), 1e-3)
	assert.Less(t, skin.Bound(m, at(10, 10)), 0.05)
	assert.Greater(t, skin.Bound(m, at(100, 0)), 3.0, "far from every touch")
	assert.False(t, skin.Covered(m, geom.Pt(24, 0), 3))
	assert.True(t, skin.Covered(m, geom.Pt(23, 0), 3))
}

func TestAnOpeningBetweenTwoTouchedOnesIsNotCovered(t *testing.T) {
	var touches []skin.Touch
	for _, x0 := range []float64{0, 400} {
		for k := range 9 {
			touches = append(touches, skin.Tch(x0+float64(k%3)*15, float64(k/3)*15, 5))
		}
	}
	m, _ := skin.Points(touches, skin.Options{})
	assert.True(t, skin.Covered(m, geom.Pt(7, 7), 1))
	assert.False(t, skin.Covered(m, geom.Pt(200, 15), 1))
	assert.True(t, skin.Covered(skin.WithError(m, 0.1, 0.1), geom.Pt(7, 7), 1))
	assert.False(t, skin.Covered(skin.WithError(m, 0.1, 0.1), geom.Pt(200, 15), 1))
}

func TestTurningTheTouchesTurnsTheSurface(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewSource(rapid.Int64Range(0, 1000).Draw(t, "seed")))
		turn := geom.Rigid{Turn: rapid.Float64Range(-3, 3).Draw(t, "turn"), Shift: geom.Pt(500*r.Float64(), 300*r.Float64())}
		var a, b []skin.Touch
		for _, p := range scattered(25, r.Int63(), saddle) {
			p.X, p.Y = p.X/3, p.Y/3
			q := turn.Apply(p.At())
			a, b = append(a, p), append(b, skin.Tch(q.X, q.Y, p.Z))
		}
		ma, _ := skin.Points(a, skin.Options{})
		mb, _ := skin.Points(b, skin.Options{})
		fit := ma.(skin.Fitted).Report().Fit + mb.(skin.Fitted).Report().Fit
		for range 5 {
			p := a[r.Intn(25)].At().Lerp(a[r.Intn(25)].At(), 0.5)
			assert.InDelta(t, ma.Height(p), mb.Height(turn.Apply(p)), fit+1e-3)
		}
	})
}

func TestADeclaredHeightIsKnownAsWellAsDeclared(t *testing.T) {
	m := skin.FlatWithin(12, 0.03, -0.1)
	u, e := m.Error(at(5, 5))
	assert.Equal(t, [2]float64{0.03, 0.1}, [2]float64{u, e})
	assert.InDelta(t, 0.16, skin.Bound(m, at(5, 5)), 1e-12, "mm")
	u, e = skin.WithError(m, 0.04, 0.02).Error(at(5, 5))
	assert.InDelta(t, 0.05, u, 1e-12, "3-4-5; closed form")
	assert.InDelta(t, 0.12, e, 1e-12)
	assert.True(t, m.Flat())
	assert.Equal(t, "NACA 2412", naca(t, " naca 2412").Name())
}
