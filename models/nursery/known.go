package nursery

import (
	"time"

	"withybed/models"
	"withybed/models/store"
)

// asKnown is the transaction and the moment for a question about what was known at
// the end of a day; without a day, about what is known now.
func asKnown(tx *store.Tx, now moment, day models.Date) (*store.Tx, moment, error) {
	if day.IsZero() || day == now.today {
		return tx, now, nil
	}
	if day.After(now.today) {
		return nil, now, models.InvalidQuestion("in-the-future", "known_on", day, "is %s, and today is %s: nobody knows yet", day, now.today)
	}
	now.today = day
	return tx.AsKnown(day.Add(1).At(0, now.place).Add(-time.Millisecond)), now, nil
}
