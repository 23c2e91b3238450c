package cli

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"

	"sparclear/pkg/diag"
	"sparclear/pkg/drawing"
	"sparclear/pkg/picture"
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
			fs.BoolVar(&o.WideOutlines, "wide", false, "read polylines with a width as the band that is drawn")
			fs.Float64Var(&o.CurveTol, "curve-tol", 0, "how far arcs may lie from ellipses and splines, mm (default 0.002)")
			fs.Float64Var(&o.Limit, "fits", 0, "largest size that the drawing may have, mm: the sheet or the machine (default 4000)")
			fs.StringSliceVar(&o.Layers, "layer", nil, "look at these layers only")
			fs.StringVar(&svg, "svg", "", "draw the drawing into this SVG file, several into this folder")
			return func(e *env, args []string) int {
				if !e.wantArgs("look", args, 1, -1, "at least one drawing is needed") {
					return exitInput
				}
				return e.look(args, svg, o)
			}
		}}
}

func (e *env) look(files []string, svg string, o drawing.Options) int {
	var all []seen
	var every diag.List
	pictures, err := picturesOf(files, svg)
	if err != nil {
		fmt.Fprintf(e.err, "sparclear: %v\n", err)
		return exitElse
	}
	for i, f := range files {
		s, d := e.lookAt(f, o)
		all = append(all, s)
		every = append(every, s.Findings...)
		if svg == "" || d == nil {
			continue
		}
		b, err := picture.Drawing(d)
		if err == nil {
			err = writePicture(pictures[i], b)
		}
		if err != nil {
			fmt.Fprintf(e.err, "sparclear: cannot draw %s: %v\n", f, err)
			return exitElse
		}
	}
	if e.json {
		e.printJSON(struct {
			Schema   int    `json:"schema"`
			Drawings []seen `json:"drawings"`
		}{1, all})
		return every.ExitCode()
	}
	for _, s := range all {
		if s.Format != "" {
			s.print(e.out)
		}
		e.findings(s.Findings)
	}
	return every.ExitCode()
}

// picturesOf names the pictures of drawings: one is the file itself, several lie in a
// folder of that name, called after their drawings. None may take the place of a
// drawing.
func picturesOf(files []string, svg string) ([]string, error) {
	if svg == "" {
		return nil, nil
	}
	out := []string{svg}
	if len(files) > 1 {
		if err := os.MkdirAll(svg, 0o755); err != nil {
			return nil, fmt.Errorf("make the folder of the pictures: %w", err)
		}
		out = out[:0]
		taken := map[string]bool{}
		for _, f := range files {
			base := strings.TrimSuffix(filepath.Base(f), filepath.Ext(f))
			name := base
			for n := 2; taken[strings.ToLower(name)]; n++ {
				name = fmt.Sprintf("%s-%d", base, n)
			}
			taken[strings.ToLower(name)] = true
			out = append(out, filepath.Join(svg, name+".svg"))
		}
	}
	for _, f := range files {
		in, err := os.Stat(f)
		for _, name := range out {
			if !strings.EqualFold(filepath.Ext(name), ".svg") {
				continue // refused when it is written
			}
			if to, err2 := os.Stat(name); err == nil && err2 == nil && os.SameFile(in, to) {
				return nil, fmt.Errorf("%s would be written over by its picture; give another name", f)
			}
		}
	}
	return out, nil
}

