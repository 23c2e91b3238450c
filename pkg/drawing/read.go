package drawing

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"sort"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// Read reads a DXF drawing, ASCII or binary, of any version. name stands in
// messages. The drawing is never nil; when the list holds a Stop, it is what
// could be read and must not be cut. It reads the stream once and keeps no more
// than the geometry, O(n log n) in the number of lines and arcs.
func Read(r io.Reader, name string, o Options) (*Drawing, diag.List) {
	b := newBuilder(name, o.withDefaults())
	in := bufio.NewReaderSize(r, 64<<10)
	p := &parser{b: b, names: map[string]string{}, units: -1, metric: -1}
	b.d.Format = "DXF"
	head, _ := in.Peek(len(sentinel))
	switch {
	case bytes.Equal(head, sentinel):
		b.d.Format = "binary DXF"
		_, _ = in.Discard(len(sentinel))
		p.src = newBinarySource(in)
	case bytes.HasPrefix(head, []byte("AC10")):
		b.found.Add(diag.Finding{Code: "drawing-not-dxf", Severity: diag.Stop, Input: true, Subject: name,
			Message: "this is a DWG file, which is not read", Help: "save the drawing as DXF"})
		return b.d, b.found
	case bytes.HasPrefix(head, []byte{0xFF, 0xFE}), bytes.HasPrefix(head, []byte{0xFE, 0xFF}):
		b.found.Add(diag.Finding{Code: "drawing-not-dxf", Severity: diag.Stop, Input: true, Subject: name,
			Message: "this file is UTF-16 text; DXF is UTF-8 or of one code page", Help: "save the drawing as DXF again"})
		return b.d, b.found
	default:
		if bytes.HasPrefix(head, []byte{0xEF, 0xBB, 0xBF}) {
			_, _ = in.Discard(3)
		}
		p.ascii = newASCIISource(in)
		p.src = p.ascii
	}
	p.run()
	b.budget += p.groups / groupsForPiece
	b.settleUnits(p.units, p.metric)
	b.finish()
	b.found = b.found.Sorted()
	b.d.found = b.found
	return b.d, b.found
}

// finish turns what was gathered into the drawing: curves and blocks now that
// the units are known, visibility now that the layers are, mm, outlines.
func (b *builder) finish() {
	for i := range b.later.n {
		if s := b.later.at(i); s.kind == insertShape {
			b.putOuter(s)
		} else {
			b.put(s, same, s.layer)
		}
	}
	b.tellTooLarge()
	b.later, b.blocks = growing[shape]{}, nil
	if b.budget < 0 { // in a ring or without end: nothing of such a drawing is trusted
		b.curves, b.points = growing[curve]{}, nil
	}
	b.hide()
	b.toMillimetres()
	b.outline()
	b.describe()
	b.tellHidden()
	b.tellNotes()
	b.questionSize()
	b.tellEmpty()
}

// hide drops what lies on layers that are not shown, and counts it there.
func (b *builder) hide() {
	for i := range b.curves.n {
		if c := b.curves.at(i); !b.shown(c.layer) {
			b.layers[c.layer].Hidden++
			c.n = 0
		}
	}
	pts := b.points[:0]
	for _, p := range b.points {
		if b.shown(p.layer) {
			pts = append(pts, p)
		} else {
			b.layers[p.layer].Hidden++
		}
	}
	b.points = pts
	texts := b.labels[:0]
	for _, l := range b.labels {
		if b.shown(l.layer) && b.layers[l.layer].want {
			texts = append(texts, l)
		}
	}
	b.labels = texts
}

func (b *builder) toMillimetres() {
	if k := b.scale; k != 1 {
		for i := range b.pieces.n {
			s := b.pieces.at(i)
			s.A, s.B = s.A.Mul(k), s.B.Mul(k)
		}
		for i := range b.points {
			b.points[i].at = b.points[i].at.Mul(k)
		}
		for i := range b.labels {
			b.labels[i].at = b.labels[i].at.Mul(k)
			b.labels[i].height *= k
		}
	}
}

