package proof

import (
	"math"
	"unicode/utf8"

	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/work"
)

// area is where one cut allows the cutter to be: inside its outlines, outside
// its parts, along its lines or about its points. Which cut a move belongs to is
// decided by these areas alone, never by what the text says of itself.
type area struct {
	cut     *work.Cut
	inside  *keepout.Field // the footprint must stay in here
	outside *keepout.Field // the footprint must stay out of here: all parts of the sheet
	own     *keepout.Field // of those, the part itself
	strict  []strictParts  // of those, the ones with less tolerance
	band    *keepout.Field // the axis must stay within half of these lines
	half    float64        // half width of the band beside the cutter itself, mm
	points  []geom.Point   // the footprint must stay within round of one of these
	round   float64
	corners []corner // sharp inside corners with relief
	box     geom.Box
	size    float64 // area of the box, mm²
	tol     float64
}

// strictParts are parts whose edges allow by mm less than the cut that is judged.
type strictParts struct {
	f  *keepout.Field
	by float64
}

// stricter lists the parts with less tolerance than tol, by tolerance.
func stricter(w *work.Work, tol float64) []strictParts {
	var tols []float64
	regions := map[float64][]geom.Region{}
	for i := range w.Cuts {
		c := &w.Cuts[i]
		t := math.Max(c.Tol, leastTol)
		if c.Kind != work.PartCut || t >= tol {
			continue
		}
		if regions[t] == nil {
			tols = append(tols, t)
		}
		regions[t] = append(regions[t], c.Regions...)
	}
	var out []strictParts
	for _, t := range tols {
		out = append(out, strictParts{keepout.NewField(regions[t]), tol - t})
	}
	return out
}

// corner is a place where relief is asked for.
type corner struct {
	at   geom.Point
	half float64 // half of the inside angle, rad
}

// areas holds the area of every cut, with a tree of boxes over them.
type areas struct {
	list  []area
	boxes boxTree
	stock *keepout.Field // nil: material everywhere
	waste int            // a cut of a part, for moves far from all of them; -1 none
	parts []partKept
	near  boxTree // over parts
}

// leastTol is the tolerance of a cut that states none, mm: some rounding of
// coordinates is always there.
const leastTol = 0.005

func newAreas(w *work.Work) *areas {
	a := &areas{waste: -1}
	if len(w.Stock) > 0 {
		a.stock = keepout.NewField(w.Stock)
	}
	var kept []geom.Region
	kept, a.parts, a.near = partsOf(w)
	var parts *keepout.Field
	if len(kept) > 0 {
		parts = keepout.NewField(kept)
	}
	for i := range w.Cuts {
		c := &w.Cuts[i]
		r := w.Cutters[c.Cutter].Diameter / 2
		g := area{cut: c, tol: math.Max(c.Tol, leastTol)}
		if c.Relief != "" {
			g.corners = sharpCorners(c.Regions)
		}
		switch c.Kind {
		case work.PartCut:
			g.outside, g.own = parts, keepout.NewField(c.Regions)
			g.strict = stricter(w, g.tol)
			if a.waste < 0 || c.Limit > w.Cuts[a.waste].Limit {
				a.waste = i
			}
		case work.Door, work.Score, work.Mark, work.Chamfer:
			g.band = linesOf(c)
			g.half = c.Options["width"] / 2
			if c.Kind == work.Mark && len(c.Regions) > 0 {
				g.inside = keepout.NewField(c.Regions)
			}
			if c.Kind == work.Mark && len(c.Chains) == 0 {
				if b, ok := lettering(c); ok {
					g.inside = keepout.NewField([]geom.Region{b})
				}
			}
		case work.Drill:
			g.points, g.round = c.Points, c.Diameter/2
			if !(c.Diameter > 0) { // as wide as its drill
				g.round = r
			}
		case work.Slot:
			if len(c.Chains) > 0 {
				g.band = linesOf(&work.Cut{Chains: c.Chains})
				if v := c.Options["width"] / 2; v > r {
					g.half = v - r
				}
			}
			if len(c.Regions) > 0 {
				g.inside = keepout.NewField(c.Regions)
			}
		default:
			if len(c.Regions) > 0 {
				g.inside = keepout.NewField(c.Regions)
			}
			if len(c.Points) > 0 && c.Diameter > 0 && len(c.Regions) == 0 {
				g.points, g.round = c.Points, c.Diameter/2
			}
		}
		if g.band != nil && g.band.Bounds().Empty() {
			g.band = nil
		}
		g.box = geom.EmptyBox()
		if g.inside != nil {
			g.box = g.box.Union(g.inside.Bounds())
		}
		if g.band != nil {
			g.box = g.box.Union(g.band.Bounds().Grow(g.half + r))
		}
		for _, q := range g.points {
			g.box = g.box.Extend(q)
		}
		if len(g.points) > 0 {
			g.box = g.box.Grow(g.round)
		}
		if g.own != nil { // the strip about the part; beyond it see waste
			g.box = g.own.Bounds().Grow(2*r + 1)
		}
		if !g.box.Empty() {
			g.box = g.box.Grow(g.tol + r)
			s := g.box.Size()
			g.size = s.X * s.Y
		}
		a.list = append(a.list, g)
	}
	boxes := make([]geom.Box, len(a.list))
	for i := range a.list {
		boxes[i] = a.list[i].box
	}
	a.boxes = newBoxTree(boxes)
	return a
}

