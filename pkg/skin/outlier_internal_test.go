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

// touchedWing is a made-up wing touched somewhere as an opening is, with 0.02 mm
// of noise: NACA sections of 180 to 370 mm chord, from 10 % of it to the tail, and
// a grid of equal or of very unequal spacings, turned at random.
func touchedWing(t require.TestingT, r *rand.Rand, nx, ny int) []Touch {
	for {
		l := wingShape(t, r)
		root, tip := l.sections[0], l.sections[1]
		chord := root.upX[foilSteps]
		mid := l.place.Apply(geom.Pt((0.2+0.6*r.Float64())*chord, 60+250*r.Float64()))
		gx, gy := 10+15*r.Float64(), 10+15*r.Float64()
		turn := geom.Rigid{Turn: 2 * math.Pi * r.Float64()}
		var out []Touch
		inside := true
		for i := range nx * ny {
			p := mid.Add(turn.ApplyVector(geom.Pt(gx*(float64(i%nx)-float64(nx-1)/2), gy*(float64(i/nx)-float64(ny-1)/2))))
			q := l.back.Apply(p)
			along := q.Y / tip.span
			lead := root.upX[0] + along*(tip.upX[0]-root.upX[0])
			tail := root.upX[foilSteps] + along*(tip.upX[foilSteps]-root.upX[foilSteps])
			part := (q.X - lead) / (tail - lead)
			inside = inside && along > 0 && along < 1 && part > 0.1 && part < 0.97
			out = append(out, Tch(p.X, p.Y, l.near(p)+0.02*r.NormFloat64()))
		}
		if inside {
			return out
		}
	}
}

// The rate of false alarms on wings that are touched right, and of errors found
// that were put in at random places. What is not found widens the bound of the model
// by most of it.
func TestWrongHeightsAreFoundAndRightOnesAreNot(t *testing.T) {
	wings := 12
	if os.Getenv("SPARCLEAR_LONG") != "" {
		wings = 2000
	}
	for _, g := range []struct {
		nx, ny     int
		half, full float64 // rates at which errors of 0.5 and 1 mm must be found
	}{
		{3, 3, 0.15, 0.75}, // nine touches hardly tell a round from an error
		{4, 3, 0.7, 0.95}, {5, 4, 0.9, 0.99}, {7, 7, 0.95, 0.99}, {12, 6, 0.95, 0.99},
		{2, 3, 0, 0}, {14, 2, 0, 0}, // the rule of the trade, where no round is determined
	} {
		r := rand.New(rand.NewSource(int64(100*g.nx + g.ny)))
		var hit, others [3]int
		alarms, missed, over := 0, 0, 0.0
		for range wings {
			touches := touchedWing(t, r, g.nx, g.ny)
			if len(Outliers(touches, 0)) > 0 {
				alarms++
			}
			for k, e := range []float64{0.3, 0.5, 1} {
				bad := append([]Touch(nil), touches...)
				i := r.Intn(len(bad))
				bad[i].Z += math.Copysign(e, r.Float64()-0.5)
				bad[i].Name = "wrong"
				named := false
				for _, f := range Outliers(bad, 0) {
					if f.Subject == "wrong" {
						named = true
					} else {
						others[k]++
					}
				}
				if named {
					hit[k]++
					continue
				}
				if missed++; missed > min(wings, 200) { // enough to see
					continue
				}
				m, _ := Points(bad, Options{})
				at := bad[i].At()
				over = math.Max(over, math.Abs(m.Height(at)-touches[i].Z)/(Bound(m, geom.Box{Min: at, Max: at})+0.04))
			}
		}
		n := float64(wings)
		rate := func(k int) float64 { return float64(hit[k]) / n }
		t.Logf("%d×%d touches, %d wings: false alarms %.2f %%; 0.3 mm found %.1f %%, 0.5 mm %.1f %%, 1 mm %.1f %%; others named %v; of %d not found the model is off by at most %.2f times its bound",
			g.nx, g.ny, wings, 100*float64(alarms)/n, 100*rate(0), 100*rate(1), 100*rate(2), others, missed, over)
		assert.LessOrEqual(t, float64(alarms), math.Max(0.005*n, 1), "%d×%d", g.nx, g.ny)
		assert.GreaterOrEqual(t, rate(1)+1.5/n, g.half, "%d×%d: 0.5 mm", g.nx, g.ny)
		assert.GreaterOrEqual(t, rate(2)+1.5/n, g.full, "%d×%d: 1 mm", g.nx, g.ny)
		assert.LessOrEqual(t, over, 3.0, "%d×%d: what is not found widens the bound", g.nx, g.ny)
	}
}
