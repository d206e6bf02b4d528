package store

import (
	"time"

	"gorm.io/gorm"

	"withybed/models"
)

// HoldTokens keeps others from making or revoking tokens until this transaction ends.
func (tx *Tx) HoldTokens() error { return tx.lockKey("tokens") }

// AnyToken says whether a token was ever made.
func (tx *Tx) AnyToken() (bool, error) {
	var some bool
	err := tx.db.Raw("SELECT EXISTS (SELECT 1 FROM tokens)").Scan(&some).Error
	return some, explain("look for tokens", err)
}

// AddToken writes a token. A handle that is taken is a Duplicate of
// tokens_handle_key.
func (tx *Tx) AddToken(t models.Token) error { return tx.add("add token "+t.Name, "tokens", &t) }

// TokenByHandle is the token with a handle, or ErrNoRow.
func (tx *Tx) TokenByHandle(handle string) (models.Token, error) {
	return take[models.Token]("read token "+handle, tx.db.Table("tokens").Where("handle = ?", handle))
}

// CurrentToken is the token of a name that opens the door at an instant, or ErrNoRow.
func (tx *Tx) CurrentToken(nameKey string, at time.Time) (models.Token, error) {
	return take[models.Token]("read token "+nameKey, tx.current(at).Where("name_key = ?", nameKey).Order("id DESC").Limit(1))
}

// OpensFor says whether a token of a role opens the door at an instant.
func (tx *Tx) OpensFor(role models.Role, at time.Time) (bool, error) {
	var some int64
	err := tx.current(at).Where("role = ?", role).Limit(1).Count(&some).Error
	return some > 0, explain("look for the token of a "+string(role), err)
}

// RevokeToken marks a token as revoked. It is ErrStale if it was revoked before.
func (tx *Tx) RevokeToken(id, by string, at time.Time) error {
	return tx.edit("revoke token "+id, "UPDATE tokens SET revoked_by = ?, revoked_at = ? WHERE id = ? AND revoked_at IS NULL",
		by, at.UTC(), id)
}

// Tokens lists tokens, the newest first; those that open the door at an instant
// alone, if it is not zero.
func (tx *Tx) Tokens(current time.Time, page models.Page) (models.List[models.Token], error) {
	after, going, err := oneKey("tokens", page)
	if err != nil {
		return models.List[models.Token]{}, err
	}
	query := tx.db.Table("tokens")
	if !current.IsZero() {
		query = tx.current(current)
	}
	if going {
		query = query.Where("id < ?", after)
	}
	rows, err := find[models.Token]("list tokens", query.Order("id DESC").Limit(page.Size()+1))
	return pageOf(rows, page, func(t models.Token) string { return cursorOf("tokens", t.ID) }), err
}

// current begins a query of the tokens that open the door at an instant.
func (tx *Tx) current(at time.Time) *gorm.DB {
	return tx.db.Table("tokens").Where("revoked_at IS NULL AND ends_at > ?", at.UTC())
}
