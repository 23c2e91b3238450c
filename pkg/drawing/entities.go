package drawing

import (
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// shape is a decoded entity in its own coordinates.
type shape struct {
	head
	kind   shapeKind
	face   facing
	line   int32
	closed bool
	p, q   geom.Point // centre, start; end, major axis
	r      float64    // radius; ratio of an ellipse
	a0, a1 float64    // deg for arcs, rad for ellipses
	poly   []geom.Vertex
	spline *spline
	insert *insert
	text   string
}

type shapeKind uint8

const (
	lineShape shapeKind = iota
	arcShape
	circleShape
	ellipseShape
	polyShape
	splineShape
	insertShape
	pointShape
	textShape
)

// ignored are the kinds that hold no outline: they are counted, and that is all.
var ignored = map[string]bool{
	"DIMENSION": true, "ARC_DIMENSION": true, "LARGE_RADIAL_DIMENSION": true, "LEADER": true,
	"MLEADER": true, "MULTILEADER": true, "TOLERANCE": true, "IMAGE": true, "WIPEOUT": true,
	"VIEWPORT": true, "OLEFRAME": true, "OLE2FRAME": true, "PDFUNDERLAY": true, "DWFUNDERLAY": true,
	"DGNUNDERLAY": true, "ATTDEF": true, "ATTRIB": true, "LIGHT": true, "SUN": true, "CAMERA": true,
	"ACAD_TABLE": true, "SECTION": true, "GEOPOSITIONMARKER": true,
}

// entity decodes one entity and keeps it.
func (b *builder) entity(r *record) {
	if b.inBlock == nil {
		tallied(b.kinds, r.kind)
	}
	var s shape
	ok := false
	switch r.kind {
	case "LINE":
		s, ok = b.lineEntity(r)
	case "ARC":
		s, ok = b.arcEntity(r, true)
	case "CIRCLE":
		s, ok = b.arcEntity(r, false)
	case "LWPOLYLINE":
		b.lwpolyline(r)
		return
	case "ELLIPSE":
		s, ok = b.ellipseEntity(r)
	case "SPLINE":
		s, ok = b.splineEntity(r)
	case "INSERT":
		s, ok = b.insertEntity(r)
	case "POINT":
		s, ok = b.pointEntity(r)
	case "SOLID", "TRACE":
		s, ok = b.solidEntity(r)
	case "TEXT", "MTEXT":
		s, ok = b.textEntity(r)
	case "HATCH":
		b.hatchEntity(r)
		return
	default:
		b.skip(r)
		return
	}
	if ok {
		b.keep(s)
	}
}

// skip counts an entity that is not read.
func (b *builder) skip(r *record) {
	h := b.newHead()
	for i := range r.tags {
		b.common(r, i, &h)
	}
	if !b.asked(&h, r.kind) {
		return
	}
	if b.inBlock == nil {
		tallied(b.skipped, safeKind(r.kind))
	}
	if ignored[r.kind] {
		b.remark("entity-ignored", diag.Note, h, r.kind, r.line, nil, "holds no outline and is not cut", "")
		return
	}
	b.remark("entity-unread", diag.Warn, h, r.kind, r.line, nil, "this kind of entity is not read",
		"explode it into lines, arcs or polylines if it belongs to an outline")
}

// asked tells whether an entity is wanted at all: its space, its own visibility
// and the layers asked for. What is not is counted on its layer.
func (b *builder) asked(h *head, kind string) bool {
	l := b.layers[h.layer]
	l.count(kind)
	if b.inBlock != nil {
		return true // decided when the block is inserted
	}
	switch {
	case h.flags&onPaper != 0 && !b.o.Paper:
		b.tally.hiddenPaper++
	case h.flags&invisible != 0 && !b.o.Hidden:
		b.tally.hiddenEntity++
	default:
		return l.want
	}
	l.Hidden++
	return false
}

// keep stores a shape in its block, puts it on the drawing, or keeps it for
// when units and blocks are known.
func (b *builder) keep(s shape) {
	if b.inBlock != nil {
		b.inBlock.shapes = append(b.inBlock.shapes, s)
		return
	}
	switch s.kind {
	case ellipseShape, splineShape, insertShape:
		b.later.add(s)
	default:
		b.put(&s, same, s.layer)
	}
}

// broken remarks that an entity lacks what it needs.
func (b *builder) broken(h head, r *record, why string) {
	b.remark("entity-broken", diag.Warn, h, r.kind, r.line, nil, why, "repair or delete the entity")
	if b.inBlock == nil {
		tallied(b.skipped, safeKind(r.kind))
	}
}

// aslant remarks that an entity does not lie flat.
func (b *builder) aslant(h head, r *record, why string) {
	b.remark("entity-not-flat", diag.Warn, h, r.kind, r.line, nil, why,
		"flatten the drawing to the XY plane")
	if b.inBlock == nil {
		tallied(b.skipped, safeKind(r.kind))
	}
}

const (
	whyTilted = "lies in a tilted plane and is not read"
	whyHeight = "its points differ in height and it is not read"
)

// flatTol is how far heights of one entity may differ, drawing units.
const flatTol = 1e-4

func (b *builder) lineEntity(r *record) (shape, bool) {
	h := b.newHead()
	s := shape{kind: lineShape, line: int32(r.line)}
	have := 0
	var z0, z1 float64
	for i := range r.tags {
		switch r.tags[i].code {
		case 10:
			s.p.X = r.num(i)
			have |= 1
		case 20:
			s.p.Y = r.num(i)
			have |= 2
		case 11:
			s.q.X = r.num(i)
			have |= 4
		case 21:
			s.q.Y = r.num(i)
			have |= 8
		case 30:
			z0 = r.num(i)
		case 31:
			z1 = r.num(i)
		default:
			b.common(r, i, &h)
		}
	}
	s.head = h // a LINE is stored in drawing coordinates, whatever its extrusion
	if !b.asked(&h, r.kind) {
		return s, false
	}
	if have != 15 || !finite(s.p) || !finite(s.q) {
		if r.cut {
			b.cut = r.kind
		}
		b.broken(h, r, "a coordinate is missing or no number")
		return s, false
	}
	if !(math.Abs(z0-z1) <= flatTol) {
		b.aslant(h, r, whyHeight)
		return s, false
	}
	return s, true
}

func (b *builder) arcEntity(r *record, arc bool) (shape, bool) {
	h := b.newHead()
	s := shape{kind: circleShape, line: int32(r.line)}
	have := 0
	for i := range r.tags {
		switch r.tags[i].code {
		case 10:
			s.p.X = r.num(i)
			have |= 1
		case 20:
			s.p.Y = r.num(i)
			have |= 2
		case 40:
			s.r = r.num(i)
			have |= 4
		case 50:
			s.a0 = r.num(i)
			have |= 8
		case 51:
			s.a1 = r.num(i)
			have |= 16
		default:
			b.common(r, i, &h)
		}
	}
	s.head, s.face = h, b.faces()
	if !b.asked(&h, r.kind) {
		return s, false
	}
	need := 7
	if arc {
		s.kind = arcShape
		need = 31
	}
	if have&need != need || !finite(s.p) || !finite(geom.Pt(s.a0, s.a1)) || math.IsNaN(s.r) {
		if r.cut {
			b.cut = r.kind
		}
		b.broken(h, r, "a value is missing or no number")
		return s, false
	}
	if !(s.r > 0 && s.r <= far) {
		b.broken(h, r, "its radius is not above zero")
		return s, false
	}
	if s.face == facesAslant {
		b.aslant(h, r, whyTilted)
		return s, false
	}
	if arc && math.Abs(s.a1-s.a0) < 1e-7 {
		// Start = end is nothing to cut: real frames hold such arcs, and a full
		// circle there would go through the edge of the part.
		b.tally.zero++
		b.remark("arc-without-sweep", diag.Warn, h, r.kind, r.line, &s.p,
			"start and end angle are the same, so there is nothing to cut", "draw a circle if one is meant")
		return s, false
	}
	return s, true
}

func (b *builder) pointEntity(r *record) (shape, bool) {
	h := b.newHead()
	s := shape{kind: pointShape, line: int32(r.line)}
	have := 0
	for i := range r.tags {
		switch r.tags[i].code {
		case 10:
			s.p.X = r.num(i)
			have |= 1
		case 20:
			s.p.Y = r.num(i)
			have |= 2
		default:
			b.common(r, i, &h)
		}
	}
	s.head = h
	if !b.asked(&h, r.kind) {
		return s, false
	}
	if have != 3 || !finite(s.p) {
		if r.cut {
			b.cut = r.kind
		}
		b.broken(h, r, "a coordinate is missing or no number")
		return s, false
	}
	return s, true
}

// solidEntity reads a filled triangle or quadrilateral as its outline. The
// corners are stored crosswise: 1, 2, 4, 3 is the way around.
func (b *builder) solidEntity(r *record) (shape, bool) {
	h := b.newHead()
	s := shape{kind: polyShape, line: int32(r.line), closed: true}
	var p [4]geom.Point
	have := 0
	for i := range r.tags {
		switch c := int(r.tags[i].code); {
		case c >= 10 && c <= 13:
			p[c-10].X = r.num(i)
			have |= 1 << (c - 10)
		case c >= 20 && c <= 23:
			p[c-20].Y = r.num(i)
			have |= 16 << (c - 20)
		default:
			b.common(r, i, &h)
		}
	}
	s.head, s.face = h, b.faces()
	if !b.asked(&h, r.kind) {
		return s, false
	}
	if have&0x88 == 0 {
		p[3] = p[2]
		have |= 0x88
	}
	if have != 255 || !finite(p[0]) || !finite(p[1]) || !finite(p[2]) || !finite(p[3]) {
		if r.cut {
			b.cut = r.kind
		}
		b.broken(h, r, "a corner is missing or no number")
		return s, false
	}
	if s.face == facesAslant {
		b.aslant(h, r, whyTilted)
		return s, false
	}
	for _, k := range []int{0, 1, 3, 2} {
		if n := len(s.poly); n == 0 || s.poly[n-1].Point != p[k] {
			s.poly = append(s.poly, geom.Vertex{Point: p[k]})
		}
	}
	return s, true
}

func (b *builder) textEntity(r *record) (shape, bool) {
	h := b.newHead()
	s := shape{kind: textShape, line: int32(r.line)}
	var raw []byte
	turned := false
	for i := range r.tags {
		switch r.tags[i].code {
		case 1, 3:
			raw = append(raw, r.bytes(i)...)
		case 10:
			s.p.X = r.num(i)
		case 20:
			s.p.Y = r.num(i)
		case 11: // of MTEXT: direction of its X axis
			if r.kind == "MTEXT" {
				s.q.X, turned = r.num(i), true
			}
		case 21:
			if r.kind == "MTEXT" {
				s.q.Y, turned = r.num(i), true
			}
		case 40:
			s.r = r.num(i)
		case 50:
			s.a0 = r.num(i)
		default:
			b.common(r, i, &h)
		}
	}
	s.head, s.face = h, b.faces()
	if turned && finite(s.q) {
		s.a0 = s.q.Angle() * 180 / math.Pi
	}
	if !b.asked(&h, r.kind) || !finite(s.p) || s.face == facesAslant || !finite(geom.Pt(s.r, s.a0)) {
		return s, false
	}
	s.text = b.text.decode(raw)
	if r.kind == "MTEXT" {
		s.text = plainMText(s.text)
	}
	s.text = oneLine(s.text)
	if n := len(b.labels); n >= 100_000 { // labels only inform
		return s, false
	}
	return s, true
}

// label keeps a text that the drawing shows.
func (b *builder) label(s *shape, m affine, layer int32) {
	dir := m.vector(geom.Polar(geom.Point{}, 1, s.a0*math.Pi/180))
	b.labels = append(b.labels, labelAt{m.apply(s.p), s.r * m.scale(), dir.Angle(), s.text, s.handle, layer})
}
