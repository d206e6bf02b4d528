// Package storetest gives tests a migrated throwaway database of their own on
// each dialect: a file for SQLite, and on PostgreSQL a database in a throwaway
// cluster, which the first test of a test binary starts from the server
// programs on PATH or under /usr/lib/postgresql/*/bin.
//
// WITHY_TEST_POSTGRES_DSN names a running server to use instead; databases are
// made and dropped in it. Where there is neither, the PostgreSQL half of a test
// is skipped, or fails if WITHY_REQUIRE_POSTGRES is 1.
package storetest

import (
	"context"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"withybed/migrations"
	"withybed/models/store"
)

// Dialects are the databases that Each runs on.
var Dialects = []string{store.SQLite, store.Postgres}

// Each runs body once on each dialect, in subtests named after it, with an
// empty database at the newest schema.
func Each(t *testing.T, body func(t *testing.T, s *store.Store)) {
	t.Helper()
	for _, dialect := range Dialects {
		t.Run(dialect, func(t *testing.T) { body(t, Open(t, dialect)) })
	}
}

// Open opens a new database of one dialect and closes it when the test ends.
func Open(t testing.TB, dialect string) *store.Store {
	t.Helper()
	return open(t, New(t, dialect))
}

// New makes a migrated database and gives its URL, as store.Open and
// WITHY_DATABASE_URL take it. The database is gone when the test ends, whoever
// is still connected.
func New(t testing.TB, dialect string) (url string) {
	t.Helper()
	if dialect == store.Postgres {
		return newPostgres(t)
	}
	path := filepath.Join(t.TempDir(), "withy.db")
	if err := os.WriteFile(path, migratedFile(t), 0o600); err != nil {
		t.Fatal(err)
	}
	return "sqlite:" + path
}

// Empty makes a database without any schema and gives its URL.
func Empty(t testing.TB, dialect string) (url string) {
	t.Helper()
	if dialect == store.Postgres {
		return server(t).create(t, "")
	}
	return "sqlite:" + filepath.Join(t.TempDir(), "withy.db")
}

var template struct {
	once sync.Once
	file []byte
	err  error
}

// migratedFile is a migrated SQLite file, made once and copied for each test.
func migratedFile(t testing.TB) []byte {
	t.Helper()
	template.once.Do(func() { template.file, template.err = makeFile(t.TempDir()) })
	if template.err != nil {
		t.Fatal(template.err)
	}
	return template.file
}

func makeFile(dir string) ([]byte, error) {
	path := filepath.Join(dir, "template.db")
	if err := migrate("sqlite:" + path); err != nil {
		return nil, err
	}
	return os.ReadFile(path)
}

func migrate(url string) (err error) {
	s, err := store.Open(context.Background(), url)
	if err != nil {
		return err
	}
	_, err = migrations.Up(context.Background(), s.SQL(), s.Dialect(), s.LockPath())
	if err != nil {
		_ = s.Close()
		return err
	}
	return s.Close()
}

func open(t testing.TB, url string) *store.Store {
	t.Helper()
	s, err := store.Open(context.Background(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}
