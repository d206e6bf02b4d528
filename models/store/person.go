package store

import (
	"encoding/json"
	"fmt"
	"slices"

	"withybed/models"
)

// AddPerson writes a person. A code that is taken is a Duplicate of people_code_key.
func (tx *Tx) AddPerson(p models.Person) error {
	if p.Mail == nil {
		p.Mail = []models.MailList{}
	}
	return tx.add("add person "+p.Code, "people", &p)
}

// Person is the person with a code as models.NameKey makes it, or ErrNoRow. In a
// write the person is held until the transaction ends.
func (tx *Tx) Person(codeKey string) (models.Person, error) {
	const named = "code_key = ?"
	op := "read person " + codeKey
	if err := tx.lockRows(op, "people", named, codeKey); err != nil {
		return models.Person{}, err
	}
	return take[models.Person](op, tx.db.Table("people").Where(named, codeKey))
}

// People lists people by code, the erased ones too.
func (tx *Tx) People(page models.Page) (models.List[models.Person], error) {
	after, going, err := oneKey("people", page)
	if err != nil {
		return models.List[models.Person]{}, err
	}
	query := tx.db.Table("people").Order("code_key").Limit(page.Size() + 1)
	if going {
		query = query.Where("code_key > ?", after)
	}
	rows, err := find[models.Person]("list people", query)
	return pageOf(rows, page, func(p models.Person) string { return cursorOf("people", p.CodeKey) }), err
}

// PersonCodes are the codes of all people by code, the erased ones too, since
// records go on naming them.
func (tx *Tx) PersonCodes() ([]string, error) {
	codes := []string{}
	err := tx.db.Table("people").Order("code_key").Pluck("code", &codes).Error
	return codes, explain("read the codes of people", err)
}

// EditPerson writes everything of a person but the code; its Version is the one
// that was read, and is counted up. It is ErrStale if it was edited meanwhile.
func (tx *Tx) EditPerson(p models.Person) error {
	op := "edit person " + p.Code
	if p.Mail == nil {
		p.Mail = []models.MailList{}
	}
	mail, err := json.Marshal(p.Mail)
	if err != nil {
		return fmt.Errorf("%s: %w", op, err)
	}
	return tx.edit(op,
		`UPDATE people SET name = ?, email = ?, phone = ?, note = ?, mail = ?, erased_at = ?, version = version + 1
			WHERE id = ? AND version = ?`,
		p.Name, p.Email, p.Phone, p.Note, string(mail), p.ErasedAt, p.ID, p.Version)
}

// HoldPeople keeps others from editing or erasing people until this transaction
// ends.
func (tx *Tx) HoldPeople() error { return tx.lockKey("people") }

// MailPeople are the people who get a list of mail, by code: those with an
// address who were not erased. In a write everyone with an address is held until
// the transaction ends, so that nobody is erased meanwhile and mailed after.
func (tx *Tx) MailPeople(list models.MailList) ([]models.Person, error) {
	const (
		op        = "read who gets mail"
		reachable = "email <> '' AND erased_at IS NULL"
	)
	if err := tx.lockRows(op, "people", reachable); err != nil {
		return nil, err
	}
	rows, err := find[models.Person](op, tx.db.Table("people").Where(reachable).Order("code_key"))
	return slices.DeleteFunc(rows, func(p models.Person) bool { return !slices.Contains(p.Mail, list) }), err
}

// AddressShared says that another person has an address, compared without the
// case of plain letters.
func (tx *Tx) AddressShared(p models.Person) (bool, error) {
	var shared bool
	err := tx.db.Raw("SELECT EXISTS (SELECT 1 FROM people WHERE lower(email) = lower(?) AND id <> ?)", p.Email, p.ID).Scan(&shared).Error
	return shared, explain("look for others with the address of "+p.Code, err)
}

// Readdress turns the letters to an address to another, but for those about which
// the other has one. One that a server is sending is taken from it, so that it
// goes to the new address as well; those that are done go along, so that what was
// told once is not told again.
func (tx *Tx) Readdress(from, to string) error {
	err := tx.db.Exec(`UPDATE outbox SET address = ?, trouble = '', held_by = '', held_until = NULL,
			message_id = CASE WHEN sent_at IS NULL AND given_up_at IS NULL THEN '' ELSE message_id END
		WHERE address <> '' AND lower(address) = lower(?)
		AND NOT EXISTS (SELECT 1 FROM outbox AS there WHERE there.occasion = outbox.occasion AND there.address = ?)`,
		to, from, to).Error
	return explain("readdress letters", err)
}

// ForgetAddress takes an address out of the outbox: letters that wait for it are
// dropped, and those that are done keep neither it nor what the relay said of it.
func (tx *Tx) ForgetAddress(address string) error {
	const to = "address <> '' AND lower(address) = lower(?)"
	err := tx.db.Exec("DELETE FROM outbox WHERE "+to+" AND sent_at IS NULL AND given_up_at IS NULL", address).Error
	if err != nil {
		return explain("drop letters", err)
	}
	err = tx.db.Exec("UPDATE outbox SET address = 'erased-' || id, trouble = '' WHERE "+to, address).Error
	return explain("forget an address", err)
}

// ForgetAnswers removes what is remembered of requests of a route, whoever made
// them. One that is sent again is then a new request.
func (tx *Tx) ForgetAnswers(route string) error {
	err := tx.db.Exec("DELETE FROM idempotency_keys WHERE route = ?", route).Error
	return explain("forget the answers of "+route, err)
}
