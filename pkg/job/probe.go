package job

import (
	"fmt"
	"math"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/proof"
	"sparclear/pkg/rs274"
	"sparclear/pkg/shop"
)

const (
	// defaultSearch is how far a datum touched by eye may lie from where the
	// display was read, mm; common practice, no source.
	defaultSearch = 3.0
	// searchSpare is how much farther a probe starts and ends than the search asks
	// for, mm.
	searchSpare = 1.0
	// leastSearch is what a pin or hole must leave at least, mm; below it the eye
	// is not good enough to begin with.
	leastSearch = 0.5
	// clearSpare is kept from clamps beside their clearance, for the errors that the
	// proof counts, mm.
	clearSpare = 0.5
	// probeLength is how far a probe stands out where the job does not say, mm.
	probeLength = 25.0
)

// sideSense names a direction of touch: where the probe moves to.
type sideSense struct {
	axis byte
	sign float64
}

func (d sideSense) String() string { return fmt.Sprintf("%c%c", "-+"[int(d.sign+1)/2], d.axis) }

func (d sideSense) of(p geom.Point) float64 {
	if d.axis == 'Y' {
		return p.Y
	}
	return p.X
}

func (d sideSense) step(by float64) geom.Point {
	if d.axis == 'Y' {
		return geom.Pt(0, d.sign*by)
	}
	return geom.Pt(d.sign*by, 0)
}

// fourSides is the order in which a round datum is touched.
func fourSides() []sideSense { return []sideSense{{'X', 1}, {'X', -1}, {'Y', 1}, {'Y', -1}} }

// probed tells whether a datum can be probed: it is round and the job says at what
// height.
func (d Datum) probed() bool { return d.Feature == "pin" || d.Feature == "hole" }

// ball is the radius of the probe's tip, mm, 0 unknown.
func (s *state) ball() float64 {
	if s.file.Probe == nil {
		return 0
	}
	return lengthOr(s.file.Probe.Diameter, 0) / 2
}

// contact is the distance of the centre of the probe from that of a round datum
// where it touches, mm.
func (s *state) contact(d Datum) float64 {
	if d.Feature == "hole" {
		return lengthOr(d.Diameter, 0)/2 - s.ball()
	}
	return lengthOr(d.Diameter, 0)/2 + s.ball()
}

// search is how far a datum may lie from where the job says, mm.
func (s *state) search() float64 {
	if s.file.Probe == nil {
		return defaultSearch
	}
	return lengthOr(s.file.Probe.Search, defaultSearch)
}

// features checks what the job says about how datums are touched.
func (s *state) features() {
	for i, d := range s.file.Datums {
		key := fmt.Sprintf("datum.%d", i)
		if !has([]string{"", "mark", "pin", "hole"}, d.Feature) {
			s.stop(key+".feature", "word-unknown", fmt.Sprintf("feature = %q is not known", d.Feature), diag.DidYouMean(d.Feature, []string{"mark", "pin", "hole"}))
			continue
		}
		if !d.probed() {
			continue
		}
		var missing []string
		for _, k := range []struct {
			name string
			v    *Length
		}{{"diameter", d.Diameter}, {"side_z", d.SideZ}} {
			if k.v == nil {
				missing = append(missing, k.name)
			}
		}
		if s.file.Probe == nil || s.file.Probe.Diameter == nil {
			missing = append(missing, "[probe] diameter")
		}
		if len(missing) > 0 {
			s.stop(key, "datum-unsized", fmt.Sprintf("datum %q is a %s, but %s is not given", d.Name, d.Feature, strings.Join(missing, ", ")),
				"measure it and the tip of the probe with a caliper; side_z is what the display shows with the tip beside the pin, or in the hole")
			continue
		}
		r := s.contact(d)
		if !(lengthOr(d.Diameter, 0) > 0) || !(s.ball() > 0) || !(s.search() >= leastSearch) || d.reach(s, r) < leastSearch {
			s.stop(key, "probe-thick", fmt.Sprintf("datum %q of %.2f mm leaves a probe of %.2f mm no room to find it", d.Name, lengthOr(d.Diameter, 0), 2*s.ball()),
				"use a thinner probe, or touch it by eye: feature = \"mark\"")
		}
	}
	for i, e := range s.file.Edges {
		if e.SideZ == nil {
			continue
		}
		if off := math.Abs(lengthOr(e.Offset, 0)); s.ball() <= 0 || math.Abs(off-s.ball()) > 0.005 {
			s.stop(fmt.Sprintf("edge.%d", i), "edge-offset", fmt.Sprintf("edge %q is to be probed; its offset is %.3f mm, the radius of the probe %.3f mm", e.Name, off, s.ball()),
				"give offset = the radius of the tip, positive where the probe comes from the left of from → to, and [probe] diameter")
		}
	}
}

// reach is how far the datum may lie from where the job says so that the probe
// finds it: it must not miss a thin pin, nor come down on the rim of a hole.
func (d Datum) reach(s *state, contact float64) float64 {
	if d.Feature == "hole" {
		return math.Min(s.search(), contact-0.2)
	}
	return math.Min(s.search(), 0.7*contact)
}