// lookAt reads one drawing. An unreadable file is a finding like any other.
func (e *env) lookAt(file string, o drawing.Options) (seen, *drawing.Drawing) {
	s := seen{File: file, Layers: []seenLayer{}, Outlines: []seenOutline{}, Circles: []seenCircle{}, OpenEnds: []seenOpen{}, Findings: diag.List{},
		Entities: []drawing.Count{}, Skipped: []drawing.Count{}, Drills: []seenPoint{}, Texts: []seenText{}, Joining: seenJoining{Widest: []seenGap{}}}
	if f := mistaken(file, "drawing"); f != nil {
		s.Findings.Add(*f)
		return s, nil
	}
	src, err := e.readInput(file)
	if err != nil {
		s.Findings.Add(unreadable("drawing-missing", file, err))
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

func (s seen) print(w io.Writer) {
	units := s.Units
	if units == "" {
		units = "unknown"
	}
	if s.Said != "" && s.Said != s.Units {
		units += " (the file says " + s.Said + ")"
	}
	fmt.Fprintf(w, "%s: %s %s, units %s\n", s.File, s.Format, s.Version, units)
	what, unit := "mm", "mm"
	if s.Units == "" {
		what, unit = "drawing units", "units"
	}
	if s.Bounds != nil {
		fmt.Fprintf(w, "  size %.2f × %.2f %s, from (%.2f, %.2f) to (%.2f, %.2f)\n", s.Bounds[2]-s.Bounds[0], s.Bounds[3]-s.Bounds[1], what, s.Bounds[0], s.Bounds[1], s.Bounds[2], s.Bounds[3])
	}
	s.printRead(w)
	fmt.Fprintln(w, "  layers")
	for _, l := range s.Layers {
		fmt.Fprintf(w, "    %-24s colour %-3d %-12s outlines %d, open %d, points %d, not read %d\n", l.Name, l.Colour, l.State, l.Outlines, l.Open, l.Points, l.Hidden)
	}
	if len(s.Outlines) > 0 {
		fmt.Fprintf(w, "  outlines                     size %-6s          area %-7s  holes  inside radius  narrowest neck\n", unit, unit+"²")
	}
	for _, o := range s.Outlines {
		fmt.Fprintf(w, "    %-24s %8.2f × %-8.2f %10.1f  %5d  %13s  %14s\n", o.Layer, o.Size[0], o.Size[1], o.Area, o.Holes, lengthText(o.MinRadius), lengthText(o.Neck))
	}
	if len(s.Circles) > 0 {
		fmt.Fprintln(w, "  circles")
	}
	for _, c := range s.Circles {
		fmt.Fprintln(w, strings.TrimRight(fmt.Sprintf("    %-24s Ø %.3f %s × %d  %s", c.Layer, c.Diameter, unit, c.Count, c.Screw), " "))
	}
	s.printPlaces(w)
	for i, o := range s.OpenEnds {
		if i == mostShown {
			fmt.Fprintf(w, "  and %d more open chains\n", len(s.OpenEnds)-i)
			break
		}
		fmt.Fprintf(w, "  open on layer %s: (%.3f, %.3f) to (%.3f, %.3f), gap %.3f %s\n", o.Layer, o.Ends[0][0], o.Ends[0][1], o.Ends[1][0], o.Ends[1][1], o.Gap, unit)
	}
}

// printRead tells what was read and what became of it.
func (s seen) printRead(w io.Writer) {
	var kinds []string
	for _, c := range s.Entities {
		kinds = append(kinds, fmt.Sprintf("%d %s", c.N, c.Name))
	}
	if len(kinds) > 0 {
		fmt.Fprintf(w, "  entities  %s\n", strings.Join(kinds, ", "))
	}
	if c := s.Curves; c.Curves > 0 {
		fmt.Fprintf(w, "  curves    %d as %d arcs within %g mm; a polyline as near would take %d lines\n", c.Curves, c.Arcs, c.Tol, c.Lines)
	}
	if j := s.Joining; j.Gaps > 0 {
		var widths []string
		for i, g := range j.Widest {
			if i == 5 {
				widths = append(widths, "…")
				break
			}
			widths = append(widths, fmt.Sprintf("%.3g", g.Width))
		}
		fmt.Fprintf(w, "  gaps      %d closed: %s mm\n", j.Gaps, strings.Join(widths, ", "))
	}
}

// printPlaces tells of drill points and texts.
func (s seen) printPlaces(w io.Writer) {
	for i, p := range s.Drills {
		if i == mostShown {
			fmt.Fprintf(w, "  and %d more points\n", len(s.Drills)-i)
			break
		}
		fmt.Fprintf(w, "  point on layer %s: (%.3f, %.3f)\n", p.Layer, p.At[0], p.At[1])
	}
	for i, t := range s.Texts {
		if i == mostShown {
			fmt.Fprintf(w, "  and %d more texts\n", len(s.Texts)-i)
			break
		}
		fmt.Fprintf(w, "  text on layer %s: %q at (%.3f, %.3f)\n", t.Layer, t.Text, t.At[0], t.At[1])
	}
}

// mostShown is how many points, texts and open ends are printed; JSON holds all.
const mostShown = 20

func lengthText(v *float64) string {
	if v == nil {
		return "-"
	}
	return fmt.Sprintf("%.2f", *v)
}
