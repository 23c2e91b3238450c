package picture

import (
	"maps"
	"math"
	"slices"

	"github.com/tdewolff/canvas"

	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
)

// kerf draws every cutting move at the true width of its cut, shallow first, so
// that the deepest pass is what shows, and over it the line of the tip in the
// dashes of its cutter with arrows along it.
func (v *planView) kerf() {
	for level := range depthSteps {
		for i := -1; i < len(v.Work.Cutters); i++ {
			paths := v.pathsBy(i, func(m step) bool { return v.level(m.deepest()) == level }, v.widthOf)
			for _, w := range slices.Sorted(maps.Keys(paths)) {
				v.pen(depthColour((float64(level)+0.5)/depthSteps), math.Max(0.1, w*v.scale))
				v.draw(paths[w])
			}
		}
	}
	wide := func(m step) bool { return m.seg.A != m.seg.B && v.widthOf(m)*v.scale > 0.7 }
	lines := v.paths(wide)
	for i := range v.Work.Cutters {
		if path := lines[i]; path != nil {
			v.pen(canvas.White, 0.14, cutterDashes(i)...)
			v.draw(path)
		}
	}
	v.arrows()
	for _, r := range v.runs {
		for _, m := range r.moves {
			if !m.rapid && m.deepest() > 0 {
				for _, e := range m.segs() {
					v.labels.mark(v.at(e.A), v.at(e.Mid()), v.widthOf(m)/2*v.scale)
					v.labels.mark(v.at(e.Mid()), v.at(e.B), v.widthOf(m)/2*v.scale)
				}
			}
		}
	}
}

// widthOf is how wide a move cuts the skin, mm, to a hundredth: a cone or ball
// cuts as wide as it is at the depth below.
func (v *planView) widthOf(m step) float64 {
	r := radiusOf(v.Work.Cutters, m.cutter)
	if r == 0 {
		return 0
	}
	c, d := v.Work.Cutters[m.cutter], m.deepest()
	switch c.Kind {
	case shop.Vee:
		if w := 2 * d * math.Tan(c.PointAngle/2); w < 2*r {
			return math.Ceil(w*100) / 100
		}
	case shop.Ball:
		if d < r {
			return math.Ceil(2*math.Sqrt(2*float64(r*d)-float64(d*d))*100) / 100
		}
	}
	return 2 * r
}

// paths gathers the cutting moves that are wanted, one path a cutter.
func (v *planView) paths(want func(step) bool) map[int]*canvas.Path {
	paths := map[int]*canvas.Path{}
	for i := -1; i < len(v.Work.Cutters); i++ {
		if one := v.pathsBy(i, want, func(step) float64 { return 0 }); one[0] != nil {
			paths[i] = one[0]
		}
	}
	return paths
}

// pathsBy gathers the cutting moves of a cutter that are wanted, one path for
// each value of by.
func (v *planView) pathsBy(cutter int, want func(step) bool, by func(step) float64) map[float64]*canvas.Path {
	paths := map[float64]*canvas.Path{}
	for _, r := range v.runs {
		for _, m := range r.moves {
			if m.cutter != cutter || m.rapid || m.deepest() <= 0 || !want(m) {
				continue
			}
			path := paths[by(m)]
			if path == nil {
				path = &canvas.Path{}
				paths[by(m)] = path
			}
			segs := m.segs()
			a := v.at(segs[0].A)
			path.MoveTo(a.X, a.Y)
			for _, e := range segs {
				v.edge(path, e)
			}
			if segs[0].A == segs[0].B { // straight down: a dot of the cutter's width
				path.LineTo(a.X+1e-3, a.Y)
			}
		}
	}
	return paths
}

func (v *planView) level(depth float64) int {
	if v.deepest <= 0 {
		return 0
	}
	return min(depthSteps-1, max(0, int(depth/v.deepest*depthSteps)))
}

const (
	arrowEvery = 22.0 // mm of paper between arrows
	arrowFirst = 6.0  // mm of paper from an entry to its first arrow
)

// arrows tells which way the cutter runs. They stand on the first pass of a cut;
// later passes run the same way over the same line.
func (v *planView) arrows() {
	var stood []geom.Point
	for _, r := range v.runs {
		left := arrowFirst
		for _, m := range r.moves {
			if m.rapid || m.deepest() <= 0 {
				left = arrowFirst
				continue
			}
			for _, e := range m.segs() {
				l := e.Length() * v.scale
				for left < l {
					t := left / l
					q := v.at(e.At(t))
					tight := !e.IsLine() && e.Radius()*v.scale < 2.5 || l < 1.5
					if !tight && clearOf(stood, q, arrowEvery/2) {
						v.arrow(q, e.At(math.Min(1, t+1e-3)).Sub(e.At(math.Max(0, t-1e-3))).Unit())
						stood = append(stood, q)
					}
					left += arrowEvery
				}
				left -= l
			}
		}
	}
}

func clearOf(qs []geom.Point, q geom.Point, d float64) bool {
	for _, o := range qs {
		if o.Dist(q) < d {
			return false
		}
	}
	return true
}

// arrow draws an arrow head of 2.2 mm at a place of the paper.
func (v *planView) arrow(q, d geom.Point) {
	tip, n := q.Add(d.Mul(1.2)), d.Left().Mul(0.75)
	path := &canvas.Path{}
	for i, c := range []geom.Point{tip, q.Sub(d).Add(n), q.Sub(d.Mul(0.5)), q.Sub(d).Sub(n)} {
		if i == 0 {
			path.MoveTo(c.X, c.Y)
		} else {
			path.LineTo(c.X, c.Y)
		}
	}
	path.Close()
	v.brush(canvas.White, ink, 0.14)
	v.draw(path)
}
