package drawing

import (
	"bytes"
	"errors"
	"io"
	"strings"

	"sparclear/pkg/diag"
)

// parser walks through the sections of a DXF file and hands entities to the
// builder.
type parser struct {
	src     tagSource
	ascii   *asciiSource // src where it is text: nearly all groups come the short way
	b       *builder
	held    tag // given back, to be read again
	hasHeld bool
	lastErr error
	section string
	rec     record
	names   map[string]string // entity names, once each
	units   int               // $INSUNITS, -1 when absent
	metric  int               // $MEASUREMENT, -1 when absent
	sawEOF  bool
	groups  int
	shapes  bool // an ENTITIES section was there
}

// next returns the next group; after the end of the file or a fault it
// returns false for ever and lastErr holds the reason.
func (p *parser) next() (tag, bool) {
	if p.hasHeld {
		p.hasHeld = false
		return p.held, true
	}
	if p.lastErr != nil {
		return tag{}, false
	}
	if p.ascii != nil {
		if t, ok := p.ascii.quick(); ok {
			p.groups++
			return t, true
		}
	}
	t, err := p.src.next()
	if err != nil {
		p.lastErr = err
		return tag{}, false
	}
	p.groups++
	return t, true
}

func (p *parser) giveBack(t tag) { p.held, p.hasHeld = t, true }

// keyword returns the value without blanks, in capitals.
func keyword(t tag) string { return strings.ToUpper(string(bytes.TrimSpace(t.text))) }

// run reads the whole file.
func (p *parser) run() {
	for !p.sawEOF {
		t, ok := p.next()
		if !ok {
			break
		}
		if t.code != 0 {
			continue
		}
		switch keyword(t) {
		case "SECTION":
			p.readSection()
		case "EOF":
			p.sawEOF = true
		}
	}
	p.ending()
}

func (p *parser) readSection() {
	t, ok := p.next()
	if !ok {
		return
	}
	if t.code != 2 {
		p.giveBack(t)
		return
	}
	p.section = keyword(t)
	switch p.section {
	case "HEADER":
		p.header()
	case "TABLES":
		p.tables()
	case "BLOCKS":
		p.blocks()
	case "ENTITIES":
		p.shapes = true
		p.entities()
	default:
		p.skipSection()
	}
}

// endOfSection tells whether a group 0 ends the section. A section that ends
// without ENDSEC, at EOF or at the next section, is reported and read all the same.
func (p *parser) endOfSection(t tag) bool {
	switch word := keyword(t); word {
	case "ENDSEC":
		p.section = ""
		return true
	case "EOF", "SECTION":
		p.b.found.Add(diag.Finding{
			Code: "section-unclosed", Severity: diag.Warn, Subject: p.b.name,
			Message: "section " + p.section + " ends without ENDSEC",
		}.AtLine(p.b.name, p.src.line(), 0))
		p.section = ""
		p.giveBack(tag{code: 0, text: []byte(word)})
		return true
	}
	return false
}

func (p *parser) skipSection() {
	for {
		t, ok := p.next()
		if !ok || t.code == 0 && p.endOfSection(t) {
			return
		}
	}
}

func (p *parser) header() {
	name := ""
	for {
		t, ok := p.next()
		if !ok {
			return
		}
		switch {
		case t.code == 0 && p.endOfSection(t):
			return
		case t.code == 9:
			name = keyword(t)
		case name == "$ACADVER" && t.code == 1:
			p.b.setVersion(keyword(t))
		case name == "$DWGCODEPAGE" && t.code == 3:
			p.b.text.page = codePage(string(t.text))
		case name == "$INSUNITS" && t.code == 70:
			p.units = tagInteger(t, -1)
		case name == "$MEASUREMENT" && t.code == 70:
			p.metric = tagInteger(t, -1)
		}
	}
}

func tagInteger(t tag, def int) int {
	if t.kind == asNumber {
		return int(t.num)
	}
	if n, ok := parseInteger(t.text); ok {
		return n
	}
	return def
}

// tables reads the layers; every other table is of no use here.
func (p *parser) tables() {
	for {
		t, ok := p.next()
		if !ok {
			return
		}
		if t.code != 0 {
			continue
		}
		if p.endOfSection(t) {
			return
		}
		if keyword(t) == "LAYER" {
			p.collect("LAYER")
			p.b.defineLayer(&p.rec)
		}
	}
}

// collect reads the groups of one entity or table entry into the record, up to
// the next group 0. Extended data (1000 and up), application groups (102 {…}),
// and an embedded object (101) are left out: their numbers are no geometry.
func (p *parser) collect(kind string) {
	r := &p.rec
	r.reset(kind, p.src.line())
	inGroup, embedded := false, false
	for {
		t, ok := p.next()
		if !ok {
			r.cut = true
			return
		}
		if t.code == 0 {
			p.giveBack(t)
			return
		}
		switch {
		case t.code == 102:
			inGroup = bytes.HasPrefix(bytes.TrimSpace(t.text), []byte("{"))
		case t.code == 101:
			embedded = true
		case inGroup, embedded, t.code >= 1000, t.code < 0:
		case t.code == 100, t.code >= 310 && t.code < 370:
		default:
			r.add(t)
		}
	}
}

// kindOf returns the entity name of a group 0 without allocating for names
// that have come before.
func (p *parser) kindOf(t tag) string {
	if s, ok := p.names[string(t.text)]; ok {
		return s
	}
	s := keyword(t)
	if len(p.names) < 256 { // a hostile file must not fill the table
		p.names[string(t.text)] = s
	}
	return s
}