// lettering is the place that a text may take when the work does not hold its
// strokes: from where it begins, as long as that many wide letters, and one and
// a half letters to every side.
func lettering(c *work.Cut) (geom.Region, bool) {
	n := utf8.RuneCountInString(c.Text)
	x, okX := c.Options["x"]
	y, okY := c.Options["y"]
	var at geom.Point
	switch {
	case n == 0:
		return geom.Region{}, false
	case okX && okY:
		at = c.Frame.Apply(geom.Pt(x, y))
	case len(c.Points) > 0:
		at = c.Points[0]
	default:
		return geom.Region{}, false
	}
	h := c.Options["height"]
	if !(h > 0) {
		h = 3
	}
	u := c.Frame.ApplyVector(geom.Polar(geom.Point{}, 1, c.Options["turn_deg"]*math.Pi/180))
	v := u.Left()
	a, b := at.Sub(u.Mul(1.5*h)), at.Add(u.Mul((1.2*float64(n)+1.5)*h))
	return geom.NewRegion(geom.Polygon(a.Sub(v.Mul(1.5*h)), b.Sub(v.Mul(1.5*h)), b.Add(v.Mul(2.5*h)), a.Add(v.Mul(2.5*h)))), true
}

func linesOf(c *work.Cut) *keepout.Field {
	var segs []geom.Seg
	for _, ch := range c.Chains {
		segs = append(segs, ch.Segs()...)
	}
	for _, g := range c.Regions {
		for _, k := range g.Contours() {
			segs = append(segs, k.Segs()...)
		}
	}
	return keepout.NewEdges(segs)
}

// sharpCorners lists the corners of the regions that a round cutter cannot reach.
func sharpCorners(regions []geom.Region) []corner {
	var out []corner
	for _, g := range regions {
		for _, c := range g.Contours() {
			for i := range c {
				in, next := c.Seg((i+len(c)-1)%len(c)).TangentB(), c.Seg(i).TangentA()
				turn := math.Atan2(in.Cross(next), in.Dot(next))
				if math.Abs(turn) > 0.05 {
					out = append(out, corner{c[i].Point, (math.Pi - math.Abs(turn)) / 2})
				}
			}
		}
	}
	return out
}

// over returns by how much a round footprint of radius r leaves the area while
// its axis runs along the piece: an upper bound, mm; 0 or less means that it
// stays inside; +Inf that it has no business there.
func (a *area) over(p *piece, r float64) float64 {
	if p.rect {
		return math.Inf(1)
	}
	best := math.Inf(1)
	if a.inside != nil {
		best = math.Min(best, insideOver(a.inside, p, r, true))
	}
	if a.outside != nil {
		// The part itself keeps the cutter out of its holes too: they have cuts of
		// their own.
		o := math.Max(insideOver(a.outside, p, r, false), insideOver(a.own, p, r, false))
		for _, s := range a.strict {
			o = math.Max(o, insideOver(s.f, p, r, false)+s.by)
		}
		best = math.Min(best, o)
	}
	if a.band != nil && best > a.tol {
		best = math.Min(best, bandOver(a.band, p.seg, a.half+a.tol-p.slack, 0)+p.slack-a.half)
	}
	for _, q := range a.points {
		d := math.Max(q.Dist(p.seg.A), q.Dist(p.seg.B))
		if !p.seg.IsLine() {
			d += p.seg.Length() / 2
		}
		best = math.Min(best, d+r+p.slack-a.round)
	}
	if best > a.tol && len(a.corners) > 0 && a.relieved(p, r) {
		return 0
	}
	return best
}

