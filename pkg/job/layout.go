package job

import (
	"bytes"
	"fmt"
	"math"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"sparclear/pkg/diag"
	"sparclear/pkg/drawing"
	"sparclear/pkg/geom"
	"sparclear/pkg/nest"
	"sparclear/pkg/picture"
)

// layoutFile is a file of placements: what nest writes and a job can name, after
// a person has edited it or not.
type layoutFile struct {
	Places []place `toml:"place"`
}

// place is one copy of a part; X and Y are where the origin of its drawing goes,
// from the lower left corner of the sheet.
type place struct {
	Part    string  `toml:"part"`
	X       float64 `toml:"x_mm"`
	Y       float64 `toml:"y_mm"`
	TurnDeg float64 `toml:"turn_deg"`
	Flipped bool    `toml:"flipped"`
}

// readLayout reads the file of placements, by name of part, in program coordinates.
func (s *state) readLayout() (map[string][]geom.Rigid, bool) {
	name := s.file.Layout
	if name == "" {
		return nil, true
	}
	src, err := s.readFile("layout", name)
	if err != nil {
		s.stop("layout", "layout-missing", fmt.Sprintf("cannot read layout %q: %s", name, plainError(err)), "run sparclear nest to make one, or leave layout out")
		return nil, false
	}
	var f layoutFile
	dec := toml.NewDecoder(bytes.NewReader(src))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&f); err != nil {
		s.stop("layout", "layout-broken", fmt.Sprintf("layout %q: %s", name, oneLine(err.Error())), "mend the file; each [[place]] has part, x_mm, y_mm and turn_deg")
		return nil, false
	}
	out := map[string][]geom.Rigid{}
	var names []string
	for _, p := range s.file.Parts {
		names = append(names, p.Name)
	}
	for _, p := range f.Places {
		if !has(names, p.Part) {
			s.stop("layout", "layout-broken", fmt.Sprintf("layout %q places %q, which the job does not make", name, p.Part), diag.DidYouMean(p.Part, names))
			return nil, false
		}
		t := geom.Rigid{Turn: p.TurnDeg * math.Pi / 180, Mirror: p.Flipped, Shift: geom.Pt(p.X, p.Y).Add(s.sheetAt(s.file.Sheets[s.sheet]))}
		out[p.Part] = append(out[p.Part], t)
	}
	return out, true
}

// LayoutFiles renders the placements of a resolved sheet job: layout.toml, which
// the job can name, and layout.dxf with the outlines where they lie; remnant.dxf
// when something useful is left over.
func LayoutFiles(r *Result) ([]Output, diag.List) {
	if r.Work == nil || !r.Work.Sheet {
		return nil, diag.List{{Code: "not-a-sheet-job", Severity: diag.Stop, Input: true, Message: "the job has no sheet, so there is nothing to place", Help: "nest is for jobs with [[sheet]] and [[part]]"}}
	}
	at := (&state{}).sheetAt(r.Job.Sheets[r.Sheet])
	var b strings.Builder
	b.WriteString("# Placements, mm from the lower left corner of the sheet. Name this file in the job\n# by layout = \"…\"; what is changed here is checked and proven like anything else.\n")
	l := drawing.Layout{}
	for _, g := range r.Work.Stock {
		l.Add("SHEET", g)
	}
	for _, p := range r.Work.Parts {
		shift := p.Frame.Shift.Sub(at)
		fmt.Fprintf(&b, "\n[[place]]\npart = %q\nx_mm = %.4f\ny_mm = %.4f\nturn_deg = %.6f\n", partName(p.Name), shift.X, shift.Y, p.Frame.Turn*180/math.Pi)
		if p.Frame.Mirror {
			b.WriteString("flipped = true\n")
		}
		l.Add("PARTS", p.Region)
	}
	outs := []Output{{"layout.toml", []byte(b.String())}}
	var dxf bytes.Buffer
	if err := drawing.Write(&dxf, l); err != nil {
		return nil, diag.List{{Code: "layout-failed", Severity: diag.Stop, Message: "the layout cannot be written as DXF: " + err.Error(), Help: "report the job"}}
	}
	outs = append(outs, Output{"layout.dxf", dxf.Bytes()})
	svg, err := picture.Plan(r.Scene())
	if err != nil {
		return nil, diag.List{{Code: "picture-failed", Severity: diag.Stop, Message: "the layout cannot be drawn: " + err.Error(), Help: "report the job"}}
	}
	outs = append(outs, Output{"layout.svg", svg})
	if rest := remnant(r.Layout); len(rest) > 0 {
		l := drawing.Layout{}
		for _, g := range rest {
			l.Add("SHEET", g)
		}
		var dxf bytes.Buffer
		if err := drawing.Write(&dxf, l); err != nil {
			return nil, diag.List{{Code: "layout-failed", Severity: diag.Stop, Message: "the remnant cannot be written as DXF: " + err.Error(), Help: "report the job"}}
		}
		outs = append(outs, Output{"remnant.dxf", dxf.Bytes()})
	}
	return outs, nil
}

// partName takes the number of the copy off.
func partName(name string) string { return name[:strings.LastIndexByte(name, ' ')] }

func remnant(l *nest.Layout) []geom.Region {
	if l == nil {
		return nil
	}
	var out []geom.Region
	for _, u := range l.Used {
		out = append(out, u.Remnant...)
	}
	return out
}
