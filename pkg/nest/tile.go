package nest

import (
	"math"
	"math/rand/v2"
	"sort"

	"sparclear/pkg/geom"
)

// A layout without any waste is a needle that the search with overlaps hardly ever
// finds, since nearly right is of no use. It follows from its corners instead: the
// lowest and leftmost point of a box that is still bare can only be covered by a
// part that has a corner there, one of whose sides runs along the side of the bare
// ground. Few parts have such a corner, so that they can be tried one by one.

// tiling is that search over equal boxes that stand for pieces of stock.
type tiling struct {
	w, h  float64 // of a box, mm
	boxes int
	tol   float64 // how far corners and sides may miss each other, mm
	tiles []*tile
	left  []int // by part: copies to place
	done  []laidTile
	box   int     // the one that is being filled
	first int     // first tile of it in done
	area  float64 // of the tiles in it, mm²
	rest  int     // copies to place
	nodes int     // places that may still be tried
	drawn bool    // parts lie as drawn only
	steps int
	over  func() bool // the time is up
	ended bool        // it was
	rnd   *rand.Rand
}

// tile is a part in one turn. Corners are about the middle of the box and run
// counter-clockwise.
type tile struct {
	part   int
	v      int32
	first  bool // of the part's turns
	pts    ring
	area   float64
	out    []float64 // by corner: direction of the side that leaves it, rad
	angle  []float64 // by corner: angle of the material, rad
	hw, hh float64
	inner  *shape // smaller by the tolerance, about its own middle
	mid    geom.Point
}

// laidTile is a tile in a box, by the place of its middle.
type laidTile struct {
	t   *tile
	at  geom.Point
	box int
}

const (
	// tileTol is how far corners of parts that fit into each other may miss, as a
	// share of the box: drawings are rounded.
	tileTol = 2e-5
	// tileTurn is how far the directions of sides may differ in the same way, rad.
	tileTurn = 0.002
	// tileWaste is the share of the stock up to which there is no waste to speak of.
	tileWaste = 0.002
)

// newTile makes a shape ready; false when it has holes or is too thin, so that its
// corners say nothing.
func newTile(v int32, s *shape, tol float64) (*tile, bool) {
	t := &tile{part: s.part, v: v, hw: s.hw, hh: s.hh}
	for i, e := range s.edges {
		if i > 0 && (e.ax != s.edges[i-1].bx || e.ay != s.edges[i-1].by) {
			return nil, false
		}
		t.pts = append(t.pts, geom.Pt(e.ax, e.ay))
	}
	n := len(t.pts)
	var small ring
	for i, p := range t.pts {
		d0, d1 := p.Sub(t.pts[(i+n-1)%n]).Unit(), t.pts[(i+1)%n].Sub(p).Unit()
		t.out = append(t.out, d1.Angle())
		t.angle = append(t.angle, math.Pi-math.Atan2(d0.Cross(d1), d0.Dot(d1)))
		den := 1 + d0.Dot(d1)
		if den < 1e-7 {
			return nil, false
		}
		small = append(small, p.Add(d0.Left().Add(d1.Left()).Mul(tol/den))) // both sides moved inward meet here
	}
	t.area = t.pts.area()
	if small.area() < t.area/10 {
		return nil, false
	}
	t.inner = newShape(s.part, 0, []ring{small}, 0, geom.Rigid{})
	t.mid = t.inner.frame.Shift.Mul(-1)
	return t, true
}

// about returns the directions about q, from one on by so many rad, in which the
// tile's material lies; false when q is off the tile.
func (t *tile) about(q geom.Point, tol float64) (from, by float64, ok bool) {
	n := len(t.pts)
	for i, p := range t.pts {
		if p.Dist(q) <= tol {
			return t.out[i], t.angle[i], true
		}
	}
	in := false
	for i, p := range t.pts {
		next := t.pts[(i+1)%n]
		if (&edge{p.X, p.Y, next.X, next.Y}).dist2(q.X, q.Y) <= tol*tol {
			return t.out[i], math.Pi, true
		}
		if (p.Y > q.Y) != (next.Y > q.Y) && q.X < p.X+float64((q.Y-p.Y)/(next.Y-p.Y)*(next.X-p.X)) {
			in = !in
		}
	}
	return 0, 2 * math.Pi, in
}

// bare returns the directions about p that nothing covers yet, from one on by so
// many rad: the first such range from +X on. by is 0 when there is none.
func (t *tiling) bare(p geom.Point) (from, by float64) {
	type covered struct{ from, to float64 }
	var room [24]covered
	list := room[:0]
	add := func(a, by float64) {
		if a = math.Mod(a+float64(4*math.Pi)+tileTurn, 2*math.Pi) - tileTurn; a+by > 2*math.Pi {
			list = append(list, covered{a - 2*math.Pi, a + by - 2*math.Pi})
		}
		list = append(list, covered{a, a + by})
	}
	if p.Y <= t.tol {
		add(math.Pi, math.Pi)
	}
	if p.X <= t.tol {
		add(math.Pi/2, math.Pi)
	}
	if p.X >= t.w-t.tol {
		add(-math.Pi/2, math.Pi)
	}
	if p.Y >= t.h-t.tol {
		add(0, math.Pi)
	}
	for _, l := range t.done[t.first:] {
		q := p.Sub(l.at)
		if math.Abs(q.X) > l.t.hw+t.tol || math.Abs(q.Y) > l.t.hh+t.tol {
			continue
		}
		if a, by, ok := l.t.about(q, t.tol); ok {
			add(a, by)
		}
	}
	sort.Slice(list, func(i, j int) bool { return list[i].from < list[j].from })
	at := 0.0
	for _, c := range list {
		if c.from > at+tileTurn {
			return at, c.from - at
		}
		at = math.Max(at, c.to)
	}
	if by = 2*math.Pi - at; by < tileTurn {
		by = 0
	}
	return at, by
}