// describe fills in what the drawing tells beside its outlines.
func (b *builder) describe() {
	d := b.d
	for _, p := range b.points {
		d.Points = append(d.Points, DrawnPoint{b.layers[p.layer].Name, handleText(p.handle), p.at})
		b.layers[p.layer].Points++
	}
	sort.SliceStable(d.Points, func(i, j int) bool {
		a, c := d.Points[i], d.Points[j]
		if a.Layer != c.Layer {
			return a.Layer < c.Layer
		}
		return lessPoint(a.Point, c.Point)
	})
	for _, l := range b.labels {
		d.Labels = append(d.Labels, Label{b.layers[l.layer].Name, handleText(l.handle), l.at, l.height, l.turn, l.text})
	}
	sort.SliceStable(d.Labels, func(i, j int) bool {
		a, c := d.Labels[i], d.Labels[j]
		if a.Layer != c.Layer {
			return a.Layer < c.Layer
		}
		if a.Point != c.Point {
			return lessPoint(a.Point, c.Point)
		}
		return a.Text < c.Text
	})
	d.Bounds = b.extent
	d.Curves.Tol = b.o.CurveTol
	for _, o := range d.Outlines {
		d.Length += o.Region.Length()
	}
	for _, c := range d.Open {
		d.Bounds = d.Bounds.Union(c.Chain.Bounds())
		d.Length += c.Chain.Length()
	}
	for _, p := range d.Points {
		d.Bounds = d.Bounds.Extend(p.Point)
	}
	d.Entities, d.Skipped = counts(b.kinds), counts(b.skipped)
	d.Layers = make([]Layer, 0, len(b.layers))
	for i, l := range b.layers {
		l.Kinds = byName(l.kinds)
		l.Used = len(l.Kinds) > 0
		if int32(i) == b.layerZero && !l.Used && !l.defined {
			continue
		}
		d.Layers = append(d.Layers, l.Layer)
	}
	sort.Slice(d.Layers, func(i, j int) bool { return d.Layers[i].Name < d.Layers[j].Name })
}

// tellHidden counts what was left out because the drawing hides it.
func (b *builder) tellHidden() {
	n := 0
	for _, l := range b.d.Layers {
		n += l.Hidden
	}
	if n == 0 {
		return
	}
	what := fmt.Sprintf("%s hidden and not read", many(n, "entity is", "entities are"))
	if b.tally.hiddenPaper > 0 {
		what += fmt.Sprintf(", %d of them in paper space", b.tally.hiddenPaper)
	}
	b.found.Add(diag.Finding{Code: "hidden-not-read", Severity: diag.Note, Subject: b.name, Message: what,
		Help: "turn layers on, or ask for what is hidden, if any of it is to be cut"})
}

func lessPoint(a, b geom.Point) bool {
	if a.X != b.X {
		return a.X < b.X
	}
	return a.Y < b.Y
}

// tellEmpty makes a drawing without anything to cut an error.
func (b *builder) tellEmpty() {
	d := b.d
	if len(d.Outlines)+len(d.Open)+len(d.Points) > 0 || b.found.Blocks() {
		return
	}
	hidden := b.tally.hiddenEntity + b.tally.hiddenPaper
	for _, l := range d.Layers {
		hidden += l.Hidden
	}
	f := diag.Finding{Code: "drawing-empty", Severity: diag.Stop, Input: true, Subject: b.name,
		Message: "the drawing holds no outline, no line and no point",
		Help:    "look whether the right file was saved, and whether its entities are lines, arcs, circles, polylines, ellipses or splines"}
	if hidden > 0 {
		f.Message = "nothing on the drawing is visible; all of it is hidden, on paper space or on layers that are not shown"
		f.Help = "turn the layer on, or ask for hidden layers"
	}
	b.found.Add(f)
}
