package main

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// sources gives every Go file of the project, below its top folder.
func sources(t *testing.T, do func(path string, text []byte)) {
	t.Helper()
	root := filepath.Join("..", "..")
	found := 0
	require.NoError(t, filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && path != root && (strings.HasPrefix(d.Name(), ".") || d.Name() == "testdata"):
			return fs.SkipDir
		case d.IsDir() || filepath.Ext(path) != ".go":
			return nil
		}
		text, err := os.ReadFile(path)
		found++
		rel, _ := filepath.Rel(root, path)
		do(filepath.ToSlash(rel), text)
		return err
	}))
	require.Greater(t, found, 100)
}

// mostLines is where a file begins to do too much.
const mostLines = 500

func TestNoFileIsTooLong(t *testing.T) {
	sources(t, func(path string, text []byte) {
		if n := bytes.Count(text, []byte("\n")); n > mostLines {
			t.Errorf("%s has %d lines, over %d: part it by what it does", path, n, mostLines)
		}
	})
}

// Every exported name, the methods of exported types among them, says what it
// is; a group of constants or variables may say it once for all.
func TestExportedNamesHaveDocComments(t *testing.T) {
	sources(t, func(path string, text []byte) {
		if strings.HasSuffix(path, "_test.go") {
			return
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, path, text, parser.ParseComments)
		require.NoError(t, err)
		missing := func(n ast.Node, name string) {
			t.Errorf("%s: %s has no doc comment", set.Position(n.Pos()), name)
		}
		for _, d := range file.Decls {
			switch d := d.(type) {
			case *ast.FuncDecl:
				if d.Name.IsExported() && ast.IsExported(receiver(d)) && d.Doc == nil {
					missing(d, d.Name.Name)
				}
			case *ast.GenDecl:
				for _, s := range d.Specs {
					switch s := s.(type) {
					case *ast.TypeSpec:
						if s.Name.IsExported() && s.Doc == nil && d.Doc == nil {
							missing(s, s.Name.Name)
						}
					case *ast.ValueSpec:
						for _, n := range s.Names {
							if n.IsExported() && s.Doc == nil && s.Comment == nil && d.Doc == nil {
								missing(s, n.Name)
							}
						}
					}
				}
			}
		}
	})
}

// receiver is the name of a method's type, an exported word for a function.
func receiver(f *ast.FuncDecl) string {
	if f.Recv == nil {
		return "Function"
	}
	typ := f.Recv.List[0].Type
	if p, ok := typ.(*ast.StarExpr); ok {
		typ = p.X
	}
	if g, ok := typ.(*ast.IndexExpr); ok {
		typ = g.X
	}
	if id, ok := typ.(*ast.Ident); ok {
		return id.Name
	}
	return ""
}

// Every package says what it is for.
func TestPackagesSayWhatTheyAreFor(t *testing.T) {
	said, seen := map[string]bool{}, map[string]bool{}
	sources(t, func(path string, text []byte) {
		if strings.HasSuffix(path, "_test.go") {
			return
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, text, parser.PackageClauseOnly|parser.ParseComments)
		require.NoError(t, err)
		dir := filepath.Dir(path)
		seen[dir] = true
		said[dir] = said[dir] || file.Doc != nil
	})
	for dir := range seen {
		assert.True(t, said[dir], "package %s has no comment", dir)
	}
}
