package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/pflag"
)

// optionWords are what stands for the value of an option, by its type.
var optionWords = map[string]string{"string": "WORD", "float64": "NUMBER", "int": "NUMBER", "stringSlice": "WORD,…"}

// optionHelp lists the options of a command, each with what it takes and what it
// does.
func optionHelp(fs *pflag.FlagSet) string {
	var rows [][2]string
	wide := 0
	fs.VisitAll(func(f *pflag.Flag) {
		head := "    --" + f.Name
		if f.Shorthand != "" {
			head = "-" + f.Shorthand + ", --" + f.Name
		}
		if w := optionWords[f.Value.Type()]; w != "" {
			head += " " + w
		}
		text := f.Usage
		if d := f.DefValue; d != "" && d != "0" && d != "[]" && f.Value.Type() != "bool" && !strings.Contains(text, "default") {
			text += " (default: " + d + ")"
		}
		rows = append(rows, [2]string{head, text})
		wide = max(wide, len([]rune(head)))
	})
	var b strings.Builder
	for _, r := range rows {
		lines := strings.Split(wrapped(r[1], 88-wide), "\n")
		fmt.Fprintf(&b, "  %s%s   %s\n", r[0], strings.Repeat(" ", wide-len([]rune(r[0]))), lines[0])
		for _, l := range lines[1:] {
			fmt.Fprintf(&b, "  %s   %s\n", strings.Repeat(" ", wide), l)
		}
	}
	return b.String()
}
