package plan

import (
	"math"
	"sort"

	"sparclear/pkg/geom"
)

// track is a closed path of the cutter's centre, measured by length from its
// start. Positions beyond its length mean further rounds.
type track struct {
	segs []geom.Seg
	at   []float64 // length before each segment
	len  float64
}

// newTrack makes a track of segments that follow each other; those of no length
// are left out.
func newTrack(segs []geom.Seg) track {
	var t track
	for _, s := range segs {
		l := s.Length()
		if l <= 0 {
			continue
		}
		t.segs = append(t.segs, s)
		t.at = append(t.at, t.len)
		t.len += l
	}
	return t
}

// find returns the segment at position s in [0, len] and the parameter on it.
func (t *track) find(s float64) (int, float64) {
	i := sort.Search(len(t.at), func(k int) bool { return t.at[k] > s }) - 1
	i = max(i, 0)
	l := t.segs[i].Length()
	return i, math.Min(math.Max((s-t.at[i])/l, 0), 1)
}

// wrap brings a position into [0, len).
func (t *track) wrap(s float64) float64 {
	s = math.Mod(s, t.len)
	if s < 0 {
		s += t.len
	}
	if s >= t.len {
		s = 0
	}
	return s
}

// point returns the place at position s.
func (t *track) point(s float64) geom.Point {
	i, u := t.find(t.wrap(s))
	return at(t.segs[i], u)
}

// tangent returns the direction of travel at position s.
func (t *track) tangent(s float64) geom.Point {
	i, u := t.find(t.wrap(s))
	if t.segs[i].IsLine() {
		return t.segs[i].TangentA()
	}
	return part(t.segs[i], u, 1).TangentA()
}

// section returns the segments from position a to b, a < b, whole segments as
// they are. Both may lie rounds beyond the length.
func (t *track) section(a, b float64) []geom.Seg {
	const hair = 1e-9 // mm; shorter pieces are none
	var out []geom.Seg
	round := math.Floor(a / t.len)
	base := round * t.len
	i, _ := t.find(math.Min(math.Max(a-base, 0), t.len))
	for n := 0; ; n++ {
		lo := base + t.at[i]
		l := t.segs[i].Length()
		u, v := (a-lo)/l, (b-lo)/l
		if u*l < hair {
			u = 0
		}
		if (1-v)*l < hair {
			v = 1
		}
		if (v-u)*l > hair {
			out = append(out, part(t.segs[i], u, v))
		}
		if lo+l >= b-hair {
			return out
		}
		if i++; i == len(t.segs) {
			i = 0
			base += t.len
		}
	}
}

// clearOfEnds returns l or a little more, so that a way of that length from s
// neither ends a hair before the end of a segment nor a hair after it: pieces
// shorter than the controller's last decimals would have slopes of their own.
func (t *track) clearOfEnds(s, l float64) float64 {
	const least = 0.1 // mm
	p := t.wrap(s + l)
	i, _ := t.find(p)
	if over := p - t.at[i]; over < least {
		l += least - over
		p += least - over
	}
	if left := t.at[i] + t.segs[i].Length() - p; left < least && left > 0 {
		l += left
	}
	return l
}

// nearest returns the position nearest to q and how far it is.
func (t *track) nearest(q geom.Point) (s, dist float64) {
	dist = math.Inf(1)
	for i, g := range t.segs {
		n := g.Nearest(q)
		if d := n.Dist(q); d < dist {
			dist = d
			s = t.at[i] + along(g, n)
		}
	}
	return s, dist
}

// along returns the length from the start of g to its point n.
func along(g geom.Seg, n geom.Point) float64 {
	if g.IsLine() {
		return g.A.Dist(n)
	}
	c := g.Center()
	turn := n.Sub(c).Angle() - g.A.Sub(c).Angle()
	if g.Bulge < 0 {
		turn = -turn
	}
	for turn < 0 {
		turn += 2 * math.Pi
	}
	l := turn * g.Radius()
	if full := g.Length(); l > full {
		if l-full < 2*math.Pi*g.Radius()-l { // a hair past the end, or before the start
			return full
		}
		return 0
	}
	return l
}

// at returns the point of s at parameter u, exact at both ends.
func at(s geom.Seg, u float64) geom.Point {
	switch u {
	case 0:
		return s.A
	case 1:
		return s.B
	}
	return s.At(u)
}

// part returns the piece of s between two parameters; arcs keep their centre.
func part(s geom.Seg, u, v float64) geom.Seg {
	if u <= 0 && v >= 1 {
		return s
	}
	g := geom.Seg{A: at(s, u), B: at(s, v)}
	if !s.IsLine() {
		g.Bulge = math.Tan(math.Atan(s.Bulge) * (v - u))
	}
	return g
}
