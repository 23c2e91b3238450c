package drawing

import (
	"fmt"
	"sort"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// noteKey is what makes two remarks the same cause: they are told once, with a
// count and the places of the first few.
type noteKey struct {
	code  string
	layer int32
	kind  string
	why   string
}

type note struct {
	severity diag.Severity
	n        int
	at       []diag.Place
	help     string
}

// placesShown is how many places a finding about many alike carries.
const placesShown = 8

// remark notes that an entity was not read, or not as drawn. p may be nil.
func (b *builder) remark(code string, sev diag.Severity, h head, kind string, line int, p *geom.Point, why, help string) {
	k := noteKey{code, h.layer, safeKind(kind), why}
	notes := b.notes
	if b.inBlock != nil { // told where the block is put, and on which layer
		if b.inBlock.notes == nil {
			b.inBlock.notes = map[noteKey]*note{}
		}
		notes = b.inBlock.notes
	}
	n := notes[k]
	if n == nil {
		if len(notes) >= mostNotes {
			b.untold = true
			return
		}
		n = &note{severity: sev, help: help}
		notes[k] = n
	}
	n.n++
	if len(n.at) >= placesShown {
		return
	}
	pl := diag.Place{Layer: b.layers[h.layer].Name, Handle: handleText(h.handle)}
	if line > 0 {
		pl.File, pl.Line = b.name, line
	}
	if p != nil && finite(*p) {
		pl.Drawing = &[2]float64{p.X, p.Y}
	}
	n.at = append(n.at, pl)
}

// mostNotes is how many different remarks are kept: a hostile file may make up
// names without end, and is refused then.
const mostNotes = 4096

// remarkInBlock takes over what was remarked in a block, now that it is put on the
// drawing through m: what lies on its layer 0 lies on the layer of the reference.
func (b *builder) remarkInBlock(k *block, m affine, layer int32) {
	for _, key := range sortedNotes(k.notes) {
		if !b.spend(1) {
			return
		}
		from := k.notes[key]
		if key.layer == b.layerZero {
			key.layer = layer
		}
		if !b.layers[key.layer].want {
			continue
		}
		n := b.notes[key]
		if n == nil {
			if len(b.notes) >= mostNotes {
				b.untold = true
				return
			}
			n = &note{severity: from.severity, help: from.help}
			b.notes[key] = n
		}
		n.n += from.n
		for _, at := range from.at {
			if len(n.at) >= placesShown {
				break
			}
			at.Layer = b.layers[key.layer].Name
			if p := at.Drawing; p != nil {
				at.Drawing = nil
				if q := m.apply(geom.Pt(p[0], p[1])); finite(q) {
					at.Drawing = &[2]float64{q.X, q.Y}
				}
			}
			n.at = append(n.at, at)
		}
	}
}

// tellNotes turns the remarks into findings, in a fixed order.
func (b *builder) tellNotes() {
	for _, k := range sortedNotes(b.notes) {
		n := b.notes[k]
		for i := range n.at {
			if p := n.at[i].Drawing; p != nil { // notes are taken in drawing units
				n.at[i].Drawing = &[2]float64{p[0] * b.scale, p[1] * b.scale}
			}
		}
		what := k.kind
		if n.n > 1 {
			what = fmt.Sprintf("%d × %s", n.n, k.kind)
		}
		b.found.Add(diag.Finding{
			Code: k.code, Severity: n.severity, Subject: b.name, At: n.at, Help: n.help,
			Message: fmt.Sprintf("%s on layer %s: %s", what, b.layers[k.layer].Name, k.why),
		})
	}
	b.tellUntold()
}

// tellUntold refuses a drawing of which more was left out than is kept in mind.
func (b *builder) tellUntold() {
	if b.untold {
		b.found.Add(diag.Finding{Code: "drawing-too-large", Severity: diag.Stop, Input: true, Subject: b.name,
			Message: fmt.Sprintf("more than %d different kinds of entities are not read", mostNotes),
			Help:    "keep what is to be cut in a drawing of its own"})
	}
}

// sortedNotes lists remarks in a fixed order.
func sortedNotes(notes map[noteKey]*note) []noteKey {
	keys := make([]noteKey, 0, len(notes))
	for k := range notes {
		keys = append(keys, k)
	}
	sort.Slice(keys, func(i, j int) bool {
		a, c := keys[i], keys[j]
		if a.layer != c.layer {
			return a.layer < c.layer
		}
		if a.code != c.code {
			return a.code < c.code
		}
		if a.kind != c.kind {
			return a.kind < c.kind
		}
		return a.why < c.why
	})
	return keys
}

// safeKind keeps the name of an entity type printable and short.
func safeKind(s string) string {
	s = oneLine(s)
	if len(s) > 40 {
		s = strings.ToValidUTF8(s[:38], "") + "…"
	}
	if s == "" {
		return "entity without a name"
	}
	return s
}
