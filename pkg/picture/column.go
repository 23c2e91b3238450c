package picture

import (
	"fmt"
	"image/color"
	"math"

	"github.com/tdewolff/canvas"

	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
)

// foot writes the title above the frame, and scale, axes and the frame of the
// coordinates below it.
func (v *planView) foot() {
	lo, hi := v.frame.Min, v.frame.Max
	v.text(lo.X, hi.Y+5, 13, canvas.Left, true, ink, v.fit(v.Work.Title, 13*1.1, paperW-20))
	length := niceLength(45 / v.scale)
	x0, y0 := lo.X, lo.Y-6
	w := length * v.scale
	v.fill(ink)
	v.rect(geom.Box{Min: geom.Pt(x0, y0), Max: geom.Pt(x0+w/2, y0+1.4)})
	v.pen(ink, 0.2)
	v.rect(geom.Box{Min: geom.Pt(x0, y0), Max: geom.Pt(x0+w, y0+1.4)})
	v.text(x0+w+1.5, y0, 8, canvas.Left, false, ink, fmt.Sprintf("%g mm", length))
	v.text(x0, y0-5, 7.5, canvas.Left, false, ink, v.fit(v.frameNote(), 7.5, hi.X-lo.X-34))
	x, y := hi.X-16, lo.Y-14
	v.pen(ink, 0.4)
	v.polyline(geom.Pt(x, y+9), geom.Pt(x, y), geom.Pt(x+9, y))
	v.polyline(geom.Pt(x-0.8, y+7.6), geom.Pt(x, y+9), geom.Pt(x+0.8, y+7.6))
	v.polyline(geom.Pt(x+7.6, y-0.8), geom.Pt(x+9, y), geom.Pt(x+7.6, y+0.8))
	v.text(x+10, y-0.8, 8, canvas.Left, true, ink, "+X")
	v.text(x-2, y+5, 8, canvas.Right, true, ink, "+Y")
}

// frameNote tells in which frame the picture stands and how the drawing lies in it.
func (v *planView) frameNote() string {
	s := "machine frame: X and Y as the display shows them"
	f := v.Work.Frame
	if v.Work.Sheet {
		return s + ", seen from above"
	}
	s += fmt.Sprintf("; drawing turned %.2f°, zero at X %.2f Y %.2f", f.Turn*180/math.Pi, f.Shift.X, f.Shift.Y)
	if f.Mirror {
		s += ", mirrored"
	}
	return s
}

// niceLength rounds down to 1, 2 or 5 times a power of ten.
func niceLength(v float64) float64 {
	if !(v > 0) || math.IsInf(v, 0) {
		return 1
	}
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, k := range []float64{5, 2, 1} {
		if k*p <= v {
			return k * p
		}
	}
	return p
}

// column writes the right-hand column from the top down: legend, cutters, room
// left, order, and where on the work the picture lies.
func (v *planView) column() {
	y := v.sheetRows(192)
	y = v.legend(y)
	if len(v.runs) > 0 {
		y = v.cutterRows(y - 2)
	}
	y = v.roomRows(y - 2)
	foot := 8.0
	if v.inset(geom.Box{Min: geom.Pt(columnX, 8), Max: geom.Pt(columnX+columnW, 50)}) {
		foot = 54
	}
	if len(v.runs) > 0 {
		v.orderList(y-2, foot)
	}
}

func (v *planView) head(y float64, s string) {
	v.text(columnX, y, 8.5, canvas.Left, true, ink, s)
}

func (v *planView) row(y float64, s string) {
	v.text(columnX+10, y-1, 7.5, canvas.Left, false, ink, v.fit(s, 7.5, columnW-10))
}

// legend explains what is drawn. A layout, which has no program yet, needs less.
func (v *planView) legend(y float64) float64 {
	if len(v.runs) > 0 {
		y = v.depthScale(y)
	}
	return v.signs(y)
}

func (v *planView) depthScale(y float64) float64 {
	v.head(y, map[bool]string{false: "depth below the skin", true: "depth below the top of the sheet"}[v.Work.Sheet])
	y -= 4.6
	for i := range depthSteps {
		v.fill(depthColour((float64(i) + 0.5) / depthSteps))
		v.rect(geom.Box{Min: geom.Pt(columnX+float64(i)*4, y), Max: geom.Pt(columnX+float64(i+1)*4, y+2.6)})
	}
	v.text(columnX, y-3.2, 7, canvas.Left, false, ink, "0")
	v.text(columnX+4*depthSteps, y-3.2, 7, canvas.Right, false, ink, fmt.Sprintf("%.2f mm", v.deepest))
	return y - 8
}

