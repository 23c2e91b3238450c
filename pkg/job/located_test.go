package job_test

import (
	"bytes"
	"io/fs"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/internal/demo"
	"sparclear/pkg/drawing"
	"sparclear/pkg/geom"
	"sparclear/pkg/job"
)

// readLocated writes the outlines of a job where they lie and reads them again.
func readLocated(t *testing.T, r *job.Result) (*drawing.Drawing, []byte) {
	t.Helper()
	b, err := job.LocatedDXF(r)
	require.NoError(t, err)
	again, err := job.LocatedDXF(r)
	require.NoError(t, err)
	require.Equal(t, b, again, "the same job gives the same bytes")
	d, found := drawing.Read(bytes.NewReader(b), "plan.dxf", drawing.Options{})
	require.False(t, found.Blocks(), "%v", found)
	require.Equal(t, "mm", d.Units)
	return d, b
}

// drawnOn reads a layer of the demo panel as it is drawn.
func drawnOn(t *testing.T, layer string) drawing.Content {
	t.Helper()
	src, err := fs.ReadFile(demo.Files, "wing/panel.dxf")
	require.NoError(t, err)
	d, _ := drawing.Read(bytes.NewReader(src), "panel.dxf", drawing.Options{})
	c, f := d.Layer(layer)
	require.Nil(t, f)
	return c
}

// On either panel an outline that is written lies where the touched marks put what
// is drawn, within what the marks disagree by, with its area and its arcs.
func TestLocatedOutlinesAreWrittenWhereTheMarksPutThem(t *testing.T) {
	own, text := otherPanel(t)
	d := own.Work.Datums
	turn := d[1].Touched.Sub(d[0].Touched).Angle() - d[1].Drawn.Sub(d[0].Drawn).Angle()
	place := geom.Rigid{Turn: turn}
	place.Shift = d[0].Touched.Sub(place.Apply(d[0].Drawn))
	mirror := geom.Rigid{Mirror: true, Turn: own.Work.Frame.Turn, Shift: geom.Pt(61.35, 442.80)} // as otherPanel touches them
	other := resolve(t, strings.Replace(text, "layer   = \"SERVO\"", "layer   = \"SERVO\"\npanels  = \"mirror\"", 1))
	for _, tc := range []struct {
		panel string
		r     *job.Result
		at    geom.Rigid
	}{{"as drawn", own, place}, {"the other one", other, mirror}} {
		t.Run(tc.panel, func(t *testing.T) {
			require.False(t, tc.r.Findings.Blocks(), "%v", tc.r.Findings)
			got, _ := readLocated(t, tc.r)
			for _, on := range []struct{ drawn, written string }{{"SERVO", "OPENING flap servo"}, {"SPAR", "MEMBER main spar"}} {
				c, f := got.Layer(on.written)
				require.Nil(t, f, "%v", f)
				want := drawnOn(t, on.drawn)
				require.Len(t, c.Outlines, len(want.Outlines))
				for i, o := range c.Outlines {
					w := want.Outlines[i].Region.Transform(tc.at)
					assert.Less(t, w.Bounds().Min.Dist(o.Region.Bounds().Min), 0.15, "%s, mm", on.written)
					assert.Less(t, w.Bounds().Max.Dist(o.Region.Bounds().Max), 0.15, "%s, mm", on.written)
					assert.InDelta(t, w.Area(), o.Region.Area(), 1e-6*w.Area(), "%s, mm²", on.written)
					assert.Equal(t, bends(w), bends(o.Region), "%s: arcs stay arcs", on.written)
				}
			}
			marks, f := got.Layer("DATUMS")
			require.Nil(t, f)
			assert.Len(t, marks.Points, len(tc.r.Work.Datums))
		})
	}
}

// What the work holds is what is read again, cut by cut.
func TestLocatedOutlinesAreThoseOfTheWork(t *testing.T) {
	r := resolve(t, demoJob(t))
	got, _ := readLocated(t, r)
	for _, c := range r.Work.Cuts {
		ly, f := got.Layer(strings.ToUpper(string(c.Kind)) + " " + c.Name)
		require.Nil(t, f, "%v", f)
		require.Len(t, ly.Outlines, len(c.Regions), c.Name)
		area := 0.0
		for _, g := range c.Regions {
			area += g.Area()
		}
		for _, o := range ly.Outlines {
			area -= o.Region.Area()
		}
		assert.InDelta(t, 0, area, 1e-9, "%s, mm²", c.Name)
		assert.Len(t, ly.Points, len(c.Points), c.Name)
		assert.Len(t, ly.Open, len(c.Chains), c.Name)
	}
}

// Names that differ in letter case alone keep their layers apart.
func TestEveryCutHasALayerOfItsOwn(t *testing.T) {
	r := resolve(t, demoJob(t))
	w := *r.Work
	w.Cuts = append(w.Cuts[:len(w.Cuts):len(w.Cuts)], w.Cuts[0])
	w.Cuts[len(w.Cuts)-1].Name = strings.ToUpper(w.Cuts[0].Name)
	got, _ := readLocated(t, &job.Result{Work: &w})
	kind := strings.ToUpper(string(w.Cuts[0].Kind))
	for _, name := range []string{w.Cuts[0].Name, strings.ToUpper(w.Cuts[0].Name) + " (2)"} {
		_, f := got.Layer(kind + " " + name)
		assert.Nil(t, f, "%v", f)
	}
}

func bends(g geom.Region) int {
	n := 0
	for _, c := range g.Contours() {
		for _, v := range c {
			if math.Abs(v.Bulge) > 1e-9 {
				n++
			}
		}
	}
	return n
}
