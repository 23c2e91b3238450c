package plan

import (
	"math"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/toolpath"
)

// approach is how far above the skin a rapid down ends; the rest is fed. Common
// practice, no source.
const approach = 1.0 // mm

// base tells from which height of the skin under the cutter a depth is measured.
type base uint8

const (
	atCentre  base = iota // under the centre of the cutter
	atLowest              // lowest skin under the footprint: through cuts, so that nothing is left
	atHighest             // highest skin under the footprint: where a layer must be kept
)

// draper turns legs into moves over the skin. Splitting depends on the place
// alone, not on the depth, so that every pass over one segment reuses it.
type draper struct {
	w      *workSkin
	cutter *shop.Cutter
	base   base
	safe   float64
	plunge float64
	rise   float64 // of the operation, where a tab is passed over
	cache  map[geom.Seg][]piece
	over   bool // an operation came out longer than mostLegs
}

// workSkin is what draping needs to know of the work.
type workSkin struct {
	height func(geom.Point) float64
	slope  func(geom.Box) float64
	bend   func(geom.Box) float64
	top    func(geom.Box) float64 // highest skin in the box, its error included
	flat   bool
	tol    float64 // mm
}

// piece is a part of a segment over which a height that changes evenly with the
// length strays from the skin by no more than the tolerance.
type piece struct {
	seg   geom.Seg
	shift float64 // from the skin under the centre to the base, mm: ≤ 0 for atLowest
}

// smallest piece of a draped path, mm: kinks of a skin model have no bend that
// a bound could hold.
const smallestPiece = 0.05

// pieces splits a segment where the height error would pass the tolerance.
func (d *draper) pieces(s geom.Seg) []piece {
	if d.w.flat {
		return []piece{{seg: s}}
	}
	if out, ok := d.cache[s]; ok {
		return out
	}
	out := d.split(nil, s)
	d.cache[s] = out
	return out
}

// split halves a segment until the bounds of the skin over it say that few even
// pieces do. Along an arc of radius R the height bends by Bend + Slope/R.
func (d *draper) split(out []piece, s geom.Seg) []piece {
	l := s.Length()
	b := s.Bounds()
	slope := d.w.slope(b)
	bend := d.w.bend(b)
	if !s.IsLine() {
		bend += slope / s.Radius()
	}
	n := math.Ceil(l * math.Sqrt(bend/(8*d.w.tol)))
	switch {
	case n <= 1 || l <= smallestPiece || d.over:
		return append(out, piece{s, d.shift(b)})
	case n <= 4:
		k := int(n)
		for i := range k {
			g := part(s, float64(i)/n, float64(i+1)/n)
			out = append(out, piece{g, d.shift(g.Bounds())})
		}
		return out
	}
	if d.over = len(out) > mostLegs/10; d.over {
		return out
	}
	out = d.split(out, part(s, 0, 0.5))
	return d.split(out, part(s, 0.5, 1))
}

// shift is the distance from the skin under the centre to the base for every
// centre in the box.
func (d *draper) shift(b geom.Box) float64 {
	if d.base == atCentre {
		return 0
	}
	rise := riseUnder(d.cutter, d.w.slope(b.Grow(d.cutter.Radius())))
	if d.base == atLowest {
		return -rise
	}
	return rise
}

// riseUnder bounds how much the skin of the given slope rises under a cutter
// above its height at the centre, as far as the form of the end lets the cutter
// go into it: a flat end meets it at its edge, a ball on its flank, a cone only
// where the skin is steeper than the cone.
func riseUnder(c *shop.Cutter, slope float64) float64 {
	r := c.Radius()
	switch c.Kind {
	case shop.Ball:
		return r * (math.Hypot(1, slope) - 1)
	case shop.BullNose:
		re := math.Min(math.Max(c.CornerRadius, 0), r)
		return float64((r-re)*slope) + re*(math.Hypot(1, slope)-1)
	case shop.Vee, shop.Drill:
		return math.Max(0, float64(r*slope)-tipLength(c))
	}
	return r * slope
}

// tipLength is how much deeper the tip reaches than the place where the cutter
// has its full diameter: r / tan(ε/2) for a cone of included angle ε.
func tipLength(c *shop.Cutter) float64 {
	r := c.Radius()
	switch c.Kind {
	case shop.Ball:
		return r
	case shop.BullNose:
		return math.Min(math.Max(c.CornerRadius, 0), r)
	case shop.Vee, shop.Drill:
		if c.PointAngle > 0 && c.PointAngle < math.Pi {
			return r / math.Tan(c.PointAngle/2)
		}
	}
	return 0
}

// clearance is the height at which a rapid down over p ends.
func (d *draper) clearance(p geom.Point) float64 {
	r := d.cutter.Radius()
	top := d.w.top(geom.Box{Min: p, Max: p}.Grow(r))
	return math.Min(top+approach, d.safe)
}

