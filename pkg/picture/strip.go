package picture

import (
	"fmt"
	"image/color"
	"math"
	"strings"

	"github.com/tdewolff/canvas"

	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/work"
)

// Sizes of a depth strip on paper, mm.
const (
	stripHigh  = 34.0 // room for depth in one strip
	stripEvery = 50.0 // from one strip to the next
	stripMost  = 40   // strips on one picture
	stripLeft  = 34.0
	stripWide  = paperW - stripLeft - 46
	stripHead  = 22.0
)

// Strip returns the depth strips as SVG, one below the other in the order of
// cutting, each along its cut: skin, lower face, limit, floor, members in reach
// and where the tip runs, pass by pass. Depth is drawn larger than length by a
// factor that stands beside it. Members are those nearer to the edge of the
// cutter than their need and five cutters more.
func Strip(s Scene) ([]byte, error) {
	p, err := s.stripPage()
	if err != nil {
		return nil, err
	}
	return p.svg()
}

func (s Scene) stripPage() (*page, error) {
	rs, err := s.runs()
	if err != nil {
		return nil, err
	}
	list := order(rs)
	shownCuts := min(len(list), stripMost)
	high := stripHead + stripEvery*float64(max(1, shownCuts)) + 8
	unit := geom.Box{Max: geom.Pt(1, 1)} // nothing of the machine is drawn to scale
	p, err := newPage(paperW, high, unit, unit)
	if err != nil {
		return nil, err
	}
	v := stripView{Scene: s, page: p}
	p.text(10, high-10, 13, canvas.Left, true, ink, p.fit("Depth along each cut: "+s.Work.Title, 14, paperW-20))
	p.text(10, high-16, 7.5, canvas.Left, false, ink, "depth below the local skin, mm, downwards; length along the outline, mm, to the right; holes stand side by side")
	y := high - stripHead
	for i, o := range list[:shownCuts] {
		v.cut(i, o, rs, y)
		y -= stripEvery
	}
	if len(list) > shownCuts {
		p.text(10, 4, 8, canvas.Left, true, ink, fmt.Sprintf("and %d more cuts, not drawn", len(list)-shownCuts))
	}
	return p, nil
}

// stripView draws one strip after the other.
type stripView struct {
	Scene
	*page
}

// strip is one cut unrolled: places of the tip, and what each place lies at.
type strip struct {
	long   float64 // mm
	deep   float64 // mm, lowest that is drawn
	passes [][]geom.Point
	places []geom.Point // on the machine, evenly along the strip
}

