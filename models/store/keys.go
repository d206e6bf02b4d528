package store

import (
	"errors"
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
// ends. A row made before since is past its time; it is removed and not found.
func (tx *Tx) Remembered(caller, route, key string, since time.Time) (hash, result string, found bool, err error) {
	if err := tx.lockKey("key " + caller + " " + route + " " + key); err != nil {
		return "", "", false, err
	}
	row, err := take[keyRow]("find key "+key, tx.db.Table("idempotency_keys").Where(sameKey, caller, route, key))
	switch {
	case errors.Is(err, ErrNoRow):
		return "", "", false, nil
	case err != nil:
		return "", "", false, err
	case row.MadeAt.Before(since):
		err := tx.db.Exec("DELETE FROM idempotency_keys WHERE "+sameKey, caller, route, key).Error
		return "", "", false, explain("forget key "+key, err)
	}
	return row.Hash, row.Result, true, nil
}

// Remember keeps the answer to a request under its idempotency key. A key that
// is there already is a Duplicate of idempotency_keys_pkey, after which Write
// runs again. at is kept to the millisecond.
func (tx *Tx) Remember(caller, route, key, hash, result string, at time.Time) error {
	err := tx.db.Exec(
		"INSERT INTO idempotency_keys (caller, route, key, hash, result, made_at) VALUES (?, ?, ?, ?, ?, ?)",
		caller, route, key, hash, result, at.UTC().Truncate(time.Millisecond)).Error
	return explain("remember key "+key, err)
}

// ForgetKeys removes the keys made before an instant and says how many.
func (tx *Tx) ForgetKeys(before time.Time) (int, error) {
	done := tx.db.Exec("DELETE FROM idempotency_keys WHERE made_at < ?", before.UTC())
	return int(done.RowsAffected), explain("forget keys", done.Error)
}
