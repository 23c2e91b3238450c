package house_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every exported name under pkg carries a comment, and every package says what
// it is.
func TestExportedNamesCarryComments(t *testing.T) {
	base := filepath.Join(root(t), "pkg")
	documented := map[string]bool{}
	err := filepath.WalkDir(base, func(path string, d fs.DirEntry, err error) error {
		require.NoError(t, err)
		if d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments)
		require.NoError(t, err)
		pkg := filepath.Dir(path)
		documented[pkg] = documented[pkg] || f.Doc != nil
		for _, decl := range f.Decls {
			for _, name := range bare(decl) {
				t.Errorf("%s: %s has no comment", path, name)
			}
		}
		return nil
	})
	require.NoError(t, err)
	for pkg, ok := range documented {
		assert.Truef(t, ok, "%s has no package comment", pkg)
	}
}

// bare lists exported names of a declaration that no comment speaks of.
func bare(decl ast.Decl) []string {
	switch d := decl.(type) {
	case *ast.FuncDecl:
		if d.Name.IsExported() && d.Doc == nil && (d.Recv == nil || receiverExported(d.Recv)) {
			return []string{d.Name.Name}
		}
	case *ast.GenDecl:
		var out []string
		for _, s := range d.Specs {
			switch s := s.(type) {
			case *ast.TypeSpec:
				if s.Name.IsExported() && d.Doc == nil && s.Doc == nil && s.Comment == nil {
					out = append(out, s.Name.Name)
				}
			case *ast.ValueSpec:
				if s.Names[0].IsExported() && d.Doc == nil && s.Doc == nil && s.Comment == nil {
					out = append(out, s.Names[0].Name)
				}
			}
		}
		return out
	}
	return nil
}

func receiverExported(f *ast.FieldList) bool {
	t := f.List[0].Type
	if p, ok := t.(*ast.StarExpr); ok {
		t = p.X
	}
	if i, ok := t.(*ast.IndexExpr); ok {
		t = i.X
	}
	id, ok := t.(*ast.Ident)
	return ok && id.IsExported()
}
