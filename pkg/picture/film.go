package picture

import (
	"bytes"
	"compress/gzip"
	_ "embed"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"html"
	"math"
	"strings"

	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
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

// packed is head, columns of numbers and program text, compressed, in base64.
func (s Scene) packed(rs []run) (string, error) {
	head, err := json.Marshal(s.filmHead(rs))
	if err != nil {
		return "", fmt.Errorf("film: %w", err)
	}
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		return "", fmt.Errorf("film: %w", err)
	}
	var w bytes.Buffer
	for len(head)%4 != 0 { // columns of four bytes start on a multiple of four
		head = append(head, ' ')
	}
	_ = binary.Write(&w, binary.LittleEndian, uint32(len(head))) // a Buffer does not fail
	w.Write(head)
	for _, c := range s.columns(rs) {
		_ = binary.Write(&w, binary.LittleEndian, c)
	}
	for i, p := range s.Programs {
		if i > 0 {
			w.WriteByte('\f')
		}
		w.Write(bytes.ReplaceAll(p.Text, []byte("\r"), nil))
	}
	if _, err := z.Write(w.Bytes()); err != nil {
		return "", fmt.Errorf("film: %w", err)
	}
	if err := z.Close(); err != nil {
		return "", fmt.Errorf("film: %w", err)
	}
	return base64.StdEncoding.EncodeToString(b.Bytes()), nil
}

// columns are the moves, one slice of numbers a property, in the order in which
// the script reads them.
func (s Scene) columns(rs []run) []any {
	var f [11][]float32
	var line, tool, flags []int32
	clock := 0.0
	for i, r := range rs {
		for _, m := range r.moves {
			sweep := m.seg.Sweep()
			if m.whole {
				sweep = 2 * math.Pi
				if !m.ccw {
					sweep = -sweep
				}
			}
			clock += s.seconds(m)
			for k, v := range [11]float64{m.seg.A.X, m.seg.A.Y, m.z0, m.seg.B.X, m.seg.B.Y, m.z1, m.center.X, m.center.Y, sweep, m.deepest(), clock} {
				f[k] = append(f[k], float32(v))
			}
			bits := int32(i) << 8
			if m.rapid {
				bits |= 1
			}
			if sweep != 0 {
				bits |= 2
			}
			line, tool, flags = append(line, int32(m.line)), append(tool, int32(max(0, m.cutter))), append(flags, bits)
		}
	}
	out := make([]any, 0, 14)
	for _, c := range f {
		out = append(out, c)
	}
	return append(out, line, tool, flags)
}

// seconds is the time of a move at its programmed speed; the range with
// acceleration stands in the certificate.
func (s Scene) seconds(m step) float64 {
	l := 0.0
	for _, e := range m.segs() {
		l += e.Length()
	}
	l = math.Hypot(l, m.z1-m.z0)
	v := m.feed
	if m.rapid {
		v = s.Work.Machine.RapidXY
		if m.seg.A == m.seg.B {
			v = s.Work.Machine.RapidZ
		}
	}
	if v <= 0 {
		return 0
	}
	return l / v * 60
}

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
		if m, ok := smallestMargin(c); ok {
			h.Least = fmt.Sprintf("smallest margin %.2f mm to %s, %.2f mm needed, %s:%d", m.MarginMM, m.Member, m.NeededMM, m.File, m.Line)
		}
	}
	return h
}

func filmCutterOf(c shop.Cutter, holder shop.Holder) filmCutter {
	f := filmCutter{Name: c.Name, Diameter: c.Diameter, Flute: c.FluteLength, Shank: c.Shank, StickOut: c.StickOut, Holder: [][2]float64{}}
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
