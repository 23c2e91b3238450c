package skin_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/geom"
	"sparclear/pkg/skin"
)

func rect(x0, y0, x1, y1 float64) geom.Region { return geom.NewRegion(geom.Rect(x0, y0, x1, y1)) }

func TestAPlanCoversItsOpenings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coord := rapid.Float64Range(20, 400)
		x, y := coord.Draw(t, "x"), coord.Draw(t, "y")
		w, h := rapid.Float64Range(2, 120).Draw(t, "w"), rapid.Float64Range(2, 120).Draw(t, "h")
		opening := rect(x, y, x+w, y+h)
		// a neighbour planned before it takes nothing away that matters
		neighbour := rect(x-30, y-3, x-1, y+h+3)
		plan := skin.PlanTouches([]geom.Region{neighbour, opening}, skin.TouchPlan{Around: 4})
		require.GreaterOrEqual(t, len(plan), 9)
		touches := make([]skin.Touch, len(plan))
		for i, p := range plan {
			touches[i] = skin.Tch(p.X, p.Y, saddle(p.X, p.Y))
		}
		m, _ := skin.Points(touches, skin.Options{})
		require.NotNil(t, m)
		for i := range 11 {
			for j := range 11 {
				p := geom.Pt(x+w*float64(i)/10, y+h*float64(j)/10)
				assert.True(t, skin.Covered(m, p, 2), "%v", p)
			}
		}
		assert.True(t, m.(skin.Fitted).Report().Bends)
		assert.Equal(t, plan, skin.PlanTouches([]geom.Region{neighbour, opening}, skin.TouchPlan{Around: 4}), "the same plan again")
	})
}

func TestAPlanKeepsFromClampsAndEdges(t *testing.T) {
	wing := rect(0, 0, 400, 180)
	clamp := rect(100, 50, 120, 130)
	o := skin.TouchPlan{Within: []geom.Region{wing}, Away: []geom.Region{clamp}, Margin: 5, Coarse: 40}
	plan := skin.PlanTouches([]geom.Region{rect(90, 60, 150, 90), rect(380, 20, 399, 40)}, o)
	dense, coarse := 0, 0
	for i, p := range plan {
		assert.True(t, wing.ContainsInterior(p))
		assert.GreaterOrEqual(t, wing.Outer.Dist(p), 5.0)
		assert.False(t, clamp.ContainsInterior(p))
		assert.GreaterOrEqual(t, clamp.Outer.Dist(p), 5.0)
		for _, q := range plan[:i] {
			assert.Greater(t, p.Dist(q), 1.0, "nothing twice")
		}
		if p.X > 220 && p.X < 360 {
			coarse++
		}
		if p.X > 85 && p.X < 155 && p.Y > 55 && p.Y < 95 {
			dense++
		}
	}
	assert.Greater(t, float64(dense)/(70*40), 2*float64(coarse)/(140*180), "denser where openings are")
	assert.LessOrEqual(t, len(skin.PlanTouches([]geom.Region{rect(0, 0, 3000, 3000)}, skin.TouchPlan{Spacing: 1})), 1000)
	assert.Empty(t, skin.PlanTouches(nil, skin.TouchPlan{}))
}

func TestWhatMoreToTouchMendsTheModel(t *testing.T) {
	opening := []geom.Region{rect(100, 80, 160, 110)}
	dome := func(p geom.Point) skin.Touch { return skin.Tch(p.X, p.Y, -(p.X-130)*(p.X-130)/1250) }
	touches := []skin.Touch{dome(geom.Pt(97, 77)), dome(geom.Pt(163, 77)), dome(geom.Pt(163, 113)), dome(geom.Pt(97, 113))}
	m, _ := skin.Points(touches, skin.Options{})
	const limit = 0.15
	more, found := skin.MoreTouches(m, opening, limit, 1.5, skin.TouchPlan{})
	require.True(t, found.Has("heights-uncertain"))
	assert.False(t, found.Has("heights-out-of-reach"))
	require.NotEmpty(t, more)
	assert.Less(t, more[0].Dist(geom.Pt(130, 95)), 12.0, "the middle first")
	for round := 0; len(more) > 0; round++ {
		require.Less(t, round, 4)
		for _, p := range more {
			touches = append(touches, dome(p))
		}
		m, _ = skin.Points(touches, skin.Options{})
		more, _ = skin.MoreTouches(m, opening, limit, 1.5, skin.TouchPlan{})
	}
	assert.LessOrEqual(t, skin.Bound(m, at(130, 95)), limit)
	_, found = skin.MoreTouches(m, opening, 0.01, 1.5, skin.TouchPlan{})
	assert.True(t, found.Has("heights-out-of-reach"), "touches that repeat to 0.02 mm cannot give 0.01 mm")
	none, found := skin.MoreTouches(skin.Flat(0), opening, 0.01, 1.5, skin.TouchPlan{})
	assert.Empty(t, none)
	assert.Empty(t, found)
}

func ExamplePlanTouches() {
	opening := geom.NewRegion(geom.Rect(100, 50, 140, 70))
	for _, p := range skin.PlanTouches([]geom.Region{opening}, skin.TouchPlan{Around: 3, Spacing: 25}) {
		fmt.Printf("X%g Y%g\n", p.X, p.Y)
	}
	// Output:
	// X97 Y47
	// X120 Y47
	// X143 Y47
	// X143 Y60
	// X120 Y60
	// X97 Y60
	// X97 Y73
	// X120 Y73
	// X143 Y73
}

func ExamplePoints() {
	var touches []skin.Touch
	for k := range 9 { // three rows of three over an opening
		x, y := 100+20*float64(k%3), 50+15*float64(k/3)
		touches = append(touches, skin.Tch(x, y, 12-(x-120)*(x-120)/1250))
	}
	m, found := skin.Points(touches, skin.Options{})
	p := geom.Pt(110, 60)
	fmt.Println(len(found), "findings")
	fmt.Printf("height %.2f mm, known to %.2f mm\n", m.Height(p), skin.Bound(m, geom.Box{Min: p, Max: p}))
	fmt.Println("covered:", skin.Covered(m, p, 1), skin.Covered(m, geom.Pt(200, 60), 1))
	// Output:
	// 0 findings
	// height 11.92 mm, known to 0.04 mm
	// covered: true false
}
