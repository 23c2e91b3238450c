package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"strings"

	"golang.org/x/term"

	"sparclear/pkg/diag"
)

// stream remembers the first failure of its writer and then swallows the rest,
// so that a closed pipe does not turn into a flood of errors.
type stream struct {
	w      io.Writer
	failed error
}

// Write writes to the stream; it never reports an error to its caller.
func (s *stream) Write(b []byte) (int, error) {
	if s.failed == nil {
		_, s.failed = s.w.Write(b)
	}
	return len(b), nil
}

func (s *stream) broken() bool { return s.failed != nil }

func (s *stream) isTerminal() bool {
	f, ok := s.w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// printJSON writes one object. Values come from our own types, so a failure is
// our own mistake.
func (e *env) printJSON(v any) {
	b, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		panic(err)
	}
	fmt.Fprintf(e.out, "%s\n", b)
}

// findings writes findings for people to standard error.
func (e *env) findings(l diag.List) {
	var b strings.Builder
	_ = diag.Text(&b, l) // a Builder does not fail
	text := b.String()
	if e.colour {
		text = coloured(text)
	}
	_, _ = e.err.Write([]byte(text))
}

// coloured marks the severity word; meaning never rests on the colour alone.
func coloured(text string) string {
	lines := strings.SplitAfter(text, "\n")
	for i, l := range lines {
		for word, code := range map[string]string{"stop ": "1;31", "confirm ": "1;35", "warn ": "1;33"} {
			if strings.HasPrefix(l, word) {
				lines[i] = "\x1b[" + code + "m" + word + "\x1b[0m" + l[len(word):]
			}
		}
	}
	return strings.Join(lines, "")
}

// notNil gives JSON an empty list instead of null.
func notNil[T any](l []T) []T {
	if l == nil {
		return []T{}
	}
	return l
}

// round4 keeps four decimals, enough for 0.1 µm.
func round4(v float64) float64 {
	r := math.Round(v*1e4) / 1e4
	if r == 0 {
		return 0 // never -0
	}
	return r
}
