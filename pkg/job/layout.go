package job

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"sparclear/pkg/diag"
	"sparclear/pkg/drawing"
	"sparclear/pkg/geom"
	"sparclear/pkg/picture"
)

// layoutFile is a file of placements: what nest writes and a job can name, after
// a person has edited it or not.
type layoutFile struct {
	Places []place `toml:"place"`
}

// place is one copy of a part; X and Y are where the origin of its drawing goes,
// from the zero of the sheet: its lower left corner, or that of its drawing.
type place struct {
	Part    string  `toml:"part"`
	Sheet   string  `toml:"sheet"` // absent: the first that the part may be cut from
	Piece   int     `toml:"piece"` // of that sheet, from 1; absent: the first
	X       float64 `toml:"x_mm"`
	Y       float64 `toml:"y_mm"`
	TurnDeg float64 `toml:"turn_deg"`
	Flipped bool    `toml:"flipped"`
}

// readLayout reads the file of placements, by name of part, in program coordinates.
func (s *state) readLayout() (map[string][]placement, bool) {
	name := s.file.Layout
	if name == "" {
		return nil, true
	}
	src, err := s.readFile("layout", name)
	if err != nil {
		s.stop("layout", "layout-missing", fmt.Sprintf("cannot read layout %q: %s", name, plainError(err)), "run sparclear nest to make one, or leave layout out")
		return nil, false
	}
	broken := func(help, format string, a ...any) (map[string][]placement, bool) {
		s.stop("layout", "layout-broken", fmt.Sprintf("layout %q: ", name)+fmt.Sprintf(format, a...), help)
		return nil, false
	}
	var f layoutFile
	dec := toml.NewDecoder(bytes.NewReader(src))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&f); err != nil {
		return broken("mend the file; each [[place]] has part, x_mm, y_mm and turn_deg", "%s", oneLine(err.Error()))
	}
	out := map[string][]placement{}
	parts := map[string]int{}
	var names []string
	for i, p := range s.file.Parts {
		names = append(names, p.Name)
		parts[p.Name] = i
	}
	for _, p := range f.Places {
		i, ok := parts[p.Part]
		if !ok {
			return broken(diag.DidYouMean(p.Part, names), "it places %q, which the job does not make", p.Part)
		}
		at := piece{sheet: s.allowed[i][0], no: max(p.Piece, 1) - 1}
		if p.Sheet != "" {
			if at.sheet = s.sheetNamed(p.Sheet); at.sheet < 0 {
				return broken("name a sheet of the job, or leave sheet out", "it names sheet %q, which the job does not have", p.Sheet)
			}
		}
		if !hasInt(s.allowed[i], at.sheet) {
			return broken("move it to a sheet of its thickness and material", "%s may not be cut from %s", p.Part, s.blanks[at.sheet].name)
		}
		for _, v := range []float64{p.X, p.Y, p.TurnDeg} {
			if math.IsNaN(v) || math.IsInf(v, 0) || math.Abs(v) > 1e6 {
				return broken("give the place in mm and the turn in degrees", "the place of %s is %g", p.Part, v)
			}
		}
		t := geom.Rigid{Turn: p.TurnDeg * math.Pi / 180, Mirror: p.Flipped, Shift: geom.Pt(p.X, p.Y).Add(s.sheetAt(s.file.Sheets[at.sheet]))}
		out[p.Part] = append(out[p.Part], placement{at: at, frame: t, byHand: true})
	}
	return out, true
}

func (s *state) sheetNamed(name string) int {
	for i, b := range s.blanks {
		if b.name == name {
			return i
		}
	}
	return -1
}

func hasInt(l []int, v int) bool {
	for _, x := range l {
		if x == v {
			return true
		}
	}
	return false
}

