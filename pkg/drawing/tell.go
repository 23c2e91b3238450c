package drawing

import (
	"cmp"
	"fmt"
	"slices"

	"sparclear/pkg/diag"
)

// tellTangled refuses a layer on which too much lies over each other.
func (w *layerWork) tellTangled() {
	name, p := w.b.layers[w.layer].Name, w.loops[0].c[0]
	w.b.found.Add(diag.Finding{Code: "outlines-tangled", Severity: diag.Stop, Input: true, Subject: w.b.name,
		Message: fmt.Sprintf("more outlines lie over each other on layer %s than can be told apart", name),
		At:      []diag.Place{{Layer: name, Drawing: &[2]float64{p.X, p.Y}}},
		Help:    "delete what is drawn over itself, or look at the spacing of arrays"})
}

// tellOpen says where chains stay open and where they branch.
func (w *layerWork) tellOpen() {
	b := w.b
	name := b.layers[w.layer].Name
	for i, c := range w.chains {
		if b.openTold >= mostTold { // told with the drawing
			b.openUntold += len(w.chains) - i
			break
		}
		b.openTold++
		if i == 50 {
			b.found.Add(diag.Finding{Code: "outline-open", Severity: diag.Warn, Subject: b.name,
				Message: fmt.Sprintf("%d more chains on layer %s are open", len(w.chains)-i, name),
				At:      []diag.Place{{Layer: name}}})
			break
		}
		if c.Branched {
			continue
		}
		a, e := c.Chain[0], c.Chain[len(c.Chain)-1]
		b.found.Add(diag.Finding{Code: "outline-open", Severity: diag.Warn, Subject: b.name,
			Message: fmt.Sprintf("chain on layer %s is open: its ends are %s mm apart", name, short(c.Gap)),
			At: []diag.Place{
				{Layer: name, Handle: c.Handle, Drawing: &[2]float64{a.X, a.Y}},
				{Layer: name, Drawing: &[2]float64{e.X, e.Y}},
			},
			Help: "close the outline in the drawing, or join with a wider tolerance if the gap is drawn by mistake",
		}.With(c.Gap, b.o.JoinTol, "mm"))
	}
	seen := map[int32]bool{}
	n := 0
	slices.SortStableFunc(w.branches, func(x, y branch) int {
		if lessPoint(x.at, y.at) {
			return -1
		} else if lessPoint(y.at, x.at) {
			return 1
		}
		return 0
	})
	for _, x := range w.branches {
		if seen[x.node] {
			continue
		}
		seen[x.node] = true
		if n++; n > 50 {
			continue
		}
		b.found.Add(diag.Finding{Code: "outline-branches", Severity: diag.Warn, Subject: b.name,
			Message: fmt.Sprintf("three or more ends meet at one place on layer %s, so nobody can say how the outline goes on", name),
			At:      []diag.Place{{Layer: name, Handle: handleText(x.handle), Drawing: &[2]float64{x.at.X, x.at.Y}}},
			Help:    "delete or trim what does not belong to the outline"})
	}
	b.d.Join.Branches += n
	if n > 50 {
		b.found.Add(diag.Finding{Code: "outline-branches", Severity: diag.Warn, Subject: b.name,
			Message: fmt.Sprintf("outlines branch at %d more places on layer %s", n-50, name), At: []diag.Place{{Layer: name}}})
	}
}

// mostTold is how many open chains of all layers are told one by one; a hostile
// drawing may have a layer for each.
const mostTold = 1000

// tellTrimmed says where loose pieces that lie on their neighbour were cut back or
// left out: joining goes on from there, so whoever cuts the layer shall see the place.
func (w *layerWork) tellTrimmed() {
	if len(w.trimmed) == 0 {
		return
	}
	name := w.b.layers[w.layer].Name
	slices.SortFunc(w.trimmed, func(x, y trimmed) int {
		if c := comparePoints(x.at, y.at); c != 0 {
			return c
		}
		return cmp.Compare(x.length, y.length)
	})
	f := diag.Finding{Code: "drawn-over", Severity: diag.Warn, Subject: w.b.name,
		Help: "look at these places, or trim the ends in the drawing"}
	longest := 0.0
	for i, x := range w.trimmed {
		longest = max(longest, x.length)
		if i < 50 {
			f.At = append(f.At, diag.Place{Layer: name, Handle: handleText(x.handle), Drawing: &[2]float64{x.at.X, x.at.Y}})
		}
	}
	f.Message = fmt.Sprintf("loose pieces lie on their neighbour at %d places on layer %s, the longest over %s mm, and are trimmed there",
		len(w.trimmed), name, shortest(longest))
	w.b.found.Add(f)
}

// tellJoining reports what joining did, once for the drawing.
func (b *builder) tellJoining() {
	r := &b.d.Join
	add := func(code string, sev diag.Severity, msg, help string) *diag.Finding {
		b.found.Add(diag.Finding{Code: code, Severity: sev, Subject: b.name, Message: msg, Help: help})
		return &b.found[len(b.found)-1]
	}
	if r.Gaps > 0 {
		f := add("gaps-closed", diag.Note, fmt.Sprintf("%s closed, the widest %s mm", many(r.Gaps, "gap", "gaps"), shortest(r.WidestGap)), "")
		*f = f.With(r.WidestGap, b.o.JoinTol, "mm").On(r.WidestAt.X, r.WidestAt.Y)
	}
	if b.openUntold > 0 {
		add("outline-open", diag.Warn, fmt.Sprintf("%d more chains on further layers are open", b.openUntold),
			"close the outlines in the drawing, or leave the layers away that are not cut")
	}
	if r.Duplicates > 0 {
		add("drawn-twice", diag.Note, fmt.Sprintf("%s drawn twice; one of each is read", many(r.Duplicates, "piece is", "pieces are")), "")
	}
	if r.Overlaps > 0 {
		add("drawn-over", diag.Note, fmt.Sprintf("%s on another one and trimmed", many(r.Overlaps, "piece lies", "pieces lie")), "")
	}
	if r.Zero+r.Tiny > 0 {
		add("pieces-dropped", diag.Note, fmt.Sprintf("%d pieces without length and %d shorter than %s mm are healed",
			r.Zero, r.Tiny, shortest(b.o.JoinTol)), "")
	}
}

// many counts things by the word for one and that for more.
func many(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, more)
}

func shortest(x float64) string { return fmt.Sprintf("%.3g", x) }
