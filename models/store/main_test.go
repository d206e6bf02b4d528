package store_test

import (
	"context"
	"testing"

	"withybed/models"
	"withybed/models/store"
)

// run executes SQL in a write and gives the explained error.
func run(s *store.Store, statement string, args ...any) error {
	return s.Write(context.Background(), func(tx *store.Tx) error { return exec(tx, statement, args...) })
}

func exec(tx *store.Tx, statement string, args ...any) error {
	return store.Explain("run a statement", tx.DB().Exec(statement, args...).Error)
}

func mustRun(t *testing.T, s *store.Store, statement string, args ...any) {
	t.Helper()
	if err := run(s, statement, args...); err != nil {
		t.Fatal(err)
	}
}

const noteJob = "INSERT INTO job_runs (job, period, done_at) VALUES (?, ?, ?)"

// count is the number of rows of job_runs as a transaction of its own sees it.
func count(t *testing.T, s *store.Store) (n int) {
	t.Helper()
	err := s.Read(context.Background(), func(tx *store.Tx) (err error) {
		n, err = countIn(tx)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func countIn(tx *store.Tx) (n int, err error) {
	err = tx.DB().Raw("SELECT count(*) FROM job_runs").Scan(&n).Error
	return n, err
}

func wantCode(t *testing.T, err error, code string) {
	t.Helper()
	e := models.AsError(err)
	if e == nil || e.Kind != models.Unavailable || e.Code != code {
		t.Errorf("the error is %v, want one that says unavailable and %s", err, code)
	}
}
