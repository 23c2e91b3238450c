package house_test

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/internal/cli"
)

// putTogether are the codes that no source holds as one word: a noun of the shop
// and "-unknown".
var putTogether = []string{"cutter-unknown", "machine-unknown", "material-unknown"}

var codeLike = regexp.MustCompile(`^[a-z][a-z0-9]{4,}(-[a-z0-9]+)*$|^[a-z0-9]+(-[a-z0-9]+)+$`)

// sparclear help CODE knows every code that a finding can have. Whoever gives a new
// one writes its paragraph into explain.go of the room that gives it.
func TestEveryFindingHasItsParagraph(t *testing.T) {
	given := map[string]bool{}
	for _, code := range putTogether {
		given[code] = true
	}
	for _, room := range row {
		for code, at := range codesGiven(t, room) {
			given[code] = true
			var out, errs bytes.Buffer
			if cli.Run([]string{"help", code}, strings.NewReader(""), &out, &errs) != 0 {
				t.Errorf("%s gives the finding %q, and nothing says what it means. Add\n\t{%q, `what it means, what it guards against, what to do next`},\nin its alphabetic place to %s/explain.go", at, code, code, room)
				continue
			}
			assert.Truef(t, strings.HasPrefix(out.String(), code+"\n\n"), "help %s is a page about something else:\n%s", code, out.String())
		}
	}
	assert.Greater(t, len(given), 400)

	by := map[string]string{}
	for _, room := range row {
		var codes []string
		for _, e := range paragraphsIn(t, room) {
			code, text := e[0], strings.Join(strings.Fields(e[1]), " ")
			codes = append(codes, code)
			assert.Truef(t, given[code], "%s/explain.go explains %s, which nothing gives", room, code)
			assert.Emptyf(t, by[code], "%s/explain.go and %s both explain %s", room, by[code], code)
			by[code] = room + "/explain.go"
			n := utf8.RuneCountInString(text)
			assert.Truef(t, n > 40 && n < 600 && strings.HasSuffix(text, "."), "%s/explain.go: %s: a paragraph is some whole sentences: %q", room, code, text)
			assert.NotRegexpf(t, regexp.MustCompile(`(?i)\bsafe(ly)?\b[^ ]* (to|now|again)\b|\bis safe\b`), text, "%s: nothing is ever said to be safe", code)
		}
		assert.Truef(t, slices.IsSorted(codes), "%s/explain.go: the codes are not in alphabetic order: %v", room, codes)
	}
	assert.Greater(t, len(by), 400)
}

// sourcesOf parses the files of a room, tests left out: what it gives, and what it
// explains.
func sourcesOf(t *testing.T, room string) (set *token.FileSet, code []*ast.File, explain *ast.File) {
	set = token.NewFileSet()
	files, err := filepath.Glob(filepath.Join(root(t), room, "*.go"))
	require.NoError(t, err)
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(set, name, nil, 0)
		require.NoError(t, err)
		if filepath.Base(name) == "explain.go" {
			explain = f
		} else {
			code = append(code, f)
		}
	}
	return set, code, explain
}

// paragraphsIn returns the pairs of a room's explain.go.
func paragraphsIn(t *testing.T, room string) [][2]string {
	_, _, f := sourcesOf(t, room)
	if f == nil {
		return nil
	}
	var out [][2]string
	ast.Inspect(f, func(n ast.Node) bool {
		if c, ok := n.(*ast.CompositeLit); ok && c.Type == nil && len(c.Elts) == 2 {
			out = append(out, [2]string{word(c.Elts[0]), word(c.Elts[1])})
		}
		return true
	})
	return out
}

