package api

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"withybed/models"
)

// kindNames are the kinds as they are written in the code.
var kindNames = map[string]models.Kind{
	"Malformed": models.Malformed, "Invalid": models.Invalid, "NotFound": models.NotFound, "Unknown": models.Unknown,
	"Refused": models.Refused, "Conflict": models.Conflict, "Stale": models.Stale, "Unguarded": models.Unguarded,
	"Forbidden": models.Forbidden, "Unauthenticated": models.Unauthenticated, "TooMany": models.TooMany, "Unavailable": models.Unavailable, "Internal": models.Internal,
}

// Every code that any room of the house gives an error stands in the catalogue
// with the same kind, and the catalogue has none that nobody gives.
func TestEveryCodeIsInTheCatalogue(t *testing.T) {
	given := codesGiven(t, "..")
	if len(given) < 30 {
		t.Fatalf("found only %d codes: the search is broken", len(given))
	}
	for code, kinds := range given {
		entry, ok := Catalogue[code]
		if !ok {
			t.Errorf("%s is given and not in the catalogue (kinds %v)", code, slices.Collect(maps.Keys(kinds)))
			continue
		}
		for kind := range kinds {
			if kind != "" && kind != entry.Kind {
				t.Errorf("%s is given as %s, and is %s in the catalogue", code, kind, entry.Kind)
			}
		}
	}
	for code := range Catalogue {
		if given[code] == nil {
			t.Errorf("%s is in the catalogue, and nobody gives it", code)
		}
	}
}

// codesGiven finds the codes in the source below a folder, with the kinds they
// are given, empty where that cannot be seen.
func codesGiven(t *testing.T, root string) map[string]map[models.Kind]bool {
	t.Helper()
	var files []*ast.File
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
		files = append(files, file)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	s := &codeSearch{found: map[string]map[models.Kind]bool{}, passing: map[string]int{}}
	for _, file := range files {
		ast.Inspect(file, s.learn)
	}
	for _, file := range files {
		ast.Inspect(file, s.look)
	}
	return s.found
}

// codeSearch looks for codes where an error is made, and in calls of functions
// that pass a code on to where one is made.
type codeSearch struct {
	found   map[string]map[models.Kind]bool
	passing map[string]int // by the name of a function: which argument is the code
}

var plainCode = regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)

func (s *codeSearch) note(e ast.Expr, kind models.Kind) {
	lit, ok := e.(*ast.BasicLit)
	if !ok || lit.Kind != token.STRING {
		return
	}
	code, err := strconv.Unquote(lit.Value)
	if err != nil || !plainCode.MatchString(code) {
		return
	}
	if s.found[code] == nil {
		s.found[code] = map[models.Kind]bool{}
	}
	s.found[code][kind] = true
}

// lastName is the name of what is called or named, without its package.
func lastName(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.SelectorExpr:
		return e.Sel.Name
	}
	return ""
}

// codeArg is the argument of a call that is a code, and its kind.
func codeArg(call *ast.CallExpr) (ast.Expr, models.Kind) {
	switch name := lastName(call.Fun); {
	case name == "Errorf" && len(call.Args) > 2:
		if kind, ok := kindNames[lastName(call.Args[0])]; ok || lastName(call.Args[0]) == "kind" {
			return call.Args[1], kind
		}
	case name == "Add" && len(call.Args) > 3:
		return call.Args[0], models.Invalid
	case name == "UnknownName":
		return call.Args[0], models.Unknown
	case name == "InvalidField", name == "InvalidQuestion", name == "shapeFault":
		return call.Args[0], "" // the kind may be changed before it is returned
	}
	return nil, ""
}

func (s *codeSearch) learn(n ast.Node) bool {
	f, ok := n.(*ast.FuncDecl)
	if !ok || f.Body == nil {
		return true
	}
	index := 0
	for _, field := range f.Type.Params.List {
		for _, param := range field.Names {
			if passesOn(f.Body, param.Name) {
				s.passing[f.Name.Name] = index
			}
			index++
		}
	}
	return true
}

func passesOn(body *ast.BlockStmt, param string) bool {
	passes := false
	ast.Inspect(body, func(n ast.Node) bool {
		if call, ok := n.(*ast.CallExpr); ok {
			arg, _ := codeArg(call)
			passes = passes || (arg != nil && lastName(arg) == param)
		}
		return true
	})
	return passes
}

func (s *codeSearch) look(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.CallExpr:
		if arg, kind := codeArg(n); arg != nil {
			s.note(arg, kind)
		}
		if i, ok := s.passing[lastName(n.Fun)]; ok && i < len(n.Args) {
			s.note(n.Args[i], "")
		}
	case *ast.ReturnStmt:
		for _, result := range n.Results {
			if call, ok := result.(*ast.CallExpr); ok && (lastName(call.Fun) == "InvalidField" || lastName(call.Fun) == "InvalidQuestion") {
				s.note(call.Args[0], models.Invalid)
			}
		}
	case *ast.CompositeLit:
		s.lookInLiteral(n)
	case *ast.FuncDecl:
		if strings.HasSuffix(n.Name.Name, "Code") && n.Body != nil {
			ast.Inspect(n.Body, s.lookInReturn)
		}
	}
	return true
}

func (s *codeSearch) lookInReturn(n ast.Node) bool {
	if r, ok := n.(*ast.ReturnStmt); ok && len(r.Results) == 1 {
		s.note(r.Results[0], "")
	}
	return true
}

// lookInLiteral finds the Code of an Error, and the codes in a table that has a
// column of them.
func (s *codeSearch) lookInLiteral(lit *ast.CompositeLit) {
	if lastName(lit.Type) == "Error" {
		for _, e := range lit.Elts {
			if kv, ok := e.(*ast.KeyValueExpr); ok && lastName(kv.Key) == "Code" {
				s.note(kv.Value, "")
			}
		}
	}
	array, ok := lit.Type.(*ast.ArrayType)
	if !ok {
		return
	}
	row, ok := array.Elt.(*ast.StructType)
	if !ok {
		return
	}
	column := slices.IndexFunc(row.Fields.List, func(f *ast.Field) bool { return len(f.Names) == 1 && f.Names[0].Name == "code" })
	for _, e := range lit.Elts {
		if cells, ok := e.(*ast.CompositeLit); ok && column >= 0 && column < len(cells.Elts) {
			s.note(cells.Elts[column], "")
		}
	}
}
