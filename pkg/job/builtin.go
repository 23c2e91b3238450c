package job

import (
	"fmt"
	"math"
	"strings"

	"sparclear/pkg/drawing"
	"sparclear/pkg/geom"
	"sparclear/pkg/outline"
)

// made is what the job says about a built-in outline, and for whom.
type made struct {
	name    string
	outline string
	sizes   map[string]Length
	center  []Length
	turnDeg float64
}

// shaped makes the outline about its own zero.
func (s *state) shaped(key string, m made) (outline.Shape, bool) {
	sizes := map[string]float64{}
	for k, v := range m.sizes {
		sizes[k] = float64(v)
	}
	out, err := outline.Make(m.outline, sizes)
	if err != nil {
		s.geomFault(key+".outline", m.name, err)
		return out, false
	}
	for _, f := range out.Findings {
		f.Cut = m.name
		s.add(withPlace(f, s.placeOf(key+".outline")))
	}
	return out, true
}

// placed makes the outline, and tells how it is turned and moved to its centre.
func (s *state) placed(key string, m made) (outline.Shape, geom.Rigid, bool) {
	out, ok := s.shaped(key, m)
	if !ok {
		return out, geom.Rigid{}, false
	}
	at, ok := s.point(key+".center", m.center)
	return out, geom.Rigid{Turn: m.turnDeg * math.Pi / 180, Shift: at}, ok
}

// drawn is a layer of the drawing, or a built-in outline in its stead.
func (s *state) drawn(key string, d *drawing.Drawing, layer string, m made) (drawing.Content, bool) {
	if m.outline == "" {
		return s.layer(key+".layer", d, layer)
	}
	var c drawing.Content
	out, t, ok := s.placed(key, m)
	if !ok {
		return c, false
	}
	for _, g := range out.Regions {
		c.Outlines = append(c.Outlines, drawing.Outline{Region: g.Transform(t)})
	}
	for _, ch := range out.Chains {
		c.Open = append(c.Open, drawing.OpenChain{Chain: ch.Transform(t)})
	}
	return c, true
}

// regionMade makes the one outline of a part or a sheet about its own zero: the
// cover where it has one (the hatch that closes an opening), else the outline itself.
func (s *state) regionMade(key string, m made, of string) (geom.Region, bool) {
	out, ok := s.shaped(key, m)
	if !ok {
		return geom.Region{}, false
	}
	regions := out.Covers
	if len(regions) == 0 {
		regions = out.Regions
	}
	if len(regions) != 1 {
		s.stop(key+".outline", "part-outline", fmt.Sprintf("outline %s makes %d separate outlines, %s has one", m.outline, len(regions), of), "use another outline, or draw it")
		return geom.Region{}, false
	}
	return regions[0], true
}

// builtIn makes what a cut asks of a built-in outline.
func (s *state) builtIn(key string, c Cut) (shapeOf, bool) {
	made, t, ok := s.placed(key, made{c.Name, c.Outline, c.Sizes, c.Center, c.TurnDeg})
	if !ok {
		return shapeOf{}, false
	}
	var sh shapeOf
	switch c.Kind {
	case "drill", "bore":
		for _, p := range made.Points {
			sh.points = append(sh.points, t.Apply(p))
		}
	case "rebate":
		for _, r := range made.Rebates {
			sh.regions = append(sh.regions, r.Region.Transform(t))
		}
	default:
		for _, g := range made.Regions {
			sh.regions = append(sh.regions, g.Transform(t))
		}
		for _, ch := range made.Chains {
			sh.chains = append(sh.chains, ch.Transform(t))
		}
	}
	sh.mirrors = strings.HasPrefix(c.Outline, "servo")
	if len(sh.regions)+len(sh.chains)+len(sh.points) == 0 {
		s.stop(key+".outline", "layer-empty", fmt.Sprintf("outline %s has nothing for kind %q", c.Outline, c.Kind), "use another kind of cut, or another outline")
		return sh, false
	}
	return sh, true
}
