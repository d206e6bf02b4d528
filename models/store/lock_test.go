package store_test

import (
	"context"
	"testing"
	"time"

	"withybed/models/store"
	"withybed/models/store/storetest"
)

var noon = time.Date(2026, 11, 2, 12, 0, 0, 250e6, time.UTC)

func TestAJobIsDoneOncePerPeriod(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		for _, run := range []struct {
			job, period string
			done        bool
		}{
			{"flags", "2026-11-02", false},
			{"flags", "2026-11-02", true},
			{"flags", "2026-11-03", false},
			{"tidy", "2026-11-02", false},
		} {
			if done := runJob(t, s, run.job, run.period); done != run.done {
				t.Errorf("job %s of %s was done: %t, want %t", run.job, run.period, done, run.done)
			}
		}
	})
}

// runJob marks a job unless it is done, and says whether it was.
func runJob(t *testing.T, s *store.Store, job, period string) (done bool) {
	t.Helper()
	err := s.WriteSnapshot(context.Background(), func(tx *store.Tx) (err error) {
		if done, err = tx.JobDone(job, period); err != nil || done {
			return err
		}
		return tx.MarkJob(job, period, noon)
	})
	if err != nil {
		t.Fatal(err)
	}
	return done
}

func TestAJobIsNotAskedForInARead(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		err := s.Read(context.Background(), func(tx *store.Tx) error {
			_, err := tx.JobDone("flags", "2026-11-02")
			return err
		})
		if err == nil {
			t.Fatal("a read held a lock")
		}
	})
}
