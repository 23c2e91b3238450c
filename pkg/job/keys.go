package job

import (
	"fmt"
	"slices"

	"sparclear/pkg/diag"
)

// keysHold refuses numbers of a cut that would be taken for "not said", and warns
// of keys that a cut of its kind does not read: what is written and passed over in
// silence is worse than what is missing.
func (s *state) keysHold(key string, c Cut) bool {
	ok := true
	for _, n := range []struct {
		key, what string
		v         *float64
	}{
		{"rpm", "spindle speed", c.RPM}, {"feed_mm_min", "feed", c.Feed}, {"plunge_mm_min", "plunge feed", c.Plunge},
		{"step", "depth per pass", (*float64)(c.Step)}, {"diameter", "diameter", (*float64)(c.Diameter)}, {"nominal", "nominal size", (*float64)(c.Nominal)},
		{"room", "room below the skin", (*float64)(c.Room)},
	} {
		if n.v != nil && !(*n.v > 0) {
			s.stop(key+"."+n.key, "not-positive", fmt.Sprintf("%s: %s is %g", c.Name, n.what, *n.v), "give a value above 0, or leave the key out and it is chosen")
			ok = false
		}
	}
	if c.Overcut != nil && *c.Overcut < 0 {
		s.stop(key+".overcut", "not-positive", fmt.Sprintf("%s: overcut is %g mm", c.Name, float64(*c.Overcut)), "give 0 or more, or leave the key out")
		ok = false
	}
	if t := c.Tabs; t != nil && t.Height != nil && float64(*t.Height) >= s.w.Thickness && s.w.Thickness > 0 {
		line, col := s.pos.Of(key + ".tabs")
		s.add(diag.Finding{Code: "tabs-broken", Severity: diag.Stop, Input: true, Subject: s.req.Name, Cut: c.Name,
			Message: fmt.Sprintf("%s: tabs of %.3g mm are as high as the material is thick, %.3g mm", c.Name, float64(*t.Height), s.w.Thickness),
			Help:    "make them half as high as the material, or thinner"}.With(float64(*t.Height), s.w.Thickness, "mm").AtLine(s.req.Name, line, col))
		ok = false
	}
	return s.optionsHold(key, c) && ok
}

// signedOptions may be below 0.
var signedOptions = []string{"x", "y", "start_x", "start_y", "turn_deg"}

// mostFinishes is how often an edge is gone round at most.
const mostFinishes = 10

// optionsHold refuses options of the wrong sign, and halves of pairs.
func (s *state) optionsHold(key string, c Cut) bool {
	ok := true
	refuse := func(name, message, help string) {
		s.stop(key+".options", "option-wrong", fmt.Sprintf("%s: option %s %s", c.Name, name, message), help)
		ok = false
	}
	for _, name := range sortedNames(c.Options) {
		v := c.Options[name]
		switch {
		case v < 0 && !slices.Contains(signedOptions, name):
			refuse(name, fmt.Sprintf("is %g", v), "give 0 or more")
		case name == "finish_passes" && v > mostFinishes:
			refuse(name, fmt.Sprintf("is %g", v), fmt.Sprintf("give at most %d", mostFinishes))
		}
	}
	for _, pair := range [][2]string{{"start_x", "start_y"}, {"x", "y"}} {
		_, one := c.Options[pair[0]]
		_, two := c.Options[pair[1]]
		if one != two {
			refuse(pair[0], "and "+pair[1]+" belong together", "give both, or neither")
		}
	}
	return ok
}

func sortedNames(m map[string]float64) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// uselessKeys warns of keys that stand under a [[cut]] and do nothing there.
func (s *state) uselessKeys(key string, c Cut) {
	mills := c.Kind == "opening" || c.Kind == "part" || c.Kind == "door"
	for _, k := range []struct {
		name string
		set  bool
		read bool
	}{
		{"diameter", c.Diameter != nil, c.Kind == "bore"},
		{"peck", c.Peck != nil, c.Kind == "drill"},
		{"text", c.Text != "", c.Kind == "mark"},
		{"tabs", c.Tabs != nil && (c.Tabs.Count > 0 || c.Tabs.Auto), mills},
		{"onion", c.Onion != nil && *c.Onion > 0, mills},
		{"relief", c.Relief != "", mills || c.Kind == "pocket" || c.Kind == "rebate" || c.Kind == "slot"},
		{"nominal", c.Nominal != nil, c.Fit != nil && c.Fit.Class != "" || c.Tol != nil && c.Tol.Class != ""},
		{"sizes", len(c.Sizes) > 0, c.Outline != ""},
		{"center", len(c.Center) > 0, c.Outline != ""},
		{"turn_deg", c.TurnDeg != 0, c.Outline != ""},
		{"overcut", c.Overcut != nil, c.Through},
	} {
		if !k.set || k.read {
			continue
		}
		line, col := s.pos.Of(key + "." + k.name)
		s.add(diag.Finding{Code: "key-useless", Severity: diag.Warn, Subject: s.req.Name, Cut: c.Name,
			Message: fmt.Sprintf("%s: %s does nothing under this cut of kind %s", c.Name, k.name, c.Kind), Help: "leave it out; sparclear help " + c.Kind + " lists what is read"}.AtLine(s.req.Name, line, col))
	}
}
