package locate_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/locate"
)

func TestFeaturesOnTheOtherPanel(t *testing.T) {
	frame := geom.Rigid{Mirror: true, Shift: geom.Pt(100, 200)}
	centre := geom.Pt(30, 40)
	right, up := geom.Pt(31, 40), geom.Pt(30, 41)
	for _, tc := range []struct {
		rule      locate.Rule
		right, up geom.Point // from the middle, where the drawn ones go
	}{
		{locate.Mirror, geom.Pt(1, 0), geom.Pt(0, -1)},
		{"", geom.Pt(1, 0), geom.Pt(0, -1)},
		{locate.Keep, geom.Pt(1, 0), geom.Pt(0, 1)},
		{locate.Turn, geom.Pt(-1, 0), geom.Pt(0, -1)},
	} {
		t.Run(string(tc.rule), func(t *testing.T) {
			f := locate.Feature(frame, tc.rule, centre)
			mid := f.Apply(centre)
			assert.InDelta(t, 0, mid.Dist(frame.Apply(centre)), 1e-12, "the middle stays with the panel")
			assert.InDelta(t, 0, f.Apply(right).Sub(mid).Dist(tc.right), 1e-12)
			assert.InDelta(t, 0, f.Apply(up).Sub(mid).Dist(tc.up), 1e-12)
		})
	}
	same := geom.Rigid{Turn: 1, Shift: geom.Pt(5, 5)}
	assert.Equal(t, same, locate.Feature(same, locate.Turn, centre), "the drawn panel itself")
}

func TestEveryRuleKeepsAreaAndLength(t *testing.T) {
	// A servo case with round corners, and an off-centre hole.
	servo := geom.NewRegion(geom.RoundRect(20, 30, 60, 50, 3), geom.Circle(geom.Pt(28, 40), 5))
	rapid.Check(t, func(t *rapid.T) {
		frame := geom.Rigid{Mirror: true, Turn: rapid.Float64Range(-3, 3).Draw(t, "turn"),
			Shift: geom.Pt(rapid.Float64Range(-500, 500).Draw(t, "x"), rapid.Float64Range(-500, 500).Draw(t, "y"))}
		rule := rapid.SampledFrom([]locate.Rule{locate.Mirror, locate.Keep, locate.Turn}).Draw(t, "rule")
		f := locate.Feature(frame, rule, geom.Pt(40, 40))
		moved := servo.Transform(f)
		assert.InEpsilon(t, servo.Area(), moved.Area(), 1e-9)
		assert.InEpsilon(t, servo.Length(), moved.Length(), 1e-9)
		assert.Greater(t, moved.Outer.Area(), 0.0, "still counter-clockwise")
		assert.Equal(t, rule == locate.Mirror, f.Mirror)
		assert.InDelta(t, 0, moved.Bounds().Center().Dist(servo.Transform(frame).Bounds().Center()), 1e-9)
	})
}

func TestRulesAsAJobStatesThem(t *testing.T) {
	for _, tc := range []struct {
		fact, word      string
		servo, mirrored bool
		want            locate.Rule
		code            string
		sev             diag.Severity
	}{
		{"stated", "keep", true, true, locate.Keep, "", 0},
		{"turned", "turn 180°", true, true, locate.Turn, "", 0},
		{"not stated, no servo", "", false, true, locate.Mirror, "", 0},
		{"not stated, the drawn panel", "", true, false, locate.Mirror, "", 0},
		{"a servo without a rule", "", true, true, locate.Mirror, "servo-rule", diag.Confirm},
		{"a word unknown", "flip", false, true, locate.Mirror, "rule-unknown", diag.Stop},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			rule, found := locate.ReadRule("flap servo", tc.word, tc.servo, tc.mirrored)
			assert.Equal(t, tc.want, rule)
			if tc.code == "" {
				assert.Empty(t, found)
				return
			}
			require.Len(t, found, 1)
			assert.Equal(t, tc.code, found[0].Code)
			assert.Equal(t, tc.sev, found[0].Severity)
		})
	}
}

func TestResidualsScaleAndOutliers(t *testing.T) {
	pose := geom.Rigid{Turn: math.Pi / 7, Shift: geom.Pt(50, 20)}
	square := []geom.Point{{X: 0, Y: 0}, {X: 400, Y: 0}, {X: 400, Y: 200}, {X: 0, Y: 200}, {X: 200, Y: 240}}
	for _, tc := range []struct {
		fact    string
		drawn   []geom.Point
		noise   []geom.Point
		code    string
		sev     diag.Severity
		outlier string
	}{
		{"all well", square, []geom.Point{{X: 0.05}, {Y: -0.05}}, "", 0, ""},
		{"one datum 0.5 mm off", square, []geom.Point{{}, {}, {X: 0.5, Y: 0.3}}, "datum-residual", diag.Warn, "hinge pin"},
		{"one datum 2 mm off", square, []geom.Point{{}, {}, {X: 1.5, Y: 1.5}}, "datum-scale", diag.Stop, "hinge pin"},
		{"two datums off: none is named", square, []geom.Point{{X: 2, Y: -2}, {}, {X: -1.5, Y: 2}}, "datum-residual", diag.Stop, ""},
		{"two datums 400 mm apart, 0.7 mm too far", square[:2], []geom.Point{pose.ApplyVector(geom.Pt(-0.7, 0))}, "datum-residual", diag.Warn, ""},
		{"two datums 400 mm apart, 0.9 mm too far", square[:2], []geom.Point{pose.ApplyVector(geom.Pt(-0.9, 0))}, "datum-scale", diag.Stop, ""},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			r, found := locate.Fit(pairsOf(pose, tc.drawn, tc.noise...), nil, locate.Options{HandSaid: true})
			assert.Equal(t, tc.outlier, r.Outlier)
			if tc.code == "" {
				assert.Empty(t, found)
				return
			}
			require.Len(t, found, 1, "%v", found)
			assert.Equal(t, tc.code, found[0].Code)
			assert.Equal(t, tc.sev, found[0].Severity)
			require.NotNil(t, found[0].Value)
			assert.Greater(t, *found[0].Value, *found[0].Limit)
			if tc.outlier != "" {
				assert.Contains(t, found[0].Help, tc.outlier)
			}
		})
	}
}

