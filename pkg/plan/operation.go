package plan

import (
	"math"

	"sparclear/pkg/geom"
)

// leg is one motion in the first layer: along seg in the plane, while the depth
// below the skin goes evenly from d0 to d1. A segment of no length is a motion
// straight up or down.
type leg struct {
	seg    geom.Seg
	d0, d1 float64 // depth below the skin, mm
	feed   float64 // along the path, mm/min
	way    way
	pass   int32 // which pass of the operation it belongs to, from 1
	onTab  bool  // over a tab: the height of the skin under the centre decides
}

// way tells how a leg is run.
type way uint8

const (
	feeding way = iota // at the feed
	lifting            // straight up by rapid to the clearance above the skin
	hopping            // up to safe height, across, down to the clearance, feed to d1
)

// op is one operation: one cutter, one stretch of legs that begins and ends at
// safe height.
type op struct {
	cut    int    // index into Work.Cuts
	part   int    // that the cut belongs to, -1 for wings
	name   string // "drill", "bore", "rough", …
	cutter int
	rpm    float64
	base   base
	legs   []leg
	notes  []string
	rank   int         // what comes first where operations touch each other
	size   float64     // area, mm²: small before large
	box    geom.Box    // of the cutter's centre, grown by its radius
	deep   float64     // of the bottom below the skin, mm: of what else is equal the shallower comes first
	area   bool        // it clears an area
	line   geom.Chain  // that it runs along, nil for one with an area
	rise   float64     // most that the base lies below the skin under the centre, mm
	around geom.Region // what the operation frees: outline of a part, slug of an opening
}

// Ranks: holes while everything is stiff, ledges while the plug stiffens the
// skin, slots, openings, outlines (handbook of the trade: spot, drill, rebate,
// inner cut-outs, slots, outline).
const (
	rankMark = iota
	rankDrill
	rankBore
	rankRebate
	rankPocket
	rankSlot
	rankScoreEnd // the chordwise ends of a hinge line come after the line itself
	rankOpening
	rankOpeningFree // the last pass through a skin, after all else of the opening
	rankPart
	rankPartFree
)

func (o *op) start() geom.Point { return o.legs[0].seg.A }
func (o *op) end() geom.Point   { return o.legs[len(o.legs)-1].seg.B }

// measure sets the box of the operation for a cutter of radius r.
func (o *op) measure(r float64) {
	b := geom.EmptyBox()
	for i := range o.legs {
		if o.legs[i].way == hopping {
			b = b.Extend(o.legs[i].seg.B)
			continue
		}
		b = b.Union(o.legs[i].seg.Bounds())
	}
	o.box = b.Grow(r)
}

// finite tells whether every number of the operation is finite.
func (o *op) finite() bool {
	for i := range o.legs {
		l := &o.legs[i]
		for _, v := range [...]float64{l.seg.A.X, l.seg.A.Y, l.seg.B.X, l.seg.B.Y, l.seg.Bulge, l.d0, l.d1, l.feed} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return false
			}
		}
	}
	return true
}

// legs collects the legs of an operation.
type legs struct {
	list []leg
	at   geom.Point
	d    float64
	pass int32
	tab  bool // what is added runs over a tab
}

// newPass begins the next pass: a place from which a broken job can be resumed.
func (l *legs) newPass() { l.pass++ }

// begin sets where the operation starts: above p at depth d (0 or less: at or
// above the skin).
func (l *legs) begin(p geom.Point, d float64) { l.at, l.d = p, d }

// to adds a motion along s, ending at depth d.
func (l *legs) to(s geom.Seg, d, feed float64) {
	if s.A == s.B && d == l.d {
		return
	}
	next := leg{seg: s, d0: l.d, d1: d, feed: feed, pass: l.pass, onTab: l.tab}
	l.at, l.d = s.B, d
	if n := len(l.list); n > 0 && l.list[n-1].join(&next) {
		return
	}
	l.list = append(l.list, next)
}

// join makes one leg of two that follow each other on one line or one arc with
// one gradient, so that a path has no more blocks than it needs.
func (a *leg) join(b *leg) bool {
	const same = 1e-9
	if a.way != feeding || b.way != feeding || a.pass != b.pass || a.onTab != b.onTab || a.feed != b.feed || a.seg.IsLine() != b.seg.IsLine() || a.seg.A == a.seg.B || b.seg.A == b.seg.B {
		return false
	}
	la, lb := a.seg.Length(), b.seg.Length()
	if math.Abs((a.d1-a.d0)*lb-(b.d1-b.d0)*la) > same*la*lb {
		return false
	}
	s := geom.Seg{A: a.seg.A, B: b.seg.B}
	if a.seg.IsLine() {
		u, v := a.seg.TangentA(), b.seg.TangentA()
		if math.Abs(u.Cross(v)) > same || u.Dot(v) < 0 {
			return false
		}
	} else {
		turn := math.Atan(a.seg.Bulge) + math.Atan(b.seg.Bulge)
		if a.seg.Bulge*b.seg.Bulge < 0 || math.Abs(turn) > math.Pi/4 || a.seg.Center().Dist(b.seg.Center()) > same {
			return false // at most half a circle in one leg
		}
		s.Bulge = math.Tan(turn)
	}
	a.seg, a.d1 = s, b.d1
	return true
}

// line adds a straight motion to p at depth d.
func (l *legs) line(p geom.Point, d, feed float64) { l.to(geom.Line(l.at, p), d, feed) }

// lift goes straight up to the clearance above the skin.
func (l *legs) lift() {
	l.list = append(l.list, leg{seg: geom.Line(l.at, l.at), d0: l.d, d1: 0, way: lifting, pass: l.pass})
	l.d = 0
}

// hop goes to p at safe height and down to depth d, the last stretch by feed.
func (l *legs) hop(p geom.Point, d, feed float64) {
	l.list = append(l.list, leg{seg: geom.Line(l.at, p), d0: l.d, d1: d, feed: feed, way: hopping, pass: l.pass})
	l.at, l.d = p, d
}