// moves drapes one operation.
func (d *draper) moves(o *op) []toolpath.Move {
	out := make([]toolpath.Move, 0, len(o.legs)+6)
	p := o.start()
	out = d.descend(out, p, o.legs[0].d0, d.plunge, d.safe)
	for i := 0; i < len(o.legs); {
		switch l := &o.legs[i]; l.way {
		case lifting:
			out = append(out, toolpath.Move{Kind: toolpath.Rapid, X: l.seg.A.X, Y: l.seg.A.Y, Z: d.clearance(l.seg.A)})
			i++
		case hopping:
			out = append(out, toolpath.Move{Kind: toolpath.Rapid, X: l.seg.A.X, Y: l.seg.A.Y, Z: d.safe})
			out = d.descend(out, l.seg.B, l.d1, l.feed, d.safe)
			i++
		default:
			n := i
			for n < len(o.legs) && o.legs[n].way == feeding {
				n++
			}
			out = d.run(out, o.legs[i:n])
			i = n
		}
	}
	e := o.end()
	return append(out, toolpath.Move{Kind: toolpath.Rapid, X: e.X, Y: e.Y, Z: d.safe})
}

// descend goes across at safe height, down by rapid to the clearance and by
// feed to depth depth.
func (d *draper) descend(out []toolpath.Move, p geom.Point, depth, feed, safe float64) []toolpath.Move {
	out = append(out, toolpath.Move{Kind: toolpath.Rapid, X: p.X, Y: p.Y, Z: safe})
	c := d.clearance(p)
	if c < safe {
		out = append(out, toolpath.Move{Kind: toolpath.Rapid, X: p.X, Y: p.Y, Z: c})
	}
	z := d.w.height(p) + d.shift(geom.Box{Min: p, Max: p}) - depth
	if z < math.Min(c, safe) {
		out = append(out, toolpath.Move{Kind: toolpath.Line, X: p.X, Y: p.Y, Z: z, Feed: feed})
	}
	return out
}

// run drapes feeding legs that follow each other. At a joint the base is that
// of the more careful neighbour: deeper for through cuts, higher for kept layers.
func (d *draper) run(out []toolpath.Move, list []leg) []toolpath.Move {
	if d.w.flat {
		h := d.w.height(list[0].seg.A)
		for i := range list {
			z := h - list[i].d1
			if i+1 < len(list) {
				z = heldOver(list[i].seg, out[len(out)-1].Z, z)
			}
			out = append(out, move(list[i].seg, z, list[i].feed))
		}
		return out
	}
	type bit struct {
		piece
		d1, feed float64
		d0       float64
		onTab    bool
	}
	var bits []bit
	for i := range list {
		l := &list[i]
		if l.seg.A == l.seg.B {
			bits = append(bits, bit{piece{l.seg, d.shift(geom.Box{Min: l.seg.A, Max: l.seg.A})}, l.d1, l.feed, l.d0, l.onTab})
			continue
		}
		full, run := l.seg.Length(), 0.0
		ps := d.pieces(l.seg)
		if len(out)+len(bits)+len(ps) > mostLegs {
			d.over = true
			return out
		}
		for k, q := range ps {
			run += q.seg.Length()
			u := run / full
			if k == len(ps)-1 {
				u = 1
			}
			dn := l.d0 + float64((l.d1-l.d0)*u)
			if u == 1 {
				dn = l.d1
			}
			if l.onTab {
				q.shift = -d.rise
			}
			bits = append(bits, bit{q, dn, l.feed, 0, l.onTab})
		}
	}
	for i, b := range bits {
		s := b.shift
		if i+1 < len(bits) {
			if next := bits[i+1]; next.onTab != b.onTab {
				s = -d.rise // a tab begins and ends at its full height
			} else {
				s = d.careful(s, next.shift)
			}
		}
		z := d.w.height(b.seg.B) + s - b.d1
		if i+1 < len(bits) {
			z = heldOver(b.seg, out[len(out)-1].Z, z)
		}
		m := move(b.seg, z, b.feed)
		if down := out[len(out)-1].Z - z; down > 0 && d.plunge > 0 { // downhill counts as going down
			m.Feed = math.Min(m.Feed, d.plunge*math.Hypot(b.seg.Length(), down)/down)
		}
		out = append(out, m)
	}
	return out
}

// heldOver keeps the height over a motion so short that the last decimals of
// the program would make a cliff of a gentle ramp; the next motion catches up.
func heldOver(s geom.Seg, from, z float64) float64 {
	const short = 0.02 // mm
	if z < from && from-z < short/4 && s.A != s.B && s.A.Dist(s.B) < short {
		return from
	}
	return z
}

func (d *draper) careful(a, b float64) float64 {
	if d.base == atLowest {
		return math.Min(a, b)
	}
	return math.Max(a, b)
}

// move is one motion of the tip along s to height z.
func move(s geom.Seg, z, feed float64) toolpath.Move {
	m := toolpath.Move{Kind: toolpath.Line, X: s.B.X, Y: s.B.Y, Z: z, Feed: feed}
	if !s.IsLine() && s.A != s.B {
		m.Kind, m.Center, m.CCW = toolpath.Arc, s.Center(), s.Bulge > 0
	}
	return m
}
