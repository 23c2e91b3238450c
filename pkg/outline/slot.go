package outline

import (
	"math"

	"sparclear/pkg/geom"
)

// wireExit makes a round or long hole for wires.
func wireExit() maker {
	return maker{"hole for wires: round, or long with round ends", []Size{
		need("width", "of the hole"),
		with("length", 0, "over the round ends; 0 = round"),
	}, func(s *sizes) Shape {
		w, l := s.above("width", 0), s.atLeast("length", 0)
		if l != 0 && l < w {
			s.fail("length must be at least the width", l, w)
		}
		if s.err != nil {
			return Shape{}
		}
		if l == 0 || l == w {
			return Shape{Regions: []geom.Region{region(geom.Circle(geom.Point{}, w/2))}}
		}
		return Shape{Regions: []geom.Region{region(obround(geom.Point{}, l, w))}}
	}}
}

// HornSlot returns the length of the slot that a control horn needs, mm: the
// pin at radius arm mm swings by ± throw rad, the horn is horn mm long where it
// passes the skin and keeps clearance mm at either end: 2R sin θ + w + 2c, from
// 90° on 2R + w + 2c. Closed form.
func HornSlot(arm, throw, horn, clearance float64) float64 {
	s := 1.0
	if math.Abs(throw) < math.Pi/2 {
		s = math.Sin(math.Abs(throw))
	}
	return 2*arm*s + horn + 2*clearance
}

// hornSlot makes the slot that a control horn swings in.
func hornSlot() maker {
	return maker{"slot for a control horn that swings", []Size{
		need("arm", "from the hinge line to where the horn passes the skin"),
		need("throw_deg", "to either side"),
		need("horn", "length of the horn where it passes"),
		need("thickness", "of the horn"),
		with("clearance", 0.5, "at both ends and both sides"),
	}, func(s *sizes) Shape {
		r, a := s.above("arm", 0), s.above("throw_deg", 0)
		w, t, c := s.above("horn", 0), s.above("thickness", 0), s.atLeast("clearance", 0)
		if a > 90 {
			s.fail("throw_deg must be at most 90", a, 90)
		}
		if s.err != nil {
			return Shape{}
		}
		return Shape{Regions: []geom.Region{region(obround(geom.Point{}, HornSlot(r, a*math.Pi/180, w, c), t+2*c))}}
	}}
}

// slotRow makes a row of slots along X and the tabs that go into them.
func slotRow() maker {
	return maker{"row of slots along X for the tabs of a rib or bulkhead, with the tabs", []Size{
		need("count", "how many"),
		need("pitch", "from slot to slot"),
		need("width", "of a tab, along the row"),
		need("thickness", "of the sheet that the tabs are cut from"),
		with("clearance", 0.05, "per side: ±0.05 on the slot is what glue forgives"),
		with("relief", 0, "radius of the corner reliefs, the radius of the cutter; 0 = none"),
	}, func(s *sizes) Shape {
		var out Shape
		n := s.count("count", 1, 1000)
		p, w, t := s.above("pitch", 0), s.above("width", 0), s.above("thickness", 0)
		c, r := s.atLeast("clearance", 0), s.atLeast("relief", 0)
		l, h := w+2*c, t+2*c
		if n > 1 && p <= l+2*r {
			s.fail("pitch leaves nothing between the slots", p, l+2*r)
		}
		if r > 0 && 4*r > math.Min(l, h)*math.Sqrt2 {
			s.fail("relief is too large for the slot: the reliefs of two corners meet", r, math.Min(l, h)*math.Sqrt2/4)
		}
		if s.err != nil {
			return out
		}
		for i := range n {
			at := geom.Pt((float64(i)-float64(n-1)/2)*p, 0)
			out.Tabs = append(out.Tabs, region(box(at, w, t, 0)))
			out.Regions = append(out.Regions, region(relieved(at, l, h, r)))
		}
		return out
	}}
}

// relieved returns a rectangle with a round relief in every corner: a circle of
// radius r whose middle lies on the diagonal, r from the corner, so that a cutter
// of that radius clears the corner itself.
func relieved(c geom.Point, l, h, r float64) geom.Contour {
	if r == 0 {
		return box(c, l, h, 0)
	}
	// That circle meets both sides r√2 from the corner, and the chord between the
	// two places is 2r long: the relief is half the circle, its top the corner.
	d := r * math.Sqrt2
	x, y := l/2, h/2
	pts := []geom.Point{
		{X: -x + d, Y: -y}, {X: x - d, Y: -y}, {X: x, Y: -y + d}, {X: x, Y: y - d},
		{X: x - d, Y: y}, {X: -x + d, Y: y}, {X: -x, Y: y - d}, {X: -x, Y: -y + d},
	}
	out := make(geom.Contour, len(pts))
	for i, p := range pts {
		out[i].Point = p.Add(c)
		if i%2 == 1 {
			out[i].Bulge = 1
		}
	}
	return out
}
