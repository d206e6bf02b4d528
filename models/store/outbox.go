package store

import (
	"slices"
	"time"

	"gorm.io/gorm/clause"

	"withybed/models"
)

// AddLetters puts letters into the outbox. An address that was written to about
// an occasion before keeps that letter and gets no other.
func (tx *Tx) AddLetters(letters []models.Letter) error {
	once := clause.OnConflict{Columns: []clause.Column{{Name: "occasion"}, {Name: "address"}}, DoNothing: true}
	for some := range slices.Chunk(letters, batchOfRows) {
		if err := tx.db.Table("outbox").Clauses(once).Create(&some).Error; err != nil {
			return explain("put letters into the outbox", err)
		}
	}
	return nil
}

// NextLetter is the letter that has waited the longest of those whose time has
// come and that nobody else sends, or ErrNoRow. In a write it is held until the
// transaction ends, and one that another transaction holds is passed over.
func (tx *Tx) NextLetter(now time.Time) (models.Letter, error) {
	query := tx.db.Table("outbox").Where("sent_at IS NULL AND given_up_at IS NULL").
		Where("try_at <= ? AND (held_until IS NULL OR held_until <= ?)", now.UTC(), now.UTC()).
		Order("try_at, id").Limit(1)
	if tx.writes && tx.dialect == Postgres {
		query = query.Clauses(clause.Locking{Strength: "UPDATE", Options: "SKIP LOCKED"})
	}
	return take[models.Letter]("find the next letter", query)
}

// Letter is a letter by its id, or ErrNoRow. In a write it is held until the
// transaction ends.
func (tx *Tx) Letter(id string) (models.Letter, error) {
	const named = "id = ?"
	op := "read letter " + id
	if err := tx.lockRows(op, "outbox", named, id); err != nil {
		return models.Letter{}, err
	}
	return take[models.Letter](op, tx.db.Table("outbox").Where(named, id))
}

// MarkLetter writes how far a letter has come: who holds it, its tries, and what
// became of it. Its words and its address stay.
func (tx *Tx) MarkLetter(l models.Letter) error {
	return tx.edit("mark letter "+l.ID, `UPDATE outbox SET message_id = ?, try_at = ?, tries = ?, held_by = ?, held_until = ?,
			sent_at = ?, given_up_at = ?, trouble = ? WHERE id = ?`,
		l.MessageID, l.TryAt, l.Tries, l.HeldBy, l.HeldUntil, l.SentAt, l.GivenUpAt, l.Trouble, l.ID)
}

// letterStates are the letters of a state.
var letterStates = map[models.LetterState]string{
	models.LetterWaiting: "sent_at IS NULL AND given_up_at IS NULL",
	models.LetterSent:    "sent_at IS NOT NULL",
	models.LetterGivenUp: "sent_at IS NULL AND given_up_at IS NOT NULL",
}

// Letters lists letters, the latest made first; of one state alone if it is not
// empty.
func (tx *Tx) Letters(state models.LetterState, page models.Page) (models.List[models.Letter], error) {
	after, going, err := oneKey("mail", page)
	if err != nil {
		return models.List[models.Letter]{}, err
	}
	query := tx.db.Table("outbox").Order("id DESC").Limit(page.Size() + 1)
	if where := letterStates[state]; where != "" {
		query = query.Where(where)
	}
	if going {
		query = query.Where("id < ?", after)
	}
	rows, err := find[models.Letter]("list the letters", query)
	return pageOf(rows, page, func(l models.Letter) string { return cursorOf("mail", l.ID) }), err
}