// LayoutFiles renders the placements of a resolved sheet job: layout.toml, which
// the job can name; for every sheet layout.dxf with the outlines where they lie,
// layout.svg and labels.pdf; and what is left of the sheets, as drawings that can
// be the next job's sheets, with remnants.toml that holds their tables.
func LayoutFiles(r *Result) ([]Output, diag.List) {
	if r.Work == nil || !r.Work.Sheet {
		return nil, diag.List{{Code: "not-a-sheet-job", Severity: diag.Stop, Input: true, Message: "the job has no sheet, so there is nothing to place", Help: "nest is for jobs with [[sheet]] and [[part]]"}}
	}
	outs := []Output{{"layout.toml", layoutText(r)}}
	for _, p := range r.Pieces() {
		l := drawing.Layout{}
		for _, g := range p.Work.Stock {
			l.Add("SHEET", g)
		}
		for _, m := range p.Work.Members {
			for _, g := range m.Footprint {
				l.Add("FLAWS", g)
			}
		}
		for _, q := range p.Work.Parts {
			l.Add("PARTS", q.Region)
		}
		dxf, err := dxfOf(l)
		if err != nil {
			return nil, layoutFailed("the layout cannot be written as DXF", err)
		}
		if p.Remnants == nil {
			p.findRemnants()
		}
		svg, err := picture.Plan(p.Scene())
		if err != nil {
			return nil, layoutFailed("the layout cannot be drawn", err)
		}
		outs = append(outs, Output{"layout" + p.suffix + ".dxf", dxf}, Output{"layout" + p.suffix + ".svg", svg})
	}
	more, l := stockFiles(r)
	return append(outs, more...), l
}

func layoutFailed(what string, err error) diag.List {
	return diag.List{{Code: "layout-failed", Severity: diag.Stop, Message: what + ": " + err.Error(), Help: "report the job"}}
}

func dxfOf(l drawing.Layout) ([]byte, error) {
	var b bytes.Buffer
	err := drawing.Write(&b, l)
	return b.Bytes(), err
}

// layoutText is layout.toml.
func layoutText(r *Result) []byte {
	var b strings.Builder
	b.WriteString("# Placements: where the zero of each part's drawing goes, mm from the zero of the sheet\n# (its lower left corner, or the zero of its drawing), and its turn, counter-clockwise.\n# Name this file in the job by layout = \"…\"; what is changed here is checked and proven\n# like anything else. A place that is taken out is sought again.\n")
	for _, p := range r.Pieces() {
		w := p.Work
		at := (&state{}).sheetAt(r.Job.Sheets[p.sheet])
		for _, q := range w.Parts {
			shift := q.Frame.Shift.Sub(at)
			fmt.Fprintf(&b, "\n[[place]]\npart = %q\n", q.Kind)
			if len(r.Job.Sheets) > 1 || w.Blank.Piece > 1 {
				fmt.Fprintf(&b, "sheet = %q\n", w.Blank.Name)
			}
			if w.Blank.Piece > 1 {
				fmt.Fprintf(&b, "piece = %d\n", w.Blank.Piece)
			}
			fmt.Fprintf(&b, "x_mm = %s\ny_mm = %s\nturn_deg = %s\n", figure(shift.X, 6), figure(shift.Y, 6), figure(wholeTurn(q.Frame.Turn*180/math.Pi), 9))
			if q.Frame.Mirror {
				b.WriteString("flipped = true\n")
			}
		}
	}
	return []byte(b.String())
}

// wholeTurn brings degrees into [0, 360).
func wholeTurn(deg float64) float64 {
	if deg = math.Mod(deg, 360); deg < 0 {
		deg += 360
	}
	return deg
}

// figure writes a number with at most so many decimals, and at least one, as TOML
// wants it.
func figure(v float64, decimals int) string {
	s := strings.TrimRight(strconv.FormatFloat(v, 'f', decimals, 64), "0")
	if strings.HasSuffix(s, ".") {
		s += "0"
	}
	if s == "-0.0" {
		s = "0.0"
	}
	return s
}
