package drawing

import (
	"encoding/xml"
	"regexp"
	"strings"

	"sparclear/pkg/diag"
)

// svgRules is what the style sheets of a picture say that matters to a cutter:
// which classes and elements are not shown. Everything else is looks, but for
// transforms, which would put outlines elsewhere and are not read.
type svgRules struct {
	hidden map[string]bool // ".class" and "#id"
	moved  bool            // some rule moves things
}

// svgRule is a selector with what it declares.
var svgRule = regexp.MustCompile(`([^{}]*)\{([^{}]*)\}`)

// take reads a style element up to its end.
func (r *svgRules) take(dec *xml.Decoder) error {
	var text strings.Builder
	for depth := 1; depth > 0; {
		t, err := dec.Token()
		if err != nil {
			return err
		}
		switch e := t.(type) {
		case xml.StartElement:
			depth++
		case xml.EndElement:
			depth--
		case xml.CharData:
			text.Write(e)
		}
	}
	for _, m := range svgRule.FindAllStringSubmatch(text.String(), -1) {
		says := svgStyle(m[2])
		r.moved = r.moved || says.moves
		if !says.hides {
			continue
		}
		if r.hidden == nil {
			r.hidden = map[string]bool{}
		}
		for _, one := range strings.Split(m[1], ",") {
			r.hidden[strings.TrimSpace(one)] = true
		}
	}
	return nil
}

// tell asks about rules that move things.
func (r *svgRules) tell(b *builder) {
	if r.moved {
		b.found.Add(diag.Finding{Code: "entity-unread", Severity: diag.Stop, Input: true, Subject: b.name,
			Message: "a style sheet of the picture moves what it is about, and that is not read",
			Help:    "flatten the transforms where the picture was made"})
	}
}

// svgSays is what declarations say that matters.
type svgSays struct{ hides, moves bool }

// svgStyle reads declarations, as a style attribute or a rule holds them.
func svgStyle(v string) (says svgSays) {
	for _, d := range strings.Split(v, ";") {
		name, value, _ := strings.Cut(d, ":")
		value = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(value), "!important"))
		switch strings.ToLower(strings.TrimSpace(name)) {
		case "display":
			says.hides = says.hides || value == "none"
		case "visibility":
			says.hides = says.hides || value == "hidden" || value == "collapse"
		case "transform", "translate", "rotate", "scale":
			says.moves = says.moves || value != "none"
		}
	}
	return says
}

// isHidden tells whether an element is not shown, by itself or by a style sheet.
func (s *svgReader) isHidden(n *svgNode, says svgSays) bool {
	if says.hides || n.get("display") == "none" || n.get("visibility") == "hidden" {
		return true
	}
	if len(s.rules.hidden) == 0 {
		return false
	}
	for _, c := range strings.Fields(n.get("class")) {
		if s.rules.hidden["."+c] || s.rules.hidden[n.name+"."+c] {
			return true
		}
	}
	return s.rules.hidden["#"+n.get("id")]
}

// framed tells whether an element has a frame of its own, into which what it holds
// would have to be fitted.
func framed(n *svgNode) bool {
	for _, name := range []string{"viewBox", "x", "y", "width", "height"} {
		if v := strings.TrimSpace(n.get(name)); v != "" && v != "0" && v != "100%" {
			return true
		}
	}
	return false
}
