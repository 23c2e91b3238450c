package picture

import (
	_ "embed"
	"fmt"
	"html"
	"math"
	"slices"
	"strings"

	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/rs274"
	"sparclear/pkg/shop"
)

//go:embed film.html
var filmPage string

//go:embed film.js
var filmScript string

// Film returns one HTML file, no network, in which the operator scrubs through
// the programs and sees cutter and holder beside the members in plan and section.
func Film(s Scene) ([]byte, error) {
	rs, err := s.runs()
	if err != nil {
		return nil, err
	}
	data, err := s.packed(rs)
	if err != nil {
		return nil, err
	}
	page := strings.NewReplacer("{{TITLE}}", html.EscapeString(s.Work.Title), "{{DATA}}", data, "{{SCRIPT}}", filmScript).Replace(filmPage)
	return []byte(page), nil
}

type filmHead struct {
	Moves     int           `json:"moves"`
	Window    [4]float64    `json:"window"`
	Safe      float64       `json:"safe"`
	Thickness float64       `json:"thickness"`
	Floor     float64       `json:"floor"` // 0: none
	Deepest   float64       `json:"deepest"`
	Depths    []string      `json:"depths"`
	Skin      filmSkin      `json:"skin"`
	Cutters   []filmCutter  `json:"cutters"`
	Members   []filmMember  `json:"members"`
	Outlines  [][][]float64 `json:"outlines"`
	Stock     [][][]float64 `json:"stock"`
	Proven    string        `json:"proven"`
	Least     string        `json:"least"`
	Time      [2]float64    `json:"time"` // s, lowest and highest of the certificate
	Margins   []filmMargin  `json:"margins"`
	Stops     []filmStop    `json:"stops"`
}

// filmMargin is a figure of the certificate and the move where it occurs, -1 for
// none.
type filmMargin struct {
	Check  string  `json:"check"`
	Member string  `json:"member"`
	Margin float64 `json:"margin"`
	Needed float64 `json:"needed"`
	Where  string  `json:"where"`
	Move   int     `json:"move"`
}

// filmStop is a place where the machine waits for the operator.
type filmStop struct {
	Move int    `json:"move"`
	Text string `json:"text"`
}

type filmSkin struct {
	X0 float64   `json:"x0"`
	Y0 float64   `json:"y0"`
	DX float64   `json:"dx"`
	DY float64   `json:"dy"`
	NX int       `json:"nx"`
	NY int       `json:"ny"`
	Z  []float64 `json:"z"`
}

type filmCutter struct {
	Name     string       `json:"name"`
	Number   int          `json:"number"`
	Diameter float64      `json:"diameter"`
	Flute    float64      `json:"flute"`
	Shank    float64      `json:"shank"`
	StickOut float64      `json:"stickout"`
	Point    float64      `json:"point"` // length of a drill or vee point
	Holder   [][2]float64 `json:"holder"`
}

type filmMember struct {
	Name   string      `json:"name"`
	Clamp  bool        `json:"clamp"`
	Rings  [][]float64 `json:"rings"`
	From   float64     `json:"from"`
	To     float64     `json:"to"`
	Needed float64     `json:"needed"`
	Label  [2]float64  `json:"label"`
}

// chordTol is how far a drawn ring may lie from its arc, mm: under a pixel.
const chordTol = 0.02

func (s Scene) filmHead(rs []run) filmHead {
	b := s.window(rs)
	h := filmHead{Window: [4]float64{b.Min.X, b.Min.Y, b.Max.X, b.Max.Y}, Safe: s.Work.SafeZ, Thickness: s.Work.Thickness,
		Deepest: math.Max(deepestOf(rs), 0.1), Skin: s.filmSkin(b.Grow(20)), Outlines: [][][]float64{}, Stock: [][][]float64{}, Members: []filmMember{}}
	for _, r := range rs {
		h.Moves += len(r.moves)
	}
	if !math.IsInf(s.Work.Floor, 0) {
		h.Floor = s.Work.Floor
	}
	for i := range depthSteps {
		c := depthColour((float64(i) + 0.5) / depthSteps)
		h.Depths = append(h.Depths, fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B))
	}
	for _, c := range s.Work.Cutters {
		h.Cutters = append(h.Cutters, filmCutterOf(c, s.Work.Machine.Holder))
	}
	for _, m := range s.Work.Members {
		h.Members = append(h.Members, s.filmMember(m, false))
	}
	for _, m := range s.Work.Clamps {
		h.Members = append(h.Members, s.filmMember(m, true))
	}
	for _, c := range s.Work.Cuts {
		for _, g := range c.Regions {
			h.Outlines = append(h.Outlines, rings(g.Contours()))
		}
	}
	for _, g := range s.Work.Stock {
		h.Stock = append(h.Stock, rings(g.Contours()))
	}
	h.Proven = "not proven"
	if c := s.Certificate; c != nil {
		if c.OK {
			h.Proven = "proven against the job; what was not checked stands on the run sheet"
		}
		for _, p := range c.Programs {
			h.Time[0] += p.TimeS[0]
			h.Time[1] += p.TimeS[1]
		}
		m, ok := s.tightest(s.Work.Members)
		if !ok {
			m, ok = s.tightest(s.Work.Clamps)
		}
		if ok {
			h.Least = fmt.Sprintf("closest: %.2f mm to %s, %.2f mm needed, %s:%d", m.MarginMM, m.Member, m.NeededMM, m.File, m.Line)
		}
	}
	h.Margins, h.Stops = s.filmMargins(rs), filmStops(rs)
	return h
}

