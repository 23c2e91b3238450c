package plan

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
	"sparclear/pkg/work"
)

// material is a plain grid of what still stands.
type material struct {
	min    geom.Point
	h      float64
	nx, ny int
	gone   []bool
}

func newMaterial(b geom.Box, h float64) *material {
	s := b.Size()
	m := &material{min: b.Min, h: h, nx: int(s.X/h) + 2, ny: int(s.Y/h) + 2}
	m.gone = make([]bool, m.nx*m.ny)
	return m
}

// within calls f for every cell within r of p.
func (m *material) within(p geom.Point, r float64, f func(i int, q geom.Point)) {
	for y := max(0, int((p.Y-r-m.min.Y)/m.h)); y < m.ny && m.min.Y+float64(y)*m.h <= p.Y+r; y++ {
		for x := max(0, int((p.X-r-m.min.X)/m.h)); x < m.nx && m.min.X+float64(x)*m.h <= p.X+r; x++ {
			if q := m.min.Add(geom.Pt(float64(x)*m.h, float64(y)*m.h)); q.Dist(p) <= r {
				f(y*m.nx+x, q)
			}
		}
	}
}

// engaged is how wide, across the way, the material is that a cutter at p meets.
func (m *material) engaged(p, way geom.Point, r float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	m.within(p, r, func(i int, q geom.Point) {
		if v := q.Sub(p); !m.gone[i] && v.Dot(way) > 0 {
			lo, hi = math.Min(lo, way.Cross(v)), math.Max(hi, way.Cross(v))
		}
	})
	return math.Max(0, hi-lo)
}

// Along its straights a pocket engages the cutter by no more than the stepover that
// the job states; what it meets more of, in its middle and in corners, it meets with
// the feed and the depth of a full slot.
func TestAPocketEngagesTheCutterByItsStepover(t *testing.T) {
	g := region(geom.RoundRect(0, 0, 34, 22, 3))
	for climb, part := range map[bool]float64{true: 0.45, false: 0.25} {
		t.Run(fmt.Sprint(climb, part), func(t *testing.T) {
			c := through("p", work.Pocket, g)
			c.Through, c.Depth, c.Step, c.Climb, c.Options = false, 0.5, 0.5, climb, map[string]float64{"stepover": part}
			step, r := part*2, 1.0
			m := newMaterial(g.Bounds(), 0.09)
			seen, slot := 0, 0.0
			for _, mv := range replay(mustPlan(t, sheet([]shop.Cutter{endmill2()}, c))) {
				if mv.Kind == toolpath.Rapid || mv.Z > -0.5+1e-9 && mv.from[2] > -0.5+1e-9 {
					continue
				}
				assert.LessOrEqual(t, mv.Feed, c.Feed, "the feed of a full slot")
				s := mv.seg()
				l := s.Length()
				for at := 0.0; at <= l; at += 0.09 {
					p := s.At(at / math.Max(l, 1e-9))
					e := m.engaged(p, s.TangentA(), r)
					slot = math.Max(slot, e)
					if s.IsLine() && at > 2*r && l-at > 2*r && -g.SignedDist(p) < 11-2*r-2*step {
						seen++
						if e > step+0.19 { // two cells
							t.Fatalf("%.2f mm engaged at %v, stepover %.2f mm", e, p, step)
						}
					}
					m.within(p, r, func(i int, _ geom.Point) { m.gone[i] = true })
				}
			}
			assert.Greater(t, seen, 500)
			assert.Greater(t, slot, 1.8, "the first ring is a slot: the count sees what it is to see")
			left := 0
			inner, err := g.Offset(-0.1, 1e-3)
			assert.NoError(t, err)
			for i := range m.gone {
				q := m.min.Add(geom.Pt(float64(i%m.nx)*m.h, float64(i/m.nx)*m.h))
				if !m.gone[i] && inner[0].ContainsInterior(q) {
					left++
				}
			}
			assert.Zero(t, left, "by area: %.3f mm² of slivers", float64(left)*m.h*m.h)
		})
	}
}
