package store_test

import (
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// What a write reads as a record is held: another transaction that wants the row
// is turned away while the first goes on.
func TestAWriteHoldsTheRecordsItReads(t *testing.T) {
	s := storetest.Open(t, store.Postgres)
	kind, stands := seed(t, s, 2)
	b := batch(1, stands[0], "2026-01-17")
	write(t, s, adding((*store.Tx).AddBatch, b))
	for _, ask := range []struct {
		name string
		read func(tx *store.Tx) error
		held map[string]bool // by statement
	}{
		{"stand", func(tx *store.Tx) error {
			_, err := tx.StandRecord(stands[0].CodeKey, models.Date{})
			return err
		}, map[string]bool{wanting("stands", stands[0].ID): true, wanting("stands", stands[1].ID): false}},
		{"stand alone", func(tx *store.Tx) error {
			_, err := tx.Stand(stands[0].CodeKey)
			return err
		}, map[string]bool{wanting("stands", stands[0].ID): true, wanting("stands", stands[1].ID): false}},
		{"stands", func(tx *store.Tx) error {
			_, err := tx.StandRecords([]string{stands[0].CodeKey, stands[1].CodeKey}, models.Date{})
			return err
		}, map[string]bool{wanting("stands", stands[0].ID): true, wanting("stands", stands[1].ID): true}},
		{"taxon", func(tx *store.Tx) error {
			return tx.LockStandsOfTaxon(kind.ID)
		}, map[string]bool{wanting("stands", stands[0].ID): true, wanting("stands", stands[1].ID): true}},
		{"batch", func(tx *store.Tx) error {
			_, err := tx.BatchRecord(b.CodeKey)
			return err
		}, map[string]bool{wanting("batches", b.ID): true, wanting("stands", stands[0].ID): false}},
	} {
		t.Run(ask.name, func(t *testing.T) {
			write(t, s, ask.read, func(*store.Tx) error { return wantHeld(t, s, ask.held) })
			none := map[string]bool{}
			for statement := range ask.held {
				none[statement] = false
			}
			read(t, s, ask.read, func(*store.Tx) error { return wantHeld(t, s, none) })
		})
	}
}

func wanting(table, id string) string {
	return "SELECT id FROM " + table + " WHERE id = '" + id + "' FOR UPDATE NOWAIT"
}

func wantHeld(t *testing.T, s *store.Store, held map[string]bool) error {
	t.Helper()
	for statement, want := range held {
		if err := run(s, statement); (err != nil) != want {
			t.Errorf("%s: %v; held should be %t", statement, err, want)
		}
	}
	return nil
}

func TestAWriteHoldsTheKeyItLooksFor(t *testing.T) {
	s := storetest.Open(t, store.Postgres)
	const taking = "SELECT 1 / pg_try_advisory_xact_lock(hashtextextended('key RQ POST /v1/batches k1', 0))::int"
	write(t, s, func(tx *store.Tx) error {
		_, _, _, err := tx.Remembered("RQ", "POST /v1/batches", "k1", entered)
		return err
	}, func(*store.Tx) error { return wantHeld(t, s, map[string]bool{taking: true}) })
	if err := run(s, taking); err != nil {
		t.Errorf("it is still held afterwards: %v", err)
	}
}
