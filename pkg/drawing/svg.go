package drawing

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// ReadSVG reads the outlines of an SVG file through the same joining as DXF:
// path, rect, circle, ellipse, line, polyline, polygon, groups, use, transforms,
// viewBox and units. Y is turned up. The name of the nearest group (label, else
// id) is the layer. A file whose width carries a unit (mm, cm, in, pt, pc, Q) has
// units; one in bare numbers or pixels has none, since makers disagree whether a
// pixel is 1/96 or 1/72 inch or a millimetre: it gives units-unknown until
// Options.Units says what one user unit is ("px" = 1/96 inch).
func ReadSVG(r io.Reader, name string, o Options) (*Drawing, diag.List) {
	px := strings.EqualFold(strings.TrimSpace(o.Units), "px")
	if px {
		o.Units = ""
	}
	b := newBuilder(name, o.withDefaults())
	b.d.Format = "SVG"
	s := &svgReader{b: b, px: px, open: map[*svgNode]bool{}}
	root, err := s.parse(r)
	if err != nil || root == nil {
		s.unreadable(err)
		return b.d, b.found
	}
	s.root = root
	s.draw(root)
	s.rules.tell(b)
	b.finish()
	b.found = b.found.Sorted()
	b.d.found = b.found
	return b.d, b.found
}

type svgReader struct {
	b     *builder
	px    bool
	root  *svgNode
	ids   map[string]*svgNode // made when an element refers to another one
	rules svgRules
	open  map[*svgNode]bool // elements being drawn through use, to notice a cycle
}

// svgDepth bounds how deep elements may be nested.
const svgDepth = 200

var (
	errNotSVG   = errors.New("the file holds no svg element")
	errSVGDepth = errors.New("elements are nested too deep")
)

func (s *svgReader) unreadable(err error) {
	f := diag.Finding{Code: "drawing-broken", Severity: diag.Stop, Input: true, Subject: s.b.name,
		Help: "save the drawing as SVG again"}
	switch {
	case err == nil, errors.Is(err, errNotSVG):
		f.Code, f.Message = "drawing-not-svg", "this is no SVG file: it holds no svg element"
	case errors.Is(err, io.ErrUnexpectedEOF) || strings.Contains(err.Error(), "unexpected EOF"):
		f.Code, f.Message = "drawing-cut-off", "the file ends before its last element is closed"
	default:
		f.Message = "the XML cannot be read: " + oneLine(err.Error())
	}
	s.b.found.Add(f)
	s.b.d.found = s.b.found
}

// draw settles the units and puts everything on the drawing.
func (s *svgReader) draw(root *svgNode) {
	b := s.b
	w, wu := svgLength(root.get("width"))
	h, hu := svgLength(root.get("height"))
	box, hasBox := svgNumbers(root.get("viewBox"), 4)
	hasBox = hasBox && box[2] > 0 && box[3] > 0
	u, physical := unitNamed(wu)
	sx, sy := 1.0, 1.0 // mm or user units per user unit
	switch {
	case b.o.Units != "":
		b.settleUnits(-1, -1)
		if physical {
			b.d.Said = u.name
		}
	case s.px:
		b.d.Units, b.d.UnitsFrom, b.d.Scale, b.scale = "px", "override", 25.4/96, 25.4/96
	case physical && wu == hu && w > 0 && h > 0:
		b.d.Units, b.d.UnitsFrom, b.d.Said = u.name, "header", u.name
		b.scale = u.mm
		if hasBox {
			sx, sy = w/box[2], h/box[3]
			switch aspect := strings.TrimSpace(root.get("preserveAspectRatio")); {
			case strings.HasPrefix(aspect, "none"):
			case strings.HasSuffix(aspect, "slice"): // covers the picture, and is cut off by it
				sx = math.Max(sx, sy)
				sy = sx
			default:
				sx = math.Min(sx, sy)
				sy = sx
			}
		} else { // without a viewBox user units are pixels
			b.scale, b.d.Units = 25.4/96, "px"
			h *= u.mm / b.scale
		}
		b.d.Scale = b.scale * sx
	}
	height := h
	if hasBox {
		height = box[1] + box[3]
	}
	// Y up, the lower edge of the picture at 0.
	m := affine{a: sx, d: -sy, f: height * sy}
	if hasBox {
		m.e = -box[0] * sx
	}
	s.walk(root, m, b.layerZero, 0)
}

// svgLength reads a length and its unit, "" for bare numbers and pixels.
func svgLength(v string) (float64, string) {
	v = strings.TrimSpace(v)
	i := len(v)
	for i > 0 && (isLetter(v[i-1]) || v[i-1] == '%') {
		i--
	}
	f, ok := parseNumber([]byte(v[:i]))
	if !ok {
		return 0, ""
	}
	switch strings.ToLower(v[i:]) {
	case "mm":
		return f, "mm"
	case "cm":
		return f, "cm"
	case "in":
		return f, "inch"
	case "q":
		return f / 40, "cm"
	case "pt":
		return f / 72, "inch"
	case "pc":
		return f / 6, "inch"
	}
	return f, ""
}

