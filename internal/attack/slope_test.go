package attack_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// rising is a skin that rises by s toward +X.
type rising struct{ s float64 }

func (d rising) Height(p geom.Point) float64         { return d.s * p.X }
func (d rising) Range(b geom.Box) (float64, float64) { return d.s * b.Min.X, d.s * b.Max.X }
func (d rising) Slope(geom.Box) float64              { return math.Abs(d.s) }
func (d rising) Bend(geom.Box) float64               { return 0 }
func (d rising) Error(geom.Box) (float64, float64)   { return 0, 0 }
func (d rising) Flat() bool                          { return false }

// The ball's tip lies 1 mm in from the edge; uphill it is wide where it is deep.
func TestABallOnASlopeMayNotPassTheEdgeUphill(t *testing.T) {
	w := panel()
	w.Skin, w.Floor, w.Members, w.SafeZ = rising{0.3}, 20, nil, 15
	w.Cutters[0] = shop.Cutter{Name: "ball", Number: 1, Kind: shop.Ball, Diameter: 6, FluteLength: 12, Shank: 6, StickOut: 25, CentreCutting: true}
	w.Cuts = []work.Cut{{Name: "mark", Kind: work.Mark, Part: -1, Regions: rect(9, -10, 10.95, 10), Depth: 0.1, Limit: 4, RPM: 18000, Feed: 600, Plunge: 200, Tol: 0.05}}
	refused(t, w, "", edit(t, head, "Z5", "Z15")+"G0 X10 Y-2\nG0 Z4\nG1 Z3 F200\nG1 Y2 F600\nG0 Z15\nM5\nM2\n")
}

func TestStairsAreAPlunge(t *testing.T) {
	w := panel()
	w.Cutters[0].CentreCutting = false
	var s strings.Builder
	for k := 1; k <= 10; k++ {
		fmt.Fprintf(&s, "G1 X6.000%02d Z-%.2f F200\n", k%2+1, float64(k)*0.2)
	}
	refused(t, w, "plunge-not-centre-cutting", head+enter+"G1 Z0 F200\n"+s.String()+"G1 X29 F600\nG1 Y19\nG1 X1\nG1 Y1\nG1 X29\n"+tail)
}

// Short ways to and fro, each steeper than the cutter can ramp.
func TestAZigzagIsNoGentleRamp(t *testing.T) {
	w := panel()
	w.Cutters[0].CentreCutting = false
	zigzag := strings.Repeat("G91 G1 X0.12 Z-0.05\nG1 X-0.12 Z-0.05\nG90\n", 10)
	refused(t, w, "ramp-steep", head+enter+"G1 Z0 F200\n"+zigzag+strings.SplitN(round, "F200\n", 2)[1]+tail)
}

// A blank no larger than its part has no frame that the part could come loose from.
func TestABlankAsLargeAsItsPart(t *testing.T) {
	w := board()
	w.Stock = rect(50, 50, 90, 80)
	c, l := prove(w, boardProgram(outside(-3.2)+"G1 X91.000\n"))
	require.True(t, c.OK, told(l))
}

func TestARoughPartNearbyDoesNotLoosenThisOne(t *testing.T) {
	w := board()
	g := geom.NewRegion(geom.Rect(94, 50, 134, 80))
	c := w.Cuts[0]
	c.Name, c.Part, c.Regions, c.Tol = "rough 1", 1, []geom.Region{g}, 0.9
	w.Parts = append(w.Parts, work.Part{Name: "rough 1", Region: g})
	w.Cuts = append(w.Cuts, c)
	around := func(x0, x1 float64) string {
		o := fmt.Sprintf("G0 Z5\nG0 X%g Y49\nG0 Z0.5\nG1 Z0 F200\n", x0)
		for _, z := range []float64{-1, -2, -2.9, -3.2} {
			o += fmt.Sprintf("G1 X%g Z%g F600\nG1 Y81\nG1 X%g\nG1 Y49\n", x1, z, x0)
		}
		return o + fmt.Sprintf("G1 X%g\n", x1)
	}
	refused(t, w, "gouge", head+around(49, 90.2)+around(93, 135)+tail)
}

// On a slope of 0.25 a cutter of 2 mm comes through uphill 0.25 mm before its axis
// does: a skin of 0.2 mm under the axis holds nothing there.
func TestASkinIsThinnerUphill(t *testing.T) {
	slug := func(s, last float64) (*work.Work, string) {
		w := panel()
		w.Members, w.Floor, w.SafeZ = nil, 30, 20
		w.Skin = rising{s}
		c := &w.Cuts[0]
		c.Through, c.Depth, c.Limit, c.Step, c.Ramp, c.Open, c.Onion = false, 1.6, 3, 2, 1.2, false, 0
		c.Kind, c.Regions = work.Rebate, rect(-1, -1, 31, 21)
		q := [][2]float64{{1, 1}, {29, 1}, {29, 19}, {1, 19}, {1, 1}}
		text := edit(t, head, "Z5", "Z20") + fmt.Sprintf("G0 X1 Y1\nG0 Z%.3f\n", s+0.5)
		for i, p := range q {
			text += fmt.Sprintf("G1 X%g Y%g Z%.4f F200\n", p[0], p[1], s*p[0]-last)
			if i == 0 {
				text += "F600\n"
			}
		}
		return w, text + fmt.Sprintf("G0 Z20\nG0 X10 Y10\nG0 Z%.3f\nG1 Z%.3f F200\nG1 X14 Z%.3f F600\nG0 Z20\nM5\nM2\n", 10*s+0.5, 10*s-1, 14*s-1)
	}
	w, text := slug(0.25, 1.6)
	_, l := prove(w, text)
	require.True(t, l.Has("loose-part"), told(l))
	w, text = slug(0.05, 1.6)
	_, l = prove(w, text)
	require.False(t, l.Has("loose-part"), told(l))
}
