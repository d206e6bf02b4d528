package cli_test

import (
	"encoding/json"
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"os/exec"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// room is what a package may import: other packages of this module, modules of
// others, and what its tests may import besides. A pure room touches neither
// files nor the network, and needs no clock of the process.
type room struct {
	ours   []string
	others []string
	tests  []string
	pure   bool

	despite []string // packages of the standard library that a pure room imports all the same
}

// arrows point down: nothing imports what stands above it here.
var arrows = map[string]room{
	"cli/withy": {ours: []string{"cli"}},
	"cli": {
		ours:   []string{"api", "jobs", "migrations", "models", "models/documents", "models/nursery", "models/rules", "models/stats", "models/store", "testdata"},
		others: []string{"charm.land/huh/v2", "charm.land/lipgloss/v2", "github.com/caarlos0/env/v11", "github.com/charmbracelet/x/term", "github.com/google/uuid", "github.com/rogpeppe/go-internal/lockedfile", "github.com/spf13/cobra", "github.com/spf13/pflag"},
		tests:  []string{"cli", "models/store/storetest", "github.com/charmbracelet/x/ansi", "github.com/creack/pty", "github.com/emersion/go-smtp", "github.com/rogpeppe/go-internal/testscript"},
	},
	"api": {
		ours:   []string{"models", "models/documents", "models/nursery", "models/rules", "models/stats"},
		others: []string{"github.com/danielgtaylor/huma/v2", "github.com/gin-gonic/gin", "github.com/prometheus/client_golang/prometheus", "github.com/swaggest/swgui/v5emb", "golang.org/x/sync", "golang.org/x/time"},
		tests:  []string{"api", "models/store", "models/store/storetest", "github.com/pb33f/libopenapi", "github.com/pb33f/libopenapi-validator"},
	},
	"jobs": {
		ours:   []string{"models", "models/documents", "models/nursery", "models/rules"},
		others: []string{"github.com/robfig/cron/v3", "github.com/wneessen/go-mail"},
		tests:  []string{"jobs", "models/store", "models/store/storetest", "github.com/emersion/go-sasl", "github.com/emersion/go-smtp"},
	},
	"migrations": {
		others: []string{"github.com/pressly/goose/v3", "github.com/rogpeppe/go-internal/lockedfile"},
		tests:  []string{"migrations", "models/store", "models/store/storetest"},
	},
	"models/nursery": {
		ours:  []string{"models", "models/documents", "models/rules", "models/stats", "models/store"},
		tests: []string{"models/nursery", "models/store/storetest"},
	},
	"models/store": {
		ours:   []string{"models"},
		others: []string{"gorm.io/gorm", "gorm.io/driver/postgres", "github.com/jackc/pgx/v5", "github.com/libtnb/sqlite", "modernc.org/sqlite"},
		tests:  []string{"models/store", "models/store/storetest"},
	},
	"models/store/storetest": {
		ours:  []string{"migrations", "models/store"},
		tests: []string{"models/store/storetest"},
	},
	"models/documents": {ours: []string{"models", "models/rules", "models/stats"}, others: []string{"github.com/go-pdf/fpdf", "golang.org/x/image", "gonum.org/v1/plot"}, tests: []string{"models/documents"}, pure: true},
	"models/rules":     {ours: []string{"models", "models/stats"}, others: []string{"github.com/agnivade/levenshtein"}, tests: []string{"models/rules"}, pure: true, despite: []string{"context"}},
	// Limits are drawn from a seed that is given, by all processors, until nobody waits for them any more.
	"models/stats": {others: []string{"gonum.org/v1/gonum"}, tests: []string{"models/stats"}, pure: true, despite: []string{"context", "math/rand/v2", "sync"}},
	"models":       {tests: []string{"models"}, pure: true},
	"testdata":     {},
}

// everyTest may be imported by the tests of every room.
var everyTest = []string{"github.com/google/go-cmp", "pgregory.net/rapid"}

// impure are packages of the standard library that a pure room does without.
var impure = []string{"context", "crypto/rand", "database/sql", "log", "math/rand", "math/rand/v2", "net", "os", "sync", "syscall"}

type listed struct {
	ImportPath   string
	Dir          string
	GoFiles      []string
	Imports      []string
	TestImports  []string
	XTestImports []string
}

const module = "withybed"

// packages are the packages of the module. The folder of example data is named,
// since a pattern passes it over.
func packages(t *testing.T) []listed {
	t.Helper()
	list := exec.Command("go", "list", "-json=ImportPath,Dir,GoFiles,Imports,TestImports,XTestImports", "./...", "./testdata")
	list.Dir = ".."
	text, err := list.Output()
	if err != nil {
		t.Fatal(err)
	}
	var all []listed
	for decoder := json.NewDecoder(strings.NewReader(string(text))); ; {
		var p listed
		if err := decoder.Decode(&p); errors.Is(err, io.EOF) {
			return all
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
}

func TestEveryRoomImportsWhatItMay(t *testing.T) {
	seen := map[string]bool{}
	for _, p := range packages(t) {
		name := strings.TrimPrefix(p.ImportPath, module+"/")
		row, known := arrows[name]
		if !known {
			t.Errorf("the package %s has no row in the table of arrows", name)
			continue
		}
		seen[name] = true
		for _, path := range p.Imports {
			if !row.allows(path) {
				t.Errorf("%s imports %s", name, path)
			}
		}
		for _, path := range slices.Concat(p.TestImports, p.XTestImports) {
			if !row.allows(path) && !within(path, row.tests) && !within(path, everyTest) {
				t.Errorf("a test of %s imports %s", name, path)
			}
		}
		if row.pure {
			wantPure(t, name, p.Imports, row.despite)
		}
	}
	for name := range arrows {
		if !seen[name] {
			t.Errorf("there is no package %s, and the table has a row for it", name)
		}
	}
}

// allows says that a package is of the standard library, or that the row of a
// room names it.
func (r room) allows(path string) bool {
	if rest, ours := strings.CutPrefix(path, module+"/"); ours {
		return slices.Contains(r.ours, rest)
	}
	first, _, _ := strings.Cut(path, "/")
	return !strings.Contains(first, ".") || within(path, r.others)
}

// within says that a package is one of a list, or belongs to a module of it.
func within(path string, list []string) bool {
	ours, isOurs := strings.CutPrefix(path, module+"/")
	return slices.ContainsFunc(list, func(name string) bool {
		if isOurs {
			return ours == name
		}
		return path == name || strings.HasPrefix(path, name+"/")
	})
}

func wantPure(t *testing.T, name string, imports, despite []string) {
	t.Helper()
	for _, path := range imports {
		if path == "net/mail" || slices.Contains(despite, path) { // mail reads addresses, and sends nothing
			continue
		}
		if slices.Contains(impure, path) || strings.HasPrefix(path, "net/") || strings.HasPrefix(path, "os/") {
			t.Errorf("%s is to be pure, and imports %s", name, path)
		}
	}
}

// fromOutside are what only the command line takes from outside: the clock, the
// environment and chance. Other rooms are handed them as values.
var fromOutside = map[string][]string{
	"time":         {"Now", "Since", "Until"},
	"os":           {"Getenv", "LookupEnv", "Environ", "ExpandEnv", "Args"},
	"crypto/rand":  nil, // nothing of it
	"math/rand":    nil,
	"math/rand/v2": {"Int", "IntN", "Int32", "Int32N", "Int64", "Int64N", "Uint", "UintN", "Uint32", "Uint32N", "Uint64", "Uint64N", "N", "Float32", "Float64", "ExpFloat64", "NormFloat64", "Perm", "Shuffle"}, // without a seed
}

// The throwaway databases of tests are asked for by the environment too.
var mayLookOutside = []string{"cli", "models/store/storetest"}

func TestOnlyTheCommandLineTakesFromOutside(t *testing.T) {
	for _, p := range packages(t) {
		name := strings.TrimPrefix(p.ImportPath, module+"/")
		if slices.Contains(mayLookOutside, name) {
			continue
		}
		for _, file := range p.GoFiles {
			for _, use := range usesOf(t, filepath.Join(p.Dir, file)) {
				t.Errorf("%s/%s uses %s", name, file, use)
			}
		}
	}
}

// usesOf are what a file uses of fromOutside.
func usesOf(t *testing.T, name string) []string {
	t.Helper()
	file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	var uses []string
	watched := map[string][]string{} // by the name it is imported under
	for _, spec := range file.Imports {
		imported, _ := strconv.Unquote(spec.Path.Value)
		names, known := fromOutside[imported]
		switch {
		case !known:
		case names == nil:
			uses = append(uses, imported)
		case spec.Name != nil:
			watched[spec.Name.Name] = names
		default:
			watched[path.Base(strings.TrimSuffix(imported, "/v2"))] = names
		}
	}
	ast.Inspect(file, func(node ast.Node) bool {
		selector, ok := node.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		if from, ok := selector.X.(*ast.Ident); ok && slices.Contains(watched[from.Name], selector.Sel.Name) {
			uses = append(uses, from.Name+"."+selector.Sel.Name)
		}
		return true
	})
	return uses
}