// signs explains lines and symbols.
func (v *planView) signs(y float64) float64 {
	const gap = 4.6
	cut := len(v.runs) > 0
	mid := columnX + 4
	for _, r := range []struct {
		want bool
		text string
		draw func(y float64)
	}{
		{len(v.Work.Members) > 0, map[bool]string{false: "member; band: clearance, dotted: errors", true: "flaw"}[v.Work.Sheet], v.memberSample},
		{len(v.Work.Clamps) > 0, "clamp", func(y float64) {
			v.fill(clampFillC)
			v.rect(geom.Box{Min: geom.Pt(columnX, y-1.4), Max: geom.Pt(columnX+8, y+1.4)})
			v.pen(clampC, 0.5, 3, 1)
			v.rect(geom.Box{Min: geom.Pt(columnX, y-1.4), Max: geom.Pt(columnX+8, y+1.4)})
		}},
		{len(v.Work.Parts) > 0, "part", func(y float64) {
			v.brush(partC, stockEdgeC, 0.2)
			v.rect(geom.Box{Min: geom.Pt(columnX, y-1.4), Max: geom.Pt(columnX+8, y+1.4)})
		}},
		{len(v.Remnants) > 0, "remnant worth keeping", func(y float64) {
			v.pen(remnantC, 0.3, 2.4, 1.2, 0.5, 1.2)
			v.rect(geom.Box{Min: geom.Pt(columnX, y-1.4), Max: geom.Pt(columnX+8, y+1.4)})
		}},
		{v.Work.Fibre != nil, "0° fibre" + v.fibreText(), func(y float64) {
			v.pen(fibreC, 0.15)
			u := geom.Polar(geom.Point{}, fibreStroke/2, *v.Work.Fibre)
			v.straight(geom.Pt(mid, y).Sub(u), geom.Pt(mid, y).Add(u))
		}},
		{true, "outline as drawn", func(y float64) { v.pen(outlineC, 0.2); v.straight(geom.Pt(columnX, y), geom.Pt(columnX+8, y)) }},
		{cut, "rapid", func(y float64) {
			v.pen(rapidC, 0.22, 2, 1.2)
			v.straight(geom.Pt(columnX, y), geom.Pt(columnX+8, y))
		}},
		{cut, "cutter goes in", func(y float64) { v.dot(geom.Pt(mid, y), entryC) }},
		{cut, "direction of cutting", func(y float64) { v.arrow(geom.Pt(mid, y), geom.Pt(1, 0)) }},
		{cut && len(v.tabs()) > 0, "tab", func(y float64) { v.square(geom.Pt(mid, y)) }},
		{!v.Work.Skin.Flat(), "height of the skin, Z in mm", func(y float64) {
			v.pen(skinLineC, 0.18)
			v.straight(geom.Pt(columnX, y), geom.Pt(columnX+8, y))
		}},
		{len(v.Work.Datums) > 0, v.residualText(), func(y float64) { v.datumSample(geom.Pt(mid, y)) }},
	} {
		if r.want {
			r.draw(y)
			v.row(y, r.text)
			y -= gap
		}
	}
	return y
}

func (v *planView) fibreText() string {
	if v.Work.Fibre == nil {
		return ""
	}
	return fmt.Sprintf(", %.0f° from +X", *v.Work.Fibre*180/math.Pi)
}

// sheetRows say which piece of stock this is and how well it is used.
func (v *planView) sheetRows(y float64) float64 {
	w := v.Work
	if !w.Sheet || w.Blank.Name == "" {
		return y
	}
	name := blankName(w.Blank)
	if w.Blank.Of > 1 {
		name += fmt.Sprintf(" (sheet %d of %d)", w.Blank.Number, w.Blank.Of)
	}
	v.head(y, v.fit(name, 8.5*1.1, columnW))
	used, stock := 0.0, 0.0
	for _, p := range w.Parts {
		used += p.Region.Area()
	}
	box := geom.EmptyBox()
	for _, g := range w.Stock {
		stock += g.Area()
		box = box.Union(g.Bounds())
	}
	rows := []string{fmt.Sprintf("%s, %.2f mm", w.Material.Title, w.Thickness), fmt.Sprintf("%.0f by %.0f mm", box.Size().X, box.Size().Y)}
	if stock > 0 {
		noun := "parts take"
		if len(w.Parts) == 1 {
			noun = "part takes"
		}
		text := fmt.Sprintf("%d %s %.1f %%", len(w.Parts), noun, 100*used/stock)
		if g, ok := weight(w, used); ok {
			all, _ := weight(w, stock)
			text += fmt.Sprintf(", %s of %s", grams(g), grams(all))
		}
		rows = append(rows, text)
		if c := w.Blank.Cost; c != nil {
			rows = append(rows, fmt.Sprintf("cost of the parts %.2f of %.2f", *c*used/stock, *c))
		}
	}
	for _, r := range rows {
		y -= 4.2
		v.text(columnX, y, 7.5, canvas.Left, false, ink, v.fit(r, 7.5, columnW))
	}
	return y - 6
}