// corner returns the lowest bare point of the present box, the leftmost of equals,
// and the bare directions about it.
func (t *tiling) corner() (p geom.Point, from, by float64) {
	found := false
	look := func(q geom.Point) {
		if found && (q.Y > p.Y+t.tol || q.Y > p.Y-t.tol && q.X >= p.X) {
			return
		}
		if a, b := t.bare(q); b > 0 {
			p, from, by, found = q, a, b, true
		}
	}
	look(geom.Pt(0, 0))
	look(geom.Pt(t.w, 0))
	for _, l := range t.done[t.first:] {
		for _, q := range l.t.pts {
			look(l.at.Add(q))
		}
	}
	return p, from, by
}

// option is a tile that may cover a corner.
type option struct {
	t     *tile
	at    geom.Point
	meets int // corners that fall on one there is, and 1 if nothing is left bare about this one
	draw  float64
}

// options lists the tiles that fit at the corner, those that leave nothing bare
// about it first.
func (t *tiling) options() []option {
	p, from, by := t.corner()
	var out []option
	for _, k := range t.tiles {
		if t.left[k.part] == 0 || t.drawn && !k.first || t.area+k.area > float64(t.w*t.h*(1+tileWaste)) {
			continue
		}
		for i := range k.pts {
			if k.angle[i] > by+tileTurn || math.Abs(math.Remainder(k.out[i]-from, 2*math.Pi)) > tileTurn {
				continue
			}
			t.nodes--
			if at := p.Sub(k.pts[i]); t.free(k, at) {
				out = append(out, option{k, at, t.meets(k, at, k.angle[i] > by-tileTurn), t.rnd.Float64() * k.area})
			}
		}
	}
	sort.SliceStable(out, func(i, j int) bool {
		if out[i].meets != out[j].meets {
			return out[i].meets > out[j].meets
		}
		return out[i].draw > out[j].draw
	})
	return out
}

// meets counts the corners of a tile that fall on corners of the box or of the
// tiles in it.
func (t *tiling) meets(k *tile, at geom.Point, closes bool) int {
	n := 0
	if closes {
		n++
	}
	for _, p := range k.pts {
		p = at.Add(p)
		if (p.X <= t.tol || p.X >= t.w-t.tol) && (p.Y <= t.tol || p.Y >= t.h-t.tol) {
			n++
			continue
		}
		for _, l := range t.done[t.first:] {
			if q := p.Sub(l.at); math.Abs(q.X) <= l.t.hw+t.tol && math.Abs(q.Y) <= l.t.hh+t.tol && l.t.corner(q, t.tol) {
				n++
				break
			}
		}
	}
	return n
}

// corner tells whether q is a corner of the tile.
func (t *tile) corner(q geom.Point, tol float64) bool {
	for _, p := range t.pts {
		if p.Dist(q) <= tol {
			return true
		}
	}
	return false
}

// free tells whether a tile lies in the box and, but for the tolerance, overlaps
// none there.
func (t *tiling) free(k *tile, at geom.Point) bool {
	if at.X-k.hw < -t.tol || at.Y-k.hh < -t.tol || at.X+k.hw > t.w+t.tol || at.Y+k.hh > t.h+t.tol {
		return false
	}
	for _, l := range t.done[t.first:] {
		d := at.Add(k.mid).Sub(l.at.Add(l.t.mid))
		if collide(l.t.inner, k.inner, d.X, d.Y) {
			return false
		}
	}
	return true
}

// full tells that nothing which is left to place could lie on what is bare.
func (t *tiling) full() bool {
	bare := float64(t.w*t.h) - t.area
	if bare > float64(t.w*t.h*tileWaste) {
		return false
	}
	for _, k := range t.tiles {
		if t.left[k.part] > 0 && k.area/2 < bare {
			return false
		}
	}
	return true
}

// fill covers what is bare, box by box; false when it does not work out or the
// places to try are spent.
func (t *tiling) fill() bool {
	if t.rest == 0 {
		return true
	}
	if t.full() {
		first, area := t.first, t.area
		if t.box+1 == t.boxes {
			return false
		}
		t.box, t.first, t.area = t.box+1, len(t.done), 0
		if t.fill() {
			return true
		}
		t.box, t.first, t.area = t.box-1, first, area
		return false
	}
	if t.steps++; t.steps%16 == 0 && t.over() {
		t.ended = true
	}
	for _, o := range t.options() {
		if t.nodes <= 0 || t.ended {
			return false
		}
		t.done = append(t.done, laidTile{o.t, o.at, t.box})
		t.left[o.t.part]--
		t.rest--
		t.area += o.t.area
		if t.fill() {
			return true
		}
		t.area -= o.t.area
		t.rest++
		t.left[o.t.part]++
		t.done = t.done[:len(t.done)-1]
	}
	return false
}
