package drawing

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sparclear/pkg/geom"
)

// place3 takes a point of an entity into the drawing, in space.
type place3 func([3]float64) [3]float64

// axes is the arbitrary axis algorithm for a normal, written out in full (DXF
// reference, "Arbitrary Axis Algorithm"); normal (0, 0, ±1).
func axes(nz float64) place3 {
	n := [3]float64{0, 0, nz}
	cross := func(a, b [3]float64) [3]float64 {
		return [3]float64{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
	}
	ax := cross([3]float64{0, 1, 0}, n) // n is within 1/64 of the Z axis
	ay := cross(n, ax)
	return func(p [3]float64) (q [3]float64) {
		for i := range q {
			q[i] = p[0]*ax[i] + p[1]*ay[i] + p[2]*n[i]
		}
		return q
	}
}

// drawnThing is an entity in the words of a file, and points along it in the
// coordinates of whatever holds it, worked out from the reference alone.
type drawnThing struct {
	words  string
	points [][3]float64
}

const samples = 60 // points of a thing

func sampled(at func(t float64) (x, y float64), put place3) [][3]float64 {
	var out [][3]float64
	for i := range samples + 1 {
		x, y := at(float64(i) / samples)
		out = append(out, put([3]float64{x, y, 0}))
	}
	return out
}

// anyThing draws an entity that faces up or down.
func anyThing(t *rapid.T) drawnThing {
	num := func(name string, lo, hi float64) float64 {
		return math.Round(rapid.Float64Range(lo, hi).Draw(t, name)*1000) / 1000
	}
	nz := rapid.SampledFrom([]float64{1, 1, -1}).Draw(t, "normal")
	face := fmt.Sprintf(" 210 0 220 0 230 %v", nz)
	up := axes(nz)
	plain := func(p [3]float64) [3]float64 { return p }
	x, y, r := num("x", -40, 40), num("y", -40, 40), num("r", 2, 20)
	a0, sweep := num("from", -200, 400), num("sweep", 10, 340)
	rad := math.Pi / 180
	switch rapid.IntRange(0, 5).Draw(t, "kind") {
	case 0:
		u, v := num("u", -40, 40), num("v", -40, 40)
		return drawnThing{fmt.Sprintf("0 LINE 8 0 10 %v 20 %v 11 %v 21 %v", x, y, u, v+50) + face, // stored in drawing coordinates
			sampled(func(t float64) (float64, float64) { return x + t*(u-x), y + t*(v+50-y) }, plain)}
	case 1:
		return drawnThing{fmt.Sprintf("0 CIRCLE 8 0 10 %v 20 %v 40 %v", x, y, r) + face,
			sampled(func(t float64) (float64, float64) {
				return x + r*math.Cos(2*math.Pi*t), y + r*math.Sin(2*math.Pi*t)
			}, up)}
	case 2:
		return drawnThing{fmt.Sprintf("0 ARC 8 0 10 %v 20 %v 40 %v 50 %v 51 %v", x, y, r, a0, a0+sweep) + face,
			sampled(func(t float64) (float64, float64) {
				a := (a0 + t*sweep) * rad
				return x + r*math.Cos(a), y + r*math.Sin(a)
			}, up)}
	case 3:
		// Centre and axis are those of the drawing; the minor axis is normal × axis.
		ux, uy, k := num("ux", 3, 15), num("uy", -9, 9), num("ratio", 0.2, 1)
		vx, vy := -nz*k*uy, nz*k*ux
		return drawnThing{fmt.Sprintf("0 ELLIPSE 8 0 10 %v 20 %v 11 %v 21 %v 40 %v 41 %v 42 %v", x, y, ux, uy, k, a0*rad, (a0+sweep)*rad) + face,
			sampled(func(t float64) (float64, float64) {
				s, c := math.Sincos((a0 + t*sweep) * rad)
				return x + c*ux + s*vx, y + c*uy + s*vy
			}, plain)}
	case 4:
		// An arc through both ends that goes a quarter of the bulge's chord aside:
		// points by turning the chord, not by a centre.
		b := num("bulge", -2.5, 2.5)
		if math.Abs(b) < 0.01 {
			b = 0.3
		}
		dx, dy := r+5, num("dy", -9, 9)
		return drawnThing{fmt.Sprintf("0 LWPOLYLINE 8 0 90 2 70 0 10 %v 20 %v 42 %v 10 %v 20 %v", x, y, b, x+dx, y+dy) + face,
			sampled(func(t float64) (float64, float64) {
				all := 4 * math.Atan(b) // included angle; over t of it the chord turns by half of what is left
				k := math.Sin(t*all/2) / math.Sin(all/2)
				s, c := math.Sincos(-(1 - t) * all / 2)
				return x + k*(c*dx-s*dy), y + k*(s*dx+c*dy)
			}, up)}
	default:
		p := [4][2]float64{{x, y}, {num("bx", -40, 40), num("by", -40, 40)}, {num("cx", -40, 40), num("cy", -40, 40)}, {x + r, y + 60}}
		w := " 10 %v 20 %v"
		return drawnThing{fmt.Sprintf("0 SPLINE 8 0 70 8 71 3 40 0 40 0 40 0 40 0 40 1 40 1 40 1 40 1"+w+w+w+w, p[0][0], p[0][1], p[1][0], p[1][1], p[2][0], p[2][1], p[3][0], p[3][1]) + face,
			sampled(func(t float64) (float64, float64) { // Bernstein form
				s := 1 - t
				b := [4]float64{s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t}
				var q [2]float64
				for i := range p {
					q[0], q[1] = q[0]+b[i]*p[i][0], q[1]+b[i]*p[i][1]
				}
				return q[0], q[1]
			}, plain)}
	}
}

// anyReference puts a block somewhere: scaled, mirrored, turned, facing up or down,
// as an array (DXF reference, INSERT).
func anyReference(t *rapid.T, block string, base [2]float64) (words string, put []place3) {
	num := func(name string, lo, hi float64) float64 {
		return math.Round(rapid.Float64Range(lo, hi).Draw(t, name)*1000) / 1000
	}
	x, y := num("ix", -100, 100), num("iy", -100, 100)
	sx := num("sx", 0.3, 2) * rapid.SampledFrom([]float64{1, -1}).Draw(t, "sign x")
	sy := rapid.SampledFrom([]float64{sx, -sx, num("sy", 0.3, 2)}).Draw(t, "scale y")
	turn := rapid.SampledFrom([]float64{0, 90, -180, num("turn", -360, 360)}).Draw(t, "turned")
	nz := rapid.SampledFrom([]float64{1, 1, -1}).Draw(t, "normal of the block")
	cols, rows := rapid.IntRange(1, 2).Draw(t, "columns"), rapid.IntRange(1, 2).Draw(t, "rows")
	dx, dy := num("column spacing", -90, 90), num("row spacing", -90, 90)
	up := axes(nz)
	s, c := math.Sincos(turn * math.Pi / 180)
	for row := range rows {
		for col := range cols {
			put = append(put, func(p [3]float64) [3]float64 {
				u := (p[0]-base[0])*sx + float64(col)*dx
				v := (p[1]-base[1])*sy + float64(row)*dy
				return up([3]float64{c*u - s*v + x, s*u + c*v + y, p[2]})
			})
		}
	}
	return fmt.Sprintf("0 INSERT 8 0 2 %s 10 %v 20 %v 41 %v 42 %v 50 %v 70 %d 71 %d 44 %v 45 %v 210 0 220 0 230 %v", block, x, y, sx, sy, turn, cols, rows, dx, dy, nz), put
}

// Blocks in blocks are drawn where the reference puts them, in space, point by
// point: nothing is elsewhere, and nothing is missing or drawn besides.
func TestBlocksAreDrawnWhereTheReferencePutsThem(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var want [][][3]float64
		under := func(points [][][3]float64, put []place3) (out [][][3]float64) {
			for _, at := range put {
				for _, thing := range points {
					moved := make([][3]float64, len(thing))
					for i, p := range thing {
						moved[i] = at(p)
					}
					out = append(out, moved)
				}
			}
			return out
		}
		things := func(n int) (words string, points [][][3]float64) {
			for range n {
				g := anyThing(t)
				words += " " + g.words
				points = append(points, g.points)
			}
			return words, points
		}
		base := [2]float64{7, -3}
		inner, innerPoints := things(rapid.IntRange(1, 2).Draw(t, "in the inner block"))
		outer, outerPoints := things(rapid.IntRange(0, 1).Draw(t, "in the outer block"))
		ref, put := anyReference(t, "IN", base)
		outerPoints = append(outerPoints, under(innerPoints, put)...)
		top, put := anyReference(t, "OUT", base)
		want = under(outerPoints, put)
		blocks := fmt.Sprintf("0 BLOCK 2 IN 10 %v 20 %v%s 0 ENDBLK 0 BLOCK 2 OUT 10 %v 20 %v%s %s 0 ENDBLK", base[0], base[1], inner, base[0], base[1], outer, ref)
		d, found := readText(blocked("", blocks, top), Options{JoinTol: 1e-6, Limit: 1e9})
		require.False(t, found.Has("entity-broken") || found.Has("entity-unread"), "%v", found)

		var drawn [][]geom.Seg
		for _, o := range d.Outlines {
			for _, c := range o.Region.Contours() {
				drawn = append(drawn, c.Segs())
			}
		}
		for _, o := range d.Open {
			drawn = append(drawn, o.Chain.Segs())
		}
		tol := DefaultCurveTol + 1e-6
		if found.Has("drawn-twice") || found.Has("drawn-over") { // of two within 1e-3 mm one is read
			tol += 1e-3
		}
		length := 0.0
		for _, thing := range want {
			for i, p := range thing {
				if i > 0 {
					length += math.Hypot(p[0]-thing[i-1][0], p[1]-thing[i-1][1])
				}
				least := math.Inf(1)
				for _, segs := range drawn {
					for _, s := range segs {
						least = math.Min(least, s.Dist(geom.Pt(p[0], p[1])))
					}
				}
				if least > tol && !found.Has("contour-crosses") && !found.Has("outlines-tangled") {
					t.Fatalf("%.6f, %.6f is %.6f mm off, of\n%s\n%s", p[0], p[1], least, strings.ReplaceAll(blocks, " 0 ", "\n0 "), top)
				}
			}
		}
		// The chords between samples are shorter by under 0.3 % (a full circle:
		// sin(π/60)/(π/60)); a spline with a tight bend by a little more.
		require.InDelta(t, length, d.Join.Drawn, 0.01*length, "mm drawn in all")
	})
}
