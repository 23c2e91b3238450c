package geom

import (
	"fmt"
	"math/rand"
	"strings"
	"testing"

	sf "github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// straight is a region without arcs, its corners on round numbers moved at
// random.
func straight(r *rand.Rand) Region {
	g := anyRegion(r)
	flat := func(c Contour) Contour {
		var ps []Point
		for i := range c {
			s := c.Seg(i)
			n := 1
			if s.Bulge != 0 {
				n = 8
			}
			for k := range n {
				ps = append(ps, s.At(float64(k)/float64(n)))
			}
		}
		return Polygon(ps...)
	}
	out := Region{Outer: flat(g.Outer)}
	for _, h := range g.Holes {
		out.Holes = append(out.Holes, flat(h))
	}
	return out
}

func wkt(t *testing.T, g Region) sf.Geometry {
	var rings []string
	for _, c := range g.Contours() {
		var b strings.Builder
		for i := range len(c) + 1 {
			v := c[i%len(c)]
			fmt.Fprintf(&b, "%v %v,", v.X, v.Y)
		}
		rings = append(rings, "("+strings.TrimSuffix(b.String(), ",")+")")
	}
	out, err := sf.UnmarshalWKT("POLYGON(" + strings.Join(rings, ",") + ")")
	require.NoError(t, err)
	return out
}

// The same booleans of straight-sided regions by simplefeatures, a port of a
// widely used topology suite. Pairs in general position only: on nearly
// coincident ones that library is not always right.
func TestBooleansAgreeWithSimplefeatures(t *testing.T) {
	theirs := []func(a, b sf.Geometry) (sf.Geometry, error){sf.Union, sf.Intersection, sf.Difference, sf.SymmetricDifference}
	for seed := range runs(40, 500) {
		r := rand.New(rand.NewSource(int64(seed)))
		a := straight(r)
		b := straight(r).Transform(Rigid{Turn: r.Float64(), Shift: Pt(r.Float64(), r.Float64())})
		if in, err := prepare(a.Contours()); err != nil || in == nil {
			continue // flattening may make a star cross itself
		}
		if in, err := prepare(b.Contours()); err != nil || in == nil {
			continue
		}
		for i, k := range booleanKinds {
			ours, err := k.do([]Region{a}, []Region{b})
			require.NoError(t, err)
			want, err := theirs[i](wkt(t, a), wkt(t, b))
			require.NoError(t, err)
			assert.InDelta(t, want.Area(), areaOf(ours), 1e-6, "%s, seed %d, mm²", k.name, seed)
		}
	}
}
