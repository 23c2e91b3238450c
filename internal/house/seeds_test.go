package house_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Property tests draw the same inputs on every run: each package that has some
// imports the seeds.
func TestPropertyTestsRepeatThemselves(t *testing.T) {
	draws, seeded := map[string]bool{}, map[string]bool{}
	err := filepath.WalkDir(root(t), func(path string, d fs.DirEntry, err error) error {
		require.NoError(t, err)
		if d.IsDir() || !strings.HasSuffix(path, "_test.go") {
			return nil
		}
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		dir := filepath.Dir(path)
		draws[dir] = draws[dir] || strings.Contains(string(text), "\t\"pgregory.net/rapid\"\n")
		seeded[dir] = seeded[dir] || strings.Contains(string(text), "\"sparclear/internal/seeds\"")
		return nil
	})
	require.NoError(t, err)
	for dir, yes := range draws {
		assert.Truef(t, !yes || seeded[dir], "%s has property tests and does not import internal/seeds", dir)
	}
}
