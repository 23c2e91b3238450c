package plan

import (
	"fmt"
	"math"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

// mark engraves the lines of the cut: single-line letters, or what is drawn on
// its layer.
func (j *job) mark() []op { return j.lines("mark", rankMark) }

// Strokes returns the lines that a mark engraves, in program coordinates: the
// letters of its text, or without a text the lines and outlines of its layer.
// The text begins at the first point of the cut, or at the options x and y (on
// the drawing, mm); the options height (mm, default 3) and turn_deg (default 0)
// set its size and direction. On a mirrored panel it stays readable. A cut that
// has both text and open chains is taken to hold its strokes already, so that
// whoever checks the program can be given the same lines. Errors are findings:
// "mark-placeless", "letter-unknown", "not-positive".
func Strokes(c *work.Cut) ([]geom.Chain, error) {
	if strings.TrimSpace(c.Text) == "" || len(c.Chains) > 0 {
		return drawnLines(c), nil
	}
	fault := func(code, message, help string) ([]geom.Chain, error) {
		f := diag.Finding{Code: code, Severity: diag.Stop, Subject: c.Name, Cut: c.Name, Input: true, Message: message, Help: help}
		if c.File != "" {
			f = f.AtLine(c.File, c.Line, 0)
		}
		return nil, f
	}
	at, ok := textPlace(c)
	if !ok {
		return fault("mark-placeless", "the text has no place", "draw a point on the layer, or give the options x and y")
	}
	h, ok := c.Options["height"]
	if !ok {
		h = 3
	}
	if !(h > 0) || !finite(h) {
		return fault("not-positive", fmt.Sprintf("height is %g", h), "it must be above 0")
	}
	dir := c.Frame.ApplyVector(geom.Polar(geom.Point{}, 1, c.Options["turn_deg"]*math.Pi/180))
	if c.Frame.Mirror { // its place is mirrored, its letters are not
		at = at.Add(dir.Right().Mul(h))
	}
	cs, bad := lettering(c.Text, at, dir, h)
	if bad != 0 {
		return fault("letter-unknown", fmt.Sprintf("the alphabet has no letter %q", bad), "there is: "+letters())
	}
	return cs, nil
}

// drawnLines are the open lines of a cut and its outlines, as closed lines.
func drawnLines(c *work.Cut) []geom.Chain {
	out := append([]geom.Chain{}, c.Chains...)
	for _, g := range c.Regions {
		for _, k := range g.Contours() {
			ch := append(geom.Chain(nil), geom.Chain(k)...)
			out = append(out, append(ch, geom.Vertex{Point: k[0].Point}))
		}
	}
	return out
}

// layStrokes lays out the lines of a mark, before depths are settled.
func (j *job) layStrokes() bool {
	if j.c.Kind != work.Mark {
		return true
	}
	cs, err := Strokes(j.c)
	if err != nil {
		j.geomFinding(err)
		return false
	}
	j.strokes = cs
	return true
}

func textPlace(c *work.Cut) (geom.Point, bool) {
	x, okX := c.Options["x"]
	y, okY := c.Options["y"]
	if okX && okY {
		return c.Frame.Apply(geom.Pt(x, y)), true
	}
	if len(c.Points) > 0 {
		return c.Points[0], true
	}
	return geom.Point{}, false
}
