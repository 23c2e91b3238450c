package proof

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

// grating is a wing with straight slots through the skin, each a cut of its own, in
// the order in which they are cut.
func grating(slots []geom.Seg) (*work.Work, string) {
	w := square(3)
	base := w.Cuts[0]
	w.Members, w.Cuts = nil, nil
	var b strings.Builder
	b.WriteString("G17 G21 G90 G94 G54 G61\nG0 Z5\nT1 M6\nM3 S18000\nG4 P3\n")
	for i, s := range slots {
		c := base
		c.Name, c.Kind, c.Regions = fmt.Sprintf("slot %d", i+1), work.Slot, nil
		c.Chains, c.Ramp, c.Step = []geom.Chain{{{Point: s.A}, {Point: s.B}}}, 1, 3
		w.Cuts = append(w.Cuts, c)
		fmt.Fprintf(&b, "G0 X%.3f Y%.3f\nG0 Z0.5\nG1 Z-2 F200\nG1 X%.3f Y%.3f F600\nG0 Z5\n", s.A.X, s.A.Y, s.B.X, s.B.Y)
	}
	b.WriteString("M5\nM2\n")
	return w, b.String()
}

// flood is the plainest follower of material: fine cells, all of them, filled anew
// from the rim after every slot.
type flood struct {
	n    int
	gone []bool
}

const floodCell = 0.2 // mm

func (f *flood) at(c int) geom.Point {
	return geom.Pt(-5+(float64(c%f.n)+0.5)*floodCell, -5+(float64(c/f.n)+0.5)*floodCell)
}

// pieces labels what stands: 0 gone or held by the rim, else the number of a loose
// piece; and the area of each.
func (f *flood) pieces() ([]int, []float64) {
	label := make([]int, len(f.gone))
	area := []float64{0}
	fill := func(from, to int) int {
		stack, count := []int{from}, 0
		label[from] = to
		for len(stack) > 0 {
			c := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			count++
			for _, d := range [4]int{-1, 1, -f.n, f.n} {
				if x := c%f.n + d; (d == -1 || d == 1) && (x < 0 || x >= f.n) || c+d < 0 || c+d >= len(label) {
					continue
				}
				if !f.gone[c+d] && label[c+d] == 0 {
					label[c+d] = to
					stack = append(stack, c+d)
				}
			}
		}
		return count
	}
	fill(0, -1)
	for c := range label {
		if !f.gone[c] && label[c] == 0 {
			area = append(area, float64(fill(c, len(area)))*floodCell*floodCell)
		}
	}
	for c := range label {
		label[c] = max(label[c], 0)
	}
	return label, area
}

// follow cuts the slots with a cutter of radius r: how much each takes at most of a
// piece that was loose before it, and the largest piece that is loose at the end, mm².
func follow(slots []geom.Seg, r, least float64) (harm, left float64) {
	f := &flood{n: int(34 / floodCell)}
	f.gone = make([]bool, f.n*f.n)
	for _, s := range slots {
		label, area := f.pieces()
		took := map[int]float64{}
		for c := range f.gone {
			if !f.gone[c] && s.Dist(f.at(c)) <= r {
				f.gone[c] = true
				if label[c] > 0 && area[label[c]] > least {
					took[label[c]] += floodCell * floodCell
					harm = math.Max(harm, took[label[c]])
				}
			}
		}
	}
	_, area := f.pieces()
	for _, a := range area {
		left = math.Max(left, a)
	}
	return harm, left
}

// Slots along the lines of a lattice of 8 mm, each shortened or drawn out a little,
// free pieces together in any order. The plain follower tells what must be refused,
// with a cutter a little thinner than it is, and what must not, with one a little
// thicker.
func TestWhatSeveralCutsFreeTogetherIsSeen(t *testing.T) {
	n := 40
	if long() {
		n = 2000
	}
	harmful, freed, harmless := 0, 0, 0
	for i := range n {
		r := rand.New(rand.NewPCG(uint64(i), 3))
		var slots []geom.Seg
		for range 6 + r.IntN(34) {
			a := geom.Pt(float64(8*r.IntN(4)), float64(8*r.IntN(4)))
			b := a.Add(geom.Pt(float64(8*(1+r.IntN(3))), 0))
			if r.IntN(2) == 0 {
				b = a.Add(geom.Pt(0, float64(8*(1+r.IntN(3)))))
			}
			if b.X > 24 || b.Y > 24 {
				continue
			}
			off := []float64{0, 0, 0, 1, -1.2, -4}[r.IntN(6)]
			d := b.Sub(a).Unit().Mul(off)
			slots = append(slots, geom.Line(a.Sub(d), b.Add(d)))
		}
		if len(slots) == 0 {
			continue
		}
		w, text := grating(slots)
		for k := range w.Cuts {
			w.Cuts[k].Accept = []string{"piece-freed"}
		}
		c, l := prove(t, w, text)
		told := fmt.Sprintf("%d: %v\n%s", i, slots, codes(l))
		harm, left := follow(slots, 0.95, 2)
		if harm > 3 { // more than crumbs of a bridge
			harmful++
			require.True(t, l.Has("loose-part"), "%.2f mm² are taken from a loose piece; %s", harm, told)
			require.False(t, c.OK)
		}
		if left > 2 {
			freed++
			require.True(t, l.Has("piece-freed"), "a piece of %.2f mm² comes free; %s", left, told)
		}
		if c.OK && !l.Has("piece-freed") {
			harmless++
			continue
		}
		more, some := follow(slots, 1.4, 0)
		require.True(t, more > 0 || some > 0, "nothing comes free; %s", told)
	}
	t.Logf("%d works: in %d a loose piece is cut, %d end with one, %d are harmless", n, harmful, freed, harmless)
	assert.Positive(t, harmful)
	assert.Greater(t, freed, n/10)
	assert.Greater(t, harmless, n/10)
}
