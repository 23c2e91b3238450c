package job

import (
	"fmt"
	"math"
	"strings"

	"sparclear/pkg/geom"
	"sparclear/pkg/outline"
)

// builtIn makes a parametric outline, turned and moved to its centre.
func (s *state) builtIn(key string, c Cut) (shapeOf, bool) {
	sizes := map[string]float64{}
	for k, v := range c.Sizes {
		sizes[k] = float64(v)
	}
	made, err := outline.Make(c.Outline, sizes)
	if err != nil {
		s.geomFault(key+".outline", c.Name, err)
		return shapeOf{}, false
	}
	at, ok := s.point(key+".center", c.Center)
	if !ok {
		return shapeOf{}, false
	}
	for _, f := range made.Findings {
		f.Cut = c.Name
		s.add(withPlace(f, s.placeOf(key+".outline")))
	}
	t := geom.Rigid{Turn: c.TurnDeg * math.Pi / 180, Shift: at}
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
