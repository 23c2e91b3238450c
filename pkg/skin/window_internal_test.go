package skin

import (
	"math"
	"math/rand"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
)

// TestAWindowFromTouchesHoldsOnTheTrueWing puts flat, ball and drill ends at both
// ends of the window that the touched heights give, and measures on the true wing
// by brute force. SPARCLEAR_LONG=1 runs 3000 wings.
func TestAWindowFromTouchesHoldsOnTheTrueWing(t *testing.T) {
	wings := 60
	if os.Getenv("SPARCLEAR_LONG") != "" {
		wings = 3000
	}
	r := rand.New(rand.NewSource(23))
	tips := []Tip{{Radius: 1}, {Radius: 3}, {Radius: 1.5, Corner: 1.5}, {Radius: 1.25, Point: 2.06}}
	checked, refused, over := 0, 0, 0
	worst := math.Inf(1)
	var slack float64
	for range wings {
		l := wingShape(t, r)
		mid := l.place.Apply(geom.Pt((0.4+0.1*r.Float64())*l.sections[0].upX[foilSteps], 100+100*r.Float64()))
		w, h := 15+30*r.Float64(), 10+15*r.Float64()
		opening := geom.NewRegion(geom.Rect(mid.X-w/2, mid.Y-h/2, mid.X+w/2, mid.Y+h/2))
		// The wing lies tilted: its heights get a plane on top.
		a, b := 0.06*r.Float64()-0.03, 0.06*r.Float64()-0.03
		truth := func(p geom.Point) float64 { return l.near(p) + a*p.X + b*p.Y }
		var touches []Touch
		for _, p := range PlanTouches([]geom.Region{opening}, TouchPlan{Around: 4}) {
			touches = append(touches, Tch(p.X, p.Y, truth(p)+0.02*r.NormFloat64()))
		}
		m, found := Points(touches, Options{})
		require.False(t, found.Blocks(), "%v", found)
		for range 12 {
			tip := tips[r.Intn(len(tips))]
			c := geom.Pt(mid.X+w*(r.Float64()-0.5), mid.Y+h*(r.Float64()-0.5))
			require.True(t, Covered(m, c, tip.Radius))
			q := Through{Thickness: 1.8, Break: 0.2, Limit: 2.6 + tip.Rise(tip.Radius)}
			lo, hi, ok := Window(m, c, tip, q)
			if !ok {
				refused++
				continue
			}
			slack += hi - lo
			margin := math.Inf(1)
			for k := range 200 {
				d := tip.Radius * math.Sqrt(float64(k)/199)
				p := geom.Polar(c, d, float64(k)*2.399963)
				margin = math.Min(margin, q.Limit-(truth(p)-lo-tip.Rise(d)))
				margin = math.Min(margin, truth(p)-q.Thickness-q.Break-hi-tip.Rise(d))
			}
			checked++
			worst = math.Min(worst, margin)
			if margin < 0 {
				over++
			}
		}
	}
	t.Logf("%d windows checked, %d refused, mean width %.3f mm; smallest margin %+.4f mm; %d margins below zero",
		checked, refused, slack/float64(checked), worst, over)
	assert.Greater(t, checked, 6*wings)
	assert.LessOrEqual(t, float64(over), 0.05*float64(checked))
	assert.Greater(t, worst, -0.06, "and then by no more than three standard deviations of a touch")
}
