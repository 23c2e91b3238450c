package outline

import (
	"math"

	"sparclear/pkg/geom"
)

// gearBay makes the opening for a retracting leg: the mount, the leg, the wheel
// in a row along X, the mount about the origin.
func gearBay() maker {
	return maker{"bay for a retracting leg: mount about the origin, leg and wheel toward +X", []Size{
		need("length", "of the mount opening"),
		need("width", "of the mount opening"),
		with("corner", 1.5, "radius of its corners"),
		need("leg", "from the pivot to the middle of the wheel"),
		with("pivot", 0, "of the pivot from the middle of the mount, toward +X"),
		need("leg_width", "of the leg with its strut"),
		need("wheel", "diameter of the wheel"),
		with("clearance", 2.5, "around leg and wheel, per side: 2 to 3 are usual"),
		with("hole_spacing", 0, "between mount screws along X; 0 = none"),
		with("hole_across", 0, "between mount screws across"),
		with("drill", 0, "diameter of the holes to drill"),
	}, func(s *sizes) Shape {
		var out Shape
		l, w, k := s.above("length", 0), s.above("width", 0), s.atLeast("clearance", 0)
		leg, d, lw := s.above("leg", 0), s.above("wheel", 0), s.above("leg_width", 0)
		if s.err != nil {
			return out
		}
		c := geom.Pt(s.get("pivot")+leg, 0)
		slot := geom.RoundRect(0, -lw/2-k, c.X, lw/2+k, 0)
		parts := []geom.Region{region(box(geom.Point{}, l, w, s.atLeast("corner", 0)))}
		for _, add := range []geom.Contour{slot, geom.Circle(c, d/2+k)} {
			joined, err := geom.Union(parts, []geom.Region{region(add)})
			if err != nil {
				s.fail("mount, leg and wheel do not join", leg, l)
				return out
			}
			parts = joined
		}
		if len(parts) != 1 {
			s.fail("mount, leg and wheel do not join into one opening", leg, l/2)
		}
		out.Regions = parts
		out.Marks = []Mark{{"wheel", c}, {"pivot", geom.Pt(s.get("pivot"), 0)}}
		if x := s.atLeast("hole_spacing", 0); x > 0 {
			y := s.atLeast("hole_across", 0)
			out.Drill = s.above("drill", 0)
			out.Points = grid(2, ifElse(y > 0, 2, 1), x, y)
			for _, p := range out.Points {
				if parts[0].SignedDist(p) < out.Drill/2+0.5 {
					s.fail("a mount hole breaks into the opening: less than 0.5 mm is left between", parts[0].SignedDist(p)-out.Drill/2, 0.5)
				}
			}
		}
		return out
	}}
}

// wheelWell makes a round or oval well and, on request, the door that closes it.
func wheelWell() maker {
	return maker{"round or oval wheel well, with a door on request", []Size{
		need("wheel", "diameter of the wheel, or its length in an oval well"),
		with("width", 0, "of an oval well; 0 = round"),
		with("clearance", 2.5, "around the wheel, per side: 2 to 3 are usual"),
		with("door", 0, "1 = make the door too"),
		with("gap", 0.5, "between door and edge, per side"),
	}, func(s *sizes) Shape {
		var out Shape
		d, k := s.above("wheel", 0), s.atLeast("clearance", 0)
		w := s.atLeast("width", 0)
		gap := s.atLeast("gap", 0)
		if s.err != nil {
			return out
		}
		if w > d {
			s.fail("width must not exceed the wheel; turn the well instead", w, d)
			return out
		}
		well := func(less float64) geom.Contour {
			if w == 0 {
				return geom.Circle(geom.Point{}, d/2+k-less)
			}
			return obround(geom.Point{}, d+2*k-2*less, w+2*k-2*less)
		}
		out.Regions = []geom.Region{region(well(0))}
		if s.get("door") != 0 {
			if least := math.Min(d, ifElse(w > 0, w, d)); 2*gap >= least {
				s.fail("the gap leaves no door", gap, least/2)
				return out
			}
			out.Covers = []geom.Region{region(well(gap))}
		}
		return out
	}}
}

func ifElse[T any](c bool, a, b T) T {
	if c {
		return a
	}
	return b
}
