package picture

import (
	"fmt"
	"image/color"
	"math"
	"slices"
	"strings"

	"github.com/tdewolff/canvas"

	"sparclear/pkg/geom"
)

// Change is one thing that differs between two scenes. Lengths mm, times s.
type Change struct {
	Kind   string      `json:"kind"`         // "cut-gone", "cut-new", "cut-moved", "depth", "order", "time", "margin", "moves"
	Name   string      `json:"name"`         // of the cut, member or program
	Before float64     `json:"before"`       // "cut-moved": 0
	After  float64     `json:"after"`        // "cut-moved": how far, at most
	Unit   string      `json:"unit"`         // "mm", "s" or ""
	Text   string      `json:"text"`         // one line, no full stop
	At     *[2]float64 `json:"at,omitempty"` // where it is largest, in the frame of b
}

// Least differences that are told.
const (
	changeLength = 1e-3 // mm
	changeTime   = 0.5  // s
)

// Difference returns a picture of what moved between two runs of a job or two
// programs, and the list of it: the kerf of a pale with the line of its tip dashed,
// over it the kerf of b dark with its line white. Cuts go by their names; what has no name of its own by what lies
// nearest. The list is empty when nothing differs that a cut could show.
func Difference(a, b Scene) ([]byte, []Change, error) {
	ra, err := a.runs()
	if err != nil {
		return nil, nil, err
	}
	rb, err := b.runs()
	if err != nil {
		return nil, nil, err
	}
	changes := differences(a, b, ra, rb)
	p, err := differencePage(a, b, ra, rb, changes)
	if err != nil {
		return nil, nil, err
	}
	svg, err := p.svg()
	return svg, changes, err
}

// way is what the tip does for one cut.
type way struct {
	segs    []geom.Seg
	deepest float64
	moves   int
	at      geom.Point
}

func ways(rs []run) map[string]*way {
	out := map[string]*way{}
	for _, r := range rs {
		for _, m := range r.moves {
			if m.rapid || m.deepest() <= 0 {
				continue
			}
			w := out[m.cut]
			if w == nil {
				w = &way{at: m.seg.A}
				out[m.cut] = w
			}
			w.segs, w.deepest, w.moves = append(w.segs, m.segs()...), math.Max(w.deepest, m.deepest()), w.moves+1
		}
	}
	return out
}

func differences(a, b Scene, ra, rb []run) (out []Change) {
	wa, wb := ways(ra), ways(rb)
	oa, ob := order(ra), order(rb)
	for i, o := range oa {
		x, y := wa[o.name], wb[o.name]
		if y == nil {
			out = append(out, Change{Kind: "cut-gone", Name: o.name, Text: fmt.Sprintf("%s is no longer cut", o.name)})
			continue
		}
		if d, at := apartMost(x.segs, y.segs); d > changeLength {
			out = append(out, Change{Kind: "cut-moved", Name: o.name, After: d, Unit: "mm", At: &[2]float64{at.X, at.Y},
				Text: fmt.Sprintf("%s: the tip runs up to %.3f mm from where it ran, at X%.2f Y%.2f", o.name, d, at.X, at.Y)})
		}
		if math.Abs(x.deepest-y.deepest) > changeLength {
			out = append(out, Change{Kind: "depth", Name: o.name, Before: x.deepest, After: y.deepest, Unit: "mm",
				Text: fmt.Sprintf("%s: deepest place %.3f mm, was %.3f", o.name, y.deepest, x.deepest)})
		}
		if x.moves != y.moves {
			out = append(out, Change{Kind: "moves", Name: o.name, Before: float64(x.moves), After: float64(y.moves),
				Text: fmt.Sprintf("%s: %d cutting moves, were %d", o.name, y.moves, x.moves)})
		}
		if j := slices.IndexFunc(ob, func(q ordered) bool { return q.name == o.name }); j != i {
			out = append(out, Change{Kind: "order", Name: o.name, Before: float64(i + 1), After: float64(j + 1),
				Text: fmt.Sprintf("%s: number %d in the order, was %d", o.name, j+1, i+1)})
		}
	}
	for _, o := range ob {
		if wa[o.name] == nil {
			out = append(out, Change{Kind: "cut-new", Name: o.name, Text: fmt.Sprintf("%s is cut now and was not", o.name)})
		}
	}
	out = append(out, marginChanges(a, b)...)
	ta, tb := 0.0, 0.0
	for _, r := range ra {
		ta += r.times.High
	}
	for _, r := range rb {
		tb += r.times.High
	}
	if math.Abs(ta-tb) > changeTime {
		out = append(out, Change{Kind: "time", Name: "all programs", Before: ta, After: tb, Unit: "s", Text: fmt.Sprintf("at most %.1f s on the machine, was %.1f", tb, ta)})
	}
	return out
}