func (v *planView) residualText() string {
	if k := v.residualScale(); k > 0 {
		return fmt.Sprintf("datum; arrow: what it misses by, × %g", k)
	}
	return "datum, touched"
}

func (v *planView) datumSample(q geom.Point) {
	v.datum(q)
	if v.residualScale() > 0 {
		v.pen(warnC, 0.35)
		v.straight(q, q.Add(geom.Pt(3, 1)))
	}
}

func (v *planView) memberSample(y float64) {
	box := func(d float64) geom.Box {
		return geom.Box{Min: geom.Pt(columnX+d, y-2+d/2), Max: geom.Pt(columnX+8-d, y+2-d/2)}
	}
	v.fill(errorC)
	v.rect(box(0))
	v.pen(memberC, 0.14, 0.3, 0.6)
	v.rect(box(0))
	v.fill(clearC)
	v.rect(box(0.6))
	v.fill(color.White)
	v.rect(box(1.6))
	v.pen(memberC, 0.18)
	for i := range 3 {
		x := columnX + 1.8 + float64(i)*1.4
		v.straight(geom.Pt(x, y-1.1), geom.Pt(x+1.5, y+1.1))
	}
	v.pen(memberC, 0.25)
	v.rect(box(1.6))
}

// cutterRows names each cutter by the shape and colour of its numbers and the
// dashes of its line.
func (v *planView) cutterRows(y float64) float64 {
	v.head(y, "cutters: shape of number, line of tip")
	y -= 4.4
	for i, c := range v.Work.Cutters {
		v.brush(cutterColour(i), color.White, 0.2)
		v.draw(cutterShape(i).Scale(0.8, 0.8).Translate(columnX+2, y+0.2))
		v.fill(depthColour(0.9))
		v.rect(geom.Box{Min: geom.Pt(columnX+4.4, y-0.9), Max: geom.Pt(columnX+9.2, y+1.1)})
		v.pen(color.White, 0.14, cutterDashes(i)...)
		v.straight(geom.Pt(columnX+4.4, y+0.1), geom.Pt(columnX+9.2, y+0.1))
		v.row(y, fmt.Sprintf("T%d  %s, Ø %.4g mm", c.Number, c.Name, c.Diameter))
		y -= 4.8
	}
	return y
}

// roomRows writes the smallest room to a member and to a clamp.
func (v *planView) roomRows(y float64) float64 {
	var rows []string
	for _, x := range []struct {
		word string
		vs   []keepout.Volume
	}{{"member", v.Work.Members}, {"clamp", v.Work.Clamps}} {
		if c, ok := v.tightest(x.vs); ok {
			rows = append(rows, fmt.Sprintf("%s: %.2f mm to %s, needs %.2f", x.word, c.MarginMM, c.Member, c.NeededMM))
		}
	}
	if len(rows) == 0 {
		return y
	}
	v.head(y, "smallest room")
	for _, r := range rows {
		y -= 4.2
		v.text(columnX, y, 7.5, canvas.Left, false, ink, v.fit(r, 7.5, columnW))
	}
	return y - 4
}

// orderList writes the cuts in their order, in two columns when one is too short.
func (v *planView) orderList(y, foot float64) {
	v.head(y, "order")
	const line = 4.7
	y -= 5
	rows := max(1, int((y-foot)/line)+1)
	columns := 1
	if len(v.order) > rows {
		columns = 2
	}
	wide := columnW / float64(columns)
	for i, o := range v.order {
		c, r := i/rows, i%rows
		x, yy := columnX+float64(c)*wide, y-float64(r)*line
		if last := columns*rows - 1; i == last && len(v.order) > last+1 {
			v.text(x, yy-0.8, 7, canvas.Left, false, ink, fmt.Sprintf("and %d more", len(v.order)-i))
			return
		}
		v.bubble(geom.Pt(x+2.2, yy), i+1, o.cutter)
		v.text(x+5.2, yy-0.8, 7, canvas.Left, false, ink, v.fit(o.name, 7, wide-6))
	}
}
