package store_test

import (
	"testing"
	"time"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func tallyOf(id string, b models.Batch, tag string, stems int) models.ParentTally {
	return models.ParentTally{
		ID: id, BatchID: b.ID, StandID: b.StandID, TakenOn: b.CollectedOn, TagKey: models.NameKey(tag),
		Parent: models.Parent{Tag: tag, Stems: stems, Cuttings: 3 * stems, Sex: models.Female}, EnteredAt: entered,
	}
}

func stemsOf(id string, b models.Batch, kind models.LedgerKind, stems int) models.LedgerEntry {
	return models.LedgerEntry{ID: id, StandID: b.StandID, BatchID: &b.ID, Kind: kind, TakenOn: b.CollectedOn, Stems: stems, EnteredAt: entered}
}

// What was replaced by a correction is left out, and so are other days and stands.
func TestTheParentsOfAStandAreReadByDay(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 2)
		first, second, elsewhere := batch(1, stands[0], "2026-01-17"), batch(2, stands[0], "2026-02-20"), batch(1, stands[1], "2026-01-17")
		replaced := tallyOf("p-2", first, "D-9", 7)
		replaced.ReplacedAt = ptr(entered.Add(time.Hour))
		kept := []models.ParentTally{tallyOf("p-1", first, "Ö-07", 2), tallyOf("p-3", first, "D-08", 1), tallyOf("p-0", second, "Ö-07", 3)}
		var records []*models.BatchRecord
		for _, b := range []models.Batch{first, second, elsewhere} {
			records = append(records, &models.BatchRecord{Batch: b})
		}
		others := othersEntry("l-6", stands[0])
		write(t, s, adding((*store.Tx).AddBatches, records),
			adding((*store.Tx).AddParents, append([]models.ParentTally{replaced, tallyOf("p-4", elsewhere, "D-1", 1)}, kept...)),
			adding((*store.Tx).AddLedgerEntries, []models.LedgerEntry{
				stemsOf("l-1", first, models.Cut, 24), stemsOf("l-2", first, models.Corrected, -4), stemsOf("l-3", second, models.Cut, 3),
				stemsOf("l-4", elsewhere, models.Cut, 9), others,
			}))
		read(t, s, func(tx *store.Tx) error {
			got, err := tx.ParentTallies(stands[0].ID, day("2026-01-17"), day("2026-02-20"))
			wantSame(t, "all days", kept, got)
			return err
		}, func(tx *store.Tx) error {
			got, err := tx.ParentTallies(stands[0].ID, day("2026-01-18"), day("2026-02-20"))
			wantSame(t, "later days", kept[2:], got)
			return err
		}, func(tx *store.Tx) error {
			for to, want := range map[string]int{"2026-01-16": 0, "2026-01-17": 20, "2026-02-20": 23} {
				if got, err := tx.BatchStems(stands[0].ID, day("2026-01-01"), day(to)); err != nil || got != want {
					t.Errorf("to %s batches took %d, want %d: %v", to, got, want, err)
				}
			}
			return nil
		}, func(tx *store.Tx) error {
			got, err := tx.AsKnown(entered).ParentTallies(stands[0].ID, day("2026-01-17"), day("2026-02-20"))
			wantSame(t, "before the correction", []models.ParentTally{kept[0], replaced, kept[1], kept[2]}, got)
			return err
		}, func(tx *store.Tx) error {
			got, err := tx.AsKnown(entered.Add(-time.Hour)).BatchStems(stands[0].ID, day("2026-01-01"), day("2026-02-20"))
			wantSame(t, "the stems before any was entered", 0, got)
			return err
		}, func(tx *store.Tx) error {
			got, err := tx.BatchRecord(first.CodeKey)
			wantSame(t, "the parents of the batch", []models.Parent{kept[0].Parent, kept[1].Parent}, got.Parents)
			return err
		})
	})
}
