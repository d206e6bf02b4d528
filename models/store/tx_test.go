package store_test

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

var background = context.Background()

func TestManyWritersUnderOneLockTakeTurns(t *testing.T) {
	const writers = 32
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		var all sync.WaitGroup
		for range writers {
			all.Go(func() {
				if err := s.Write(background, takeNextNumber); err != nil {
					t.Error(err)
				}
			})
		}
		all.Wait()
		if n := count(t, s); n != writers {
			t.Errorf("%d rows were written, want %d", n, writers)
		}
	})
}

// takeNextNumber would hit the primary key if two did it side by side.
func takeNextNumber(tx *store.Tx) error {
	if err := tx.LockKey("numbers"); err != nil {
		return err
	}
	n, err := countIn(tx)
	if err != nil {
		return err
	}
	return exec(tx, noteJob, "number", fmt.Sprint(n+1), noon)
}

func TestAFailedWriteLeavesNothing(t *testing.T) {
	refusal := models.Errorf(models.Refused, "over-allowance", "24 stems are more than the 12 that are left")
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		err := s.Write(background, func(tx *store.Tx) error {
			if err := exec(tx, noteJob, "flags", "2026-11-02", noon); err != nil {
				return err
			}
			return refusal
		})
		if models.AsError(err) != refusal {
			t.Errorf("the error is %v, want the refusal as it was", err)
		}
		if n := count(t, s); n != 0 {
			t.Errorf("%d rows are left of a failed write", n)
		}
	})
}

func TestAPanicRollsBack(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		func() {
			defer func() {
				if recover() == nil {
					t.Error("the panic was swallowed")
				}
			}()
			_ = s.Write(background, func(tx *store.Tx) error {
				if err := exec(tx, noteJob, "flags", "2026-11-02", noon); err != nil {
					t.Error(err)
				}
				panic("a fault of ours")
			})
		}()
		mustRun(t, s, noteJob, "flags", "2026-11-03", noon) // the writer's turn was given back
		if n := count(t, s); n != 1 {
			t.Errorf("%d rows are there, want the later one alone", n)
		}
	})
}

func TestACancelledWriteLeavesNothing(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		ctx, cancel := context.WithCancel(background)
		err := s.Write(ctx, func(tx *store.Tx) error {
			err := exec(tx, noteJob, "flags", "2026-11-02", noon)
			cancel()
			return err
		})
		if !errors.Is(err, context.Canceled) {
			t.Errorf("the error is %v, want one that wraps the context's", err)
		}
		if n := count(t, s); n != 0 {
			t.Errorf("%d rows are left of a cancelled write", n)
		}
	})
}

func TestATransactionInsideAnotherIsRefused(t *testing.T) {
	nothing := func(*store.Tx) error { return nil }
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		type transact func(context.Context, func(*store.Tx) error) error
		for _, outer := range []transact{s.Write, s.Read} {
			for _, inner := range []transact{s.Write, s.Read} {
				err := outer(background, func(tx *store.Tx) error { return inner(tx.Context(), nothing) })
				if !errors.Is(err, store.ErrNested) {
					t.Errorf("the error is %v, want ErrNested", err)
				}
			}
		}
	})
}

func TestAReadSeesOneSnapshot(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		mustRun(t, s, noteJob, "flags", "2026-11-02", noon)
		err := s.Read(background, func(tx *store.Tx) error {
			before, err := countIn(tx)
			if err != nil {
				return err
			}
			mustRun(t, s, noteJob, "flags", "2026-11-03", noon)
			after, err := countIn(tx)
			if before != 1 || after != 1 {
				t.Errorf("%d rows, then %d in one read, want 1 both times", before, after)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	})
}

func TestAReadCannotWrite(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		err := s.Read(background, func(tx *store.Tx) error {
			return exec(tx, noteJob, "flags", "2026-11-02", noon)
		})
		wantCode(t, err, "database-read-only")
	})
}

const keepKey = `INSERT INTO idempotency_keys (caller, route, key, hash, result, made_at)
	VALUES ('', 'POST /v1/batches', ?, '', '', ?)`

func TestAWriteRunsAgainWhenItsKeyCameFirst(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		mustRun(t, s, keepKey, "a", noon)
		runs := 0
		err := s.Write(background, func(tx *store.Tx) error {
			runs++
			if runs == 1 {
				return exec(tx, keepKey, "a", noon) // as if it had not been there when looked for
			}
			return exec(tx, noteJob, "flags", "2026-11-02", noon)
		})
		if err != nil || runs != 2 || count(t, s) != 1 {
			t.Errorf("it ran %d times and left %v, want twice and no error", runs, err)
		}
	})
}

func TestAWriteRunsAgainThreeTimesAtMost(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		mustRun(t, s, keepKey, "a", noon)
		runs := 0
		err := s.Write(background, func(tx *store.Tx) error {
			runs++
			return exec(tx, keepKey, "a", noon)
		})
		if runs != 4 || !store.IsDuplicate(err, "idempotency_keys_pkey") {
			t.Errorf("it ran %d times and left %v, want 4 and the duplicate", runs, err)
		}
	})
}

func TestAnotherDuplicateIsNotRunAgain(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		write(t, s, adding((*store.Tx).AddTaxon, taxon(1)))
		runs := 0
		err := s.Write(background, func(tx *store.Tx) error {
			runs++
			return tx.AddTaxon(taxon(1))
		})
		if runs != 1 || !(store.IsDuplicate(err, "taxa_pkey") || store.IsDuplicate(err, "taxa_name_key")) {
			t.Errorf("it ran %d times and left %v, want once and the duplicate", runs, err)
		}
	})
}

func TestASerializationFailureIsBusyInTheEnd(t *testing.T) {
	s := storetest.Open(t, store.Postgres)
	runs := 0
	err := s.Write(background, func(tx *store.Tx) error {
		runs++
		return exec(tx, raise("40001"))
	})
	if runs != 4 {
		t.Errorf("it ran %d times, want 4", runs)
	}
	wantCode(t, err, "database-busy")
}

func TestADeadlockIsBrokenAndRunAgain(t *testing.T) {
	s := storetest.Open(t, store.Postgres)
	var bothHoldOne, all sync.WaitGroup
	bothHoldOne.Add(2)
	cross := func(first, second string) {
		var once sync.Once
		err := s.Write(background, func(tx *store.Tx) error {
			if err := tx.LockKey(first); err != nil {
				return err
			}
			once.Do(func() { bothHoldOne.Done(); bothHoldOne.Wait() })
			if err := tx.LockKey(second); err != nil {
				return err
			}
			return exec(tx, noteJob, first, second, noon)
		})
		if err != nil {
			t.Errorf("%s before %s: %v", first, second, err)
		}
	}
	all.Go(func() { cross("willow", "alder") })
	all.Go(func() { cross("alder", "willow") })
	all.Wait()
	if n := count(t, s); n != 2 {
		t.Errorf("%d of 2 crossing writes are there", n)
	}
}

// raise makes PostgreSQL fail with a code, as if it had met the trouble itself.
func raise(code string) string {
	return "DO $$ BEGIN RAISE EXCEPTION 'made for a test' USING ERRCODE = '" + code + "'; END $$"
}
