package store

import (
	"errors"
	"fmt"
	"time"
)

type keyRow struct {
	Hash   string
	Result string
	MadeAt time.Time
}

const sameKey = "caller = ? AND route = ? AND key = ?"

// Remembered finds what a request with an idempotency key was answered. From
// then on the key is held: another request with it waits until this transaction
// ends. A row made before since is past its time and not found.
func (tx *Tx) Remembered(caller, route, key string, since time.Time) (hash, result string, found bool, err error) {
	if err := tx.lockKey("key " + caller + " " + route + " " + key); err != nil {
		return "", "", false, err
	}
	row, err := take[keyRow]("find key "+key, tx.db.Table("idempotency_keys").Where(sameKey, caller, route, key))
	if errors.Is(err, ErrNoRow) || err == nil && row.MadeAt.Before(since) {
		return "", "", false, nil
	}
	return row.Hash, row.Result, err == nil, err
}

// Remember keeps the answer to a request under its idempotency key, in place of
// one made before since. A key that is there already is a Duplicate of
// idempotency_keys_pkey, after which Write runs again. at is kept to the
// millisecond.
func (tx *Tx) Remember(caller, route, key, hash, result string, at, since time.Time) error {
	done := tx.db.Exec(`INSERT INTO idempotency_keys (caller, route, key, hash, result, made_at) VALUES (?, ?, ?, ?, ?, ?)
		ON CONFLICT (caller, route, key) DO UPDATE SET hash = excluded.hash, result = excluded.result, made_at = excluded.made_at
		WHERE idempotency_keys.made_at < ?`,
		caller, route, key, hash, result, at.UTC().Truncate(time.Millisecond), since.UTC())
	if done.Error == nil && done.RowsAffected == 0 {
		return fmt.Errorf("remember key %s: %w", key, &Duplicate{Constraint: "idempotency_keys_pkey"})
	}
	return explain("remember key "+key, done.Error)
}

// ForgetKeys removes the keys made before an instant and says how many.
func (tx *Tx) ForgetKeys(before time.Time) (int, error) {
	done := tx.db.Exec("DELETE FROM idempotency_keys WHERE made_at < ?", before.UTC())
	return int(done.RowsAffected), explain("forget keys", done.Error)
}
