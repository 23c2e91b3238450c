package picture

import (
	"math"

	"sparclear/pkg/geom"
	"sparclear/pkg/work"
)

const (
	stripPlaces = 240 // places along a strip where members are looked for
	stripJump   = 0.3 // a tip that jumps by more than this part of a strip begins a new line
)

// track is a line along which a cut is unrolled, with the lengths at which each
// of its segments begins.
type track struct {
	segs  []geom.Seg
	start []float64
	long  float64
}

func (t *track) add(s geom.Seg) {
	t.segs, t.start = append(t.segs, s), append(t.start, t.long)
	t.long += s.Length()
}

// at returns the place at a length.
func (t *track) at(l float64) geom.Point {
	for i := len(t.segs) - 1; i >= 0; i-- {
		if l >= t.start[i] {
			n := t.segs[i].Length()
			if n == 0 {
				return t.segs[i].A
			}
			return t.segs[i].At(math.Min(1, (l-t.start[i])/n))
		}
	}
	return geom.Point{}
}

// along returns the length at which the track is nearest to a point.
func (t *track) along(q geom.Point) float64 {
	best, out := math.Inf(1), 0.0
	for i, s := range t.segs {
		p := s.Nearest(q)
		if d := p.Dist(q); d < best-1e-9 {
			best = d
			n := s.A.Dist(p)
			if !s.IsLine() {
				n = 2 * s.Radius() * math.Asin(math.Min(1, n/2/s.Radius()))
			}
			out = t.start[i] + math.Min(n, s.Length())
		}
	}
	return out
}

// unroll lays a cut out along its outline, its line or its row of holes. Pockets
// and rebates, whose tip runs all over, are laid out along the way of the tip.
func (v *stripView) unroll(c work.Cut, rs []run) strip {
	var t track
	r := v.Work.Cutters[c.Cutter].Radius()
	wayOfTip := c.Kind == work.Pocket || c.Kind == work.Rebate
	slot := math.Max(4*math.Max(r, c.Diameter/2), 1) // a hole's share of a strip
	for _, g := range c.Regions {
		for _, ct := range g.Contours() {
			for _, e := range ct.Segs() {
				t.add(e)
			}
		}
	}
	for _, ch := range c.Chains {
		for _, e := range ch.Segs() {
			t.add(e)
		}
	}
	st := strip{}
	holes := len(t.segs) == 0
	if holes {
		t.long = slot * float64(len(c.Points))
	}
	place := func(q geom.Point) float64 {
		if !holes {
			return t.along(q)
		}
		best, out := math.Inf(1), 0.0
		for i, p := range c.Points {
			if d := p.Dist(q); d < best {
				best, out = d, (float64(i)+0.5)*slot+math.Max(-slot/2, math.Min(slot/2, q.X-p.X))
			}
		}
		return out
	}
	way := 0.0
	var line []geom.Point
	end := func() {
		if len(line) > 0 {
			st.passes = append(st.passes, line)
		}
		line = nil
	}
	for _, run := range rs {
		for _, m := range run.moves {
			if m.rapid || m.cut != c.Name || m.deepest() <= 0 {
				end()
				continue
			}
			for _, e := range m.segs() {
				n := 1 + int(e.Length()/math.Max(0.5, t.long/400))
				for k := 0; k <= n; k++ {
					f := float64(k) / float64(n)
					q := e.At(f)
					if e.A == e.B {
						q = e.A
					}
					d := math.Max(0, m.from+float64(f*(m.to-m.from))) // what is above the skin is drawn on it
					st.deep = math.Max(st.deep, d)
					s := place(q)
					if wayOfTip {
						s = way + float64(f*e.Length())
					} else if len(line) > 0 && math.Abs(s-line[len(line)-1].X) > stripJump*t.long {
						end()
					}
					line = append(line, geom.Pt(s, d))
				}
				way += e.Length()
			}
		}
	}
	end()
	st.long = t.long
	if wayOfTip {
		st.long = math.Max(way, 1e-3)
	}
	for i := range stripPlaces + 1 {
		f := float64(i) / stripPlaces
		switch {
		case holes && len(c.Points) > 0:
			st.places = append(st.places, c.Points[min(len(c.Points)-1, int(f*float64(len(c.Points))))])
		case !holes:
			st.places = append(st.places, t.at(f*t.long))
		}
	}
	return st
}
