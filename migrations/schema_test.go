package migrations_test

import (
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"withybed/migrations"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func TestBothDialectsHaveTheSameSteps(t *testing.T) {
	names := func(dialect string) []string {
		found, err := fs.Glob(migrations.Files, dialect+"/*.sql")
		if err != nil || len(found) == 0 {
			t.Fatalf("there are %d steps of %s (%v)", len(found), dialect, err)
		}
		for i := range found {
			found[i] = strings.TrimPrefix(found[i], dialect+"/")
		}
		return found
	}
	if diff := cmp.Diff(names("postgres"), names("sqlite")); diff != "" {
		t.Errorf("steps of postgres (-) and sqlite (+):\n%s", diff)
	}
}

// The schema is told as lines, such as "stands.code TEXT not null" and "stands
// unique constraint stands_code_key", in order.
func TestBothDialectsHaveTheSameSchema(t *testing.T) {
	postgres := lines(t, storetest.Open(t, store.Postgres), postgresSchema...)
	sqlite := lines(t, storetest.Open(t, store.SQLite), sqliteColumns, sqliteIndexes)
	sqlite = append(sqlite, sqliteConstraints(t)...)
	slices.Sort(postgres)
	slices.Sort(sqlite)
	if len(postgres) == 0 {
		t.Fatal("the schema is empty")
	}
	if diff := cmp.Diff(postgres, sqlite); diff != "" {
		t.Errorf("the schemas of postgres (-) and sqlite (+) differ:\n%s", diff)
	}
}

func lines(t *testing.T, s *store.Store, questions ...string) (all []string) {
	t.Helper()
	for _, question := range questions {
		rows, err := s.SQL().Query(question)
		if err != nil {
			t.Fatal(err)
		}
		defer rows.Close()
		for rows.Next() {
			var line string
			if err := rows.Scan(&line); err != nil {
				t.Fatal(err)
			}
			all = append(all, line)
		}
		if err := rows.Err(); err != nil {
			t.Fatal(err)
		}
	}
	return all
}

// postgresSchema asks for the columns, the constraints, and the indexes that no
// constraint made. Types are told as SQLite should have them: days are TEXT, and
// instants are DATETIME, so that they are read back as instants.
var postgresSchema = []string{`
	SELECT table_name || '.' || column_name || ' ' ||
		CASE data_type
			WHEN 'text' THEN 'TEXT' WHEN 'date' THEN 'TEXT' WHEN 'boolean' THEN 'BOOLEAN'
			WHEN 'integer' THEN 'INTEGER' WHEN 'bigint' THEN 'INTEGER' WHEN 'double precision' THEN 'REAL'
			WHEN 'timestamp with time zone' THEN 'DATETIME'
			ELSE 'no type for ' || data_type END ||
		CASE is_nullable WHEN 'NO' THEN ' not null' ELSE '' END
	FROM information_schema.columns
	WHERE table_schema = current_schema() AND table_name <> 'goose_db_version'`, `
	SELECT conrelid::regclass || ' ' ||
		CASE contype WHEN 'p' THEN 'primary key' WHEN 'u' THEN 'unique' WHEN 'f' THEN 'foreign key' WHEN 'c' THEN 'check' END ||
		' constraint ' || conname
	FROM pg_constraint
	WHERE connamespace = current_schema()::regnamespace AND contype IN ('p', 'u', 'f', 'c')
		AND conrelid <> 'goose_db_version'::regclass`, `
	SELECT indrelid::regclass || CASE WHEN indisunique THEN ' unique' ELSE '' END || ' index ' || indexrelid::regclass
	FROM pg_index JOIN pg_class ON pg_class.oid = indexrelid
	WHERE relnamespace = current_schema()::regnamespace AND indrelid <> 'goose_db_version'::regclass
		AND NOT EXISTS (SELECT 1 FROM pg_constraint WHERE conindid = indexrelid AND contype IN ('p', 'u'))`,
}

const (
	sqliteColumns = `
		SELECT t.name || '.' || c.name || ' ' || c.type || CASE c."notnull" WHEN 1 THEN ' not null' ELSE '' END
		FROM sqlite_master t, pragma_table_info(t.name) c
		WHERE t.type = 'table' AND t.name NOT IN ('goose_db_version', 'sqlite_sequence')`
	sqliteIndexes = `
		SELECT tbl_name || CASE WHEN sql LIKE 'CREATE UNIQUE%' THEN ' unique' ELSE '' END || ' index ' || name
		FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL`
	sqliteTables = `
		SELECT name || ' ' || sql FROM sqlite_master
		WHERE type = 'table' AND name NOT IN ('goose_db_version', 'sqlite_sequence')`
)

// A constraint's name stands in the text of its table and nowhere else.
var namedConstraint = regexp.MustCompile(`(?i)CONSTRAINT\s+(\w+)\s+(PRIMARY\s+KEY|UNIQUE|FOREIGN\s+KEY|CHECK|REFERENCES)`)

func sqliteConstraints(t *testing.T) (all []string) {
	t.Helper()
	for _, text := range lines(t, storetest.Open(t, store.SQLite), sqliteTables) {
		table, text, _ := strings.Cut(text, " ")
		for _, found := range namedConstraint.FindAllStringSubmatch(text, -1) {
			kind := strings.ToLower(strings.Join(strings.Fields(found[2]), " "))
			if kind == "references" { // of a column that was added later
				kind = "foreign key"
			}
			all = append(all, table+" "+kind+" constraint "+found[1])
		}
	}
	return all
}
