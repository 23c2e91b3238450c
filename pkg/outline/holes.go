package outline

import (
	"math"

	"sparclear/pkg/geom"
)

// grid returns nx × ny points about the origin, over all x by y.
func grid(nx, ny int, x, y float64) []geom.Point {
	var out []geom.Point
	at := func(i, n int, over float64) float64 {
		if n == 1 {
			return 0
		}
		return over * (float64(i)/float64(n-1) - 0.5)
	}
	for j := range ny {
		for i := range nx {
			out = append(out, geom.Pt(at(i, nx, x), at(j, ny, y)))
		}
	}
	return out
}

// screwPattern makes a grid of holes.
func screwPattern() maker {
	return maker{"grid of screw holes", []Size{
		with("columns", 2, "along X"),
		with("rows", 2, "along Y"),
		need("length", "between the outermost holes along X"),
		with("width", 0, "between the outermost holes along Y"),
		need("drill", "diameter of the holes"),
	}, func(s *sizes) Shape {
		nx, ny := s.count("columns", 1, 200), s.count("rows", 1, 200)
		l, w, d := s.atLeast("length", 0), s.atLeast("width", 0), s.above("drill", 0)
		if nx > 1 && l/float64(nx-1) <= d {
			s.fail("the holes run into each other along X", l/math.Max(1, float64(nx-1)), d)
		}
		if ny > 1 && w/float64(ny-1) <= d {
			s.fail("the holes run into each other along Y", w/math.Max(1, float64(ny-1)), d)
		}
		return Shape{Points: grid(nx, ny, l, w), Drill: d}
	}}
}

// boltCircle makes holes evenly on a circle, the first on +X unless turned.
func boltCircle() maker {
	return maker{"screw holes on a circle, with a hole in the middle on request", []Size{
		need("count", "how many"),
		need("circle", "diameter of the circle through their middles"),
		need("drill", "diameter of the holes"),
		with("first_deg", 0, "where the first hole lies, counter-clockwise from +X"),
		with("bore", 0, "diameter of an opening in the middle; 0 = none"),
	}, func(s *sizes) Shape {
		n, c, d, b := s.count("count", 1, 200), s.above("circle", 0), s.above("drill", 0), s.atLeast("bore", 0)
		if n > 1 && c*math.Sin(math.Pi/float64(n)) <= d {
			s.fail("the holes run into each other", c*math.Sin(math.Pi/float64(n)), d)
		}
		if b > 0 && c-b <= d {
			s.fail("the holes run into the opening in the middle", c-b, d)
		}
		if s.err != nil {
			return Shape{}
		}
		out := Shape{Drill: d}
		for i := range n {
			a := (s.get("first_deg") + 360*float64(i)/float64(n)) * math.Pi / 180
			out.Points = append(out.Points, geom.Polar(geom.Point{}, c/2, a))
		}
		if b > 0 {
			out.Regions = []geom.Region{region(geom.Circle(geom.Point{}, b/2))}
		}
		return out
	}}
}

// lighteningRow makes a row of round holes along X that taper, with even webs
// between them.
func lighteningRow() maker {
	return maker{"row of lightening holes along X, all webs alike", []Size{
		need("length", "of the row, over the outermost holes"),
		need("count", "how many holes"),
		need("diameter", "of the first hole, at -X"),
		with("last", 0, "diameter of the last hole, at +X; 0 = like the first"),
		with("web", 2, "least material between two holes"),
	}, func(s *sizes) Shape {
		var out Shape
		n := s.count("count", 1, 500)
		l, d0 := s.above("length", 0), s.above("diameter", 0)
		d1 := s.atLeast("last", 0)
		if d1 == 0 {
			d1 = d0
		}
		web := s.atLeast("web", 0)
		sum := 0.0
		d := make([]float64, n)
		for i := range d {
			t := 0.0
			if n > 1 {
				t = float64(i) / float64(n-1)
			}
			d[i] = d0 + float64(t*(d1-d0))
			sum += d[i]
		}
		gap := 0.0
		if n > 1 {
			gap = (l - sum) / float64(n-1)
			if gap < web {
				s.fail("too little is left between the holes", gap, web)
			}
		} else if d0 > l {
			s.fail("diameter exceeds the length of the row", d0, l)
		}
		if s.err != nil {
			return out
		}
		x := -l / 2
		if n == 1 {
			x = -d0 / 2
		}
		for i := range d {
			out.Regions = append(out.Regions, region(geom.Circle(geom.Pt(x+d[i]/2, 0), d[i]/2)))
			x += d[i] + gap
		}
		return out
	}}
}
