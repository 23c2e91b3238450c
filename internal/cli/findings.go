package cli

import (
	"fmt"

	"sparclear/pkg/drawing"
	"sparclear/pkg/outline"
	"sparclear/pkg/shop"
)

// explainers tell what a finding means, room by room; ok is false for codes that a
// room does not give.
func explainers() []func(code string) (text string, ok bool) {
	return []func(string) (string, bool){drawing.Explain, outline.Explain, shop.Explain}
}

// findingHelp prints the paragraph of a finding by its code.
func (e *env) findingHelp(code string) bool {
	for _, explain := range explainers() {
		if text, ok := explain(code); ok {
			fmt.Fprintf(e.out, "%s\n\n%s\n", code, text)
			return true
		}
	}
	return false
}
