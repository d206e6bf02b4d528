package store_test

import (
	"fmt"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

const manyRows = 50

// Every list takes as many statements for fifty rows as for one.
func TestListsTakeOneNumberOfStatements(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		stands := seedMany(t, s)
		from := day("2026-01-01")
		codes := make([]string, manyRows)
		for i, stand := range stands {
			codes[i] = stand.CodeKey
		}
		busy, one := stands[0].ID, models.StandFilter{}
		for name, list := range map[string]func(tx *store.Tx, n int) (int, error){
			"Taxa":            func(tx *store.Tx, n int) (int, error) { return size(tx.Taxa(limit(n))) },
			"AllStandRecords": func(tx *store.Tx, n int) (int, error) { return size(tx.AllStandRecords(one, limit(n), from)) },
			"StandRecords":    func(tx *store.Tx, n int) (int, error) { return length(tx.StandRecords(codes[:n], from)) },
			"BatchesOn": func(tx *store.Tx, n int) (int, error) {
				var days []models.Date
				for i := range n {
					days = append(days, day("2026-01-17").Add(i))
				}
				return length(tx.BatchesOn([]string{busy}, days))
			},
			"BatchRecordsOn": func(tx *store.Tx, n int) (int, error) { return length(tx.BatchRecordsOn(day("2026-01-16").Add(n))) },
			"People":         func(tx *store.Tx, n int) (int, error) { return size(tx.People(limit(n))) },
			"Permits":        func(tx *store.Tx, n int) (int, error) { return size(tx.Permits(models.PermitFilter{}, limit(n))) },
			"SharesOf":       func(tx *store.Tx, n int) (int, error) { return size(tx.SharesOf(busy, limit(n))) },
			"HeldShares":     func(tx *store.Tx, n int) (int, error) { return size(tx.HeldShares("", day("2026-01-01"), limit(n))) },
			"Surveys":        func(tx *store.Tx, n int) (int, error) { return size(tx.Surveys(busy, limit(n))) },
			"LedgerLines":    func(tx *store.Tx, n int) (int, error) { return size(tx.LedgerLines(busy, limit(n))) },
			"Corrections":    func(tx *store.Tx, n int) (int, error) { return size(tx.Corrections(busy, true, limit(n))) },
			"BatchRecords": func(tx *store.Tx, n int) (int, error) {
				return size(tx.BatchRecords(models.BatchFilter{}, limit(n)))
			},
			"EveryBatchRecord": func(tx *store.Tx, n int) (int, error) {
				filter := models.BatchFilter{StandID: busy}
				if n == 1 {
					filter.From = day("2026-03-07")
				}
				return length(tx.EveryBatchRecord(filter))
			},
			"Reminders": func(tx *store.Tx, n int) (int, error) { return size(tx.Reminders(limit(n))) },
		} {
			few, many := statements(t, s, list, 1), statements(t, s, list, manyRows)
			if few != many || few == 0 {
				t.Errorf("%s takes %d statements for one row and %d for %d", name, few, many, manyRows)
			}
		}
	})
}

func limit(n int) models.Page { return models.Page{Limit: n} }

func size[T any](list models.List[T], err error) (int, error) { return len(list.Items), err }

func length[T any](rows []T, err error) (int, error) { return len(rows), err }

// statements counts what a list of n rows takes, in a write, where it also locks.
func statements(t *testing.T, s *store.Store, list func(*store.Tx, int) (int, error), n int) (taken int) {
	t.Helper()
	err := s.Write(store.Watch(background, func(string) { taken++ }), func(tx *store.Tx) error {
		got, err := list(tx, n)
		if got != n {
			t.Errorf("there are %d rows, want %d", got, n)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return taken
}

// seedMany makes fifty of all that is listed: stands of which one has fifty
// batches, each with entries, and as many surveys and ledger lines.
func seedMany(t *testing.T, s *store.Store) (stands []models.Stand) {
	t.Helper()
	lone := stand(9999, taxon(1))
	write(t, s, adding((*store.Tx).AddTaxon, taxon(1)), adding((*store.Tx).AddStand, lone))
	for n := 2; n <= manyRows; n++ {
		write(t, s, adding((*store.Tx).AddTaxon, taxon(n)))
	}
	for n := range manyRows {
		here := stand(n+1, taxon(2))
		stands = append(stands, here)
		write(t, s, adding((*store.Tx).AddStand, here), adding((*store.Tx).AddPermit, permit(n, here)), adding((*store.Tx).AddRule, rule(1, here)),
			adding((*store.Tx).AddClosures, closures(1, here)), adding((*store.Tx).AddSurvey, survey(1, here, "2025-01-01")),
			adding((*store.Tx).AddDisturbance, disturbance(1, here, "2025-02-01")))
	}
	busy := stands[0]
	var batches []models.Batch
	for n := range manyRows {
		b := batch(n+1, busy, day("2026-01-17").Add(n).String())
		batches = append(batches, b)
		write(t, s, adding((*store.Tx).AddPerson, person(fmt.Sprintf("P-%d", n))))
		write(t, s, adding((*store.Tx).AddBatch, b), adding((*store.Tx).AddLedgerEntry, ledgerEntry(n, b, 5)),
			adding((*store.Tx).AddSurvey, survey(n+2, busy, "2025-01-02")),
			adding((*store.Tx).AddReminder, reminder(day("2026-01-05").Add(7*n).String())))
		aside := share(n, busy)
		write(t, s, adding((*store.Tx).AddShare, aside), adding((*store.Tx).AddLedgerEntry, shareEntry(1, aside, models.ShareSet, 9, 3)))
	}
	for n, b := range batches {
		addEntries(t, s, b, batches[(n+1)%manyRows])
		write(t, s, adding((*store.Tx).AddCorrection, correction(b.ID, b)))
	}
	return stands
}
