package store_test

import (
	"slices"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// A batch ends on the latest day of what was entered about it, whatever that is.
func TestABatchEndsOnTheLatestDayOfItsEntries(t *testing.T) {
	late := day("2026-04-30")
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		n := 0
		for name, enter := range map[string]func(r *models.BatchRecord){
			"collected": func(r *models.BatchRecord) { r.CollectedOn = late },
			"waiting":   func(r *models.BatchRecord) { r.WaitingFrom = late },
			"stuck": func(r *models.BatchRecord) {
				r.Sticking = &models.Sticking{BatchID: r.ID, StuckOn: late, EnteredAt: entered}
			},
			"moved": func(r *models.BatchRecord) {
				r.Moves = []models.Move{{ID: r.ID, BatchID: r.ID, MovedOn: late, EnteredAt: entered}}
			},
			"split":   func(r *models.BatchRecord) { r.Splits = []models.Split{{SplitOn: late}} },
			"checked": func(r *models.BatchRecord) { r.Checks = []models.Check{{CheckedOn: late}, {CheckedOn: late.Add(-1)}} },
			"potted":  func(r *models.BatchRecord) { r.Pottings = []models.Potting{{PottedOn: late}} },
			"decided": func(r *models.BatchRecord) { r.Decisions = []models.Decision{{DecidedOn: late}} },
		} {
			t.Run(name, func(t *testing.T) {
				n += 2
				added, touched := ended(n, stands[0]), ended(n+1, stands[0])
				touched.Active = true
				write(t, s, adding((*store.Tx).AddBatches, []*models.BatchRecord{touched}))
				touched.Active = false
				enter(added)
				enter(touched)
				write(t, s, adding((*store.Tx).AddBatches, []*models.BatchRecord{added}), adding((*store.Tx).TouchBatch, touched))
				for _, r := range []*models.BatchRecord{added, touched} {
					wantAsked(t, s, r.Code, late, true)
					wantAsked(t, s, r.Code, late.Add(1), false)
				}
			})
		}
	})
}

func ended(n int, s models.Stand) *models.BatchRecord {
	b := batch(n, s, "2026-01-17")
	b.Active = false
	return &models.BatchRecord{Batch: b}
}

// wantAsked wants a batch to be among those asked about on a day, or not.
func wantAsked(t *testing.T, s *store.Store, code string, on models.Date, want bool) {
	t.Helper()
	read(t, s, func(tx *store.Tx) error {
		records, err := tx.BatchRecordsOn(on)
		found := slices.ContainsFunc(records, func(r *models.BatchRecord) bool { return r.Code == code })
		if found != want {
			t.Errorf("on %s batch %s is asked about: %t, want %t", on, code, found, want)
		}
		return err
	})
}

func TestAnActiveBatchIsAskedAboutFromItsFirstDayOn(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		b := batch(1, stands[0], "2026-01-17")
		write(t, s, adding((*store.Tx).AddBatch, b))
		wantAsked(t, s, b.Code, day("2026-01-16"), false)
		wantAsked(t, s, b.Code, day("2026-01-17"), true)
		wantAsked(t, s, b.Code, day("2199-12-31"), true)
		reopened := &models.BatchRecord{Batch: b}
		reopened.Active = false
		write(t, s, adding((*store.Tx).TouchBatch, reopened))
		reopened.Active, reopened.Version = true, b.Version+1
		write(t, s, adding((*store.Tx).TouchBatch, reopened))
		wantAsked(t, s, b.Code, day("2199-12-31"), true)
	})
}