func (s Scene) filmMargins(rs []run) []filmMargin {
	out := []filmMargin{}
	if s.Certificate == nil {
		return out
	}
	for _, m := range s.Certificate.Margins {
		f := filmMargin{Check: m.Check, Member: m.Member, Margin: m.MarginMM, Needed: m.NeededMM, Move: -1}
		first := 0
		for _, r := range rs {
			if r.file == m.File && m.Line > 0 {
				f.Where = fmt.Sprintf("%s:%d", m.File, m.Line)
				if i := slices.IndexFunc(r.moves, func(x step) bool { return x.line == m.Line }); i >= 0 {
					f.Move = first + i
				}
			}
			first += len(r.moves)
		}
		out = append(out, f)
	}
	return out
}

// filmStops are pauses and changes of cutter, with the message before them.
func filmStops(rs []run) []filmStop {
	out, first := []filmStop{}, 0
	for _, r := range rs {
		text := ""
		for _, e := range r.play.Events {
			switch e.Kind {
			case rs274.Message:
				text = e.Text
			case rs274.Pause, rs274.ToolChange:
				if text == "" {
					text = fmt.Sprintf("line %d: the machine waits", e.Line)
				}
				out = append(out, filmStop{Move: first + int(e.Before), Text: text})
				text = ""
			}
		}
		first += len(r.moves)
	}
	return out
}

func filmCutterOf(c shop.Cutter, holder shop.Holder) filmCutter {
	f := filmCutter{Name: c.Name, Number: c.Number, Diameter: c.Diameter, Flute: c.FluteLength, Shank: c.Shank, StickOut: c.StickOut, Holder: [][2]float64{}}
	if c.PointAngle > 0 {
		f.Point = c.Radius() / math.Tan(c.PointAngle/2)
	}
	for _, x := range holder {
		f.Holder = append(f.Holder, [2]float64{x.Diameter, x.Length})
	}
	return f
}

func (s Scene) filmMember(m keepout.Volume, clamp bool) filmMember {
	f := filmMember{Name: m.Name, Clamp: clamp, From: m.From, To: math.Min(m.To, 1000), Needed: s.needed(m), Rings: [][]float64{}}
	for _, g := range m.Footprint {
		f.Rings = append(f.Rings, rings(g.Contours())...)
	}
	c := m.Bounds().Center()
	f.Label = [2]float64{c.X, c.Y}
	return f
}

// rings flattens contours for drawing: x and y in turn, rounded to 1 µm.
func rings(cs []geom.Contour) [][]float64 {
	out := [][]float64{}
	for _, c := range cs {
		r := []float64{}
		for i := range c {
			e := c.Seg(i)
			n := 1
			if !e.IsLine() {
				n = 1 + int(math.Abs(e.Sweep())/(2*math.Acos(1-math.Min(1, chordTol/e.Radius()))))
			}
			for k := range n {
				q := e.At(float64(k) / float64(n))
				r = append(r, math.Round(q.X*1000)/1000, math.Round(q.Y*1000)/1000)
			}
		}
		out = append(out, r)
	}
	return out
}

// filmSkin samples the model for the picture.
func (s Scene) filmSkin(b geom.Box) filmSkin {
	n := 41
	if s.Work.Skin.Flat() {
		n = 2
	}
	size := b.Size()
	g := filmSkin{X0: b.Min.X, Y0: b.Min.Y, DX: size.X / float64(n-1), DY: size.Y / float64(n-1), NX: n, NY: n}
	for j := range n {
		for i := range n {
			h := s.Work.Skin.Height(geom.Pt(g.X0+float64(i)*g.DX, g.Y0+float64(j)*g.DY))
			g.Z = append(g.Z, math.Round(h*1e4)/1e4)
		}
	}
	return g
}
