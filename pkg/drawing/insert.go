package drawing

import (
	"fmt"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// insert puts a block somewhere, once or as an array.
type insert struct {
	block      string
	sx, sy     float64
	turn       float64 // deg
	cols, rows int
	dx, dy     float64 // spacing: turned with the block but not scaled
}

func (b *builder) insertEntity(r *record) (shape, bool) {
	h := b.newHead()
	s := shape{kind: insertShape, line: int32(r.line)}
	in := &insert{sx: 1, sy: 1, cols: 1, rows: 1}
	named := false
	for i := range r.tags {
		switch r.tags[i].code {
		case 2:
			in.block, named = b.text.decode(r.bytes(i)), true
		case 10:
			s.p.X = r.num(i)
		case 20:
			s.p.Y = r.num(i)
		case 41:
			in.sx = r.num(i)
		case 42:
			in.sy = r.num(i)
		case 44:
			in.dx = r.num(i)
		case 45:
			in.dy = r.num(i)
		case 50:
			in.turn = r.num(i)
		case 70:
			in.cols = max(r.integer(i, 1), 1)
		case 71:
			in.rows = max(r.integer(i, 1), 1)
		default:
			b.common(r, i, &h)
		}
	}
	s.head, s.face, s.insert = h, b.faces(), in
	if !b.asked(&h, r.kind) {
		// The layers asked for may lie inside the block.
		if b.inBlock != nil || h.flags != 0 && !b.layers[h.layer].want {
			return s, false
		}
		if h.flags&onPaper != 0 && !b.o.Paper || h.flags&invisible != 0 && !b.o.Hidden {
			return s, false
		}
	}
	if r.cut {
		b.cut = r.kind
		return s, false
	}
	if !named || !finite(s.p) || !finite(geom.Pt(in.sx, in.sy)) || !finite(geom.Pt(in.dx, in.dy)) ||
		!finite(geom.Pt(in.turn, 0)) || in.sx == 0 || in.sy == 0 {
		b.broken(h, r, "its block, place or scale is missing or makes no sense")
		return s, false
	}
	if s.face == facesAslant {
		b.aslant(h, r, whyTilted)
		return s, false
	}
	return s, true
}

func (b *builder) beginBlock(r *record) {
	k := &block{}
	flags := 0
	for i := range r.tags {
		switch r.tags[i].code {
		case 2:
			k.name = b.text.decode(r.bytes(i))
		case 10:
			k.base.X = r.num(i)
		case 20:
			k.base.Y = r.num(i)
		case 70:
			flags = r.integer(i, 0)
		}
	}
	k.xref = flags&4 != 0
	up := foldName(k.name)
	k.space = strings.HasPrefix(up, "*MODEL_SPACE") || strings.HasPrefix(up, "*PAPER_SPACE") ||
		strings.HasPrefix(up, "$MODEL_SPACE") || strings.HasPrefix(up, "$PAPER_SPACE")
	if !finite(k.base) {
		k.base = geom.Point{}
	}
	if _, twice := b.blocks[up]; !twice && k.name != "" {
		b.blocks[up] = k
	}
	b.inBlock = k
}

func (b *builder) endBlock() { b.inBlock = nil }

const (
	// mostDrawn is how much inserts may draw beyond what stands in the file, in
	// pieces and what they are held by: an array of 300 × 300 holes. At some 200
	// bytes each that is 60 MB, whatever a few bytes ask for.
	mostDrawn = 300_000
	// groupsForPiece is how many groups of the file allow one more, so that a large
	// drawing may hold many inserts and takes no more than 20 times its size.
	groupsForPiece = 2
)

// spend takes n from what inserts may still make, and tells whether it was there.
func (b *builder) spend(n int) bool {
	if b.budget < 0 {
		return false
	}
	b.budget -= n
	return b.budget >= 0
}

// greedy is the insert of the drawing that drew most.
type greedy struct {
	of    *shape
	drawn int
}

// putOuter draws an insert of the drawing itself and keeps in mind how much it drew.
func (b *builder) putOuter(s *shape) {
	if b.budget < 0 {
		return
	}
	before := b.budget
	b.put(s, same, s.layer)
	if drawn := before - b.budget; drawn > b.most.drawn {
		b.most = greedy{s, drawn}
	}
}

// tellTooLarge says that inserts drew more than is granted, and which one drew most.
func (b *builder) tellTooLarge() {
	if b.budget >= 0 || b.found.Has("block-cycle") {
		return
	}
	f := diag.Finding{Code: "drawing-too-large", Severity: diag.Stop, Input: true, Subject: b.name,
		Message: "references draw more geometry than can be a drawing",
		Help:    "look at what is referred to many times"}
	if s := b.most.of; s != nil {
		in := s.insert
		f.Message = fmt.Sprintf("block references draw more geometry than can be a drawing, most of it the array of %d × %d of block %q", in.cols, in.rows, safeKind(in.block))
		if in.cols*in.rows == 1 {
			f.Message = fmt.Sprintf("block references draw more geometry than can be a drawing, most of it block %q", safeKind(in.block))
		}
		f.Help = "look at the row and column counts of the arrays, or explode into parts"
		f.At = []diag.Place{{Layer: b.layers[s.layer].Name, Handle: handleText(s.handle), File: b.name, Line: int(s.line)}}
	}
	b.found.Add(f)
}

// putInsert draws a block, its array and what it holds in turn.
func (b *builder) putInsert(s *shape, m affine, layer int32) {
	in := s.insert
	k := b.blocks[foldName(in.block)]
	name := safeKind(in.block)
	h := s.head
	h.layer = layer
	switch {
	case k == nil:
		b.remark("block-missing", diag.Warn, h, "INSERT", int(s.line), &s.p,
			fmt.Sprintf("its block %q is not in the file", name), "bind or delete the reference")
		return
	case k.open:
		b.found.Add(diag.Finding{Code: "block-cycle", Severity: diag.Stop, Input: true, Subject: b.name,
			Message: fmt.Sprintf("block %q contains itself", name),
			At:      []diag.Place{{Layer: b.layers[layer].Name, Handle: handleText(s.handle), File: b.name, Line: int(s.line)}},
			Help:    "take the reference out of the block"})
		b.budget = -1 // nothing of such a drawing is trusted
		return
	case k.xref:
		b.remark("block-external", diag.Warn, h, "INSERT", int(s.line), &s.p,
			fmt.Sprintf("its block %q lies in another file", name), "bind the reference into this drawing")
		return
	case k.space:
		return
	}
	if len(k.shapes)+len(k.notes) == 0 {
		return
	}
	if b.layers[layer].Frozen && !b.o.Hidden && !b.hiding {
		b.layers[layer].Hidden++
		b.hiding = true
		defer func() { b.hiding = false }()
	}
	k.open = true
	defer func() { k.open = false }()
	inner := scaling(in.sx, in.sy).after(shifting(k.base.Mul(-1)))
	place := m.after(shifting(s.p)).after(turning(in.turn))
	t := place.after(inner)
	last := place.after(shifting(geom.Pt(float64(in.cols)*in.dx, float64(in.rows)*in.dy))).after(inner)
	if !t.finite() || !last.finite() {
		b.broken(h, &record{kind: "INSERT", line: int(s.line)}, "it reaches further than any drawing")
		return
	}
	first := mark{b.curves.n, len(b.points)}
	if !b.hiding {
		b.remarkInBlock(k, t, layer)
	}
	for i := range k.shapes {
		if !b.spend(2 + len(k.shapes[i].poly)) {
			return
		}
		b.putInBlock(&k.shapes[i], t, layer)
	}
	end := mark{b.curves.n, len(b.points)}
	for row := range in.rows {
		for col := range in.cols {
			if row+col > 0 && !b.again(first, end, place.vector(geom.Pt(float64(col)*in.dx, float64(row)*in.dy))) {
				return
			}
		}
	}
}

// mark is how much has been drawn.
type mark struct{ curves, points int }

// again draws what lies between two marks once more, shifted: the copies of an
// array differ in nothing else, and fitting arcs to each would take its time.
func (b *builder) again(from, to mark, by geom.Point) bool {
	for i := from.curves; i < to.curves; i++ {
		c := *b.curves.at(i)
		if !b.spend(int(c.n)) {
			return false
		}
		first := c.first
		c.first = int32(b.pieces.n)
		for p := first; p < first+c.n; p++ {
			s := *b.pieces.at(int(p))
			s.A, s.B = s.A.Add(by), s.B.Add(by)
			b.pieces.add(s)
		}
		b.curves.add(c)
	}
	for i := from.points; i < to.points; i++ {
		p := b.points[i]
		p.at = p.at.Add(by)
		b.points = append(b.points, p)
	}
	return b.spend(1)
}

// putInBlock draws one shape of a block. What lies on layer 0 takes the layer
// of the reference; what lies under a reference on a frozen layer is hidden, and
// counted on its own.
func (b *builder) putInBlock(s *shape, t affine, layer int32) {
	on := s.layer
	if on == b.layerZero {
		on = layer
	}
	if s.flags&invisible != 0 && !b.o.Hidden {
		b.tally.hiddenEntity++
		b.layers[on].Hidden++
		return
	}
	if s.kind == insertShape {
		b.put(s, t, on)
		return
	}
	if b.hiding {
		b.layers[on].Hidden++
		return
	}
	if !b.layers[on].want {
		return
	}
	b.put(s, t, on)
}
