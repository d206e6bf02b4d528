package storetest

import (
	"context"
	"database/sql"
	"fmt"
	"net/url"
	"os"
	"sync"
	"sync/atomic"
	"testing"

	"withybed/models/store"
)

const dsnVariable = "WITHY_TEST_POSTGRES_DSN"

// timeZone is not UTC, so that whatever leans on the session's zone is found out.
const timeZone = "America/Los_Angeles"

// postgres is a running server on which databases can be made.
type postgres struct {
	admin    *sql.DB
	base     url.URL // of the server; the path names a database
	template string  // a migrated database to copy, or empty
}

var (
	running struct {
		once   sync.Once
		server *postgres
		why    error // why there is none
	}
	made atomic.Int64 // databases so far
)

// server starts the server on first use. A missing one skips the test, unless it
// was asked for.
func server(t testing.TB) *postgres {
	t.Helper()
	running.once.Do(func() { running.server, running.why = findServer() })
	if running.why == nil {
		return running.server
	}
	if os.Getenv("WITHY_REQUIRE_POSTGRES") == "1" || os.Getenv(dsnVariable) != "" {
		t.Fatalf("PostgreSQL is required here, and there is none: %v", running.why)
	}
	t.Skipf("skipped on PostgreSQL: %v", running.why)
	return nil
}

func findServer() (*postgres, error) {
	if dsn := os.Getenv(dsnVariable); dsn != "" {
		return connect(dsn)
	}
	dsn, err := startCluster()
	if err != nil {
		return nil, err
	}
	p, err := connect(dsn)
	if err != nil {
		return nil, err
	}
	return p, p.makeTemplate("withy_template")
}

func connect(dsn string) (*postgres, error) {
	base, err := url.Parse(dsn)
	if err != nil {
		return nil, err
	}
	s, err := store.Open(context.Background(), dsn)
	if err != nil {
		return nil, err
	}
	return &postgres{admin: s.SQL(), base: *base}, nil
}

// makeTemplate migrates one database, to be copied for each test. A server that
// is not ours gets none, since nothing would remove it in the end.
func (p *postgres) makeTemplate(name string) error {
	if err := p.exec("CREATE DATABASE " + name); err != nil {
		return err
	}
	if err := migrate(p.url(name)); err != nil {
		return err
	}
	p.template = name
	return nil
}

func newPostgres(t testing.TB) string {
	t.Helper()
	p := server(t)
	if p.template != "" {
		return p.create(t, " TEMPLATE "+p.template+" STRATEGY file_copy")
	}
	url := p.create(t, "")
	if err := migrate(url); err != nil {
		t.Fatal(err)
	}
	return url
}

// create makes a database that goes when the test ends.
func (p *postgres) create(t testing.TB, how string) string {
	t.Helper()
	name := fmt.Sprintf("withy_test_%d_%d", os.Getpid(), made.Add(1))
	if err := p.exec("CREATE DATABASE " + name + how); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := p.exec("DROP DATABASE IF EXISTS " + name + " WITH (FORCE)"); err != nil {
			t.Error(err)
		}
	})
	if err := p.exec("ALTER DATABASE " + name + " SET timezone = '" + timeZone + "'"); err != nil {
		t.Fatal(err)
	}
	return p.url(name)
}

func (p *postgres) url(name string) string {
	base := p.base
	base.Path = "/" + name
	return base.String()
}

func (p *postgres) exec(statement string) error {
	if _, err := p.admin.ExecContext(context.Background(), statement); err != nil {
		return fmt.Errorf("%s: %w", statement, err)
	}
	return nil
}