// insideOver is over for a region that the footprint must stay inside or outside of.
func insideOver(f *keepout.Field, p *piece, r float64, inside bool) float64 {
	for _, q := range [2]geom.Point{p.seg.A, p.seg.B} {
		if f.Inside(q) != inside {
			if d := f.EdgeDist(q); d > 2*keepout.Slack {
				return r + d + p.slack
			}
		}
	}
	d := f.EdgeDistSeg(p.seg)
	if d <= 0 && p.seg.A != p.seg.B && r < 0.001 {
		return math.Inf(1) // it may cross, and a point has no width to tell by
	}
	return r - d + p.slack
}

// bandOver returns an upper bound of the largest distance from s to the lines,
// no tighter than it takes to compare it with the limit.
func bandOver(f *keepout.Field, s geom.Seg, limit float64, depth int) float64 {
	m := s.Mid()
	q, e, ok := f.Nearest(m)
	if !ok {
		return math.Inf(1)
	}
	l := s.Length()
	rough := q.Dist(m) + l/2
	if s.IsLine() && e.IsLine() { // distance to a straight line is convex: the ends decide
		rough = math.Min(rough, math.Max(e.Dist(s.A), e.Dist(s.B)))
	}
	if rough <= limit || q.Dist(m) > limit || l < 0.001 || depth > 20 {
		return rough
	}
	t := math.Tan(math.Atan(s.Bulge) / 2)
	a := bandOver(f, geom.Seg{A: s.A, B: m, Bulge: t}, limit, depth+1)
	if a > limit {
		return math.Max(a, rough)
	}
	return math.Max(a, bandOver(f, geom.Seg{A: m, B: s.B, Bulge: t}, limit, depth+1))
}

// relieved tells whether the piece is part of a relief: the axis stays in the
// region, and the cutter reaches to the corner but not past it.
func (a *area) relieved(p *piece, r float64) bool {
	f := a.inside
	want := true
	if f == nil {
		f, want = a.outside, false
	}
	if f == nil || f.Inside(p.seg.Mid()) != want {
		return false
	}
	for _, k := range a.corners {
		near := p.seg.Dist(k.at) - p.slack
		far := math.Max(k.at.Dist(p.seg.A), k.at.Dist(p.seg.B)) + p.slack
		if !p.seg.IsLine() {
			far += p.seg.Length() / 2
		}
		if near >= r-a.tol && far <= r/math.Max(math.Sin(k.half), 0.2)+a.tol {
			return true
		}
	}
	return false
}

// holdsCurve tells whether the footprint stays in the area of cut i all along.
func (a *areas) holdsCurve(i int, c *curve, r float64) bool {
	if c.rapid { // a rapid belongs to a cut when it only lifts or lowers the tip
		if c.from[0] != c.to[0] || c.from[1] != c.to[1] {
			return false
		}
		p := piece{seg: geom.Line(geom.Pt(c.from[0], c.from[1]), geom.Pt(c.to[0], c.to[1]))}
		return a.list[i].over(&p, r) <= a.list[i].tol
	}
	n := c.parts()
	for k := 0; k < n; k++ {
		p := c.piece(float64(k)/float64(n), float64(k+1)/float64(n))
		if a.list[i].over(&p, r) > a.list[i].tol {
			return false
		}
	}
	return true
}

// cutAt returns the cut in whose area a point lies, for messages only; -1 when none.
func (p *prover) cutAt(q geom.Point) int {
	best, at := math.Inf(1), -1
	pc := piece{seg: geom.Line(q, q)}
	p.areas.boxes.visit(geom.Box{Min: q, Max: q}, func(i int) {
		a := &p.areas.list[i]
		r := p.tools[a.cut.Cutter].cutter.Diameter / 2
		v := a.over(&pc, r)
		if a.outside != nil { // the part that it runs along, where no outline holds it
			v = r/2 + a.own.Dist(q)
		}
		if v < best {
			best, at = v, i
		}
	})
	return at
}