func TestLimitsOfAResidual(t *testing.T) {
	// Two datums, drawn 400 mm apart: each is off by half of the difference.
	for _, tc := range []struct {
		off  float64
		want diag.Severity
		n    int
	}{{0.59, 0, 0}, {0.61, diag.Warn, 1}} {
		pairs := pairsOf(geom.Rigid{}, []geom.Point{{}, {X: 400}}, geom.Point{}, geom.Pt(tc.off, 0))
		_, found := locate.Fit(pairs, nil, locate.Options{HandSaid: true})
		require.Len(t, found, tc.n)
		assert.Equal(t, tc.want, found.Worst())
	}
	for _, tc := range []struct {
		off  float64
		want diag.Severity
	}{{1.99, diag.Warn}, {2.01, diag.Stop}} {
		pairs := pairsOf(geom.Rigid{}, []geom.Point{{}, {X: 4000}}, geom.Point{}, geom.Pt(tc.off, 0))
		_, found := locate.Fit(pairs, nil, locate.Options{HandSaid: true})
		assert.Equal(t, tc.want, found.Worst(), "%g mm", tc.off)
	}
}

func TestAnEdgeTouchedOnceLeavesTwoTurns(t *testing.T) {
	// A datum 60 mm from the hinge line, which was touched at one place 200 mm
	// along: the drawing may lie at two turns.
	a, b := geom.Pt(0, 60), geom.Pt(500, 60)
	pairs := pairsOf(geom.Rigid{}, triangle[:1])
	line := locate.LinePair{Name: "hinge", A: a, B: b, Touched: geom.Pt(200, 60)}
	r, found := locate.Fit(pairs, []locate.LinePair{line}, locate.Options{HandSaid: true})
	require.Len(t, found, 1)
	assert.Equal(t, "datum-ambiguous", found[0].Code)
	assert.Equal(t, diag.Confirm, found[0].Severity)
	assert.InDelta(t, 0, r.Turn, 1e-6, "the one nearest the set-up is taken")
	second := line
	second.Touched = geom.Pt(400, 60)
	r, found = locate.Fit(pairs, []locate.LinePair{line, second}, locate.Options{HandSaid: true})
	assert.Empty(t, found)
	assert.InDelta(t, 0, r.Turn, 1e-9)
}

func TestTwoLinesLocateWithoutAnyDatum(t *testing.T) {
	// A hinge line and a root rib, touched at two and one places.
	pose := geom.Rigid{Turn: -0.03, Shift: geom.Pt(80, 40)}
	line := func(a, b geom.Point, k float64) locate.LinePair {
		return locate.LinePair{Name: "line", A: a, B: b, Touched: pose.Apply(a.Lerp(b, k))}
	}
	hingeA, hingeB, rootA, rootB := geom.Pt(0, 10), geom.Pt(500, 30), geom.Pt(0, 0), geom.Pt(-10, 200)
	r, found := locate.Fit(nil, []locate.LinePair{line(hingeA, hingeB, 0.1), line(hingeA, hingeB, 0.9), line(rootA, rootB, 0.8)},
		locate.Options{HandSaid: true})
	for _, f := range found {
		assert.Equal(t, "datum-ambiguous", f.Code, "a hinge line alone does not tell its ends")
	}
	assert.InDelta(t, 0, r.Frame.Apply(geom.Pt(300, 100)).Dist(pose.Apply(geom.Pt(300, 100))), 1e-6)
	_, found = locate.Fit(nil, []locate.LinePair{line(hingeA, hingeB, 0.1), line(hingeA, hingeB, 0.9)}, locate.Options{})
	require.Len(t, found, 1)
	assert.Equal(t, "datum-degenerate", found[0].Code)
}

func TestOrderOfTheDatumsDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var noise []geom.Point
		for range 4 {
			noise = append(noise, geom.Pt(rapid.Float64Range(-0.1, 0.1).Draw(t, "dx"), rapid.Float64Range(-0.1, 0.1).Draw(t, "dy")))
		}
		pairs := pairsOf(geom.Rigid{Turn: 1, Shift: geom.Pt(3, 4)}, append(triangle, geom.Pt(50, 130)), noise...)
		other := rapid.Permutation(pairs).Draw(t, "order")
		a, _ := locate.Fit(pairs, nil, locate.Options{})
		b, _ := locate.Fit(other, nil, locate.Options{})
		assert.InDelta(t, a.Turn, b.Turn, 1e-12)
		assert.InDelta(t, 0, a.Frame.Shift.Dist(b.Frame.Shift), 1e-9)
		assert.InDelta(t, a.RMS, b.RMS, 1e-12)
		if a.Worst > 1e-6 {
			assert.Equal(t, a.WorstName, b.WorstName)
		}
	})
}

func BenchmarkFit(b *testing.B) {
	pairs := pairsOf(geom.Rigid{Turn: 1, Shift: geom.Pt(3, 4)}, append(triangle, geom.Pt(50, 130)))
	for b.Loop() {
		_, _ = locate.Fit(pairs, nil, locate.Options{})
	}
}
