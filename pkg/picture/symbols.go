package picture

import (
	"fmt"
	"image/color"
	"math"

	"github.com/tdewolff/canvas"

	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

// symbols draws what has a fixed place: entries, tabs and datums; labels keep off.
func (v *planView) symbols() {
	for _, r := range v.runs {
		out := true // the tip is out of the material
		for _, m := range r.moves {
			if m.rapid {
				out = true
			}
			if m.rapid || !out || m.deepest() <= 0 {
				continue
			}
			out = false
			v.dot(v.at(m.seg.A), entryC)
			v.labels.block(around(v.at(m.seg.A), 0.8))
		}
	}
	for _, q := range v.tabs() {
		v.square(v.at(q))
		v.labels.block(around(v.at(q), 1.1))
	}
	for _, d := range v.Work.Datums {
		if v.window.Contains(d.Touched) {
			v.datum(v.at(d.Touched))
			v.residual(d, v.at(d.Touched), v.residualScale())
			v.labels.block(around(v.at(d.Touched), 2))
		}
	}
}

func around(q geom.Point, r float64) geom.Box {
	return geom.Box{Min: q, Max: q}.Grow(r)
}

func (v *planView) dot(q geom.Point, c color.RGBA) {
	v.brush(c, ink, 0.2)
	v.draw(canvas.Circle(0.7).Translate(q.X, q.Y))
}

func (v *planView) square(q geom.Point) {
	v.brush(tabC, ink, 0.15)
	v.draw(canvas.Rectangle(2, 2).Translate(q.X-1, q.Y-1))
}

// tabs are where the proof found that material holds on.
func (s Scene) tabs() (out []geom.Point) {
	if s.Certificate == nil {
		return nil
	}
	for _, l := range s.Certificate.Leftovers {
		if l.Kind == "tab" {
			out = append(out, geom.Pt(l.At[0], l.At[1]))
		}
	}
	return out
}

func (v *planView) datum(q geom.Point) {
	v.pen(ink, 0.25)
	v.straight(geom.Pt(q.X-2, q.Y), geom.Pt(q.X+2, q.Y))
	v.straight(geom.Pt(q.X, q.Y-2), geom.Pt(q.X, q.Y+2))
	v.draw(canvas.Circle(1.2).Translate(q.X, q.Y))
}

// residualLength is how long the largest residual is drawn, mm of paper.
const residualLength = 7

// residualScale is how many times larger than life residuals are drawn: a round
// number; 0 where there is none worth an arrow.
func (s Scene) residualScale() float64 {
	worst := 0.0
	for _, d := range s.Work.Datums {
		worst = math.Max(worst, d.Touched.Dist(s.Work.Frame.Apply(d.Drawn)))
	}
	if worst < 1e-4 {
		return 0
	}
	return niceLength(residualLength / worst)
}

// residual draws the way from where a datum was expected to where it was touched.
func (v *planView) residual(d work.Datum, q geom.Point, times float64) {
	if times == 0 {
		return
	}
	to := q.Add(d.Touched.Sub(v.Work.Frame.Apply(d.Drawn)).Mul(times))
	dir := to.Sub(q)
	if dir.Len() < 0.3 {
		return
	}
	u := dir.Unit()
	v.pen(warnC, 0.35)
	v.straight(q, to)
	head := math.Min(1.2, dir.Len())
	v.straight(to, to.Sub(u.Mul(head)).Add(u.Left().Mul(0.5*head)))
	v.straight(to, to.Sub(u.Mul(head)).Sub(u.Left().Mul(0.5*head)))
}

// numbers puts the order of the cuts beside their first entries.
func (v *planView) numbers() {
	for i, o := range v.order {
		b, ok := v.labels.place(v.at(o.at), geom.Pt(4.4, 4.4), 1.4)
		if !ok {
			v.hidden++
			continue
		}
		v.leader(v.at(o.at), b, 3.4)
		v.bubble(b.Center(), i+1, o.cutter)
	}
}

// leader joins an anchor to its label where they stand apart.
func (v *planView) leader(from geom.Point, b geom.Box, far float64) {
	if b.Dist(from) < far-2 {
		return
	}
	v.pen(ink, 0.18)
	v.straight(from, geom.Pt(math.Min(math.Max(from.X, b.Min.X), b.Max.X), math.Min(math.Max(from.Y, b.Min.Y), b.Max.Y)))
}

// bubble draws a number in the shape and colour of its cutter.
func (v *planView) bubble(q geom.Point, n, cutter int) {
	v.brush(cutterColour(cutter), canvas.White, 0.3)
	v.draw(cutterShape(cutter).Translate(q.X, q.Y))
	size := 6.5
	if n > 99 {
		size = 5
	}
	v.text(q.X, q.Y-0.8, size, canvas.Center, true, entryC, fmt.Sprint(n))
}

// cutterShape tells cutters apart where colour does not: round, square, six
// corners, a wedge up, a diamond, a wedge down, each about 4.4 mm across.
func cutterShape(i int) *canvas.Path {
	switch max(0, i) % 6 {
	case 0:
		return canvas.Circle(2.1)
	case 1:
		return canvas.Rectangle(3.8, 3.8).Translate(-1.9, -1.9)
	case 2:
		return canvas.RegularPolygon(6, 2.3, true)
	case 3:
		return polygon(-2.2, -1.7, 2.2, -1.7, 1.2, 2, -1.2, 2)
	case 4:
		return polygon(0, -2.7, 2.7, 0, 0, 2.7, -2.7, 0)
	default:
		return polygon(-1.2, -1.9, 1.2, -1.9, 2.2, 1.7, -2.2, 1.7)
	}
}

func polygon(xy ...float64) *canvas.Path {
	p := &canvas.Path{}
	for i := 0; i+1 < len(xy); i += 2 {
		if i == 0 {
			p.MoveTo(xy[0], xy[1])
		} else {
			p.LineTo(xy[i], xy[i+1])
		}
	}
	p.Close()
	return p
}

// names writes the names of members, clamps, datums and parts where there is room.
func (v *planView) names() {
	for _, d := range v.Work.Datums {
		if v.window.Contains(d.Touched) {
			v.name(v.at(d.Touched), d.Name, ink, 2.2)
		}
	}
	for _, m := range v.Work.Members {
		v.nameOf(m.Footprint, m.Name, memberC)
	}
	for _, c := range v.Work.Clamps {
		v.nameOf(c.Footprint, c.Name, clampC)
	}
	for _, p := range v.Work.Parts {
		name := p.Name
		if p.Mark != "" {
			name = p.Mark + ": " + name
		}
		v.nameOf([]geom.Region{p.Region}, name, ink)
	}
	for i, g := range v.Remnants {
		v.nameOf([]geom.Region{g}, fmt.Sprintf("remnant %d, %.0f cm²", i+1, g.Area()/100), remnantC)
	}
}

// nameOf names what of the regions is seen, once.
func (v *planView) nameOf(gs []geom.Region, name string, c color.RGBA) {
	seen, whole := geom.EmptyBox(), geom.Region{}
	for _, g := range v.clipped(gs...) {
		b := g.Bounds()
		b.Min.X, b.Min.Y = math.Max(b.Min.X, v.window.Min.X), math.Max(b.Min.Y, v.window.Min.Y)
		b.Max.X, b.Max.Y = math.Min(b.Max.X, v.window.Max.X), math.Min(b.Max.Y, v.window.Max.Y)
		if b.Empty() {
			continue
		}
		if s, t := b.Size(), seen.Size(); seen.Empty() || s.X*s.Y > t.X*t.Y {
			seen, whole = b, g
		}
	}
	if !seen.Empty() {
		v.name(v.at(roomiest(whole, seen)), name, c, 0)
	}
}

// roomiest is the middle of what is seen of a region or, where that lies in a hole or
// outside, the place of a grid that has the most of the region about it.
func roomiest(g geom.Region, seen geom.Box) geom.Point {
	mid := seen.Center()
	if g.ContainsInterior(mid) {
		return mid
	}
	const n = 24
	at, most := mid, 0.0
	for j := range n {
		for i := range n {
			q := seen.Min.Add(geom.Pt(seen.Size().X*(float64(i)+0.5)/n, seen.Size().Y*(float64(j)+0.5)/n))
			if !g.ContainsInterior(q) {
				continue
			}
			if d := g.Dist(q); d > most*1.001 {
				at, most = q, d
			}
		}
	}
	return at
}

func (v *planView) name(at geom.Point, name string, c color.RGBA, near float64) {
	const size = 7.5
	d := v.textSize(size, false, name).Add(geom.Pt(0.8, 0.6))
	b, ok := v.labels.place(at, d, near)
	if near == 0 { // the thing is large: its middle is the best place
		if mid := (geom.Box{Min: at.Sub(d.Mul(0.5)), Max: at.Add(d.Mul(0.5))}); ok && v.betterAt(mid, b) {
			v.labels.taken[len(v.labels.taken)-1], b = mid, mid
		}
	}
	if !ok {
		v.hidden++
		return
	}
	v.fill(color.White)
	v.rect(b)
	v.leader(at, b, near+4)
	v.text(b.Center().X, b.Min.Y+0.9, size, canvas.Center, false, c, name)
}

// betterAt tells whether a label just placed at b may stand at mid instead.
func (v *planView) betterAt(mid, b geom.Box) bool {
	rest := labels{frame: v.labels.frame, taken: v.labels.taken[:len(v.labels.taken)-1]}
	return rest.free(mid) && v.labels.covered(mid) <= v.labels.covered(b)
}