func svgNumbers(v string, want int) ([]float64, bool) {
	p := svgPath{src: v}
	var out []float64
	for {
		f, ok := p.number()
		if !ok {
			break
		}
		out = append(out, f)
	}
	p.blank()
	return out, p.at >= len(v) && (want < 0 || len(out) == want)
}

func (s *svgReader) walk(n *svgNode, m affine, layer int32, uses int) {
	b := s.b
	if !b.spend(1) {
		return
	}
	h := b.newHead()
	h.layer = layer
	if t := n.get("transform"); t != "" {
		k, ok := svgTransform(t)
		if !ok {
			b.remark("entity-broken", diag.Warn, h, n.name, n.line, nil, "its transform cannot be read", "repair or flatten the transform")
			return
		}
		m = m.after(k)
	}
	if !m.finite() {
		b.remark("coordinate-absurd", diag.Warn, h, n.name, n.line, nil, "its transform is beyond any drawing", "flatten the transform")
		return
	}
	says := svgStyle(n.get("style"))
	if s.isHidden(n, says) && !b.o.Hidden {
		b.tally.hiddenEntity++
		b.layers[layer].Hidden++
		return
	}
	if says.moves {
		b.remark("entity-broken", diag.Warn, h, n.name, n.line, nil, "its style moves it, which is not read", "flatten the transforms where the picture was made")
		return
	}
	if n.name == "svg" && n != s.root && framed(n) {
		b.remark("entity-unread", diag.Warn, h, n.name, n.line, nil, "a picture within the picture is not read", "release it where the picture was made")
		return
	}
	switch n.name {
	case "g", "a", "switch", "svg":
		if id := n.get("label"); id != "" && n.name == "g" {
			layer = b.layerNamed(id)
		} else if id := n.get("id"); id != "" && n.name == "g" {
			layer = b.layerNamed(id)
		}
		for _, k := range n.kids {
			s.walk(k, m, layer, uses)
		}
	case "defs", "symbol":
	case "use":
		s.use(n, m, layer, uses)
	default:
		s.shape(n, m, layer)
	}
}

// note finds the elements by their ids; the first of two with one id counts.
func (s *svgReader) note(n *svgNode) {
	if id := n.get("id"); id != "" && s.ids[id] == nil {
		s.ids[id] = n
	}
	for _, k := range n.kids {
		s.note(k)
	}
}

func (s *svgReader) use(n *svgNode, m affine, layer int32, uses int) {
	h := s.b.newHead()
	h.layer = layer
	if s.ids == nil {
		s.ids = map[string]*svgNode{}
		s.note(s.root)
	}
	target := s.ids[strings.TrimPrefix(n.get("href"), "#")]
	if target == nil {
		s.b.remark("block-missing", diag.Warn, h, "use", n.line, nil, "what it refers to is not in the file", "break the link")
		return
	}
	if s.open[target] || uses > 32 {
		s.b.found.Add(diag.Finding{Code: "block-cycle", Severity: diag.Stop, Input: true, Subject: s.b.name,
			Message: fmt.Sprintf("element %q contains itself", safeKind(n.get("href"))),
			At:      []diag.Place{{File: s.b.name, Line: n.line}}, Help: "break the link"})
		s.b.budget = -1
		return
	}
	s.open[target] = true
	defer delete(s.open, target)
	x, _ := svgLength(n.get("x"))
	y, _ := svgLength(n.get("y"))
	m = m.after(shifting(geom.Pt(x, y)))
	if target.name == "symbol" {
		if target.get("viewBox") != "" {
			s.b.remark("entity-unread", diag.Warn, h, "use", n.line, nil, "its symbol has a frame of its own and is not read", "break the link")
			return
		}
		for _, k := range target.kids {
			s.walk(k, m, layer, uses+1)
		}
		return
	}
	s.walk(target, m, layer, uses+1)
}

