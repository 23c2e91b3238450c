package cli

import (
	"fmt"
	"slices"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/drawing"
	"sparclear/pkg/geom"
	"sparclear/pkg/job"
	"sparclear/pkg/locate"
	"sparclear/pkg/nest"
	"sparclear/pkg/outline"
	"sparclear/pkg/plan"
	"sparclear/pkg/proof"
	"sparclear/pkg/rs274"
	"sparclear/pkg/shop"
	"sparclear/pkg/skin"
)

// paragraphs tells what each finding means, room by room.
func paragraphs() diag.Paragraphs {
	return slices.Concat(geom.Explanations(), drawing.Explanations(), outline.Explanations(), shop.Explanations(), locate.Explanations(),
		skin.Explanations(), nest.Explanations(), plan.Explanations(), rs274.Explanations(), proof.Explanations(), job.Explanations(), explanations())
}

// findingHelp prints the paragraph of a finding by its code, with the brackets
// that it stands in or without; "codes" lists all of them.
func (e *env) findingHelp(word string) bool {
	all := paragraphs()
	if word == "codes" {
		codes := all.Codes()
		slices.Sort(codes)
		for _, c := range codes {
			fmt.Fprintln(e.out, c)
		}
		return true
	}
	code := strings.Trim(word, "[]")
	text, ok := all.Of(code)
	if ok {
		fmt.Fprintf(e.out, "%s\n\n%s\n", code, wrapped(text, 88))
	}
	return ok
}

// wrapped breaks a paragraph into lines of at most width runes, where its words allow.
func wrapped(text string, width int) string {
	var b strings.Builder
	used := 0
	for _, w := range strings.Fields(text) {
		n := len([]rune(w))
		switch {
		case used == 0:
		case used+1+n > width:
			b.WriteByte('\n')
			used = 0
		default:
			b.WriteByte(' ')
			used++
		}
		b.WriteString(w)
		used += n
	}
	return b.String()
}
