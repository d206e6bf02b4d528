package store_test

import (
	"strconv"
	"sync"
	"testing"
	"time"

	"withybed/models/store"
	"withybed/models/store/storetest"
)

func remember(caller, route, key, hash string, at time.Time) func(tx *store.Tx) error {
	return func(tx *store.Tx) error {
		return tx.Remember(caller, route, key, hash, `{"code":"TB"}`, at, at)
	}
}

// wantKey looks for a key in a write.
func wantKey(t *testing.T, s *store.Store, key string, since time.Time, wantHash string) {
	t.Helper()
	write(t, s, func(tx *store.Tx) error {
		hash, result, found, err := tx.Remembered("RQ", "POST /v1/batches", key, since)
		if found != (wantHash != "") || hash != wantHash || (found && result != `{"code":"TB"}`) {
			t.Errorf("key %s since %v: found %t, hash %q, result %q; want hash %q", key, since, found, hash, result, wantHash)
		}
		return err
	})
}

func TestAKeyIsRememberedForItsCallerAndRoute(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		write(t, s,
			remember("RQ", "POST /v1/batches", "k1", "h1", entered),
			remember("OP", "POST /v1/batches", "k2", "h2", entered),
			remember("RQ", "POST /v1/stands", "k2", "h3", entered))
		wantKey(t, s, "k1", entered.Add(-time.Hour), "h1")
		wantKey(t, s, "k1", entered, "h1")
		wantKey(t, s, "k2", entered.Add(-time.Hour), "")
	})
}

func TestAnOldKeyIsForgottenAndMayBeUsedAgain(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		write(t, s, remember("RQ", "POST /v1/batches", "k1", "h1", entered))
		since := entered.Add(time.Millisecond)
		wantKey(t, s, "k1", since, "")
		write(t, s, remember("RQ", "POST /v1/batches", "k1", "h2", since))
		wantKey(t, s, "k1", since, "h2")
	})
}

func TestAKeyRememberedTwiceIsADuplicate(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		write(t, s, remember("RQ", "r", "k", "h1", entered))
		err := s.Write(background, remember("RQ", "r", "k", "h2", entered))
		if !store.IsDuplicate(err, "idempotency_keys_pkey") {
			t.Errorf("it says %v", err)
		}
	})
}

func TestForgetKeysSaysHowMany(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		for i := range 3 {
			write(t, s, remember("RQ", "POST /v1/batches", strconv.Itoa(i), "h", entered.Add(time.Duration(i)*time.Second)))
		}
		write(t, s, func(tx *store.Tx) error {
			n, err := tx.ForgetKeys(entered.Add(2 * time.Second))
			if n != 2 {
				t.Errorf("%d were forgotten, want 2", n)
			}
			return err
		})
		wantKey(t, s, "1", entered, "")
		wantKey(t, s, "2", entered, "h")
	})
}

// Many requests with one key: one does the work, the others find its answer.
func TestRequestsWithOneKeyGoOneAfterTheOther(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		var wait sync.WaitGroup
		for i := range 8 {
			wait.Go(func() {
				err := s.Write(background, func(tx *store.Tx) error {
					_, _, found, err := tx.Remembered("RQ", "POST /v1/batches", "k", entered)
					if err != nil || found {
						return err
					}
					if err := exec(tx, noteJob, "work", strconv.Itoa(i), entered); err != nil {
						return err
					}
					return tx.Remember("RQ", "POST /v1/batches", "k", "h", "{}", entered, entered)
				})
				if err != nil {
					t.Error(err)
				}
			})
		}
		wait.Wait()
		if done := count(t, s); done != 1 {
			t.Errorf("the work was done %d times", done)
		}
	})
}
