package shop_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/shop"
)

// Every code that stands in the sources of the package has a paragraph, and the
// other way round.
func TestEveryFindingIsExplained(t *testing.T) {
	sources, err := filepath.Glob("*.go")
	require.NoError(t, err)
	given := map[string]bool{"cutter-unknown": true, "machine-unknown": true, "material-unknown": true, "profile-unknown": true} // made of the noun, or set later
	code := regexp.MustCompile(`(?:Code: |diag\.\w+, )"([a-z]+(?:-[a-z]+)+)"`)
	for _, name := range sources {
		if strings.HasSuffix(name, "_test.go") || name == "explain.go" {
			continue
		}
		b, err := os.ReadFile(name)
		require.NoError(t, err)
		for _, m := range code.FindAllStringSubmatch(string(b), -1) {
			given[m[1]] = true
		}
	}
	assert.Greater(t, len(given), 25)
	for c := range given {
		text, ok := shop.Explain(c)
		assert.True(t, ok && len(text) > 40, "%s is not explained", c)
		assert.NotContains(t, text, "\t", c)
	}
	for _, c := range shop.Codes() {
		assert.True(t, given[c], "%s is explained and never given", c)
	}
	_, ok := shop.Explain("no-such-finding")
	assert.False(t, ok)
}
