package job

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/shop"
	"sparclear/pkg/work"
)

// Edge distances of bolted holes in composites, in parts of the hole's diameter:
// MIL-HDBK-17-3F and airframe design texts, from memory. Metals use 2.
const (
	edgeWarn  = 3.0
	edgeAsk   = 1.5
	pitchWarn = 4.0
	boltMost  = 7.0 // largest hole that is taken for one of a bolt, mm: the clearance of M6
)

// judgeHoles warns of screw holes of a laminate part that stand too near an edge or
// each other to carry a bolt: only holes that a screw of the table fits.
func (s *state) judgeHoles(key, name string, p work.Part) {
	if !s.w.Material.Laminate() {
		return
	}
	type hole struct {
		c geom.Point
		r float64
		i int
	}
	var bolts []hole
	for i, h := range p.Region.Holes {
		if c, r, ok := h.AsCircle(1e-6); ok && 2*r <= boltMost && shop.DescribeHole(2*r) != "" {
			bolts = append(bolts, hole{c, r, i})
		}
	}
	worst, at, d := math.Inf(1), geom.Point{}, 0.0
	near, pair := math.Inf(1), geom.Point{}
	for k, b := range bolts {
		e := p.Region.Outer.Dist(b.c)
		for i, h := range p.Region.Holes {
			if _, _, round := h.AsCircle(1e-6); i != b.i && !round {
				e = math.Min(e, h.Dist(b.c))
			}
		}
		if q := e / (2 * b.r); q < worst {
			worst, at, d = q, b.c, 2*b.r
		}
		for _, o := range bolts[k+1:] {
			if q := b.c.Dist(o.c) / (2 * math.Max(b.r, o.r)); q < near {
				near, pair = q, b.c
			}
		}
	}
	line, _ := s.pos.Of(key)
	add := func(sev diag.Severity, code string, v, limit float64, at geom.Point, message, help string) {
		q := p.Frame.Inverse().Apply(at)
		f := diag.Finding{Code: code, Severity: sev, Subject: name, Cut: name, Message: message, Help: help}
		if sev != diag.Confirm { // once for all copies
			f.Subject, f.Cut = p.Kind, ""
			if s.said(f) {
				return
			}
		}
		s.add(f.With(v, limit, "D").On(q.X, q.Y).AtLine(s.req.Name, line, 0))
	}
	if worst < edgeWarn*(1-1e-9) {
		sev := diag.Warn
		if worst < edgeAsk*(1-1e-9) {
			sev = diag.Confirm
		}
		add(sev, "edge-distance", worst, edgeWarn, at,
			fmt.Sprintf("the middle of a hole of %.3g mm lies %.2g diameters from an edge; a bolt in a laminate wants %g", d, worst, edgeWarn), "move the hole inward, or carry no load there")
	}
	if near < pitchWarn*(1-1e-9) {
		add(diag.Warn, "hole-pitch", near, pitchWarn, pair,
			fmt.Sprintf("two screw holes stand %.2g diameters apart; bolts in a laminate want %g", near, pitchWarn), "move them apart, or carry no load there")
	}
}
