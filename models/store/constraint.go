package store

import (
	"database/sql"
	"errors"
	"regexp"
	"strings"
	"sync"

	"github.com/libtnb/sqlite"
	modernc "modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// namingDialector is SQLite for gorm, with duplicates told by the name of their
// constraint. The dialector's own translation forgets which one it was.
type namingDialector struct {
	*sqlite.Dialector
	names *constraintNames
}

// Translate turns a broken unique constraint into a Duplicate; it is called by
// gorm for every error of a statement.
func (d namingDialector) Translate(err error) error {
	var lite *modernc.Error
	if errors.As(err, &lite) && isUniqueCode(lite.Code()) {
		return &Duplicate{Constraint: d.names.of(lite), cause: err}
	}
	return err
}

func isUniqueCode(code int) bool {
	return code == sqlite3.SQLITE_CONSTRAINT_UNIQUE ||
		code == sqlite3.SQLITE_CONSTRAINT_PRIMARYKEY ||
		code == sqlite3.SQLITE_CONSTRAINT_ROWID
}

// constraintNames finds the name of a constraint by its columns, which are all
// that SQLite tells of it. The names stand in the schema's own SQL.
type constraintNames struct {
	schema *sql.DB // a pool that reads
	mu     sync.Mutex
	known  map[string]string // "stands.code, stands.year" to a name
}

// of is the name of the constraint that an error is about. SQLite's text is
// "… UNIQUE constraint failed: stands.code, stands.year (2067)", or, for an index
// on an expression, "… failed: index 'taxa_name' (2067)". A constraint without a
// name is told by its columns.
func (n *constraintNames) of(err *modernc.Error) string {
	_, what, _ := strings.Cut(err.Error(), "UNIQUE constraint failed: ")
	what, _, _ = strings.Cut(what, " (")
	if name, ok := strings.CutPrefix(what, "index '"); ok {
		return strings.TrimSuffix(name, "'")
	}
	if name := n.byColumns(what); name != "" {
		return name
	}
	return what
}

// byColumns looks again when it does not find: a migration may have run since.
func (n *constraintNames) byColumns(columns string) string {
	n.mu.Lock()
	defer n.mu.Unlock()
	if name, ok := n.known[columns]; ok {
		return name
	}
	if known, err := readConstraints(n.schema); err == nil {
		n.known = known
	}
	return n.known[columns]
}

func readConstraints(db *sql.DB) (map[string]string, error) {
	rows, err := db.Query(`SELECT name, tbl_name, sql FROM sqlite_master WHERE sql IS NOT NULL`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	known := map[string]string{}
	for rows.Next() {
		var name, table, text string
		if err := rows.Scan(&name, &table, &text); err != nil {
			return nil, err
		}
		for _, found := range keyConstraint.FindAllStringSubmatch(text, -1) {
			known[qualified(table, found[2])] = found[1]
		}
		if found := uniqueIndex.FindStringSubmatch(text); found != nil {
			known[qualified(table, found[1])] = name
		}
	}
	return known, rows.Err()
}

var (
	keyConstraint = regexp.MustCompile(`(?i)CONSTRAINT\s+(\w+)\s+(?:PRIMARY\s+KEY|UNIQUE)\s*\(([^)]*)\)`)
	uniqueIndex   = regexp.MustCompile(`(?i)^CREATE\s+UNIQUE\s+INDEX\s[^(]*\(([^)]*)\)`)
)

// qualified writes the columns of a key as SQLite does in its errors.
func qualified(table, columns string) string {
	names := strings.Split(columns, ",")
	for i, name := range names {
		words := strings.Fields(name)
		if len(words) == 0 {
			return ""
		}
		names[i] = table + "." + words[0] // without COLLATE, ASC, DESC
	}
	return strings.Join(names, ", ")
}