func (v *stripView) cut(i int, o ordered, rs []run, top float64) {
	c := v.cutOf(o.name)
	if c == nil {
		return
	}
	st := v.unroll(*c, rs)
	kx := stripWide / math.Max(st.long, 1e-6)
	if kx > 4 {
		kx = 4
	}
	st.deep = math.Max(st.deep, c.Limit) * 1.08
	up := math.Max(0.4, 0.12*st.deep)
	kz := stripHigh / (st.deep + up)
	x := func(s float64) float64 { return stripLeft + s*kx }
	y := func(d float64) float64 { return top - 6 - (d+up)*kz }
	wide := st.long * kx

	v.bubbleAt(geom.Pt(12, top-1), i+1, o.cutter)
	v.text(17, top-2, 9, canvas.Left, true, ink, v.fit(o.name, 10, 110))
	v.text(stripLeft+stripWide, top-2, 7.5, canvas.Right, false, ink, fmt.Sprintf("%s, T%d %s; depth drawn × %.3g", c.Kind, v.Work.Cutters[c.Cutter].Number, v.Work.Cutters[c.Cutter].Name, kz/kx))

	v.fill(coreC)
	v.rect(geom.Box{Min: geom.Pt(x(0), y(math.Min(v.Work.Thickness, st.deep))), Max: geom.Pt(x(0)+wide, y(0))})
	near := v.reach(*c, st, x, y)
	v.pen(ink, 0.4)
	v.straight(geom.Pt(x(0), y(0)), geom.Pt(x(0)+wide, y(0)))
	lines := []level{{0, "skin 0", ink}}
	if t := v.Work.Thickness; t <= st.deep {
		v.pen(ink, 0.2)
		v.straight(geom.Pt(x(0), y(t)), geom.Pt(x(0)+wide, y(t)))
		lines = append(lines, level{t, fmt.Sprintf("lower face %.2f", t), ink})
	}
	v.pen(warnC, 0.35, 3, 1.5)
	v.straight(geom.Pt(x(0), y(c.Limit)), geom.Pt(x(0)+wide, y(c.Limit)))
	lines = append(lines, level{c.Limit, fmt.Sprintf("limit %.2f", c.Limit), warnC})
	below := ""
	switch f := v.Work.Floor; {
	case !(f > 0) || math.IsInf(f, 1):
	case f <= st.deep:
		v.pen(warnC, 0.5)
		v.straight(geom.Pt(x(0), y(f)), geom.Pt(x(0)+wide, y(f)))
		lines = append(lines, level{f, fmt.Sprintf("floor %.2f", f), warnC})
	default:
		below = fmt.Sprintf("floor at %.2f lies below the picture", f)
	}
	deepest := v.passes(st, x, y)
	if deepest > 0 {
		lines = append(lines, level{deepest, fmt.Sprintf("deepest %.2f", deepest), ink})
	}
	v.levels(lines, y)
	v.scaleBar(st.long, kx, y(st.deep)-3.4)
	if near != "" && below != "" {
		near += "; "
	}
	v.text(stripLeft+stripWide, y(st.deep)-4, 7, canvas.Right, false, ink, v.fit(near+below, 7, stripWide-40))
}

// bubbleAt draws the number of a cut as on the plan view.
func (v *stripView) bubbleAt(q geom.Point, n, cutter int) {
	p := planView{Scene: v.Scene, page: v.page}
	p.bubble(q, n, cutter)
}

func (s Scene) cutOf(name string) *work.Cut {
	for i := range s.Work.Cuts {
		if c := &s.Work.Cuts[i]; c.Name == name && c.Cutter >= 0 && c.Cutter < len(s.Work.Cutters) {
			return c
		}
	}
	return nil
}

// level is a depth with its word.
type level struct {
	depth float64
	text  string
	c     color.RGBA
}

// levels writes the words beside the strip, left and right in turn, and pushes
// them down where they would touch.
func (v *stripView) levels(ls []level, y func(float64) float64) {
	var low [2]float64
	low[0], low[1] = math.Inf(1), math.Inf(1)
	for i, l := range ls {
		side := i % 2
		at := math.Min(y(l.depth)-0.8, low[side]-3)
		low[side] = at
		if side == 0 {
			v.text(stripLeft-2, at, 7, canvas.Right, false, l.c, l.text)
		} else {
			v.text(stripLeft+stripWide+2, at, 7, canvas.Left, false, l.c, l.text)
		}
	}
}

func (v *stripView) scaleBar(long, kx, y float64) {
	l := niceLength(long / 4)
	v.pen(ink, 0.5)
	v.straight(geom.Pt(stripLeft, y), geom.Pt(stripLeft+l*kx, y))
	v.text(stripLeft+l*kx+1.5, y-0.9, 7, canvas.Left, false, ink, fmt.Sprintf("%g mm of %.1f", l, long))
}

// passes draws where the tip runs, darker with each pass, and returns the deepest
// place of the tip.
func (v *stripView) passes(st strip, x, y func(float64) float64) float64 {
	deepest := 0.0
	for i, p := range st.passes {
		path := &canvas.Path{}
		for k, q := range p {
			deepest = math.Max(deepest, q.Y)
			if k == 0 {
				path.MoveTo(x(q.X), y(q.Y))
			} else {
				path.LineTo(x(q.X), y(q.Y))
			}
		}
		if len(p) == 1 {
			path.LineTo(x(p[0].X)+0.2, y(p[0].Y))
		}
		v.pen(depthColour(0.45+0.55*float64(i+1)/float64(len(st.passes))), 0.45)
		v.draw(path)
	}
	return deepest
}

