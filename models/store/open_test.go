package store_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"withybed/models/store"
	"withybed/models/store/storetest"
)

func openStore(t *testing.T, url string) *store.Store {
	t.Helper()
	s, err := store.Open(background, url)
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

func TestOpenTakesAPathAsItStands(t *testing.T) {
	for _, name := range []string{
		"plain.db", "with space.db", "what?.db", "a#b.db", "100%.db", "%41.db", "q?mode=memory&x=1",
		"semi;colon&and=.db", "plus+.db", "weidenbüschel.db", "柳.db", "quote's \"two\".db", "back\\slash.db", "file:x.db",
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "of my own", name)
			s := openStore(t, "sqlite:"+path)
			if _, err := s.SQL().Exec("CREATE TABLE pots (id TEXT)"); err != nil {
				t.Fatal(err)
			}
			err := s.Read(background, func(tx *store.Tx) error { return exec(tx, "SELECT id FROM pots") })
			if err != nil {
				t.Errorf("the reader has another file: %v", err)
			}
			info, err := os.Stat(path)
			if err != nil || info.Size() == 0 {
				t.Fatalf("nothing was written to %s: %v", path, err)
			}
			wantOnly(t, filepath.Dir(path), name)
		})
	}
}

// wantOnly checks that a folder has one database and what SQLite keeps beside it.
func wantOnly(t *testing.T, dir, name string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if e.Name() != name && e.Name() != name+"-wal" && e.Name() != name+"-shm" {
			t.Errorf("there is a file %q too", e.Name())
		}
	}
}

func TestOpenMakesTheFileForItsOwnerAlone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a", "b", "withy.db")
	openStore(t, "sqlite:"+path)
	for name, want := range map[string]os.FileMode{path: 0o600, filepath.Dir(path): 0o700} {
		info, err := os.Stat(name)
		if err != nil {
			t.Fatal(err)
		}
		if got := info.Mode().Perm(); got != want {
			t.Errorf("%s has the mode %o, want %o", name, got, want)
		}
	}
}

func TestOpenSaysWhatIsWrongWithAnAddress(t *testing.T) {
	t.Chdir(t.TempDir())
	for url, want := range map[string]string{
		"":                                 "postgres:// or with sqlite:",
		"withy.db":                         "postgres:// or with sqlite:",
		"mysql://localhost/x":              "postgres:// or with sqlite:",
		"sqlite:":                          "names no file",
		"sqlite::memory:":                  "names no file",
		"sqlite://somewhere/else.db":       "names a host",
		"postgres://u:secret@h:notaport/x": "port",
	} {
		_, err := store.Open(background, url)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q gives %v, want something about %q", url, err, want)
		}
		if err != nil && strings.Contains(err.Error(), "secret") {
			t.Errorf("%v tells the password", err)
		}
	}
}

func TestOpenSetsWhatSQLiteNeeds(t *testing.T) {
	s := storetest.Open(t, store.SQLite)
	for pragma, want := range map[string]string{
		"journal_mode": "wal", "synchronous": "2", "foreign_keys": "1", "busy_timeout": "10000", "query_only": "0",
	} {
		var got string
		if err := s.SQL().QueryRow("PRAGMA " + pragma).Scan(&got); err != nil || got != want {
			t.Errorf("%s is %s, want %s (%v)", pragma, got, want, err)
		}
	}
}

func TestPingFailsOnceClosed(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		if err := s.Ping(background); err != nil {
			t.Error(err)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		if err := s.Ping(background); err == nil {
			t.Error("a closed database answers")
		}
	})
}

func TestInstantsComeBackAsTheyWereAndInOrder(t *testing.T) {
	tokyo := time.FixedZone("", 9*60*60)
	instants := []time.Time{ // in order, though the hands of the clock say otherwise
		time.Date(1950, 1, 1, 0, 0, 0, 0, time.UTC),
		time.Date(2026, 11, 2, 8, 0, 0, 999e6, tokyo),
		time.Date(2026, 11, 1, 23, 30, 0, 0, time.UTC),
		time.Date(2026, 11, 1, 23, 30, 0, 1e6, time.UTC),
		time.Date(2026, 11, 1, 23, 30, 0, 10e6, time.UTC),
		time.Date(2026, 11, 2, 8, 30, 0, 100e6, tokyo),
		time.Date(2026, 11, 1, 23, 30, 1, 0, time.UTC),
		time.Date(2199, 12, 31, 23, 59, 59, 999e6, time.UTC),
	}
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		for i := range instants {
			at := instants[len(instants)-1-i]
			mustRun(t, s, noteJob, "look", at.Format(time.RFC3339Nano), at)
		}
		for i, got := range readInstants(t, s) {
			if !got.Equal(instants[i]) || got.Location() != time.UTC {
				t.Errorf("number %d is %v, want %v in UTC", i, got, instants[i].UTC())
			}
		}
	})
}

func readInstants(t *testing.T, s *store.Store) []time.Time {
	t.Helper()
	var rows []struct{ DoneAt time.Time }
	err := s.Read(context.Background(), func(tx *store.Tx) error {
		return tx.DB().Raw("SELECT done_at FROM job_runs ORDER BY done_at").Scan(&rows).Error
	})
	if err != nil {
		t.Fatal(err)
	}
	at := make([]time.Time, len(rows))
	for i, row := range rows {
		at[i] = row.DoneAt
	}
	return at
}

func TestThePostgresOfTheTestsIsNotInUTC(t *testing.T) {
	s := storetest.Open(t, store.Postgres)
	var zone string
	if err := s.SQL().QueryRow("SHOW timezone").Scan(&zone); err != nil || zone != "America/Los_Angeles" {
		t.Errorf("the session's time zone is %q (%v)", zone, err)
	}
}
