package shop

import (
	"fmt"
	"math"
	"strings"
)

// Screw is a metric coarse thread with its holes, mm. Tap drills: ISO 2306.
// Clearance holes fine and medium: ISO 273:1979; coarse from memory.
type Screw struct {
	Thread  string  // "M3"
	Nominal float64 // outside diameter d
	Pitch   float64
	Tap     float64 // tap drill
	Fine    float64 // clearance hole, fine series (H12)
	Medium  float64 // medium series (H13)
	Coarse  float64 // coarse series (H14)
}

// Minor returns the minor diameter D1 of the nut thread: d − 1.0825·P, 5/8 of the
// height of the triangle √3/2·P on both sides (ISO 68-1).
func (s Screw) Minor() float64 { return s.Nominal - float64(1.0825*s.Pitch) }

var screws = [...]Screw{
	{"M2", 2, 0.4, 1.6, 2.2, 2.4, 2.6},
	{"M2.5", 2.5, 0.45, 2.05, 2.7, 2.9, 3.1},
	{"M3", 3, 0.5, 2.5, 3.2, 3.4, 3.6},
	{"M4", 4, 0.7, 3.3, 4.3, 4.5, 4.8},
	{"M5", 5, 0.8, 4.2, 5.3, 5.5, 5.8},
	{"M6", 6, 1, 5, 6.4, 6.6, 7},
}

// Screws returns the metric threads that are known, M2 to M6.
func Screws() []Screw { return append([]Screw(nil), screws[:]...) }

// HoleMatch is how far a hole may be from a table value to be named after it, mm.
const HoleMatch = 0.05

// NameHole returns what a hole of d mm is for, as in "M3 medium clearance", or ""
// when no table value lies within HoleMatch. It is ambiguous when the hole has the
// nominal size of a thread, so that nobody can tell whether the drawing means the
// thread or the hole, or when two values are equally near; then name holds all
// readings, joined by " or ". Not a number, 0 and negative give "".
func NameHole(d float64) (name string, ambiguous bool) {
	const tie = 1e-9
	if !(d > 0) {
		return "", false
	}
	type reading struct {
		name string
		dist float64
	}
	var found []reading
	nominal := false
	for _, s := range screws {
		for _, h := range []struct {
			size float64
			use  string
		}{
			{s.Tap, "tap drill"}, {s.Fine, "fine clearance"}, {s.Medium, "medium clearance"},
			{s.Coarse, "coarse clearance"}, {s.Nominal, "nominal size"},
		} {
			if dist := math.Abs(d - h.size); dist <= HoleMatch+tie {
				found = append(found, reading{s.Thread + " " + h.use, dist})
				nominal = nominal || h.use == "nominal size" && dist <= tie
			}
		}
	}
	if len(found) == 0 {
		return "", false
	}
	least := math.Inf(1)
	for _, f := range found {
		least = math.Min(least, f.dist)
	}
	var names []string // in the order of the table, whatever the rounding
	for _, f := range found {
		if f.dist <= least+tie {
			names = append(names, f.name)
		}
	}
	return strings.Join(names, " or "), nominal || len(names) > 1
}

// DescribeHole returns NameHole as a phrase for a finding or a listing, "" when
// the hole has no name.
func DescribeHole(d float64) string {
	name, ambiguous := NameHole(d)
	switch {
	case name == "":
		return ""
	case ambiguous:
		return fmt.Sprintf("hole of %.4g mm: %s, or just that size", d, name)
	}
	return fmt.Sprintf("hole of %.4g mm: %s", d, name)
}
