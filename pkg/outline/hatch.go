package outline

import (
	"math"

	"sparclear/pkg/geom"
)

// hatch makes an opening with a rebate around it, and the cover that lies in it.
func hatch() maker {
	return maker{"hatch: opening, rebate for the cover, the cover itself", []Size{
		need("length", "of the opening"),
		need("width", "of the opening"),
		with("corner", 3, "radius of the corners of the opening"),
		need("land", "width of the rebate around the opening"),
		need("cover", "thickness of the cover: 0.5 to 1.5 in glass or carbon, 0.8 to 3 in ply"),
		with("gap", 0.2, "between cover and rebate, per side: 0.15 to 0.30 is usual"),
		with("glue", 0, "added to the depth of the rebate"),
		with("screws", 0, "1 = a screw in every corner of the land"),
		with("drill", 0, "diameter of the screw holes"),
	}, func(s *sizes) Shape {
		var out Shape
		l, w, r := s.above("length", 0), s.above("width", 0), s.atLeast("corner", 0)
		land, t, gap := s.above("land", 0), s.above("cover", 0), s.atLeast("gap", 0)
		if gap >= land {
			s.fail("gap must be less than land, or the cover falls through", gap, land)
		}
		if 2*r > math.Min(l, w) {
			s.fail("corner must be at most half the smaller side", r, math.Min(l, w)/2)
		}
		if s.err != nil {
			return out
		}
		inner := box(geom.Point{}, l, w, r)
		outer := box(geom.Point{}, l+2*land, w+2*land, r+land)
		out.Regions = []geom.Region{region(inner)}
		out.Rebates = []Rebate{{geom.NewRegion(outer, inner), t + s.atLeast("glue", 0)}}
		cover := land - gap
		out.Covers = []geom.Region{region(box(geom.Point{}, l+2*cover, w+2*cover, r+cover))}
		if s.get("screws") != 0 {
			out.Drill = s.above("drill", 0)
			out.Points = cornerHoles(l, w, r, land)
			if edge := land/2 - out.Drill/2; edge < 0.5 {
				s.fail("the screw holes leave less than 0.5 mm of land", edge, 0.5)
			}
		}
		return out
	}}
}

// cornerHoles returns the middles of the land at its four corners.
func cornerHoles(l, w, r, land float64) []geom.Point {
	// On the diagonal of the corner arc, half a land out from the opening.
	d := r - (r+land/2)/math.Sqrt2
	x, y := l/2-d, w/2-d
	return []geom.Point{{X: -x, Y: -y}, {X: x, Y: -y}, {X: x, Y: y}, {X: -x, Y: y}}
}
