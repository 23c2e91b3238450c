package outline

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/diag"
)

// Every finding of the package has a smallest call that gives it and a paragraph,
// and no paragraph stands for a finding that is never given.
func TestEveryFindingHasASmallestCallAndAParagraph(t *testing.T) {
	calls := map[string]struct {
		kind  string
		sizes map[string]float64
	}{
		"outline-size-missing": {"servo", nil},
		"outline-size-unknown": {"servo", map[string]float64{"lenght": 20}},
		"outline-size-wrong":   {"servo", map[string]float64{"length": 0, "width": 10}},
		"outline-unknown":      {"servoo", nil},
		"servo-not-measured":   {"servo-standard", nil},
		"servo-size-unusual":   {"servo", map[string]float64{"length": 1.6, "width": 0.8}},
	}
	require.Len(t, Explanations(), len(calls))
	for _, e := range Explanations() {
		t.Run(e[0], func(t *testing.T) {
			c, ok := calls[e[0]]
			require.True(t, ok, "a paragraph without a call")
			s, err := Make(c.kind, c.sizes)
			found := s.Findings
			var f diag.Finding
			if errors.As(err, &f) {
				found.Add(f)
			}
			assert.True(t, found.Has(e[0]), "%v", found)
			text, ok := Explanations().Of(e[0])
			assert.True(t, ok)
			assert.Greater(t, len(text), 80)
		})
	}
	_, ok := Explanations().Of("no-such-finding")
	assert.False(t, ok)
}
