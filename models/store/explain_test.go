package store_test

import (
	"context"
	"errors"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func TestNoRowIsTold(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		err := s.Read(background, func(tx *store.Tx) error {
			row := map[string]any{}
			return store.Explain("find the job", tx.DB().Table("job_runs").Take(&row).Error)
		})
		if !errors.Is(err, store.ErrNoRow) || !strings.HasPrefix(err.Error(), "find the job: ") {
			t.Errorf("the error is %v, want ErrNoRow with what was tried", err)
		}
	})
}

func TestDuplicatesAreToldByOneNameOnBothDatabases(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		for _, statement := range []string{
			`CREATE TABLE pots (id TEXT NOT NULL, bench TEXT NOT NULL, place INTEGER, label TEXT, tag TEXT,
				CONSTRAINT pots_pkey PRIMARY KEY (id),
				CONSTRAINT pots_one_per_place UNIQUE (bench, place))`,
			`CREATE UNIQUE INDEX pots_label ON pots (label) WHERE label <> ''`,
			`CREATE UNIQUE INDEX pots_tag ON pots (lower(tag))`,
			`INSERT INTO pots VALUES ('1', 'A', 1, 'red', 'Q')`,
		} {
			mustRun(t, s, statement)
		}
		for constraint, row := range map[string]string{
			"pots_pkey":          `('1', 'B', 2, 'blue', 'R')`,
			"pots_one_per_place": `('2', 'A', 1, 'blue', 'R')`,
			"pots_label":         `('2', 'B', 2, 'red', 'R')`,
			"pots_tag":           `('2', 'B', 2, 'blue', 'q')`,
		} {
			err := run(s, "INSERT INTO pots VALUES "+row)
			if !store.IsDuplicate(err, constraint) {
				t.Errorf("%s is told as %v", constraint, err)
			}
		}
	})
}

func TestBrokenRulesOfTheSchemaAreWrappedAsTheyAre(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		mustRun(t, s, `CREATE TABLE pots (id TEXT PRIMARY KEY, seated TEXT REFERENCES pots (id), n INTEGER CHECK (n > 0))`)
		for _, row := range []string{`('1', '2', 1)`, `('1', NULL, 0)`} {
			err := run(s, "INSERT INTO pots VALUES "+row)
			if err == nil || models.AsError(err) != nil || !strings.HasPrefix(err.Error(), "run a statement: ") {
				t.Errorf("%s gives %v, want the database's words after what was tried", row, err)
			}
		}
	})
}

func TestTroubleOfPostgresIsTold(t *testing.T) {
	s := storetest.Open(t, store.Postgres)
	for code, want := range map[string]string{
		"53100": "disk-full",
		"55P03": "database-busy",
		"25006": "database-read-only",
		"53300": "database-unavailable",
		"57P01": "database-unavailable",
		"08006": "database-unavailable",
	} {
		wantCode(t, run(s, raise(code)), want)
	}
}

func TestALostConnectionIsToldAndTheNextWriteWorks(t *testing.T) {
	s := storetest.Open(t, store.Postgres)
	wantCode(t, run(s, "SELECT pg_terminate_backend(pg_backend_pid())"), "database-unavailable")
	mustRun(t, s, noteJob, "flags", "2026-11-02", noon)
}

func TestAServerThatIsNotThereIsTold(t *testing.T) {
	_, err := store.Open(background, "postgres:///withy?host="+t.TempDir())
	wantCode(t, err, "database-unavailable")
}

func TestADoorThatStaysShutIsToldByItsReason(t *testing.T) {
	address := storetest.New(t, store.Postgres)
	nobody, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	nobody.Path = "/no_such_database"
	letter := filepath.Join(t.TempDir(), "letter.db")
	if err := os.WriteFile(letter, []byte(strings.Repeat("not a database ", 100)), 0o600); err != nil {
		t.Fatal(err)
	}
	for address, says := range map[string]string{
		nobody.String():    "no database of that name",
		"sqlite:" + letter: "is damaged or is no database",
	} {
		_, err := store.Open(background, address)
		wantCode(t, err, "database-unavailable")
		if !strings.Contains(models.AsError(err).Error(), says) {
			t.Errorf("it says %q, want %q", models.AsError(err), says)
		}
	}
	s := storetest.Open(t, store.Postgres)
	err = run(s, raise("28P01"))
	wantCode(t, err, "database-unavailable")
	if !strings.Contains(models.AsError(err).Error(), "check the user and the password") {
		t.Errorf("a wrong password is told as %q", models.AsError(err))
	}
}

func TestAFullDiskIsTold(t *testing.T) {
	s := storetest.Open(t, store.SQLite)
	if _, err := s.SQL().Exec("PRAGMA max_page_count = 1"); err != nil { // no more than there are
		t.Fatal(err)
	}
	err := s.Write(background, func(tx *store.Tx) error {
		return exec(tx, noteJob, "flags", strings.Repeat("x", 1<<20), noon)
	})
	wantCode(t, err, "disk-full")
	if n := count(t, s); n != 0 {
		t.Errorf("%d rows are left of a write that found no room", n)
	}
}

func TestABusyFileIsTold(t *testing.T) {
	url := storetest.New(t, store.SQLite)
	one, other := openStore(t, url), openStore(t, url)
	if _, err := other.SQL().Exec("PRAGMA busy_timeout = 1"); err != nil {
		t.Fatal(err)
	}
	err := one.Write(background, func(tx *store.Tx) error {
		wantCode(t, run(other, noteJob, "flags", "2026-11-02", noon), "database-busy")
		return exec(tx, noteJob, "flags", "2026-11-03", noon)
	})
	if err != nil {
		t.Error(err)
	}
	mustRun(t, other, noteJob, "flags", "2026-11-02", noon)
}

func TestAFileThatIsNoDatabaseIsTold(t *testing.T) {
	path := filepath.Join(t.TempDir(), "notes.txt")
	if err := os.WriteFile(path, []byte(strings.Repeat("cuttings in the far bed\n", 100)), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := store.Open(background, "sqlite:"+path)
	wantCode(t, err, "database-unavailable")
}

func TestExplainLeavesNilAlone(t *testing.T) {
	if err := store.Explain("do nothing", nil); err != nil {
		t.Error(err)
	}
}

func TestExplainKeepsTheContextsErrors(t *testing.T) {
	err := store.Explain("read", context.DeadlineExceeded)
	if !errors.Is(err, context.DeadlineExceeded) || models.AsError(err) != nil {
		t.Errorf("the error is %v, want the context's alone", err)
	}
}