// shape draws one element.
func (s *svgReader) shape(n *svgNode, m affine, layer int32) {
	b := s.b
	tallied(b.kinds, n.name)
	b.layers[layer].count(n.name)
	if !b.layers[layer].want {
		return
	}
	h := b.newHead()
	h.layer = layer
	broken := func(why string) {
		tallied(b.skipped, n.name)
		b.remark("entity-broken", diag.Warn, h, n.name, n.line, nil, why, "repair or delete the element")
	}
	length := func(key string) float64 {
		v := n.get(key)
		if v == "" {
			return 0
		}
		f, unit := svgLength(v)
		if unit != "" || strings.HasSuffix(v, "%") {
			return math.NaN()
		}
		return f
	}
	sh := shape{head: h, line: int32(n.line)}
	p := svgPath{m: m, tol: b.curveTol(), limit: max(b.budget, 0), put: func(segs []geom.Seg, closed bool) {
		b.begin(&sh, layer)
		b.fit(segs)
		b.end(closed)
		b.spend(len(segs))
	}}
	switch n.name {
	case "path":
		p.src = n.get("d")
	case "polyline", "polygon", "line":
		pts, ok := svgNumbers(n.get("points"), -1)
		if n.name == "line" {
			pts, ok = []float64{length("x1"), length("y1"), length("x2"), length("y2")}, true
		}
		if !ok || len(pts)%2 != 0 || len(pts) < 4 {
			broken("its points cannot be read")
			return
		}
		p.pos = geom.Pt(pts[0], pts[1])
		p.start = p.pos
		for i := 2; i < len(pts); i += 2 {
			q := geom.Pt(pts[i], pts[i+1])
			if !finite(p.pos) || !finite(q) {
				broken("a coordinate is no plain number")
				return
			}
			p.line(q)
		}
		if n.name == "polygon" {
			p.line(p.start)
		}
		p.flush(n.name == "polygon")
		return
	case "rect":
		x, y, w, d := length("x"), length("y"), length("width"), length("height")
		rx, ry := length("rx"), length("ry")
		if n.get("rx") == "" {
			rx = ry
		}
		if n.get("ry") == "" {
			ry = rx
		}
		rx, ry = math.Min(rx, w/2), math.Min(ry, d/2)
		if !(w > 0 && d > 0 && rx >= 0 && ry >= 0) || !finite(geom.Pt(x, y)) || !finite(geom.Pt(w, d)) {
			broken("its size is no plain number above zero")
			return
		}
		p.src = svgRect(x, y, w, d, rx, ry)
	case "circle", "ellipse":
		x, y, rx, ry := length("cx"), length("cy"), length("rx"), length("ry")
		if n.name == "circle" {
			rx = length("r")
			ry = rx
		}
		if !(rx > 0 && ry > 0) || !finite(geom.Pt(x, y)) || !finite(geom.Pt(rx, ry)) {
			broken("its radius is no plain number above zero")
			return
		}
		e := ellipseCurve{m.apply(geom.Pt(x, y)), m.vector(geom.Pt(rx, 0)), m.vector(geom.Pt(0, ry))}
		b.begin(&sh, layer)
		if rx == ry && m.similar() {
			b.roundEllipse(e, 0, 2*math.Pi, true)
		} else {
			segs := e.segments(0, 2*math.Pi, b.curveTol())
			segs[len(segs)-1].B = segs[0].A
			b.fit(segs)
		}
		b.end(true)
		return
	}
	if err := p.read(); err != nil {
		broken("its path cannot be read: " + err.Error())
	}
}

// svgRect spells a rectangle as path data.
func svgRect(x, y, w, h, rx, ry float64) string {
	if rx == 0 || ry == 0 {
		return fmt.Sprintf("M%v %v h%v v%v h%v z", x, y, w, h, -w)
	}
	arc := func(dx, dy float64) string { return fmt.Sprintf("a%v %v 0 0 1 %v %v", rx, ry, dx, dy) }
	return fmt.Sprintf("M%v %v h%v %s v%v %s h%v %s v%v %s z", x+rx, y, w-2*rx, arc(rx, ry), h-2*ry, arc(-rx, ry),
		-(w - 2*rx), arc(-rx, -ry), -(h - 2*ry), arc(rx, -ry))
}

// svgTransform reads a list of transforms.
func svgTransform(v string) (affine, bool) {
	m := same
	for {
		v = strings.TrimLeft(v, " ,\t\r\n")
		if v == "" {
			return m, true
		}
		open, end := strings.IndexByte(v, '('), strings.IndexByte(v, ')')
		if open < 0 || end < open {
			return m, false
		}
		f, ok := svgNumbers(v[open+1:end], -1)
		if !ok {
			return m, false
		}
		var k affine
		switch name := strings.TrimSpace(v[:open]); {
		case name == "matrix" && len(f) == 6:
			k = affine{f[0], f[1], f[2], f[3], f[4], f[5]}
		case name == "translate" && len(f) == 1:
			k = shifting(geom.Pt(f[0], 0))
		case name == "translate" && len(f) == 2:
			k = shifting(geom.Pt(f[0], f[1]))
		case name == "scale" && len(f) == 1:
			k = scaling(f[0], f[0])
		case name == "scale" && len(f) == 2:
			k = scaling(f[0], f[1])
		case name == "rotate" && len(f) == 1:
			k = turning(f[0])
		case name == "rotate" && len(f) == 3:
			c := geom.Pt(f[1], f[2])
			k = shifting(c).after(turning(f[0])).after(shifting(c.Mul(-1)))
		case name == "skewX" && len(f) == 1:
			k = affine{a: 1, c: math.Tan(f[0] * math.Pi / 180), d: 1}
		case name == "skewY" && len(f) == 1:
			k = affine{a: 1, b: math.Tan(f[0] * math.Pi / 180), d: 1}
		default:
			return m, false
		}
		m = m.after(k)
		v = v[end+1:]
	}
}
