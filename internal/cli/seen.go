package cli

import (
	"math"
	"sort"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/drawing"
	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
)

// seen is one drawing in the JSON of look.
type seen struct {
	File     string        `json:"file"`
	Format   string        `json:"format"`
	Version  string        `json:"version"`
	Units    string        `json:"units"`
	Said     string        `json:"units_said"`
	From     string        `json:"units_from"`
	Bounds   *[4]float64   `json:"bounds_mm"`
	Layers   []seenLayer   `json:"layers"`
	Outlines []seenOutline `json:"outlines"`
	Circles  []seenCircle  `json:"circles"`
	OpenEnds []seenOpen    `json:"open_ends"`
	Points   int           `json:"points"`
	Labels   int           `json:"labels"`
	Findings diag.List     `json:"findings"`

	Length   float64         `json:"length_mm"`
	Entities []drawing.Count `json:"entities"`
	Skipped  []drawing.Count `json:"skipped"`
	Curves   seenCurves      `json:"curves"`
	Joining  seenJoining     `json:"joining"`
	Drills   []seenPoint     `json:"drill_points"`
	Texts    []seenText      `json:"texts"`
}

// seenCurves is what ellipses and splines became.
type seenCurves struct {
	Curves int     `json:"curves"`
	Arcs   int     `json:"arcs"`
	Lines  int     `json:"lines_of_a_polyline"`
	Tol    float64 `json:"tolerance_mm"`
}

// seenJoining is what joining loose ends did.
type seenJoining struct {
	Pieces    int       `json:"pieces"`
	Gaps      int       `json:"gaps_closed"`
	Widest    []seenGap `json:"widest_gaps"`
	Twice     int       `json:"drawn_twice"`
	Over      int       `json:"drawn_over"`
	Zero      int       `json:"without_length"`
	Tiny      int       `json:"tiny"`
	Branches  int       `json:"branches"`
	Crossings int       `json:"crossings"`
}

type seenGap struct {
	Width float64    `json:"gap_mm"`
	At    [2]float64 `json:"at_mm"`
}

type seenPoint struct {
	Layer  string     `json:"layer"`
	Handle string     `json:"handle,omitempty"`
	At     [2]float64 `json:"at_mm"`
}

type seenText struct {
	Layer  string     `json:"layer"`
	Text   string     `json:"text"`
	At     [2]float64 `json:"at_mm"`
	Height float64    `json:"height_mm"`
	Turn   float64    `json:"turn_deg"`
}

type seenLayer struct {
	Name     string `json:"name"`
	Colour   int    `json:"colour"`
	State    string `json:"state"`
	Outlines int    `json:"outlines"`
	Open     int    `json:"open"`
	Points   int    `json:"points"`
	Hidden   int    `json:"hidden"`
}

type seenOutline struct {
	Layer     string      `json:"layer"`
	Handle    string      `json:"handle,omitempty"`
	Closed    bool        `json:"closed"`
	Area      float64     `json:"area_mm2"`
	Length    float64     `json:"length_mm"`
	Holes     int         `json:"holes"`
	Size      [2]float64  `json:"size_mm"`
	MinRadius *float64    `json:"smallest_inside_radius_mm"`
	Neck      *float64    `json:"narrowest_neck_mm"`
	At        *[2]float64 `json:"at_mm"`
}

type seenCircle struct {
	Layer    string  `json:"layer"`
	Diameter float64 `json:"diameter_mm"`
	Count    int     `json:"count"`
	Screw    string  `json:"screw,omitempty"`
}

type seenOpen struct {
	Layer string        `json:"layer"`
	Gap   float64       `json:"gap_mm"`
	Ends  [2][2]float64 `json:"ends_mm"`
}

