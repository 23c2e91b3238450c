package job

import (
	"fmt"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
	"sparclear/pkg/locate"
)

const (
	// sameMiddle is how near the middles of two cuts lie so that it does not matter
	// about which of them they are kept or turned, mm.
	sameMiddle = 0.01
	// oneFeature is how near cuts lie that are likely to serve one thing, mm; common
	// practice, no source.
	oneFeature = 20.0
)

// featureFrame is where a cut goes on a mirrored panel: mirrored with it, kept as
// drawn, or turned by half. A servo is not mirror-symmetric, so its cut must say
// which. Cuts of one feature (the case, its screws, the slot of its arm) are kept
// or turned about one middle, that of all of them, so that they fit each other as
// drawn.
func (s *state) featureFrame(key string, c Cut, sh shapeOf) geom.Rigid {
	rule, l := locate.ReadRule(c.Name, c.Panels, sh.mirrors, s.w.Frame.Mirror)
	for _, f := range l {
		s.add(withPlace(f, s.placeOf(key)))
	}
	b := boxOf(sh.regions, sh.chains, sh.points)
	if s.w.Frame.Mirror && (rule != locate.Mirror || c.Feature != "") {
		b = s.featureBox(key, c, b)
	}
	return locate.Feature(s.w.Frame, rule, b.Center())
}

// featureBox bounds all cuts of the feature that c belongs to, drawing. It stops
// where they have different rules, and asks about near ones that are kept or turned
// as well but name no common feature: each about its own middle, they would not
// fit each other any more.
func (s *state) featureBox(key string, c Cut, own geom.Box) geom.Box {
	all := own
	for i, o := range s.file.Cuts {
		other := fmt.Sprintf("cut.%d", i)
		if other == key || o.Kind == "mark" && o.Layer == "" {
			continue
		}
		told := len(s.res.Findings)
		sh, ok := s.shape(other, o, s.wingDrawing())
		s.res.Findings = s.res.Findings[:told] // said where that cut is resolved
		if !ok {
			continue
		}
		b := boxOf(sh.regions, sh.chains, sh.points)
		switch {
		case c.Feature != "" && o.Feature == c.Feature:
			if o.Panels != c.Panels {
				s.stop(key, "feature-mixed", fmt.Sprintf("%s and %s are of one feature %q, but the other panel does different things with them", c.Name, o.Name, c.Feature), "give both the same panels")
			}
			all = all.Union(b)
		case c.Feature == "" && o.Feature == "" && rulesApart(c, o) && b.Center().Dist(own.Center()) > sameMiddle && overlap(b.Grow(oneFeature), own):
			line, col := s.pos.Of(key)
			s.add(diag.Finding{Code: "feature-apart", Severity: diag.Confirm, Subject: s.req.Name, Cut: c.Name,
				Message: fmt.Sprintf("%s and %s are kept as made on the other panel, each about its own middle: their places to each other change", c.Name, o.Name),
				Help:    "give both feature = \"…\", the same name"}.AtLine(s.req.Name, line, col))
		}
	}
	return all
}

// rulesApart tells whether both cuts are kept or turned.
func rulesApart(a, b Cut) bool {
	made := func(c Cut) bool { return c.Panels != "" && c.Panels != string(locate.Mirror) }
	return made(a) && made(b)
}

func overlap(a, b geom.Box) bool {
	return a.Min.X <= b.Max.X && b.Min.X <= a.Max.X && a.Min.Y <= b.Max.Y && b.Min.Y <= a.Max.Y
}
