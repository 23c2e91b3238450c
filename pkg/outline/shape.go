// Package outline makes outlines from a few sizes, for those who have no
// drawing: servo openings, gear bays, wheel wells, wire exits, horn slots,
// hatches, rows of lightening holes, slots and tabs, screw patterns. What comes
// in is a kind and named sizes in mm (angles in degrees, names ending in _deg);
// what goes out is a Shape about the origin, its length along X. It never fills
// in a size that decides the fit without saying so.
//
//	s, err := outline.Make("servo-standard", map[string]float64{"length": 40.3, "width": 20.1})
package outline

import (
	"fmt"
	"math"
	"sort"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// Shape is a made outline, about the origin, mm. Each part has its role by the
// field that it stands in.
type Shape struct {
	Kind    string
	Regions []geom.Region // cut through: the opening itself
	Chains  []geom.Chain  // lines to scribe
	Points  []geom.Point  // where to drill
	Drill   float64       // diameter for Points, mm; 0 when there are none
	Rebates []Rebate      // cut part of the way through
	Covers  []geom.Region // loose parts that close the opening: doors, hatch covers; as they lie when closed
	Tabs    []geom.Region // what fits into slots, as seen from above
	Marks   []Mark        // places to know: the output shaft of a servo
	// Findings holds what should be looked at: sizes taken from a table, or
	// outside the usual.
	Findings diag.List
}

// Rebate is an area cut to a depth, mm.
type Rebate struct {
	Region geom.Region
	Depth  float64
}

// Mark is a named place.
type Mark struct {
	Name  string
	Point geom.Point
}

// maker makes one kind. about says in one line what it is.
type maker struct {
	about string
	sizes []Size
	make  func(s *sizes) Shape
}

// Size is one named size of a kind.
type Size struct {
	Name    string
	Default float64 // NaN: must be given
	About   string
}

func need(name, about string) Size               { return Size{name, math.NaN(), about} }
func with(name string, d float64, a string) Size { return Size{name, d, a} }

func makers() map[string]maker {
	out := map[string]maker{
		"screw-pattern":  screwPattern(),
		"bolt-circle":    boltCircle(),
		"gear-bay":       gearBay(),
		"wheel-well":     wheelWell(),
		"wire-exit":      wireExit(),
		"horn-slot":      hornSlot(),
		"hatch":          hatch(),
		"lightening-row": lighteningRow(),
		"slot-row":       slotRow(),
		"servo":          servo(class{}),
	}
	for _, c := range classes() {
		out["servo-"+c.name] = servo(c)
	}
	return out
}

// Kinds returns the kinds that Make knows, by name.
func Kinds() []string {
	var out []string
	for k := range makers() {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}

// About says what a kind is and which sizes it takes; ok is false for a kind
// that does not exist.
func About(kind string) (about string, sizes []Size, ok bool) {
	m, ok := makers()[kind]
	return m.about, m.sizes, ok
}

// Make makes a shape. Sizes not given take their defaults; one without a
// default that is missing, one that the kind does not have, one that is not
// finite, and sizes that do not fit together give a diag.Finding as error.
func Make(kind string, params map[string]float64) (Shape, error) {
	m, ok := makers()[kind]
	if !ok {
		return Shape{}, diag.Finding{Code: "outline-unknown", Severity: diag.Stop, Input: true,
			Message: fmt.Sprintf("there is no outline called %q", kind), Help: diag.DidYouMean(kind, Kinds())}
	}
	s := &sizes{kind: kind, v: map[string]float64{}, given: map[string]bool{}}
	var names []string
	for _, z := range m.sizes {
		names = append(names, z.Name)
		s.v[z.Name] = z.Default
	}
	keys := make([]string, 0, len(params))
	for k := range params {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	for _, k := range keys {
		if _, ok := s.v[k]; !ok {
			return Shape{}, diag.Finding{Code: "outline-size-unknown", Severity: diag.Stop, Input: true,
				Message: fmt.Sprintf("%s has no size called %q", kind, k), Help: diag.DidYouMean(k, names)}
		}
		if v := params[k]; math.IsNaN(v) || math.Abs(v) > 1e5 {
			return Shape{}, diag.Finding{Code: "outline-size-wrong", Severity: diag.Stop, Input: true,
				Message: fmt.Sprintf("%s of %s is no size", k, kind), Help: "give a size in mm"}
		}
		s.v[k], s.given[k] = params[k], true
	}
	for _, z := range m.sizes {
		if math.IsNaN(s.v[z.Name]) {
			return Shape{}, diag.Finding{Code: "outline-size-missing", Severity: diag.Stop, Input: true,
				Message: fmt.Sprintf("%s needs %s (%s)", kind, z.Name, z.About), Help: "measure it and give it in mm"}
		}
	}
	shape := m.make(s)
	if s.err != nil {
		return Shape{}, *s.err
	}
	shape.Kind = kind
	return shape, nil
}

// sizes are the sizes of one call, and the first fault found in them.
type sizes struct {
	kind  string
	v     map[string]float64
	given map[string]bool
	err   *diag.Finding
}

func (s *sizes) get(name string) float64 { return s.v[name] }

// above returns a size that must be more than low.
func (s *sizes) above(name string, low float64) float64 {
	v := s.v[name]
	if !(v > low) {
		s.fail(fmt.Sprintf("%s must be above %g mm", name, low), v, low)
	}
	return v
}

// atLeast returns a size that must be no less than low.
func (s *sizes) atLeast(name string, low float64) float64 {
	v := s.v[name]
	if !(v >= low) {
		s.fail(fmt.Sprintf("%s must be at least %g mm", name, low), v, low)
	}
	return v
}

// count returns a size that must be a whole number from low to high.
func (s *sizes) count(name string, low, high int) int {
	v := s.v[name]
	if v != math.Trunc(v) || v < float64(low) || v > float64(high) {
		s.fail(fmt.Sprintf("%s must be a whole number from %d to %d", name, low, high), v, float64(high))
		return low
	}
	return int(v)
}

func (s *sizes) fail(why string, value, limit float64) {
	if s.err == nil {
		f := diag.Finding{Code: "outline-size-wrong", Severity: diag.Stop, Input: true,
			Message: fmt.Sprintf("%s: %s", s.kind, why), Help: "correct the size"}.With(value, limit, "mm")
		s.err = &f
	}
}

func region(c geom.Contour) geom.Region { return geom.Region{Outer: c} }

// box returns the rectangle of the given size about c with corner radius r.
func box(c geom.Point, w, h, r float64) geom.Contour {
	return geom.RoundRect(c.X-w/2, c.Y-h/2, c.X+w/2, c.Y+h/2, r)
}

// obround returns the slot with round ends of the given length over all and width.
func obround(c geom.Point, length, width float64) geom.Contour {
	return box(c, length, width, math.Min(length, width)/2)
}
