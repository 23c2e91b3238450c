package outline

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// class is a usual size of servo. Lengths are the largest of the class, so that
// a servo of the class goes in; mm.
type class struct {
	name                  string
	length, width         float64
	span, spacing, across float64 // over the lugs; between screw holes along and across (0 = one row)
	screw                 float64
}

// classes returns the servo classes. The figures are common practice, without a
// published source; they fill in and sanity-check, and a measured servo always
// comes first.
func classes() []class {
	return []class{
		{"8mm", 23.5, 8, 33, 27, 0, 2.0},
		{"10mm", 30, 10, 40, 35, 0, 2.0},
		{"micro", 23, 12, 32, 27.5, 0, 2.0},
		{"mini", 29, 13, 40, 34.5, 0, 2.3},
		{"standard", 40.7, 20, 55, 49, 10, 3.0},
		{"large", 66, 30, 83, 74, 17, 4.0},
	}
}

// servo makes the opening for a servo case, its screw holes and the place of
// its shaft. Without a class every size of the case must be given.
func servo(c class) maker {
	def := func(v float64) float64 {
		if v == 0 {
			return math.NaN()
		}
		return v
	}
	opt := []Size{
		{"length", def(c.length), "of the case, without lugs"},
		{"width", def(c.width), "of the case"},
		with("corner", 1, "radius of the corners of the opening"),
		with("clearance", 0.3, "per side between case and opening: 0.2 to 0.4 in a bonded frame, 0.5 to 1.0 free"),
		with("span", c.span, "over the lugs; 0 = no lugs"),
		with("lugs", 0, "1 = the lugs pass through the opening too"),
		with("lug_width", 0, "of the lugs where they pass; 0 = the width of the case"),
		with("hole_spacing", c.spacing, "between screw holes, along the servo; 0 = no screws"),
		with("hole_across", c.across, "between screw holes, across the servo; 0 = one hole at either end"),
		with("screw", c.screw, "nominal diameter of the screws"),
		with("pilot", 0, "diameter of the holes to drill; 0 = 0.8 of the screw"),
		with("shaft", 1, "1 = the output shaft lies toward +X, -1 = toward -X"),
		with("shaft_offset", 0, "of the shaft from the middle of the case; 0 = a quarter of the length"),
	}
	about := "opening for a servo of measured size, with screw holes"
	if c.name != "" {
		about = fmt.Sprintf("opening for a servo of the %s class, overridden by what is measured", c.name)
	}
	return maker{about, opt, func(s *sizes) Shape { return makeServo(s, c) }}
}

func makeServo(s *sizes, c class) Shape {
	var out Shape
	l, w := s.above("length", 0), s.above("width", 0)
	k := s.atLeast("clearance", 0)
	r := s.atLeast("corner", 0)
	span, spacing, across := s.atLeast("span", 0), s.atLeast("hole_spacing", 0), s.atLeast("hole_across", 0)
	side := s.get("shaft")
	if side != 1 && side != -1 {
		s.fail("shaft must be 1 or -1", side, 1)
	}
	if span != 0 && span <= l {
		s.fail("span over the lugs must exceed the length of the case", span, l)
	}
	if spacing != 0 && spacing <= l {
		s.fail("hole_spacing must exceed the length of the case", spacing, l)
	}
	if across >= w && across > 0 {
		s.fail("hole_across must be less than the width of the case", across, w)
	}
	if s.err != nil {
		return out
	}
	opening := []geom.Region{region(box(geom.Point{}, l+2*k, w+2*k, r))}
	if s.get("lugs") != 0 {
		if span == 0 {
			s.fail("lugs needs span", span, l)
			return out
		}
		lw := s.atLeast("lug_width", 0)
		if lw == 0 {
			lw = w
		}
		joined, err := geom.Union(opening, []geom.Region{region(box(geom.Point{}, span+2*k, lw+2*k, r))})
		if err != nil {
			s.fail("the lugs do not join the case", span, l)
			return out
		}
		opening = joined
	}
	out.Regions = opening
	if spacing > 0 && s.get("lugs") == 0 {
		out.Drill = s.atLeast("pilot", 0)
		if out.Drill == 0 {
			out.Drill = 0.8 * s.above("screw", 0) // tapping size in wood and plastic, common practice
		}
		for _, x := range []float64{-spacing / 2, spacing / 2} {
			if across == 0 {
				out.Points = append(out.Points, geom.Pt(x, 0))
				continue
			}
			out.Points = append(out.Points, geom.Pt(x, -across/2), geom.Pt(x, across/2))
		}
		if edge := (spacing - l) / 2; edge-k-out.Drill/2 < 0.5 {
			s.fail("the screw holes break into the opening: less than 0.5 mm is left between", edge-k-out.Drill/2, 0.5)
		}
	}
	off := s.atLeast("shaft_offset", 0)
	if off == 0 {
		off = l / 4
	}
	out.Marks = []Mark{{"shaft", geom.Pt(side*off, 0)}}
	if c.name != "" && !(s.given["length"] && s.given["width"]) {
		out.Findings.Add(diag.Finding{Code: "servo-not-measured", Severity: diag.Confirm,
			Message: fmt.Sprintf("the servo is taken as %g × %g mm from the %s class, it is not measured", l, w, c.name),
			Help:    "measure the case and give length and width"})
	}
	for _, q := range []struct {
		name      string
		v, lo, hi float64
	}{{"length", l, 15, 80}, {"width", w, 6, 40}} {
		if q.v < q.lo || q.v > q.hi {
			out.Findings.Add(diag.Finding{Code: "servo-size-unusual", Severity: diag.Confirm,
				Message: fmt.Sprintf("a servo case with a %s of %g mm is unusual: %g to %g mm are met in practice", q.name, q.v, q.lo, q.hi),
				Help:    "measure again; mind inches"}.With(q.v, q.hi, "mm"))
		}
	}
	return out
}
