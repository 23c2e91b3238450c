package locate

import (
	"fmt"
	"math"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// Rule says what becomes of a feature when the drawing of one panel serves the
// other. Outlines of the panel itself are mirrored; a servo or a screw pattern
// that is not its own mirror image may have to stay as it is made.
type Rule string

// The rules.
const (
	// Mirror reflects the feature with the panel. The zero value means the same.
	Mirror Rule = "mirror"
	// Keep leaves the feature as drawn, not reflected: what pointed along the
	// drawing's X still points along the panel's X.
	Keep Rule = "keep"
	// Turn leaves the feature as drawn and turns it by 180°: what pointed along
	// the drawing's Y still points along the panel's Y.
	Turn Rule = "turn"
)

// Feature returns the transform drawing → program for a feature whose middle
// lies at centre (drawing coordinates, mm). The middle always goes where frame
// puts it. Without a mirrored frame every rule gives frame itself. The result
// keeps lengths and areas; with Keep and Turn it has no reflection, so arcs keep
// their sense.
func Feature(frame geom.Rigid, rule Rule, centre geom.Point) geom.Rigid {
	if !frame.Mirror || rule == Mirror || rule == "" {
		return frame
	}
	out := geom.Rigid{Turn: frame.Turn}
	if rule == Turn {
		out.Turn = wrap(frame.Turn + math.Pi)
	}
	out.Shift = frame.Apply(centre).Sub(out.ApplyVector(centre))
	return out
}

// ReadRule reads a rule as a job states it. word may be "mirror", "keep",
// "turn", "turn 180°" or "" (not stated). A servo feature of a mirrored panel
// that has no rule is a confirm, "servo-rule", and is mirrored when accepted;
// an unknown word is a stop, "rule-unknown".
func ReadRule(name, word string, servo, mirrored bool) (Rule, diag.List) {
	switch word {
	case string(Mirror), string(Keep), string(Turn):
		return Rule(word), nil
	case "turn 180", "turn 180°":
		return Turn, nil
	case "":
		if !servo || !mirrored {
			return Mirror, nil
		}
		return Mirror, diag.List{{Code: "servo-rule", Severity: diag.Confirm, Subject: name, Cut: name,
			Message: fmt.Sprintf("%s is for a servo, which is not its own mirror image, and the panel is mirrored", name),
			Help:    `state panels = "mirror", "keep" or "turn" under the cut`}}
	}
	return Mirror, diag.List{{Code: "rule-unknown", Severity: diag.Stop, Input: true, Subject: name, Cut: name,
		Message: fmt.Sprintf("%s has the unknown panel rule %q", name, word), Help: `use "mirror", "keep" or "turn"`}}
}
