package job

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/drawing"
	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
	"sparclear/pkg/work"
)

// protective asks about what lies on the layer of a keep-out, clamp or flaw and is
// not part of its footprint. On a layer that is cut such a thing is a piece that is
// missing and seen to be missing; here it is a member that the cutter would enter.
func (s *state) protective(key, name string, c drawing.Content) bool {
	var doubts []string
	for _, f := range c.Findings {
		switch f.Code {
		case "outline-without-area", "arc-without-sweep":
			f.Severity, f.Input, f.Member = diag.Stop, true, name
			f.Help = "draw it as an outline, or as an open line and give its width; delete it if it is nothing"
			s.add(withPlace(f, s.placeOf(key)))
			return false
		case "hatch-ignored":
			doubts = append(doubts, "a hatch, whose boundary is not read (hatches = true under [drawing] reads it)")
		case "polyline-wide":
			doubts = append(doubts, "a polyline with width, of which the centre line is read (wide = true under [drawing] reads the band)")
		case "spline-by-points":
			doubts = append(doubts, "a spline given by points alone, which may run otherwise between them")
		}
	}
	if n := c.Layer.Hidden; n > 0 {
		doubts = append(doubts, fmt.Sprintf("%d hidden, which is not read (hidden or paper = true under [drawing] reads it)", n))
	}
	if n := len(c.Points); n > 0 {
		doubts = append(doubts, fmt.Sprintf("%d points, which have no size", n))
	}
	if len(doubts) > 0 {
		s.add(diag.Finding{Code: "keepout-unread", Severity: diag.Confirm, Subject: s.req.Name, Member: name,
			Message: fmt.Sprintf("layer %s of %s holds more than is kept clear of: %s", c.Layer.Name, name, strings.Join(doubts, "; ")),
			Help:    fmt.Sprintf("draw all of it as outlines, move what means nothing to another layer, or accept = [%q] at the head of the job", "keepout-unread: "+name)}.
			AtLine(s.req.Name, first(s.pos.Of(key)), 0))
	}
	return true
}

// drawnLoosely is how much farther than by default the outlines of the drawing may
// lie from what was drawn, mm: gaps and curves that the job reads more coarsely. A
// drawn keep-out keeps that much more clear.
func (s *state) drawnLoosely() float64 {
	d := s.file.Drawing
	if d == nil {
		return 0
	}
	return max(0, lengthOr(d.JoinTol, 0)-drawing.DefaultJoinTol) + max(0, lengthOr(d.CurveTol, 0)-drawing.DefaultCurveTol)
}

// enclosed asks about members that no distance tells of: one that lies wholly inside
// what comes out of the skin, and one in whose drawn hole a cut lies. Neither is
// touched by the cutter as drawn, and neither is likely to be meant.
func (s *state) enclosed() {
	for i := range s.w.Cuts {
		c := &s.w.Cuts[i]
		for j := range s.w.Members {
			m := &s.w.Members[j]
			if c.Through && m.From <= c.Depth && holdsMember(c.Regions, m) {
				s.askMember("keepout-inside", c, m, fmt.Sprintf("%s lies wholly inside %s and would come out with the slug, or stand free below it", m.Name, c.Name))
			}
			if inHoleOf(c, m) {
				s.askMember("keepout-hole", c, m, fmt.Sprintf("%s lies in a hole of %s, which is taken for free", c.Name, m.Name))
			}
		}
	}
}

// unnamed warns where a cut goes over something drawn on a layer that the job does
// not name: a centre line, or a rib that nobody declared.
func (s *state) unnamed() {
	d := s.wingDrawing()
	if d == nil {
		return
	}
	named := s.namedLayers()
	over := map[string]geom.Point{}
	for i := range s.w.Cuts {
		c := &s.w.Cuts[i]
		back := s.w.Frame.Inverse()
		var edges []geom.Seg
		for _, g := range c.Regions {
			for _, k := range g.Transform(back).Contours() {
				edges = append(edges, k.Segs()...)
			}
		}
		for _, ch := range c.Chains {
			edges = append(edges, ch.Transform(back).Segs()...)
		}
		if len(edges) == 0 {
			continue
		}
		x := geom.NewSegIndex(edges...)
		clear(over)
		look := func(layer string, segs []geom.Seg) {
			if named[strings.ToLower(layer)] {
				return
			}
			for _, e := range segs {
				if _, told := over[layer]; told {
					return
				}
				x.Each(e.Bounds(), func(k int) bool {
					at := e.Meet(edges[k])
					if len(at) > 0 {
						over[layer] = at[0]
					}
					return len(at) == 0
				})
			}
		}
		for _, o := range d.Outlines {
			for _, k := range o.Region.Contours() {
				look(o.Layer, k.Segs())
			}
		}
		for _, o := range d.Open {
			look(o.Layer, o.Chain.Segs())
		}
		for _, layer := range slices.Sorted(maps.Keys(over)) {
			at := over[layer]
			f := diag.Finding{Code: "layer-unnamed", Severity: diag.Warn, Subject: s.req.Name, Cut: c.Name,
				Message: fmt.Sprintf("%s crosses what is drawn on layer %s, which the job does not name", c.Name, layer),
				Help:    "if it is a member, add a [[keepout]] with that layer"}.On(at.X, at.Y).AtLine(c.File, c.Line, 0)
			f.At[0].Layer = layer
			s.add(f)
		}
	}
}

func (s *state) askMember(code string, c *work.Cut, m *keepout.Volume, message string) {
	at := m.Frame.Inverse().Apply(m.Bounds().Center())
	s.add(diag.Finding{Code: code, Severity: diag.Confirm, Subject: s.req.Name, Cut: c.Name, Member: m.Name, Message: message,
		Help: fmt.Sprintf("compare drawing and wing; where it is meant so, accept = [%q] under the cut", code+": "+m.Name)}.
		On(at.X, at.Y).AtLine(c.File, c.Line, 0))
}

// holdsMember tells whether any outline of the member lies wholly inside one region.
func holdsMember(regions []geom.Region, m *keepout.Volume) bool {
	for _, f := range m.Footprint {
		for _, g := range regions {
			if g.Bounds().Overlaps(f.Bounds()) && g.ContainsInterior(f.Outer[0].Point) && !crosses(g, f) {
				return true
			}
		}
	}
	return false
}

// crosses tells whether the edges of two regions meet.
func crosses(a, b geom.Region) bool {
	var segs []geom.Seg
	for _, c := range a.Contours() {
		segs = append(segs, c.Segs()...)
	}
	x := geom.NewSegIndex(segs...)
	for _, c := range b.Contours() {
		for _, e := range c.Segs() {
			meets := false
			x.Each(e.Bounds(), func(k int) bool {
				meets = len(e.Meet(segs[k])) > 0
				return !meets
			})
			if meets {
				return true
			}
		}
	}
	return false
}

// inHoleOf tells whether any place of the cut lies in a hole of the member.
func inHoleOf(c *work.Cut, m *keepout.Volume) bool {
	places := edgePoints(c)
	for _, f := range m.Footprint {
		for _, h := range f.Holes {
			hole := geom.NewRegion(h)
			for _, p := range places {
				if hole.ContainsInterior(p) {
					return true
				}
			}
		}
	}
	return false
}
