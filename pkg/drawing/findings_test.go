package drawing

import (
	"bytes"
	"go/ast"
	goparser "go/parser"
	"go/token"
	"io"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// codesInSource returns the finding codes that the package can give, as they
// stand in its source: the Code of a finding, and what remark and add are told.
func codesInSource(t *testing.T) map[string]bool {
	t.Helper()
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	codes := map[string]bool{}
	add := func(e ast.Expr) {
		if l, ok := e.(*ast.BasicLit); ok && l.Kind == token.STRING {
			s, err := strconv.Unquote(l.Value)
			require.NoError(t, err)
			codes[s] = true
		}
	}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := goparser.ParseFile(token.NewFileSet(), name, nil, 0)
		require.NoError(t, err)
		ast.Inspect(f, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.KeyValueExpr:
				if k, ok := n.Key.(*ast.Ident); ok && k.Name == "Code" {
					add(n.Value)
				}
			case *ast.CallExpr:
				name := ""
				switch f := n.Fun.(type) {
				case *ast.Ident:
					name = f.Name
				case *ast.SelectorExpr:
					name = f.Sel.Name
				}
				if (name == "remark" || name == "add") && len(n.Args) > 3 {
					add(n.Args[0])
				}
			case *ast.AssignStmt:
				for i, l := range n.Lhs {
					if s, ok := l.(*ast.SelectorExpr); ok && s.Sel.Name == "Code" && i < len(n.Rhs) {
						add(n.Rhs[i])
					}
				}
			}
			return true
		})
	}
	return codes
}

// Every finding has a smallest input that gives it, and a paragraph of help.
func TestEveryFindingHasASmallestInputAndAParagraph(t *testing.T) {
	inMM := Options{Units: "mm"}
	options := map[string]Options{
		"units-contradict": {}, "units-doubtful": {}, "units-unknown": {}, "units-overridden": inMM,
		"units-unheard-of": {Units: "ell"},
	}
	layers := map[string]string{"layer-missing": "B", "layer-empty": "EMPTY"}
	codes := codesInSource(t)
	require.Greater(t, len(codes), 30)
	for code := range codes {
		t.Run(code, func(t *testing.T) {
			dir := filepath.Join("testdata", "findings", code)
			entries, err := os.ReadDir(dir)
			require.NoError(t, err, "a finding without a smallest input")
			require.Len(t, entries, 1)
			src, err := os.ReadFile(filepath.Join(dir, entries[0].Name()))
			require.NoError(t, err)
			o, ok := options[code]
			if !ok {
				o = inMM
			}
			var r io.Reader = bytes.NewReader(src)
			if code == "drawing-unreadable" {
				r = io.MultiReader(r, iotest.ErrReader(iotest.ErrTimeout))
			}
			read := Read
			if filepath.Ext(entries[0].Name()) == ".svg" {
				read = ReadSVG
			}
			d, found := read(r, entries[0].Name(), o)
			if name := layers[code]; name != "" {
				c, f := d.Layer(name)
				require.NotNil(t, f)
				found = c.Findings
			}
			require.True(t, found.Has(code), "got %v", found)
			for _, f := range found {
				assert.NotContains(t, f.Message, "\n")
			}
			text, ok := Explanations().Of(code)
			require.True(t, ok, "a finding without a paragraph")
			assert.Greater(t, len(text), 80, "%s", text)
		})
	}
	for _, code := range Explanations().Codes() {
		assert.True(t, codes[code], "%s is explained and never given", code)
	}
	dirs, err := os.ReadDir(filepath.Join("testdata", "findings"))
	require.NoError(t, err)
	for _, e := range dirs {
		assert.True(t, codes[e.Name()], "testdata/findings/%s is no finding", e.Name())
	}
	assert.True(t, sort.StringsAreSorted(Explanations().Codes()))
	_, ok := Explanations().Of("no-such-finding")
	assert.False(t, ok)
}

// The inputs are small: nothing in them can be left away by the line.
func TestTheInputsOfFindingsAreSmall(t *testing.T) {
	files, err := filepath.Glob("testdata/findings/*/in.*")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, f := range files {
		src, err := os.ReadFile(f)
		require.NoError(t, err)
		assert.Less(t, len(src), 300, "%s", f)
	}
}