func (s *seen) fill(d *drawing.Drawing) {
	s.Format, s.Version, s.Units, s.Said, s.From = d.Format, d.Version, d.Units, d.Said, d.UnitsFrom
	if !d.Bounds.Empty() {
		s.Bounds = &[4]float64{round4(d.Bounds.Min.X), round4(d.Bounds.Min.Y), round4(d.Bounds.Max.X), round4(d.Bounds.Max.Y)}
	}
	s.Points, s.Labels = len(d.Points), len(d.Labels)
	s.Length, s.Entities, s.Skipped = round4(d.Length), d.Entities, d.Skipped
	s.Curves = seenCurves{d.Curves.Curves, d.Curves.Arcs, d.Curves.Lines, d.Curves.Tol}
	j := d.Join
	s.Joining = seenJoining{Pieces: j.Pieces, Gaps: j.Gaps, Widest: []seenGap{}, Twice: j.Duplicates, Over: j.Overlaps,
		Zero: j.Zero, Tiny: j.Tiny, Branches: j.Branches, Crossings: j.Crossings}
	for _, g := range j.Widest {
		s.Joining.Widest = append(s.Joining.Widest, seenGap{math.Round(g.Width*1e6) / 1e6, at4(g.At)})
	}
	for _, p := range d.Points {
		s.Drills = append(s.Drills, seenPoint{p.Layer, p.Handle, at4(p.Point)})
	}
	for _, l := range d.Labels {
		s.Texts = append(s.Texts, seenText{l.Layer, l.Text, at4(l.Point), round4(l.Height), round4(l.Turn * 180 / math.Pi)})
	}
	for _, l := range d.Layers {
		s.Layers = append(s.Layers, seenLayer{l.Name, l.Colour, layerState(l), l.Outlines, l.Open, l.Points, l.Hidden})
	}
	type key struct {
		layer string
		d     float64
	}
	circles := map[key]int{}
	for _, o := range d.Outlines {
		s.Outlines = append(s.Outlines, outlineSeen(o))
		for _, c := range o.Region.Contours() {
			if _, r, ok := c.AsCircle(1e-6); ok {
				circles[key{o.Layer, math.Round(2*r*1000) / 1000}]++
			}
		}
	}
	for k, n := range circles {
		name := ""
		if d.Units != "" { // screws are known by millimetres
			name, _ = shop.NameHole(k.d)
		}
		s.Circles = append(s.Circles, seenCircle{k.layer, k.d, n, name})
	}
	sort.Slice(s.Circles, func(i, j int) bool {
		a, b := s.Circles[i], s.Circles[j]
		return a.Layer < b.Layer || a.Layer == b.Layer && a.Diameter < b.Diameter
	})
	for _, o := range d.Open {
		if len(o.Chain) == 0 {
			continue
		}
		a, b := o.Chain[0], o.Chain[len(o.Chain)-1]
		s.OpenEnds = append(s.OpenEnds, seenOpen{o.Layer, round4(o.Gap), [2][2]float64{{round4(a.X), round4(a.Y)}, {round4(b.X), round4(b.Y)}}})
	}
}

func layerState(l drawing.Layer) string {
	var words []string
	for _, w := range []struct {
		on   bool
		word string
	}{{l.Off, "off"}, {l.Frozen, "frozen"}, {l.NoPlot, "not plotted"}, {l.Locked, "locked"}} {
		if w.on {
			words = append(words, w.word)
		}
	}
	if len(words) == 0 {
		return "on"
	}
	return strings.Join(words, ", ")
}

func outlineSeen(o drawing.Outline) seenOutline {
	b := o.Region.Bounds()
	c := b.Center()
	out := seenOutline{Layer: o.Layer, Handle: o.Handle, Closed: true, Area: round4(o.Region.Area()), Length: round4(o.Region.Length()),
		Holes: len(o.Region.Holes), Size: [2]float64{round4(b.Size().X), round4(b.Size().Y)}, At: &[2]float64{round4(c.X), round4(c.Y)}}
	if o.Crosses {
		return out
	}
	for _, c := range o.Region.Contours() { // as openings: what a cutter inside each must reach
		r, _ := geom.NewRegion(c).SmallestInsideRadius(smoothTurn)
		if r = round4(r); !math.IsInf(r, 0) && (out.MinRadius == nil || r < *out.MinRadius) {
			out.MinRadius = &r
		}
	}
	if w, _, _ := o.Region.Neck(); w > 0 {
		w = round4(w)
		out.Neck = &w
	}
	return out
}

// smoothTurn is how much a corner of a curve drawn in short lines may turn, rad.
const smoothTurn = 0.2

func at4(p geom.Point) [2]float64 { return [2]float64{round4(p.X), round4(p.Y)} }
