package store_test

import (
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func othersCut(id string, s models.Stand, entry models.LedgerEntry) models.OthersCut {
	return models.OthersCut{
		ID: id, StandID: s.ID, LedgerID: entry.ID, CutFrom: day("2026-01-03"), CutTo: day("2026-01-05"), Low: 5, High: 12,
		CutBy: "valley basket weavers «Ö»", Evidence: "cut stubs\nseen", Ours: true, EnteredBy: "OP", EnteredAt: entered,
	}
}

func othersEntry(id string, s models.Stand) models.LedgerEntry {
	return models.LedgerEntry{ID: id, StandID: s.ID, Kind: models.Others, TakenOn: day("2026-01-05"), Stems: 12, Why: "12 cut by others", EnteredAt: entered}
}

func TestCutsOfOthersComeBackLatestFirst(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 2)
		var cuts []models.OthersCut
		for _, id := range []string{"o-1", "o-2", "o-3"} {
			entry := othersEntry("e"+id, stands[0])
			cuts = append(cuts, othersCut(id, stands[0], entry))
			write(t, s, adding((*store.Tx).AddLedgerEntries, []models.LedgerEntry{entry}), adding((*store.Tx).AddOthersCut, cuts[len(cuts)-1]))
		}
		wantFull(t, cuts[0])
		read(t, s, func(tx *store.Tx) error {
			got, err := tx.OthersCuts(stands[0].ID, models.Page{})
			wantSame(t, "the cuts", []models.OthersCut{cuts[2], cuts[1], cuts[0]}, got.Items)
			return err
		}, func(tx *store.Tx) error {
			list := func(p models.Page) (models.List[models.OthersCut], error) { return tx.OthersCuts(stands[0].ID, p) }
			wantSame(t, "the pages", []string{"o-3", "o-2", "o-1"}, pages(t, 1, list, func(c models.OthersCut) string { return c.ID }))
			elsewhere, err := tx.OthersCuts(stands[1].ID, models.Page{})
			wantSame(t, "the cuts elsewhere", []models.OthersCut{}, elsewhere.Items)
			return err
		})
	})
}

// A cut of others is never there without the entry that counts it.
func TestACutOfOthersHasItsEntry(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		_, stands := seed(t, s, 1)
		err := s.Write(background, func(tx *store.Tx) error {
			return tx.AddOthersCut(othersCut("o-1", stands[0], othersEntry("nowhere", stands[0])))
		})
		if err == nil {
			t.Error("a cut was kept whose entry is not on the ledger")
		}
	})
}
