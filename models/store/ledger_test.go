package store_test

import (
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func TestLedgerLinesComeBackNewestFirst(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 2)
		b, elsewhere := batch(1, stands[0], "2026-01-17"), batch(1, stands[1], "2026-01-17")
		first, second, third := ledgerEntry(1, b, 24), ledgerEntry(2, b, -3), ledgerEntry(3, b, 1)
		second.Corrects = &first.ID
		third.BatchID = nil
		share := share(1, stands[0])
		second.ShareID = &share.ID
		wantFull(t, second)
		write(t, s, adding((*store.Tx).AddBatch, b, elsewhere), adding((*store.Tx).AddShare, share),
			adding((*store.Tx).AddLedgerEntry, first, second, third, ledgerEntry(9, elsewhere, 5)))
		read(t, s, func(tx *store.Tx) error {
			got, err := tx.LedgerLines(stands[0].ID, models.Page{})
			wantSame(t, "the lines", []models.LedgerLine{
				{LedgerEntry: third}, {LedgerEntry: second, Batch: b.Code}, {LedgerEntry: first, Batch: b.Code},
			}, got.Items)
			return err
		}, func(tx *store.Tx) error {
			list := func(p models.Page) (models.List[models.LedgerLine], error) { return tx.LedgerLines(stands[0].ID, p) }
			wantSame(t, "the pages", []string{third.ID, second.ID, first.ID}, pages(t, 1, list, func(l models.LedgerLine) string { return l.ID }))
			return nil
		})
	})
}

// What is set aside is no stem taken, in no season and on no day.
func TestTheLedgerIsSummedByDay(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 2)
		early, late, beside := batch(1, stands[0], "2025-06-30"), batch(2, stands[0], "2025-07-01"), batch(3, stands[0], "2025-07-01")
		elsewhere := batch(1, stands[1], "2025-07-01")
		given := ledgerEntry(4, late, -4)
		given.Kind = "correction"
		gone := ledgerEntry(5, early, 0)
		gone.Kind, gone.BatchID, gone.TakenOn, gone.Parents = "correction", nil, day("2025-08-01"), 0
		aside := share(1, stands[0])
		set, drawn := shareEntry(1, aside, models.ShareSet, 9, 3), shareEntry(2, aside, models.ShareDrawn, -4, -1)
		drawn.BatchID = &late.ID
		write(t, s, adding((*store.Tx).AddBatch, early, late, beside, elsewhere),
			adding((*store.Tx).AddLedgerEntry, ledgerEntry(1, early, 10), ledgerEntry(2, late, 20), ledgerEntry(3, beside, 30),
				given, gone, ledgerEntry(1, elsewhere, 7)),
			adding((*store.Tx).AddShare, aside), adding((*store.Tx).AddLedgerEntry, set, drawn))
		read(t, s, func(tx *store.Tx) error {
			got, err := tx.LedgerBySeason(stands[0].ID)
			wantSame(t, "the days", []models.CutDay{
				{LedgerDay: models.LedgerDay{TakenOn: day("2025-06-30"), Stems: 10, Parents: 2}, Batches: 1},
				{LedgerDay: models.LedgerDay{TakenOn: day("2025-07-01"), Stems: 46, Parents: 6}, Batches: 2},
				{LedgerDay: models.LedgerDay{TakenOn: day("2025-08-01")}},
			}, got)
			return err
		})
	})
}
