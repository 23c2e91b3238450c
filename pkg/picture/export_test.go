package picture

import (
	"encoding/xml"
	"fmt"
	"image/color"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sparclear/pkg/geom"
)

// Seen is a plan view as one reads it off the paper, in machine coordinates.
type Seen struct {
	page   *page
	kerf   []stroke
	member []stroke
	tabs   []geom.Point
}

// See draws the plan view of a scene and reads it back.
func See(t *testing.T, s Scene) *Seen {
	t.Helper()
	p, err := s.planPage()
	require.NoError(t, err)
	b, err := p.svg()
	require.NoError(t, err)
	depths := map[string]bool{}
	for i := range depthSteps {
		depths[hexOf(depthColour((float64(i)+0.5)/depthSteps))] = true
	}
	v := &Seen{page: p}
	for _, k := range strokes(t, b) {
		switch c := shortHex(k.colour); {
		case depths[c]:
			v.kerf = append(v.kerf, k)
		case c == hexOf(memberC):
			v.member = append(v.member, k)
		}
	}
	v.tabs = squares(t, b, hexOf(tabC))
	return v
}

func hexOf(c color.RGBA) string { return shortHex(fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B)) }

// squares returns the middles of the small filled paths of a colour, on paper.
func squares(t *testing.T, b []byte, colour string) (out []geom.Point) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(string(b)))
	for {
		tok, err := d.Token()
		if err != nil {
			return out
		}
		e, ok := tok.(xml.StartElement)
		if !ok || e.Name.Local != "path" {
			continue
		}
		style, path := "", ""
		for _, a := range e.Attr {
			switch a.Name.Local {
			case "d":
				path = a.Value
			case "style", "fill":
				style += ";" + a.Name.Local + ":" + a.Value
			}
		}
		if !strings.Contains(style, ":"+colour) {
			continue
		}
		box := geom.EmptyBox()
		for _, s := range pathSegs(t, path) {
			box = box.Union(s.Bounds())
		}
		if z := box.Size(); z.X < 2.5 && z.Y < 2.5 {
			out = append(out, box.Center())
		}
	}
}

// onPaper is the place of a machine point in the SVG, whose Y runs down.
func (v *Seen) onPaper(p geom.Point) geom.Point {
	q := v.page.at(p)
	return geom.Pt(q.X, paperH-q.Y)
}

// Kerf tells whether a machine point is shown as cut.
func (v *Seen) Kerf(p geom.Point) bool { return covers(v.kerf, v.onPaper(p), 0) }

// Member tells whether a member is drawn within near mm of a machine point.
func (v *Seen) Member(p geom.Point, near float64) bool {
	return covers(v.member, v.onPaper(p), near*v.page.scale)
}

func covers(ss []stroke, p geom.Point, near float64) bool {
	for _, s := range ss {
		for _, e := range s.segs {
			if e.Dist(p) <= s.width/2+near {
				return true
			}
		}
	}
	return false
}

// Tabs returns where tabs are marked inside the frame, on the machine.
func (v *Seen) Tabs() (out []geom.Point) {
	for _, q := range v.tabs {
		if q.X < columnX-6 { // the legend shows one, too
			out = append(out, v.page.machine(geom.Pt(q.X, paperH-q.Y)))
		}
	}
	return out
}

// Window is what of the machine the picture shows.
func (v *Seen) Window() geom.Box {
	return geom.Box{Min: v.page.machine(geom.Pt(10, 18)), Max: v.page.machine(geom.Pt(columnX-6, 194))}
}

// Says tells whether a text stands on the page.
func (v *Seen) Says(text string) bool {
	for _, w := range v.page.written {
		if strings.Contains(w.text, text) {
			return true
		}
	}
	return false
}

// RunSheetText is all that a run sheet says.
func RunSheetText(t *testing.T, s Scene) string {
	text, _ := said(t, s)
	return text
}
