package job

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/work"
)

// trimSpare is what a trimmed outline keeps over the need, mm, so that rounding
// in the program does not undo it.
const trimSpare = 0.02

// trimBack takes from an opening what lies nearer to a member than is needed.
// It is done only where the job asks for it by name; what it took is said.
func (s *state) trimBack(key string, c Cut, out *work.Cut) bool {
	if c.Trim == "" {
		return true
	}
	var member *keepout.Volume // all of it, though its outlines are members of their own
	var names []string
	for _, m := range s.w.Members {
		names = append(names, m.Name)
		base := strings.TrimRight(m.Name, "0123456789")
		switch {
		case m.Name != c.Trim && base != c.Trim+" ":
		case member == nil:
			m.Footprint = slices.Clone(m.Footprint)
			member = &m
		default:
			member.Footprint = append(member.Footprint, m.Footprint...)
		}
	}
	if member == nil {
		s.stop(key+".trim", "member-unknown", fmt.Sprintf("trim = %q names no keep-out", c.Trim), diag.DidYouMean(c.Trim, names))
		return false
	}
	need := member.Clearance + s.planarNeed(member.Bounds(), out.Cutter) + trimSpare
	before := areaOf(out.Regions)
	for _, g := range member.Footprint {
		grown, err := g.Offset(need, 0.001)
		if err == nil {
			out.Regions, err = geom.Subtract(out.Regions, grown)
		}
		if err != nil {
			s.geomFault(key+".trim", c.Name, err)
			return false
		}
	}
	if len(out.Regions) == 0 {
		s.stop(key+".trim", "outline-vanishes", fmt.Sprintf("%s vanishes when it is trimmed back from %s", c.Name, c.Trim), "move the opening")
		return false
	}
	taken := before - areaOf(out.Regions)
	line, col := s.pos.Of(key + ".trim")
	s.add(diag.Finding{Code: "trimmed", Severity: diag.Warn, Subject: s.req.Name, Cut: c.Name, Member: c.Trim,
		Message: fmt.Sprintf("%s is trimmed back %.2f mm from %s: %.1f mm² less", c.Name, need, c.Trim, taken),
		Help:    "see whether the servo still fits; move the opening if not"}.With(taken, 0, "mm²").AtLine(s.req.Name, line, col))
	return true
}

// planarNeed is how much the proof will want beyond a clearance anywhere in the
// box, reckoned here on its own: what always holds added up, what is random at
// coverage factor 2 (JCGM 100:2008). The proof decides; this only aims.
func (s *state) planarNeed(b geom.Box, cutter int) float64 {
	return s.planarErrors(b, s.w.Cutters[cutter].DiameterTol)
}

func (s *state) planarErrors(b geom.Box, diameterTol float64) float64 {
	r, m := s.w.Register, s.w.Machine
	u := r.Base
	if r.Spread > 0 {
		far := 0.0
		for _, p := range []geom.Point{b.Min, b.Max, {X: b.Min.X, Y: b.Max.Y}, {X: b.Max.X, Y: b.Min.Y}} {
			far = math.Max(far, p.Dist(r.Centroid))
		}
		u *= math.Sqrt(1 + far*far/(r.Spread*r.Spread))
	}
	hu, he := s.w.Skin.Error(b)
	return 2*math.Hypot(u, hu) + math.Max(he, m.ReversalZ) + m.Runout/2 + diameterTol/2 +
		math.Max(r.Fixed, m.Reversal) + m.Controller.BlendTol
}

func areaOf(gs []geom.Region) float64 {
	a := 0.0
	for _, g := range gs {
		a += g.Area()
	}
	return a
}
