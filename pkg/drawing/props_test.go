package drawing

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/geom"
)

// anyEntities draws entities of every kind that holds geometry, each in a place of
// its own, 60 mm apart, so that nothing crosses.
func anyEntities(t *rapid.T) []string {
	num := func(name string, lo, hi float64) float64 {
		return math.Round(rapid.Float64Range(lo, hi).Draw(t, name)*1000) / 1000
	}
	var out []string
	for i := range rapid.IntRange(1, 7).Draw(t, "entities") {
		x, y := float64(i)*60, num("y", -30, 30)
		layer := rapid.SampledFrom([]string{"A", "B"}).Draw(t, "layer")
		r := num("r", 1, 20)
		a0, a1 := num("from", 0, 359), num("sweep", 5, 350)
		switch rapid.IntRange(0, 8).Draw(t, "kind") {
		case 0:
			out = append(out, fmt.Sprintf("0 LINE 8 %s 10 %v 20 %v 11 %v 21 %v", layer, x, y, x+r, y+num("dy", 1, 9)))
		case 1:
			out = append(out, fmt.Sprintf("0 CIRCLE 8 %s 10 %v 20 %v 40 %v", layer, x, y, r))
		case 2:
			out = append(out, fmt.Sprintf("0 ARC 8 %s 10 %v 20 %v 40 %v 50 %v 51 %v", layer, x, y, r, a0, a0+a1))
		case 3:
			out = append(out, fmt.Sprintf("0 ELLIPSE 8 %s 10 %v 20 %v 11 %v 21 %v 40 %v 41 0 42 %v", layer, x, y, r, num("ay", -9, 9),
				num("ratio", 0.2, 0.9), rapid.SampledFrom([]float64{2 * math.Pi, 4}).Draw(t, "end")))
		case 4:
			out = append(out, fmt.Sprintf("0 LWPOLYLINE 8 %s 70 1 10 %v 20 %v 42 %v 10 %v 20 %v 10 %v 20 %v", layer, x, y,
				num("bulge", 0, 0.9), x+r, y, x+r, y+num("h", 3, 20)))
		case 5:
			out = append(out, fmt.Sprintf("0 POLYLINE 8 %s 66 1 70 0 0 VERTEX 8 %s 10 %v 20 %v 42 %v 0 VERTEX 8 %s 10 %v 20 %v 0 SEQEND",
				layer, layer, x, y, num("bulge", -1.5, 1.5), layer, x+r, y))
		case 6:
			out = append(out, fmt.Sprintf("0 SPLINE 8 %s 70 8 71 3 40 0 40 0 40 0 40 0 40 1 40 1 40 1 40 1 10 %v 20 %v 10 %v 20 %v 10 %v 20 %v 10 %v 20 %v",
				layer, x, y, x+5, y+num("c", -15, 15), x+10, y+num("d", -15, 15), x+11+r, y+3)) // no cusps: their crumbs are healed
		case 7:
			out = append(out, fmt.Sprintf("0 POINT 8 %s 10 %v 20 %v", layer, x, y))
		case 8:
			out = append(out, fmt.Sprintf("0 SOLID 8 %s 10 %v 20 %v 11 %v 21 %v 12 %v 22 %v 13 %v 23 %v", layer, x, y, x+r, y, x, y+4, x+r, y+5))
		}
	}
	return out
}

// mapped is a drawing moved and scaled, as what it is held against.
func mapped(d *Drawing, move func(geom.Point) geom.Point) (outlines [][]geom.Point, points []geom.Point) {
	for _, o := range d.Outlines {
		var p []geom.Point
		for i := range o.Region.Outer {
			p = append(p, move(o.Region.Outer.Seg(i).Mid()))
		}
		outlines = append(outlines, p)
	}
	for _, o := range d.Open {
		var p []geom.Point
		for _, s := range o.Chain.Segs() {
			p = append(p, move(s.A), move(s.Mid()), move(s.B))
		}
		outlines = append(outlines, p)
	}
	for _, p := range d.Points {
		points = append(points, move(p.Point))
	}
	return outlines, points
}

// near tells whether every point lies on what was read.
func near(t *rapid.T, d *Drawing, points []geom.Point, tol float64) {
	for _, p := range points {
		least := math.Inf(1)
		for _, o := range d.Outlines {
			least = math.Min(least, o.Region.Dist(p))
		}
		for _, o := range d.Open {
			for _, s := range o.Chain.Segs() {
				least = math.Min(least, s.Dist(p))
			}
		}
		if least > tol {
			t.Fatalf("%v is %g mm off", p, least)
		}
	}
}

