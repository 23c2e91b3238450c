// Package house holds the tests that keep the rooms in order.
package house_test

import (
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// row is the order of the rooms: a package imports only what stands before it.
var row = []string{
	"pkg/diag", "pkg/geom",
	"pkg/drawing", "pkg/outline", "profiles", "pkg/shop", "pkg/locate", "pkg/skin", "pkg/nest",
	"pkg/keepout", "pkg/work", "pkg/toolpath", "pkg/plan", "pkg/rs274", "pkg/proof", "pkg/picture",
	"pkg/job", "internal/demo", "internal/cli", "cmd/sparclear",
}

// never lists imports that the order would allow and safety forbids: what
// proves must not lean on what plans, directly or by a detour.
var never = map[string][]string{
	"pkg/proof":   {"pkg/plan", "pkg/job", "pkg/toolpath", "pkg/nest", "pkg/locate", "pkg/outline", "pkg/drawing"},
	"pkg/rs274":   {"pkg/plan"},
	"pkg/plan":    {"pkg/rs274", "pkg/proof"},
	"pkg/geom":    {"pkg/shop"},
	"pkg/keepout": {"pkg/plan"},
}

func root(t *testing.T) string {
	t.Helper()
	dir, err := os.Getwd()
	require.NoError(t, err)
	return filepath.Dir(filepath.Dir(dir))
}

// importsOf returns the imports of ours of the package in dir, tests left out.
func importsOf(t *testing.T, dir string) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*.go"))
	require.NoError(t, err)
	var out []string
	for _, f := range files {
		if strings.HasSuffix(f, "_test.go") {
			continue
		}
		parsed, err := parser.ParseFile(token.NewFileSet(), f, nil, parser.ImportsOnly)
		require.NoError(t, err)
		for _, i := range parsed.Imports {
			p, err := strconv.Unquote(i.Path.Value)
			require.NoError(t, err)
			if ours, ok := strings.CutPrefix(p, "sparclear/"); ok && !slices.Contains(out, ours) {
				out = append(out, ours)
			}
		}
	}
	return out
}

func TestNoImportPointsRight(t *testing.T) {
	for i, name := range row {
		for _, imp := range importsOf(t, filepath.Join(root(t), name)) {
			at := slices.Index(row, imp)
			if assert.GreaterOrEqualf(t, at, 0, "%s imports %s, which has no place in the row", name, imp) {
				assert.Lessf(t, at, i, "%s imports %s, which stands to its right", name, imp)
			}
			assert.NotContainsf(t, never[name], imp, "%s must never import %s", name, imp)
		}
	}
}

func TestEveryRoomStandsInTheRow(t *testing.T) {
	dirs, err := filepath.Glob(filepath.Join(root(t), "pkg", "*"))
	require.NoError(t, err)
	require.NotEmpty(t, dirs)
	for _, d := range dirs {
		assert.Contains(t, row, "pkg/"+filepath.Base(d))
	}
}

func TestTheProofLeansOnNothingThatPlans(t *testing.T) {
	seen := map[string]bool{}
	var walk func(string)
	walk = func(p string) {
		if seen[p] {
			return
		}
		seen[p] = true
		for _, imp := range importsOf(t, filepath.Join(root(t), p)) {
			walk(imp)
		}
	}
	walk("pkg/proof")
	for _, p := range []string{"pkg/plan", "pkg/job", "internal/cli"} {
		assert.False(t, seen[p], "pkg/proof reaches %s", p)
	}
}
