package nursery

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"time"

	"withybed/models"
	"withybed/models/store"
)

// KeysKept is for how long an idempotency key is remembered.
const KeysKept = 30 * 24 * time.Hour

// Once names a request that may be sent again: the route with its path, and the
// idempotency key, which is the caller's own. An empty key is a request that is
// always new.
type Once struct {
	Route string
	Key   string
}

// once runs a use case that adds something, at most once per key. A request sent
// again is answered with the result of the first; another request under its key
// is a conflict. The key is written in the transaction of the deed, so that
// there is never one without the other, and refusals are not remembered.
func once[T any](ctx context.Context, n *Nursery, o Once, req any, do func(tx *store.Tx, now moment) (T, error)) (T, error) {
	return onceIn(ctx, n, n.store.Write, o, req, do)
}

// onceIn is once in a transaction of the given kind.
func onceIn[T any](ctx context.Context, n *Nursery, in transaction, o Once, req any, do func(tx *store.Tx, now moment) (T, error)) (T, error) {
	if o.Key == "" {
		return writeIn(ctx, n, in, do)
	}
	hash, err := hashOf(req)
	if err != nil {
		var none T
		return none, err
	}
	return writeIn(ctx, n, in, func(tx *store.Tx, now moment) (answer T, err error) {
		since := now.at.Add(-KeysKept)
		caller := now.caller.Token
		first, result, found, err := tx.Remembered(caller, o.Route, o.Key, since)
		switch {
		case err != nil:
			return answer, err
		case found && first != hash:
			return answer, models.Errorf(models.Conflict, "key-reused", "the idempotency key %s was used for another request: send a new key with a new request", o.Key)
		case found:
			now.change.forget()
			return answer, json.Unmarshal([]byte(result), &answer)
		}
		if answer, err = do(tx, now); err != nil {
			return answer, err
		}
		text, err := json.Marshal(answer)
		if err != nil {
			return answer, fmt.Errorf("keep the answer for a retry: %w", err)
		}
		return answer, tx.Remember(caller, o.Route, o.Key, hash, string(text), now.at, since)
	})
}

func hashOf(req any) (string, error) {
	text, err := json.Marshal(req)
	if err != nil {
		return "", fmt.Errorf("read the request for its key: %w", err)
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:]), nil
}

// ForgetKeys drops the idempotency keys that are past their time.
func (n *Nursery) ForgetKeys(ctx context.Context) (int, error) {
	return write(ctx, n, func(tx *store.Tx, now moment) (int, error) {
		return tx.ForgetKeys(now.at.Add(-KeysKept))
	})
}
