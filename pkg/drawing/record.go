package drawing

import (
	"math"
	"strconv"

	"sparclear/pkg/geom"
)

// record is one entity or table entry as its groups stand in the file. It is
// used again for the next one, so that reading does not allocate per entity.
type record struct {
	kind  string
	line  int
	tags  []recordTag
	arena []byte
	cut   bool // the file ended inside it
}

// recordTag is a group: coordinates and the like as numbers at once, everything
// else as the bytes from off.
type recordTag struct {
	num  float64
	off  uint32
	n    uint32
	code int16
	kind tagKind
}

func (r *record) reset(kind string, line int) {
	r.kind, r.line, r.cut = kind, line, false
	r.tags, r.arena = r.tags[:0], r.arena[:0]
}

func (r *record) add(t tag) {
	g := recordTag{code: int16(t.code), kind: asNumber, num: t.num}
	switch {
	case t.kind == asNumber:
	case t.code >= 10 && t.code < 60:
		var ok bool
		if g.num, ok = parseNumber(t.text); !ok {
			g.num = math.NaN()
		}
	default:
		g.kind, g.off, g.n = asText, uint32(len(r.arena)), uint32(len(t.text))
		r.arena = append(r.arena, t.text...)
	}
	r.tags = append(r.tags, g)
}

// bytes returns the value of group i as written.
func (r *record) bytes(i int) []byte {
	t := r.tags[i]
	return r.arena[t.off : t.off+t.n]
}

// num returns the value of group i as a number. What is no finite number is
// NaN, which no geometry survives: see finite.
func (r *record) num(i int) float64 {
	t := &r.tags[i]
	if t.kind == asNumber {
		if math.IsInf(t.num, 0) {
			return math.NaN()
		}
		return t.num
	}
	f, ok := parseNumber(r.arena[t.off : t.off+t.n])
	if !ok {
		return math.NaN()
	}
	return f
}

// integer returns the value of group i as an integer, def when it is none.
func (r *record) integer(i, def int) int {
	f := r.num(i)
	if f != math.Trunc(f) || math.Abs(f) > 1<<52 { // also NaN
		return def
	}
	return int(f)
}

// head is what every entity may carry (DXF reference, "Common Group Codes").
type head struct {
	layer  int32
	handle uint64
	flags  headFlags
}

type headFlags uint8

const (
	onPaper headFlags = 1 << iota
	invisible
)

// extrusion of an entity, as far as a plan is concerned.
type facing uint8

const (
	facesUp     facing = iota // (0,0,1): drawn as stored
	facesDown                 // (0,0,-1): X mirrored
	facesAslant               // a tilted plane: no plan
)

// faces sorts the extrusion of the entity that is being decoded. Writers leave noise of 1e-16 beside the 1; up to
// 1e-6 the plan differs from the drawn shape by under 1e-12 of its size.
func (b *builder) faces() facing {
	n := b.normal
	if math.Abs(n[0]) > 1e-6 || math.Abs(n[1]) > 1e-6 || n[2] == 0 || math.IsNaN(n[2]) {
		return facesAslant
	}
	if n[2] < 0 {
		return facesDown
	}
	return facesUp
}

// common reads one group that any entity may carry, and tells whether it was one.
func (b *builder) common(r *record, i int, h *head) bool {
	switch r.tags[i].code {
	case 5:
		h.handle = parseHandle(r.bytes(i))
	case 8:
		h.layer = b.layerID(r.bytes(i))
	case 60:
		if r.integer(i, 0) == 1 {
			h.flags |= invisible
		}
	case 67:
		if r.integer(i, 0) == 1 {
			h.flags |= onPaper
		}
	case 210:
		b.normal[0] = r.num(i)
	case 220:
		b.normal[1] = r.num(i)
	case 230:
		b.normal[2] = r.num(i)
	default:
		return false
	}
	return true
}

// newHead begins the decoding of an entity.
func (b *builder) newHead() head {
	b.normal = [3]float64{0, 0, 1}
	return head{layer: b.layerZero}
}

func parseHandle(v []byte) uint64 {
	var h uint64
	for _, c := range v {
		switch {
		case c-'0' <= 9:
			h = h<<4 | uint64(c-'0')
		case c-'A' < 6:
			h = h<<4 | uint64(c-'A'+10)
		case c-'a' < 6:
			h = h<<4 | uint64(c-'a'+10)
		}
	}
	return h
}

func handleText(h uint64) string {
	if h == 0 {
		return ""
	}
	return string(upper([]byte(strconv.FormatUint(h, 16))))
}

// upper turns ASCII letters to capitals in place.
func upper(b []byte) []byte {
	for i, c := range b {
		if c-'a' < 26 {
			b[i] = c - 32
		}
	}
	return b
}

// far is the largest coordinate that is read, drawing units. Beyond it doubles
// no longer hold a thousandth.
const far = 1e11

// finite tells whether p is a place on a drawing.
func finite(p geom.Point) bool {
	return math.Abs(p.X) <= far && math.Abs(p.Y) <= far // false for NaN
}
