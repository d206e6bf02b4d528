package store_test

import (
	"context"
	"testing"
	"time"

	"withybed/models/store"
	"withybed/models/store/storetest"
)

var noon = time.Date(2026, 11, 2, 12, 0, 0, 250e6, time.UTC)

func TestRanJobIsFirstOncePerPeriod(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		for _, run := range []struct {
			job, period string
			first       bool
		}{
			{"flags", "2026-11-02", true},
			{"flags", "2026-11-02", false},
			{"flags", "2026-11-03", true},
			{"reminder", "2026-11-02", true},
		} {
			if first := ranJob(t, s, run.job, run.period); first != run.first {
				t.Errorf("job %s of %s is first: %t, want %t", run.job, run.period, first, run.first)
			}
		}
	})
}

func ranJob(t *testing.T, s *store.Store, job, period string) (first bool) {
	t.Helper()
	err := s.Write(context.Background(), func(tx *store.Tx) (err error) {
		first, err = tx.RanJob(job, period, noon)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return first
}

func TestRanJobIsRefusedInARead(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		err := s.Read(context.Background(), func(tx *store.Tx) error {
			_, err := tx.RanJob("flags", "2026-11-02", noon)
			return err
		})
		if err == nil {
			t.Fatal("a read held a lock")
		}
	})
}
