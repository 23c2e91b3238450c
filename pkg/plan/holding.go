package plan

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
)

// tabCount is how many tabs to place: what is asked for, or, automatically, one
// for every 120 mm of outline, at least two (three where the part is not a
// strip), and enough that they hold six times the cutting force: three times
// that of a dull cutter, which takes twice the force of a sharp one (common
// practice, no source; load R = n·w·t·τ).
func (j *job) tabCount(t *track, e edge) int {
	if !j.c.Through || j.c.Onion > 0 || e.inside && j.slugVanishes(e) {
		return 0
	}
	if !j.c.Tabs.Auto {
		return j.c.Tabs.Count
	}
	n := 3
	if s := e.outline.Bounds().Size(); math.Min(s.X, s.Y) < 4*j.c.Tabs.Width || t.len < 60 {
		n = 2
	}
	n = max(n, int(math.Ceil(t.len/120)))
	m := j.w.Material
	if load := j.c.Tabs.Width * j.c.Tabs.Height * m.Shear; load > 0 && m.Kc > 0 {
		force := m.Kc * math.Min(j.c.Step, j.d.bottom) * j.c.Feed / (math.Pi * j.c.RPM)
		n = max(n, int(math.Min(math.Ceil(6*force/load), 12)))
	}
	return min(n, 12)
}

// slugVanishes tells whether the cutter clears the whole opening, so that there
// is nothing to hold.
func (j *job) slugVanishes(e edge) bool {
	gs, err := e.outline.Offset(-j.cutter.Diameter-j.c.Finish, j.offsetTol())
	return err == nil && len(gs) == 0
}

// smallPart is the area below which a part needs two tabs, mm² (common
// practice, no source).
const smallPart = 1000

// holds reports what nothing holds once it is cut free.
func (j *job) holds(e edge, tabs int) bool {
	if !j.c.Through || j.c.Onion > 0 || tabs > 0 && (e.inside || tabs > 1) {
		return true
	}
	area := math.Abs(e.outline.Outer.Area())
	mid := e.outline.Bounds().Center()
	switch {
	case tabs == 1:
		if area < smallPart {
			j.add(j.at(j.finding(diag.Warn, "tabs-few", fmt.Sprintf("a part of %.0f mm² hangs on one tab", area), "give it two tabs").With(1, 2, ""), mid))
		}
	case e.inside && j.slugVanishes(e):
	case e.inside && j.c.Open:
		j.add(j.at(j.finding(diag.Note, "slug-loose", "the slug comes loose, as the job says", "take it out before the next cut"), mid))
	case e.inside:
		help := "give tabs or an onion skin, or say loose = true"
		msg := "nothing holds the slug when it is cut free"
		if j.w.Hollow {
			msg += "; it can fall into the wing"
		}
		j.add(j.at(j.finding(diag.Warn, "slug-loose", msg, help), mid))
	default:
		s := diag.Warn
		if area < smallPart {
			s = diag.Confirm
		}
		j.add(j.at(j.finding(s, "part-loose", fmt.Sprintf("nothing holds the part of %.0f mm² when it is cut free", area), "give tabs or an onion skin").With(area, smallPart, "mm²"), mid))
	}
	return true
}
