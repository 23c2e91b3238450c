package picture

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
)

func TestTheDepthStripIsTheSameEveryTime(t *testing.T) {
	for name, s := range map[string]Scene{"wing": wingScene(t), "sheet": sheetScene(t)} {
		a, err := Strip(s)
		require.NoError(t, err)
		b, err := Strip(s)
		require.NoError(t, err)
		assert.True(t, string(a) == string(b))
		golden(t, name+".strip.svg", a)
		p, err := s.stripPage()
		require.NoError(t, err)
		noOverlaps(t, name, p)
	}
}

func TestTheDepthStripSaysWhatItShows(t *testing.T) {
	b, err := Strip(wingScene(t))
	require.NoError(t, err)
	for _, want := range []string{"skin 0", "lower face 1.80", "limit 4.00", "floor at 14.00 lies below the picture", "deepest 2.10", "deepest 2.50",
		"depth drawn ×", "beside the edge: spar 4.00 mm, rib 5.00 mm", "of 120.0"} {
		assert.True(t, strings.Contains(string(b), want), "%q is not said", want)
	}
}

func TestACutIsUnrolledAlongItsOutline(t *testing.T) {
	var tr track
	for _, s := range geom.Circle(geom.Pt(0, 0), 10).Segs() {
		tr.add(s)
	}
	// closed form: a quarter of a circle of radius 10 mm is 15.708 mm long
	assert.InDelta(t, 20*math.Pi, tr.long, 1e-9)
	first := tr.segs[0].A.Angle()
	q := geom.Polar(geom.Pt(0, 0), 12, first+math.Pi/2)
	assert.InDelta(t, 5*math.Pi, tr.along(q), 1e-9)
	assert.InDelta(t, 0, tr.at(5*math.Pi).Dist(geom.Polar(geom.Pt(0, 0), 10, first+math.Pi/2)), 1e-9)
}

func TestTheTipOfAStripStaysWithinWhatTheProgramSays(t *testing.T) {
	s := wingScene(t)
	rs, err := s.runs()
	require.NoError(t, err)
	v := stripView{Scene: s}
	st := v.unroll(s.Work.Cuts[1], rs)
	deepest := 0.0
	for _, p := range st.passes {
		for _, q := range p {
			deepest = math.Max(deepest, q.Y)
			assert.True(t, q.X >= 0 && q.X <= st.long+1e-9)
		}
	}
	assert.InDelta(t, 2.1, deepest, 1e-9, "mm")
}