// codesGiven returns the codes of the findings that a room gives, with the first
// place of each: whatever is written out where something called code is asked for,
// be it a field, a parameter, a variable or a result.
func codesGiven(t *testing.T, room string) map[string]string {
	set, files, _ := sourcesOf(t, room)
	found := map[string]string{}
	add := func(e ast.Expr) { // functions of one name need not all take a code
		if w := word(e); codeLike.MatchString(w) && found[w] == "" {
			at := set.Position(e.Pos())
			found[w] = room + "/" + filepath.Base(at.Filename) + ":" + strconv.Itoa(at.Line)
		}
	}
	params, fields := map[string]int{}, map[string]int{} // function or struct: which of its parameters or fields is the code
	each := func(visit func(ast.Node)) {
		for _, f := range files {
			ast.Inspect(f, func(n ast.Node) bool { visit(n); return true })
		}
	}
	each(func(n ast.Node) {
		switch n := n.(type) {
		case *ast.FuncDecl:
			note(params, n.Name, n.Type.Params)
			if i := placeOfCode(n.Type.Results); i >= 0 {
				ast.Inspect(n.Body, func(m ast.Node) bool {
					if r, ok := m.(*ast.ReturnStmt); ok && i < len(r.Results) {
						add(r.Results[i])
					}
					return true
				})
			}
		case *ast.Field:
			if f, ok := n.Type.(*ast.FuncType); ok {
				for _, name := range n.Names {
					note(params, name, f.Params)
				}
			}
		case *ast.TypeSpec:
			if s, ok := n.Type.(*ast.StructType); ok {
				note(fields, n.Name, s.Fields)
			}
		case *ast.AssignStmt:
			for i, l := range n.Lhs {
				if len(n.Rhs) != len(n.Lhs) {
					break
				}
				if f, ok := n.Rhs[i].(*ast.FuncLit); ok {
					if id, ok := l.(*ast.Ident); ok {
						note(params, id, f.Type.Params)
					}
				}
				if isCode(l) {
					add(n.Rhs[i])
				}
			}
		}
	})
	each(func(n ast.Node) {
		switch n := n.(type) {
		case *ast.KeyValueExpr:
			if isCode(n.Key) {
				add(n.Value)
			}
		case *ast.CallExpr:
			if i, ok := params[called(n.Fun)]; ok && i < len(n.Args) {
				add(n.Args[i])
			}
		case *ast.CompositeLit:
			if i, ok := fields[called(n.Type)]; ok && i < len(n.Elts) {
				add(n.Elts[i])
			}
			for _, inner := range innerOf(n) {
				if i, ok := fields[called(elementOf(n.Type))]; ok && i < len(inner.Elts) {
					add(inner.Elts[i])
				}
			}
		}
	})
	return found
}

// innerOf returns the literals within a literal of a list or map that leave their
// type out.
func innerOf(n *ast.CompositeLit) []*ast.CompositeLit {
	var out []*ast.CompositeLit
	for _, e := range n.Elts {
		if kv, ok := e.(*ast.KeyValueExpr); ok {
			e = kv.Value
		}
		if c, ok := e.(*ast.CompositeLit); ok && c.Type == nil {
			out = append(out, c)
		}
	}
	return out
}

func elementOf(t ast.Expr) ast.Expr {
	switch t := t.(type) {
	case *ast.ArrayType:
		return t.Elt
	case *ast.MapType:
		return t.Value
	}
	return nil
}

// note remembers which entry of a list is called code.
func note(in map[string]int, name *ast.Ident, list *ast.FieldList) {
	if i := placeOfCode(list); i >= 0 {
		in[name.Name] = i
	}
}

func placeOfCode(list *ast.FieldList) int {
	if list == nil {
		return -1
	}
	i := 0
	for _, f := range list.List {
		for _, n := range f.Names {
			if n.Name == "code" {
				return i
			}
			i++
		}
		if len(f.Names) == 0 {
			i++
		}
	}
	return -1
}

// isCode tells whether something is called code, by itself or as a field.
func isCode(e ast.Expr) bool { return strings.EqualFold(called(e), "code") }

// called is the last word of a name.
func called(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.SelectorExpr:
		return e.Sel.Name
	}
	return ""
}

// word is the text of a literal, "" for anything else.
func word(e ast.Expr) string {
	if b, ok := e.(*ast.BasicLit); ok && b.Kind == token.STRING {
		s, err := strconv.Unquote(b.Value)
		if err == nil {
			return s
		}
	}
	return ""
}

// The pages are found by every word that stands for one.
func TestHelpKnowsItsPages(t *testing.T) {
	var out, errs bytes.Buffer
	require.Zero(t, cli.Run([]string{"help", "codes"}, strings.NewReader(""), &out, &errs))
	codes := strings.Fields(out.String())
	assert.True(t, slices.IsSorted(codes))
	all := map[string]bool{}
	for _, room := range row {
		for _, e := range paragraphsIn(t, room) {
			all[e[0]] = true
		}
	}
	assert.Equal(t, slices.Sorted(maps.Keys(all)), codes)
}