func (p *parser) entities() {
	for {
		t, ok := p.next()
		if !ok {
			return
		}
		if t.code != 0 {
			continue
		}
		kind := p.kindOf(t)
		if (kind == "ENDSEC" || kind == "EOF" || kind == "SECTION") && p.endOfSection(t) {
			return
		}
		p.entity(kind)
	}
}

// entity reads one entity with what follows it: the vertices of a POLYLINE.
func (p *parser) entity(kind string) {
	switch kind {
	case "SEQEND", "VERTEX": // a stray one
		p.collect(kind)
		return
	case "POLYLINE":
		p.polyline()
		return
	}
	p.collect(kind)
	if p.rec.cut && !p.completeAtEnd() {
		return
	}
	p.b.entity(&p.rec)
}

// completeAtEnd tells whether the entity that the file ends in can be whole:
// the file ends between two groups, and the last value was ended by a line end.
func (p *parser) completeAtEnd() bool {
	return errors.Is(p.lastErr, io.EOF) && p.src.clean()
}

// polyline reads an old-style POLYLINE: its head, its vertices, SEQEND.
func (p *parser) polyline() {
	p.collect("POLYLINE")
	h := p.b.polylineHead(&p.rec)
	for {
		t, ok := p.next()
		if !ok {
			p.b.cut = "POLYLINE"
			return
		}
		if t.code != 0 {
			continue
		}
		switch p.kindOf(t) {
		case "VERTEX":
			p.collect("VERTEX")
			if p.rec.cut {
				p.b.cut = "POLYLINE"
				return
			}
			p.b.polylineVertex(h, &p.rec)
			continue
		case "SEQEND":
			p.collect("SEQEND")
		default: // SEQEND is missing
			p.giveBack(t)
		}
		p.b.polylineEnd(h)
		return
	}
}

func (p *parser) blocks() {
	for {
		t, ok := p.next()
		if !ok {
			return
		}
		if t.code != 0 {
			continue
		}
		if p.endOfSection(t) {
			return
		}
		if keyword(t) == "BLOCK" {
			p.block()
		}
	}
}

func (p *parser) block() {
	p.collect("BLOCK")
	p.b.beginBlock(&p.rec)
	defer p.b.endBlock()
	for {
		t, ok := p.next()
		if !ok {
			return
		}
		if t.code != 0 {
			continue
		}
		switch kind := p.kindOf(t); kind {
		case "ENDBLK":
			p.collect(kind)
			return
		case "ENDSEC", "EOF", "SECTION", "BLOCK":
			p.giveBack(t)
			return
		default:
			p.entity(kind)
		}
	}
}

// ending says how the file ended, when it did not end with EOF.
func (p *parser) ending() {
	if p.sawEOF {
		return
	}
	name := p.b.name
	cut := diag.Finding{Code: "drawing-cut-off", Severity: diag.Stop, Input: true, Subject: name,
		Help: "write or copy the drawing again; this file is not whole"}
	switch {
	case p.groups == 0 || errors.Is(p.lastErr, errNotDXF) && p.groups < 2:
		p.b.found.Add(diag.Finding{Code: "drawing-not-dxf", Severity: diag.Stop, Input: true, Subject: name,
			Message: "this is no DXF file: the first line is no group code",
			Help:    "save the drawing as DXF (ASCII or binary, any version) or as SVG"}.AtLine(name, p.src.line(), 0))
	case errors.Is(p.lastErr, errNotDXF):
		p.b.found.Add(diag.Finding{Code: "drawing-broken", Severity: diag.Stop, Input: true, Subject: name,
			Message: "a group code was expected here; groups and values are out of step",
			Help:    "write the drawing again from where it was made"}.AtLine(name, p.src.line(), 0))
	case errors.Is(p.lastErr, errLongLine):
		p.b.found.Add(diag.Finding{Code: "drawing-broken", Severity: diag.Stop, Input: true, Subject: name,
			Message: "a line is longer than 64 MB"}.AtLine(name, p.src.line(), 0))
	case !errors.Is(p.lastErr, io.EOF) && !errors.Is(p.lastErr, io.ErrUnexpectedEOF):
		p.b.found.Add(diag.Finding{Code: "drawing-unreadable", Severity: diag.Stop, Input: true, Subject: name,
			Message: "reading stopped: " + oneLine(p.lastErr.Error())}.AtLine(name, p.src.line(), 0))
	case errors.Is(p.lastErr, io.ErrUnexpectedEOF), p.b.cut != "", p.rec.cut && !p.completeAtEnd():
		what := "a group"
		if p.b.cut != "" {
			what = "a " + p.b.cut
		} else if p.rec.cut {
			what = "a " + p.rec.kind
		}
		cut.Message = "the file ends inside " + what
		p.b.found.Add(cut.AtLine(name, p.src.line(), 0))
	case p.section != "" && p.section != "ENTITIES":
		cut.Message = "the file ends inside section " + p.section
		p.b.found.Add(cut.AtLine(name, p.src.line(), 0))
	case p.section == "ENTITIES":
		p.b.found.Add(diag.Finding{Code: "drawing-no-end", Severity: diag.Confirm, Input: true, Subject: name,
			Message: "the file ends after a whole entity, but without ENDSEC and EOF; more may have followed",
			Help:    "look whether all outlines are there, then accept the finding, or write the drawing again"}.
			AtLine(name, p.src.line(), 0))
	default:
		p.b.found.Add(diag.Finding{Code: "drawing-no-eof", Severity: diag.Note, Subject: name,
			Message: "the file ends without EOF; every section is whole"}.AtLine(name, p.src.line(), 0))
	}
}

// oneLine keeps a foreign message on one line.
func oneLine(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' {
			return ' '
		}
		return r
	}, s)
}
