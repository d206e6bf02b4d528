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
	now.today, now.known = day, day.Add(1).At(0, now.place).Add(-time.Millisecond)
	return tx.AsKnown(now.known), now, nil
}

// knew is the error for a question about a stand that had not been entered by the day
// as known on which it is asked.
func (m *moment) knew(stand *models.Stand) error {
	if m.known.IsZero() || !stand.EnteredAt.After(m.known) {
		return nil
	}
	return models.InvalidQuestion("not-known-then", "known_on", m.today, "is %s, and %s was entered on %s: nothing was known of it before",
		m.today, stand.Code, models.DateIn(stand.EnteredAt, m.place))
}
