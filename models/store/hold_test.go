package store_test

import (
	"sync"
	"testing"
	"time"

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

// A name is held as long as the transaction lasts, and no other name with it, so
// that those who ask for one wait for each other and nobody else does.
func TestAWriteHoldsTheNameItLooksFor(t *testing.T) {
	s := storetest.Open(t, store.Postgres)
	for _, ask := range []struct {
		name          string
		look          func(tx *store.Tx) error
		held, notHeld string
	}{
		{"key", func(tx *store.Tx) error {
			_, _, _, err := tx.Remembered("RQ", "POST /v1/batches", "k1", entered)
			return err
		}, "key RQ POST /v1/batches k1", "key RQ POST /v1/batches k2"},
		{"job", func(tx *store.Tx) error {
			_, err := tx.JobDone("flags", "2026-11-02")
			return err
		}, "job flags", "job reminder"},
	} {
		t.Run(ask.name, func(t *testing.T) {
			write(t, s, ask.look, func(*store.Tx) error {
				return wantHeld(t, s, map[string]bool{taking(ask.held): true, taking(ask.notHeld): false})
			})
			if err := run(s, taking(ask.held)); err != nil {
				t.Errorf("it is still held afterwards: %v", err)
			}
		})
	}
}

// taking fails where a name is held.
func taking(name string) string {
	return "SELECT 1 / pg_try_advisory_xact_lock(hashtextextended('" + name + "', 0))::int"
}

// Stands are held in order of id, whatever the order of their codes, of their
// rows or of the request. So a write that waits for the first holds none after
// it, and two who want the same stands never wait for each other.
func TestStandsAreHeldInOrderOfID(t *testing.T) {
	s := storetest.Open(t, store.Postgres)
	first, second := stand(1, taxon(1)), stand(2, taxon(1))
	first.Code, first.CodeKey = "ZZ", "zz"
	write(t, s, adding((*store.Tx).AddTaxon, taxon(1)), adding((*store.Tx).AddStand, second, first))
	for name, hold := range map[string]func(tx *store.Tx) error{
		"by code": func(tx *store.Tx) error {
			_, err := tx.StandRecords([]string{second.CodeKey, first.CodeKey}, models.Date{})
			return err
		},
		"by taxon": func(tx *store.Tx) error { return tx.LockStandsOfTaxon(first.TaxonID) },
	} {
		t.Run(name, func(t *testing.T) {
			var waiting sync.WaitGroup
			write(t, s, func(tx *store.Tx) error { _, err := tx.Stand(first.CodeKey); return err }, func(*store.Tx) error {
				waiting.Go(func() {
					if err := s.Write(background, hold); err != nil {
						t.Error(err)
					}
				})
				untilOneWaits(t, s)
				return wantHeld(t, s, map[string]bool{wanting("stands", second.ID): false})
			})
			waiting.Wait()
		})
	}
}

// untilOneWaits asks PostgreSQL until a connection to this database waits for a
// lock; the one that waits would give up after ten seconds.
func untilOneWaits(t *testing.T, s *store.Store) {
	t.Helper()
	const ask = `SELECT count(*) FROM pg_stat_activity
		WHERE datname = current_database() AND wait_event_type = 'Lock'`
	for began := time.Now(); time.Since(began) < 8*time.Second; {
		waiting := 0
		read(t, s, func(tx *store.Tx) error { return tx.DB().Raw(ask).Scan(&waiting).Error })
		if waiting > 0 {
			return
		}
	}
	t.Error("nobody waits for the first stand")
}
