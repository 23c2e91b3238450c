package cli

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strings"

	"github.com/spf13/pflag"

	"sparclear/pkg/diag"
	"sparclear/pkg/drawing"
	"sparclear/pkg/geom"
	"sparclear/pkg/picture"
	"sparclear/pkg/shop"
)

func lookCommand() command {
	return command{name: "look", args: "DRAWING…", short: "say what is in drawings",
		long: `Reads drawings (DXF, ASCII or binary, and SVG) and prints units, size, layers,
outlines, circles with the screws that they fit, open ends and everything that is
doubtful. Units are never guessed; --units says what they are when the file does
not, or says it wrongly.`,
		flags: func(fs *pflag.FlagSet) func(*env, []string) int {
			var o drawing.Options
			var svg string
			fs.StringVar(&o.Units, "units", "", "units of the drawing: mm, cm, m, inch, …")
			fs.Float64Var(&o.JoinTol, "join", 0, "largest gap that is closed, mm (default 0.01)")
			fs.BoolVar(&o.Hidden, "hidden", false, "include layers that are off, frozen or not plotted")
			fs.BoolVar(&o.Paper, "paper", false, "include paper space")
			fs.BoolVar(&o.Hatches, "hatches", false, "include the boundaries of hatches")
			fs.StringVar(&svg, "svg", "", "draw the drawing into this SVG file")
			return func(e *env, args []string) int {
				if !e.wantArgs("look", args, 1, -1, "at least one drawing is needed") {
					return exitInput
				}
				if svg != "" && len(args) > 1 {
					fmt.Fprintln(e.err, "sparclear look: --svg draws one drawing at a time")
					return exitInput
				}
				return e.look(args, svg, o)
			}
		}}
}

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

func (e *env) look(files []string, svg string, o drawing.Options) int {
	var all []seen
	var every diag.List
	for _, f := range files {
		s, d := e.lookAt(f, o)
		all = append(all, s)
		every = append(every, s.Findings...)
		if svg == "" || d == nil {
			continue
		}
		b, err := picture.Drawing(d)
		if err == nil {
			err = os.WriteFile(svg, b, 0o644)
		}
		if err != nil {
			fmt.Fprintf(e.err, "sparclear: cannot draw %s: %v\n", f, err)
			return exitElse
		}
	}
	if e.json {
		e.printJSON(map[string]any{"schema": 1, "drawings": all})
		return every.ExitCode()
	}
	for _, s := range all {
		s.print(e.out)
		e.findings(s.Findings)
	}
	return every.ExitCode()
}

// lookAt reads one drawing. An unreadable file is a finding like any other.
func (e *env) lookAt(file string, o drawing.Options) (seen, *drawing.Drawing) {
	s := seen{File: file, Layers: []seenLayer{}, Outlines: []seenOutline{}, Circles: []seenCircle{}, OpenEnds: []seenOpen{}, Findings: diag.List{}}
	src, err := e.readInput(file)
	if err != nil {
		s.Findings.Add(diag.Finding{Code: "drawing-missing", Severity: diag.Stop, Input: true, Subject: file, Message: "cannot be read", Help: "check the name"})
		return s, nil
	}
	read := drawing.Read
	if strings.EqualFold(filepath.Ext(file), ".svg") {
		read = drawing.ReadSVG
	}
	d, l := read(bytes.NewReader(src), filepath.Base(file), o)
	s.Findings = notNil(l.Sorted())
	if d == nil {
		return s, nil
	}
	s.fill(d)
	return s, d
}

func (e *env) readInput(file string) ([]byte, error) {
	if file == "-" {
		return io.ReadAll(e.in)
	}
	return os.ReadFile(file)
}

func (s *seen) fill(d *drawing.Drawing) {
	s.Format, s.Version, s.Units, s.Said, s.From = d.Format, d.Version, d.Units, d.Said, d.UnitsFrom
	if !d.Bounds.Empty() {
		s.Bounds = &[4]float64{round4(d.Bounds.Min.X), round4(d.Bounds.Min.Y), round4(d.Bounds.Max.X), round4(d.Bounds.Max.Y)}
	}
	s.Points, s.Labels = len(d.Points), len(d.Labels)
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
		name, _ := shop.NameHole(k.d)
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

func (s seen) print(w io.Writer) {
	units := s.Units
	if units == "" {
		units = "unknown"
	}
	if s.Said != "" && s.Said != s.Units {
		units += " (the file says " + s.Said + ")"
	}
	fmt.Fprintf(w, "%s: %s %s, units %s\n", s.File, s.Format, s.Version, units)
	if s.Bounds != nil {
		what := "mm"
		if s.Units == "" {
			what = "drawing units"
		}
		fmt.Fprintf(w, "  size %.2f × %.2f %s, from (%.2f, %.2f) to (%.2f, %.2f)\n", s.Bounds[2]-s.Bounds[0], s.Bounds[3]-s.Bounds[1], what, s.Bounds[0], s.Bounds[1], s.Bounds[2], s.Bounds[3])
	}
	fmt.Fprintln(w, "  layers")
	for _, l := range s.Layers {
		fmt.Fprintf(w, "    %-24s colour %-3d %-12s outlines %d, open %d, points %d, not read %d\n", l.Name, l.Colour, l.State, l.Outlines, l.Open, l.Points, l.Hidden)
	}
	if len(s.Outlines) > 0 {
		fmt.Fprintln(w, "  outlines                     size mm            area mm²   holes  inside radius  narrowest neck")
	}
	for _, o := range s.Outlines {
		fmt.Fprintf(w, "    %-24s %8.2f × %-8.2f %10.1f  %5d  %13s  %14s\n", o.Layer, o.Size[0], o.Size[1], o.Area, o.Holes, lengthText(o.MinRadius), lengthText(o.Neck))
	}
	if len(s.Circles) > 0 {
		fmt.Fprintln(w, "  circles")
	}
	for _, c := range s.Circles {
		fmt.Fprintln(w, strings.TrimRight(fmt.Sprintf("    %-24s Ø %.3f mm × %d  %s", c.Layer, c.Diameter, c.Count, c.Screw), " "))
	}
	for _, o := range s.OpenEnds {
		fmt.Fprintf(w, "  open on layer %s: (%.3f, %.3f) to (%.3f, %.3f), gap %.3f mm\n", o.Layer, o.Ends[0][0], o.Ends[0][1], o.Ends[1][0], o.Ends[1][1], o.Gap)
	}
}

func lengthText(v *float64) string {
	if v == nil {
		return "-"
	}
	return fmt.Sprintf("%.2f", *v)
}