func marginChanges(a, b Scene) (out []Change) {
	if a.Certificate == nil || b.Certificate == nil {
		return nil
	}
	for _, x := range a.Certificate.Margins {
		for _, y := range b.Certificate.Margins {
			if x.Check == y.Check && x.Member == y.Member && math.Abs(x.MarginMM-y.MarginMM) > changeLength {
				out = append(out, Change{Kind: "margin", Name: y.Member, Before: x.MarginMM, After: y.MarginMM, Unit: "mm",
					Text: fmt.Sprintf("%s: %.3f mm of room left, was %.3f (%.3f needed)", y.Member, y.MarginMM, x.MarginMM, y.NeededMM)})
			}
		}
	}
	return out
}

// apartMost returns how far two ways of the tip lie apart at most, either seen
// from the other, by places at most 0.25 mm apart along each, and where.
func apartMost(a, b []geom.Seg) (float64, geom.Point) {
	d, at := straysMost(b, a)
	if e, p := straysMost(a, b); e > d {
		return e, p
	}
	return d, at
}

func straysMost(from, to []geom.Seg) (worst float64, at geom.Point) {
	const gap = 0.25 // mm
	x := geom.NewSegIndex(to...)
	for _, s := range from {
		n := 1 + int(s.Length()/gap)
		for k := 0; k <= n; k++ {
			q := s.A
			if s.A != s.B {
				q = s.At(float64(k) / float64(n))
			}
			if d := x.Dist(q); d > worst {
				worst, at = d, q
			}
		}
	}
	return worst, at
}

// differencePage draws both kerfs in the window of b.
func differencePage(a, b Scene, ra, rb []run, changes []Change) (*page, error) {
	v, err := newPlanView(b, rb)
	if err != nil {
		return nil, err
	}
	v.stock()
	v.members()
	u := *v
	u.Scene, u.runs = a, ra
	for _, k := range []struct {
		view *planView
		c    color.RGBA
	}{{&u, beforeC}, {v, afterC}} {
		for i, path := range byCutter(k.view) {
			if path != nil {
				v.pen(k.c, math.Max(0.1, 2*radiusOf(k.view.Work.Cutters, i)*v.scale))
				v.draw(path)
			}
		}
	}
	for i, path := range byCutter(&u) { // where the tip ran stays visible under the new kerf
		if path != nil && i < len(a.Work.Cutters) {
			v.pen(warnC, 0.25, 1.2, 0.8)
			v.draw(path)
		}
	}
	for _, path := range byCutter(v) {
		if path != nil {
			v.pen(color.White, 0.2)
			v.draw(path)
		}
	}
	v.border()
	v.foot()
	v.changeColumn(changes)
	return v.page, nil
}

// byCutter returns the cutting paths, one for each cutter, nil where it cuts
// nothing.
func byCutter(v *planView) []*canvas.Path {
	paths := v.paths(func(step) bool { return true })
	out := make([]*canvas.Path, len(v.Work.Cutters))
	for i := range out {
		out[i] = paths[i]
	}
	return out
}

func (v *planView) changeColumn(changes []Change) {
	y := 192.0
	v.head(y, "before and after")
	y -= 5
	for _, r := range []struct {
		kerf, line color.RGBA
		dashes     []float64
		text       string
	}{{beforeC, warnC, []float64{1.2, 0.8}, "before; dashed: line of the tip"}, {afterC, entryC, nil, "after; line of the tip"}} {
		v.fill(r.kerf)
		v.rect(geom.Box{Min: geom.Pt(columnX, y-1.5), Max: geom.Pt(columnX+8, y+1.5)})
		v.pen(r.line, 0.25, r.dashes...)
		v.straight(geom.Pt(columnX, y), geom.Pt(columnX+8, y))
		v.row(y, r.text)
		y -= 5
	}
	v.head(y-1, fmt.Sprintf("changes: %d", len(changes)))
	y -= 6
	if len(changes) == 0 {
		v.text(columnX, y, 7.5, canvas.Left, false, ink, "nothing moved")
	}
	for i, c := range changes {
		if y < 12 {
			v.text(columnX, y, 7, canvas.Left, false, ink, fmt.Sprintf("and %d more", len(changes)-i))
			return
		}
		for _, l := range v.wrap(c.Text, 7, columnW) {
			v.text(columnX, y, 7, canvas.Left, false, ink, l)
			y -= 3.6
		}
		y -= 1
	}
}

// wrap breaks a text into lines of a width on paper, between words.
func (p *page) wrap(s string, size, width float64) (out []string) {
	line := ""
	for _, w := range strings.Fields(s) {
		if line != "" && p.textSize(size, false, line+" "+w).X > width {
			out, line = append(out, p.fit(line, size, width)), w
			continue
		}
		if line != "" {
			line += " "
		}
		line += w
	}
	return append(out, p.fit(line, size, width))
}
