package plan

import (
	"fmt"
	"math"
	"strings"

	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

// mark engraves a text in single-line letters, or the lines of its layer when
// there is no text. The text begins at the first point of the cut, or at the
// options x and y (on the drawing, mm); height (mm, default 3) and turn_deg set
// its size and direction. On a mirrored panel it stays readable.
func (j *job) mark() []op { return j.lines("mark", rankMark) }

// layStrokes lays out the lines of a mark, before depths are settled.
func (j *job) layStrokes() bool {
	if j.c.Kind != work.Mark {
		return true
	}
	if strings.TrimSpace(j.c.Text) == "" {
		j.strokes = append([]geom.Chain{}, j.c.Chains...)
		for _, g := range j.c.Regions {
			for _, c := range g.Contours() {
				ch := append(geom.Chain(nil), geom.Chain(c)...)
				j.strokes = append(j.strokes, append(ch, geom.Vertex{Point: c[0].Point}))
			}
		}
		return true
	}
	at, ok := j.textPlace()
	if !ok {
		j.stop("mark-placeless", "the text has no place", "draw a point on the layer, or give the options x and y")
		return false
	}
	h := j.option("height", 3)
	if h <= 0 {
		return j.refuseNumber("height", h, "above 0")
	}
	dir := j.c.Frame.ApplyVector(geom.Polar(geom.Point{}, 1, j.option("turn_deg", 0)*math.Pi/180))
	if j.c.Frame.Mirror { // its place is mirrored, its letters are not
		at = at.Add(dir.Right().Mul(h))
	}
	cs, bad := lettering(j.c.Text, at, dir, h)
	if bad != 0 {
		j.stop("letter-unknown", fmt.Sprintf("the alphabet has no letter %q", bad), "there is: "+letters())
		return false
	}
	j.strokes = cs
	return true
}

func (j *job) textPlace() (geom.Point, bool) {
	x, okX := j.c.Options["x"]
	y, okY := j.c.Options["y"]
	if okX && okY {
		return j.c.Frame.Apply(geom.Pt(x, y)), true
	}
	if len(j.c.Points) > 0 {
		return j.c.Points[0], true
	}
	return geom.Point{}, false
}
