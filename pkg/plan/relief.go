package plan

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// sharpTurn is the least turn of the path that counts as a corner, rad.
const sharpTurn = 0.05

// leastRelief is the way below which a corner is as good as filled, mm.
const leastRelief = 0.02

// relieved adds the relief of the cut to a path that has the kept side on its
// right: at every sharp corner that the cutter cannot fill, the centre goes on
// until the cutter touches the corner, and comes back.
//
// Dog-bone: along the bisector by r(1/sin(θ/2) − 1). T-bone, at nearly square
// corners: along the longer wall until the corner lies on the circle of the
// cutter (r for a square one).
func (j *job) relieved(c geom.Contour) geom.Contour {
	if j.c.Relief == "" {
		return c
	}
	n := len(c)
	out := make(geom.Contour, 0, n+8)
	for i := range c {
		out = append(out, c[i])
		prev, next := c.Seg((i+n-1)%n), c.Seg(i)
		in, on := prev.TangentB(), next.TangentA()
		turn := math.Atan2(in.Cross(on), in.Dot(on))
		if turn < sharpTurn {
			continue
		}
		half := (math.Pi - turn) / 2
		bis := in.Sub(on).Unit()
		q := c[i].Point.Add(bis.Mul(j.r * (1/math.Sin(half) - 1)))
		if j.c.Relief == "tbone" && math.Abs(turn-math.Pi/2) < 0.3 { // of a nearly square corner only
			dir := in
			if next.Length() > prev.Length() {
				dir = on.Mul(-1)
			}
			corner := bis.Mul(j.r / math.Sin(half))
			dot := corner.Dot(dir)
			q = c[i].Point.Add(dir.Mul(dot - math.Sqrt(math.Max(0, float64(dot*dot)-corner.Dot(corner)+float64(j.r*j.r)))))
		}
		if q.Dist(c[i].Point) < leastRelief {
			continue
		}
		j.reliefNear(q)
		bulge := out[len(out)-1].Bulge
		out[len(out)-1].Bulge = 0
		out = append(out, geom.Vertex{Point: q}, geom.Vertex{Point: c[i].Point, Bulge: bulge})
	}
	return out
}

// reliefNear warns when a relief comes near the edge of its part or another cut.
func (j *job) reliefNear(q geom.Point) {
	least := math.Max(1, j.w.Thickness)
	if k := j.c.Part; k >= 0 && k < len(j.w.Parts) {
		if d := j.w.Parts[k].Region.Outer.Dist(q) - j.r; d < least && j.c.Regions[0].Outer.Dist(q) < j.w.Parts[k].Region.Outer.Dist(q) {
			f := j.finding(diag.Warn, "relief-near", fmt.Sprintf("a corner relief comes within %.2f mm of the edge of %s", d, j.w.Parts[k].Name), "move the opening, use the other form of relief, or a thinner cutter")
			j.add(j.at(f.With(d, least, "mm"), q))
		}
	}
	for i := range j.w.Cuts {
		o := &j.w.Cuts[i]
		if i == j.index || o.Part != j.c.Part {
			continue
		}
		for _, g := range o.Regions {
			if g.Bounds().Dist(q) > j.r+least || o.Kind == "part" {
				continue
			}
			if d := g.SignedDist(q) - j.r; d < least && d > -j.r {
				f := j.finding(diag.Warn, "relief-near", fmt.Sprintf("a corner relief comes within %.2f mm of %s", d, o.Name), "move the opening, use the other form of relief, or a thinner cutter")
				j.add(j.at(f.With(d, least, "mm"), q))
			}
		}
	}
}
