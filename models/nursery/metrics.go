package nursery

import (
	"context"
	"time"

	"withybed/models"
	"withybed/models/store"
)

// givenUpLately is how long a letter that was given up is counted.
const givenUpLately = 7 * 24 * time.Hour

// MailCounts says how many letters wait to be sent, and how many were given up
// within the last seven days.
func (n *Nursery) MailCounts(ctx context.Context) (counts models.MailCounts, err error) {
	since := n.clock.Now().Add(-givenUpLately)
	err = n.store.Read(ctx, func(tx *store.Tx) error {
		counts, err = tx.MailCounts(since)
		return err
	})
	return counts, err
}