// Moving, turning, mirroring and scaling entities as a block and reading them gives
// what reading them and moving gives: within the tolerance of curves, exactly for
// everything else.
func TestTransformingThenReadingIsReadingThenTransforming(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		entities := anyEntities(t)
		plain, found := readText(dxfOf(entities...), Options{})
		require.False(t, found.Blocks(), "%v", found)
		turn := rapid.SampledFrom([]float64{0, 90, 180, 33.3, 271.7}).Draw(t, "turn")
		k := rapid.SampledFrom([]float64{1, 2.5, 0.75}).Draw(t, "scale")
		sx := rapid.SampledFrom([]float64{k, -k}).Draw(t, "mirror")
		dx, dy := rapid.Float64Range(-500, 500).Draw(t, "dx"), rapid.Float64Range(-500, 500).Draw(t, "dy")
		block := "0 SECTION 2 BLOCKS 0 BLOCK 2 B 10 7 20 -3 " + strings.Join(entities, " ") + " 0 ENDBLK 0 ENDSEC"
		src := strings.Join(strings.Fields(block), "\n") + "\n" +
			dxfOf(fmt.Sprintf("0 INSERT 8 0 2 B 10 %v 20 %v 41 %v 42 %v 50 %v", dx, dy, sx, k, turn))
		placed, found := readText(src, Options{})
		require.False(t, found.Blocks(), "%v", found)
		s, c := math.Sincos(turn * math.Pi / 180)
		move := func(p geom.Point) geom.Point {
			x, y := sx*(p.X-7), k*(p.Y+3)
			return geom.Pt(c*x-s*y+dx, s*x+c*y+dy)
		}
		require.Len(t, placed.Outlines, len(plain.Outlines))
		require.Len(t, placed.Open, len(plain.Open))
		outlines, points := mapped(plain, move)
		for _, p := range outlines {
			near(t, placed, p, 2*0.002*math.Max(1, k)+DefaultJoinTol+1e-6) // arcs of the one and of the other curve, and crumbs that are healed
		}
		require.Len(t, placed.Points, len(points))
		for _, p := range points {
			ok := false
			for _, q := range placed.Points {
				ok = ok || q.Point.Dist(p) < 1e-9
			}
			require.True(t, ok, "no point at %v", p)
		}
		require.InDelta(t, k*plain.Length, placed.Length, 0.002*float64(10+len(entities)*20))
	})
}

// The order of entities changes nothing at all, whatever they are.
func TestTheOrderOfEntitiesDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		entities := anyEntities(t)
		if rapid.Bool().Draw(t, "twice") { // what is drawn twice goes, whichever comes first
			entities = append(entities, entities[0])
		}
		a, _ := readText(dxfOf(entities...), Options{})
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		rng.Shuffle(len(entities), func(i, k int) { entities[i], entities[k] = entities[k], entities[i] })
		b, _ := readText(dxfOf(entities...), Options{})
		require.Len(t, b.Outlines, len(a.Outlines))
		for i := range a.Outlines {
			require.Equal(t, a.Outlines[i].Region, b.Outlines[i].Region)
			require.Equal(t, a.Outlines[i].Layer, b.Outlines[i].Layer)
		}
		require.Len(t, b.Open, len(a.Open))
		for i := range a.Open {
			require.Equal(t, a.Open[i].Chain, b.Open[i].Chain)
		}
		require.Len(t, b.Points, len(a.Points))
		for i := range a.Points {
			require.Equal(t, a.Points[i].Point, b.Points[i].Point)
		}
		require.Equal(t, a.Bounds, b.Bounds)
		a.Join.Drawn, b.Join.Drawn = 0, 0 // a sum, in the order of the file where places are alike
		require.Equal(t, a.Join, b.Join)
	})
}

// What was read, written and read again is the same to the digits that are written.
func TestWrittenAndReadAgainIsTheSame(t *testing.T) {
	layoutOf := func(d *Drawing) Layout {
		var l Layout
		for _, o := range d.Outlines {
			l.Add(o.Layer, o.Region)
		}
		for _, o := range d.Open {
			l.AddChain(o.Layer, o.Chain)
		}
		for _, p := range d.Points {
			l.AddPoint(p.Layer, p.Point)
		}
		return l
	}
	rapid.Check(t, func(t *rapid.T) {
		a, found := readText(dxfOf(anyEntities(t)...), Options{})
		require.False(t, found.Blocks(), "%v", found)
		var one, two bytes.Buffer
		require.NoError(t, Write(&one, layoutOf(a)))
		text := one.String()
		b, found := readText(text, Options{})
		require.False(t, found.Blocks(), "%v", found)
		require.Len(t, b.Outlines, len(a.Outlines))
		require.Len(t, b.Open, len(a.Open))
		require.Len(t, b.Points, len(a.Points))
		same := func(p geom.Point) geom.Point { return p }
		outlines, _ := mapped(a, same)
		for _, p := range outlines {
			near(t, b, p, 1e-9)
		}
		require.InDelta(t, a.Length, b.Length, 1e-6*math.Max(1, a.Length))
		require.NoError(t, Write(&two, layoutOf(a)))
		require.True(t, text == two.String(), "the same layout gives the same bytes")
	})
}