// reach hatches the members that come near, over the stretch where they do, and
// names them with how far off the edge of the cut they lie.
func (v *stripView) reach(c work.Cut, st strip, x, y func(float64) float64) string {
	if len(st.places) < 2 {
		return ""
	}
	r := v.Work.Cutters[c.Cutter].Radius()
	step := st.long / float64(len(st.places)-1)
	var said []string
	for _, m := range v.Work.Members {
		near, best, from := v.needed(m)+10*r, math.Inf(1), -1
		here := math.Inf(1) // least on the stretch at hand
		for i := 0; i <= len(st.places); i++ {
			d := math.Inf(1) // one past the end closes the last stretch
			if i < len(st.places) {
				d = distToVolume(m, st.places[i]) - v.edgeShift(c, r)
			}
			best = math.Min(best, d)
			in := d <= near && m.From <= st.deep
			if in && from < 0 {
				from, here = i, d
			}
			if in {
				here = math.Min(here, d)
			}
			if !in && from >= 0 {
				a, b := math.Max(0, (float64(from)-0.5)*step), math.Min(st.long, (float64(i)-0.5)*step)
				box := geom.Box{Min: geom.Pt(x(a), y(math.Min(m.To, st.deep))), Max: geom.Pt(x(b), y(math.Max(m.From, 0)))}
				v.hatched(box)
				v.beside(box, math.Max(box.Min.Y, y(c.Limit))+0.5, fmt.Sprintf("%s, %.2f mm beside", m.Name, math.Max(0, here)))
				from = -1
			}
		}
		if best <= near {
			said = append(said, fmt.Sprintf("%s %.2f mm", m.Name, math.Max(0, best)))
		}
	}
	if len(said) == 0 {
		return "no member in reach"
	}
	return "beside the edge: " + strings.Join(said, ", ")
}

// hatched fills a box of the paper as members are filled on the plan view.
func (v *stripView) hatched(b geom.Box) {
	v.fill(clearC)
	v.rect(b)
	p := planView{Scene: v.Scene, page: v.page}
	// The page's scale is 1, so that paper and machine have one unit.
	lo, hi := v.machine(b.Min), v.machine(b.Max)
	p.hatch(geom.Region{Outer: geom.Rect(lo.X, lo.Y, hi.X, hi.Y)}, memberC)
	v.pen(memberC, 0.2)
	v.rect(b)
}

// beside writes into a hatched box, from low upwards, whose it is and that it stands
// beside the cut, not in its way, where the box has room.
func (v *stripView) beside(b geom.Box, low float64, text string) {
	d := v.textSize(6, false, text).Add(geom.Pt(0.8, 0.5))
	if d.X > b.Size().X || low+d.Y > b.Max.Y {
		return
	}
	x := b.Center().X
	v.fill(color.White)
	v.rect(geom.Box{Min: geom.Pt(x-d.X/2, low), Max: geom.Pt(x+d.X/2, low+d.Y)})
	v.text(x, low+0.7, 6, canvas.Center, false, memberC, text)
}

// edgeShift is how far the swept edge lies beyond the outline: parts are cut
// around, points have the radius of their hole.
func (v *stripView) edgeShift(c work.Cut, r float64) float64 {
	switch {
	case len(c.Points) > 0:
		return math.Max(c.Diameter/2, r)
	case len(c.Chains) > 0:
		return r
	case c.Kind == work.PartCut:
		return 2 * r
	}
	return 0
}

func distToVolume(m keepout.Volume, q geom.Point) float64 {
	d := math.Inf(1)
	for _, g := range m.Footprint {
		d = math.Min(d, math.Max(0, g.SignedDist(q)))
	}
	return d
}
