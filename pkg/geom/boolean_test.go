package geom

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var booleanKinds = []struct {
	name string
	do   func(a, b []Region) ([]Region, error)
	want func(a, b bool) bool
}{
	{"union", Union, func(a, b bool) bool { return a || b }},
	{"intersect", Intersect, func(a, b bool) bool { return a && b }},
	{"subtract", Subtract, func(a, b bool) bool { return a && !b }},
	{"xor", Xor, func(a, b bool) bool { return a != b }},
}

// disturbed returns b as another region or as a moved copy of a.
func disturbed(r *rand.Rand, a Region) Region {
	e := math.Pow(10, -3-9*r.Float64())
	switch r.Intn(9) {
	case 0, 1:
		return a.Transform(Rigid{Shift: Pt(e*(r.Float64()-0.5)*2, e*(r.Float64()-0.5)*2)})
	case 2:
		return a.Transform(Rigid{Turn: e * (r.Float64() - 0.5)})
	case 3: // slid along the first edge
		s := a.Outer.Seg(0)
		return a.Transform(Rigid{Shift: s.B.Sub(s.A).Mul(r.Float64())})
	case 4:
		return a
	case 5: // its own offset, and what that grows back to
		d := []float64{0.5, e}[r.Intn(2)]
		if in, err := a.Offset(-d, 0); err == nil && len(in) > 0 {
			if back, err := in[0].Offset(d, 0); err == nil && r.Intn(2) == 0 {
				return back[0]
			}
			return in[0]
		}
	}
	return anyRegion(r)
}

func TestBooleansAgreeWithSampledMembership(t *testing.T) {
	n := runs(150, 5000)
	second := 0
	for seed := range n {
		r := rand.New(rand.NewSource(int64(seed)))
		a := anyRegion(r)
		b := disturbed(r, a)
		fa, fb := dense([]Region{a}), dense([]Region{b})
		box := boundsOfAll(a, b).Grow(0.5)
		for _, k := range booleanKinds {
			loops, tries, err := combineLoops([]Region{a}, []Region{b}, k.want)
			if !assert.NoError(t, err, "%s, seed %d", k.name, seed) {
				show(t, a, b)
				continue
			}
			if tries > 1 {
				second++
			}
			got := newField(curvesOf(loops))
			wrong := 0
			for range 200 {
				p := Pt(box.Min.X+r.Float64()*box.Size().X, box.Min.Y+r.Float64()*box.Size().Y)
				if fa.closer(p, -1, 2e-5, 0) < 2e-5 || fb.closer(p, -1, 2e-5, 0) < 2e-5 {
					continue
				}
				w := got.winding(p)
				if (w != 0 && w != 1) || (w == 1) != k.want(fa.winding(p) > 0, fb.winding(p) > 0) {
					wrong++
				}
			}
			if !assert.Zero(t, wrong, "%s, seed %d: wrong samples", k.name, seed) {
				show(t, a, b)
			}
		}
	}
	t.Logf("%d booleans, %d needed the second tolerance", n*len(booleanKinds), second)
}

func TestBooleanIdentities(t *testing.T) {
	for seed := range runs(60, 10000) {
		r := rand.New(rand.NewSource(int64(1000 + seed)))
		a := []Region{anyRegion(r)}
		b := []Region{disturbed(r, a[0])}
		or, err := Union(a, b)
		require.NoError(t, err)
		ro, err := Union(b, a)
		require.NoError(t, err)
		and, err := Intersect(a, b)
		require.NoError(t, err)
		minus, err := Subtract(a, b)
		require.NoError(t, err)
		none, err := Subtract(a, a)
		require.NoError(t, err)
		self, err := Intersect(a, a)
		require.NoError(t, err)
		xor, err := Xor(a, b)
		require.NoError(t, err)
		tol := 4e-6 * (lengthOf(a) + lengthOf(b))
		assert.InDelta(t, areaOf(or), areaOf(ro), tol, "seed %d: or commutes, mm²", seed)
		assert.InDelta(t, areaOf(a)+areaOf(b), areaOf(or)+areaOf(and), tol, "seed %d: |a|+|b| = |or|+|and|, mm²", seed)
		assert.InDelta(t, areaOf(a), areaOf(minus)+areaOf(and), tol, "seed %d: |a| = |a-b|+|and|, mm²", seed)
		assert.InDelta(t, areaOf(xor), areaOf(or)-areaOf(and), tol, "seed %d: |xor| = |or|-|and|, mm²", seed)
		for _, gs := range [][]Region{or, and, minus, xor} {
			for _, g := range gs {
				assert.Positive(t, g.Area(), "seed %d: every region has an area, mm²", seed)
			}
		}
		assert.Empty(t, none, "seed %d: a - a", seed)
		assert.InDelta(t, areaOf(a), areaOf(self), tol, "seed %d: a and a = a, mm²", seed)
		if t.Failed() {
			show(t, a[0], b[0])
			return
		}
	}
}
