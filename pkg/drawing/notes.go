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
	n := b.notes[k]
	if n == nil {
		if len(b.notes) > 4096 { // a hostile file may make up names without end
			return
		}
		n = &note{severity: sev, help: help}
		b.notes[k] = n
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

// tellNotes turns the remarks into findings, in a fixed order.
func (b *builder) tellNotes() {
	keys := make([]noteKey, 0, len(b.notes))
	for k := range b.notes {
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
	for _, k := range keys {
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