// sideTouches plans how datums and edges are touched from the side: every round
// datum toward all four sides that no clamp blocks, and toward the first of them once
// more, every edge once. The rooms are what the job declares to be free around them.
func (s *state) sideTouches(m Measuring) (out []rs274.Touch, rooms []proof.TouchRoom) {
	back := rs274.UsualTouch().Back
	fits := func(key, name string, z float64) bool {
		if z < m.Top && z >= m.Top-m.Reach {
			return true
		}
		s.stop(key+".side_z", "side-height", fmt.Sprintf("%s is to be touched at %.2f mm, which is not below top and within reach", name, z), "give side_z as the display shows it, and --top and --reach that hold it")
		return false
	}
	for i, d := range s.file.Datums {
		if !d.probed() || !fits(fmt.Sprintf("datum.%d", i), d.Name, float64(*d.SideZ)) {
			continue
		}
		at := geom.Pt(float64(d.Touched[0]), float64(d.Touched[1]))
		contact := s.contact(d)
		search := d.reach(s, contact)
		far := contact + search + searchSpare
		rooms = append(rooms, proof.TouchRoom{Name: d.Name, At: at, Radius: far + back, Low: float64(*d.SideZ)})
		var open []rs274.Touch
		along := map[byte]bool{}
		for _, side := range fourSides() {
			from, to := at.Sub(side.step(far)), at.Sub(side.step(contact-search-searchSpare))
			if d.Feature == "hole" {
				from, to = at, at.Add(side.step(far))
			}
			if !s.clear(from, to, float64(*d.SideZ), m.Top) {
				continue
			}
			along[side.axis] = true
			open = append(open, rs274.Touch{Name: sideName("datum", i, d.Name, side), At: from, Top: m.Top, Low: float64(*d.SideZ), Side: rs274.Side{Axis: side.axis, To: side.of(to)}})
		}
		if !along['X'] || !along['Y'] {
			s.stop(fmt.Sprintf("datum.%d", i), "datum-blocked", fmt.Sprintf("clamps leave the probe no room beside datum %q", d.Name), "move the clamp, or touch it by eye: feature = \"mark\"")
			continue
		}
		again := open[0]
		again.Name += " again"
		out = append(append(out, open...), again)
	}
	for i, e := range s.file.Edges {
		if e.SideZ == nil || !fits(fmt.Sprintf("edge.%d", i), e.Name, float64(*e.SideZ)) {
			continue
		}
		at := geom.Pt(float64(e.Touched[0]), float64(e.Touched[1]))
		side, along := s.approach(e)
		far := (s.search() + searchSpare) / along
		rooms = append(rooms, proof.TouchRoom{Name: e.Name, At: at, Radius: far + back, Low: float64(*e.SideZ)})
		out = append(out, rs274.Touch{Name: sideName("edge", i, e.Name, side), At: at.Sub(side.step(far)), Top: m.Top, Low: float64(*e.SideZ),
			Side: rs274.Side{Axis: side.axis, To: side.of(at.Add(side.step(far)))}})
	}
	return out, rooms
}

// clear tells whether the probe keeps clear of the clamps on its way down to height z
// at from and across to to. top is the height that nothing but clamps rises above.
func (s *state) clear(from, to geom.Point, z, top float64) bool {
	body := s.probeBody()
	wide := body.Radius()
	for _, c := range s.w.Clamps {
		r := wide
		if z+body.StickOut < top-c.From+c.Clearance+clearSpare {
			for _, h := range s.w.Machine.Holder {
				r = math.Max(r, h.Diameter/2)
			}
		}
		for _, g := range c.Footprint {
			path := geom.Line(from, to)
			d := math.Inf(1)
			for _, k := range g.Contours() {
				for _, e := range k.Segs() {
					d = math.Min(d, e.DistSeg(path))
				}
			}
			if g.ContainsInterior(from) || g.ContainsInterior(to) || d < r+c.Clearance+clearSpare {
				return false
			}
		}
	}
	return true
}

// approach is the direction, along one axis, in which an edge is touched most
// squarely, and the cosine of its angle to the square.
func (s *state) approach(e Edge) (sideSense, float64) {
	a, b := geom.Pt(float64(e.From[0]), float64(e.From[1])), geom.Pt(float64(e.To[0]), float64(e.To[1]))
	toward := s.w.Frame.ApplyVector(b.Sub(a).Unit().Left())
	if lengthOr(e.Offset, 0) > 0 {
		toward = toward.Mul(-1) // the probe stands on the left and moves to the right
	}
	if math.Abs(toward.X) >= math.Abs(toward.Y) {
		return sideSense{'X', math.Copysign(1, toward.X)}, math.Abs(toward.X)
	}
	return sideSense{'Y', math.Copysign(1, toward.Y)}, math.Abs(toward.Y)
}

// touchName is how a datum or an edge is called in a list and a log: by its number
// in the job, which is what counts when it is read back, and its name. It holds
// nothing that parts columns or comments.
func touchName(what string, i int, name string) string {
	plain := strings.Map(func(r rune) rune {
		if strings.ContainsRune(",;\t\r\n()\"%", r) {
			return ' '
		}
		return r
	}, name)
	return strings.TrimSpace(fmt.Sprintf("%s %d %s", what, i+1, strings.Join(strings.Fields(plain), " ")))
}

func sideName(what string, i int, name string, side sideSense) string {
	return touchName(what, i, name) + " toward " + side.String()
}

// probeBody stands for the probe in the proof.
func (s *state) probeBody() shop.Cutter {
	d, l := 2*s.ball(), probeLength
	if s.file.Probe != nil {
		l = lengthOr(s.file.Probe.Length, probeLength)
	}
	if d <= 0 {
		d = 3
	}
	return shop.Cutter{Name: "probe", Title: "probe", Number: 1, Kind: shop.Ball, Diameter: d, FluteLength: d, Shank: d, StickOut: l}
}
