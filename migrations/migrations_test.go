package migrations_test

import (
	"context"
	"errors"
	"sync"
	"testing"
	"time"

	"withybed/migrations"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

var background = context.Background()

// eachEmpty runs body on a database without a schema, on both dialects.
func eachEmpty(t *testing.T, body func(t *testing.T, s *store.Store, url string)) {
	for _, dialect := range storetest.Dialects {
		t.Run(dialect, func(t *testing.T) {
			url := storetest.Empty(t, dialect)
			body(t, open(t, url), url)
		})
	}
}

func open(t *testing.T, url string) *store.Store {
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

func up(s *store.Store) ([]migrations.Migration, error) {
	return migrations.Up(background, s.SQL(), s.Dialect(), s.LockPath())
}

func check(s *store.Store) error { return migrations.Check(background, s.SQL(), s.Dialect()) }

func status(t *testing.T, s *store.Store) []migrations.Migration {
	t.Helper()
	all, err := migrations.Status(background, s.SQL(), s.Dialect())
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func TestUpAppliesEverythingOnce(t *testing.T) {
	eachEmpty(t, func(t *testing.T, s *store.Store, _ string) {
		pending := status(t, s)
		first, err := up(s)
		if err != nil {
			t.Fatal(err)
		}
		if len(first) != len(pending) || len(first) == 0 {
			t.Errorf("%d of %d steps were applied", len(first), len(pending))
		}
		second, err := up(s)
		if err != nil || len(second) != 0 {
			t.Errorf("a second time %d steps were applied (%v)", len(second), err)
		}
		if err := check(s); err != nil {
			t.Error(err)
		}
	})
}

func TestStatusTellsWhatIsPendingAndChangesNothing(t *testing.T) {
	eachEmpty(t, func(t *testing.T, s *store.Store, _ string) {
		for range 2 {
			for _, m := range status(t, s) {
				if !m.Pending || !m.AppliedAt.IsZero() || m.Name == "" {
					t.Errorf("an empty database has %+v", m)
				}
			}
		}
		if _, err := s.SQL().Exec("SELECT count(*) FROM goose_db_version"); err == nil {
			t.Error("to ask for the status made a table")
		}
	})
}

func TestStatusTellsWhenAStepWasApplied(t *testing.T) {
	eachEmpty(t, func(t *testing.T, s *store.Store, _ string) {
		if _, err := up(s); err != nil {
			t.Fatal(err)
		}
		now := databaseNow(t, s)
		for _, m := range status(t, s) {
			if ago := now.Sub(m.AppliedAt); m.Pending || ago < -time.Second || ago > 5*time.Minute {
				t.Errorf("%s was applied at %v, and it is %v", m.Name, m.AppliedAt, now)
			}
			if m.AppliedAt.Location() != time.UTC {
				t.Errorf("%s was applied at %v, which is not told in UTC", m.Name, m.AppliedAt)
			}
		}
	})
}

// databaseNow is the database's own clock, which is not in UTC on PostgreSQL.
func databaseNow(t *testing.T, s *store.Store) time.Time {
	t.Helper()
	ask := "SELECT CAST(strftime('%s', 'now') AS INTEGER)"
	if s.Dialect() == store.Postgres {
		ask = "SELECT extract(epoch FROM now())::bigint"
	}
	var seconds int64
	if err := s.SQL().QueryRow(ask).Scan(&seconds); err != nil {
		t.Fatal(err)
	}
	return time.Unix(seconds, 0)
}

func TestManyServersMigrateOnce(t *testing.T) {
	eachEmpty(t, func(t *testing.T, s *store.Store, url string) {
		want := len(status(t, s))
		var all sync.WaitGroup
		var mu sync.Mutex
		total := 0
		for range 4 {
			other := open(t, url)
			all.Go(func() {
				applied, err := up(other)
				if err != nil {
					t.Error(err)
				}
				mu.Lock()
				defer mu.Unlock()
				total += len(applied)
			})
		}
		all.Wait()
		if total != want {
			t.Errorf("%d steps were applied in all, want %d", total, want)
		}
		if err := check(s); err != nil {
			t.Error(err)
		}
	})
}

func TestUpWaitsForTheFileLockUntilTheContextEnds(t *testing.T) {
	s := open(t, storetest.Empty(t, store.SQLite))
	release, err := migrations.LockFile(background, s.LockPath())
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(background)
	cancel()
	if _, err := migrations.Up(ctx, s.SQL(), s.Dialect(), s.LockPath()); !errors.Is(err, context.Canceled) {
		t.Errorf("the error is %v, want the context's", err)
	}
	release()
	if _, err := up(s); err != nil {
		t.Error(err)
	}
}

func TestAnOlderSchemaIsTold(t *testing.T) {
	eachEmpty(t, func(t *testing.T, s *store.Store, _ string) {
		var wrong *migrations.VersionError
		if err := check(s); !errors.As(err, &wrong) || wrong.Newer() || wrong.Database != 0 {
			t.Errorf("an empty database gives %v", err)
		}
	})
}

func TestANewerSchemaIsRefusedAndLeftAlone(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, err := s.SQL().Exec("INSERT INTO goose_db_version (version_id, is_applied) VALUES (99999, true)")
		if err != nil {
			t.Fatal(err)
		}
		_, upErr := up(s)
		for _, err := range []error{check(s), upErr} {
			var wrong *migrations.VersionError
			if !errors.As(err, &wrong) || !wrong.Newer() || wrong.Database != 99999 {
				t.Errorf("a newer database gives %v", err)
			}
		}
		all := status(t, s)
		if last := all[len(all)-1]; last.Version != 99999 || last.Pending || last.Name != "" {
			t.Errorf("the status ends with %+v, want the newer version", last)
		}
	})
}

func TestAFailedStepIsToldAndTheOnesBeforeStay(t *testing.T) {
	eachEmpty(t, func(t *testing.T, s *store.Store, _ string) {
		_, err := migrations.UpFrom(background, brokenSteps, s.SQL(), s.Dialect(), s.LockPath())
		if err == nil {
			t.Fatal("a step that cannot be applied gave no error")
		}
		if _, err := s.SQL().Exec("INSERT INTO pots VALUES (1)"); err != nil {
			t.Errorf("the step before is gone: %v", err)
		}
		if _, err := s.SQL().Exec("INSERT INTO trays VALUES (1)"); err == nil {
			t.Error("half of the failed step stayed")
		}
	})
}
