package store

import (
	"time"

	"withybed/models"
)

// MailCounts counts the letters that wait and those given up since an instant,
// each from an index that holds no others, so that letters long sent cost nothing.
func (tx *Tx) MailCounts(since time.Time) (counts models.MailCounts, err error) {
	waiting := tx.db.Raw("SELECT COUNT(*) FROM outbox WHERE sent_at IS NULL AND given_up_at IS NULL").Scan(&counts.Waiting)
	if waiting.Error != nil {
		return counts, explain("count the letters that wait", waiting.Error)
	}
	givenUp := tx.db.Raw("SELECT COUNT(*) FROM outbox WHERE given_up_at >= ?", since.UTC()).Scan(&counts.GivenUp)
	return counts, explain("count the letters given up", givenUp.Error)
}
