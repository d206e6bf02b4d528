package nursery

import (
	"context"
	"errors"
	"sync"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/store"
)

// PeopleRoute is the route that puts people on the list. What is remembered of
// its answers holds names and addresses, and goes when a person is erased.
const PeopleRoute = "POST /v1/people"

// AddPerson puts a person on the list. A code that was ever given is a conflict.
func (n *Nursery) AddPerson(ctx context.Context, o Once, req models.NewPerson) (models.PersonView, error) {
	return once(ctx, n, o, req, func(tx *store.Tx, now moment) (models.PersonView, error) {
		none := models.PersonView{}
		person, err := rules.EnterPerson(req)
		if err != nil {
			return none, err
		}
		people, err := now.people()
		if err != nil {
			return none, err
		}
		person.ID, person.EnteredAt = n.newID(), now.at
		now.change.made(person.Code)
		err = tx.AddPerson(person)
		if store.IsDuplicate(err, "people_code_key") {
			return none, models.Errorf(models.Conflict, "taken", "the code %s is taken: a code stands for one person, for good", person.Code)
		}
		return personView(&person, rules.FirstPerson(people)), err
	})
}

// People lists the people by code, the erased ones too.
func (n *Nursery) People(ctx context.Context, page models.Page) (models.List[models.PersonView], error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (list models.List[models.PersonView], err error) {
		people, err := tx.People(page)
		if err != nil {
			return list, err
		}
		return listOf(people, func(p models.Person) models.PersonView { return personView(&p, nil) }), nil
	})
}

// Person shows a person.
func (n *Nursery) Person(ctx context.Context, code string) (models.PersonView, error) {
	return read(ctx, n, func(tx *store.Tx, now moment) (models.PersonView, error) {
		person, err := findPerson(tx, code)
		return personView(&person, nil), err
	})
}

// EditPerson changes a person by a merge patch of the version it was read at. Of
// what was changed the record of changes keeps the names of the fields alone.
func (n *Nursery) EditPerson(ctx context.Context, code string, version int, edit models.PersonEdit) (models.PersonView, error) {
	return write(ctx, n, func(tx *store.Tx, now moment) (models.PersonView, error) {
		none := models.PersonView{}
		before, err := holdPerson(tx, code)
		if err != nil {
			return none, err
		}
		if err := guard(before.Code, version, before.Version); err != nil {
			return none, err
		}
		after, err := rules.EditPerson(before, edit)
		if err != nil {
			return none, err
		}
		if err := now.change.tell(map[string][]string{"changed": edit.Changed()}); err != nil {
			return none, err
		}
		if err := redirect(tx, before, after.Email); err != nil {
			return none, err
		}
		if err := tx.EditPerson(after); err != nil {
			return none, err
		}
		after.Version++
		return personView(&after, nil), nil
	})
}

// ErasePerson takes away all that is known of a person but the code: from the
// list, from the mail that waits or was sent, and from the answers remembered for
// a retry. No record is touched. To erase a person again changes nothing.
func (n *Nursery) ErasePerson(ctx context.Context, o Once, code string) (models.PersonView, error) {
	view, err := once(ctx, n, o, code, func(tx *store.Tx, now moment) (models.PersonView, error) {
		none := models.PersonView{}
		person, err := holdPerson(tx, code)
		if err != nil {
			return none, err
		}
		if person.ErasedAt != nil {
			now.change.forget()
			return personView(&person, nil), nil
		}
		if err := redirect(tx, person, ""); err != nil {
			return none, err
		}
		person = rules.ErasePerson(person, now.at)
		if err := tx.EditPerson(person); err != nil {
			return none, err
		}
		person.Version++
		return personView(&person, rules.ErasedPerson(&person)), tx.ForgetAnswers(PeopleRoute)
	})
	if err != nil {
		return view, err
	}
	return view, n.store.FoldLog(ctx) // the deleted would outlast a copy of the file with its log
}

// redirect takes an address that a person has no more out of the mail, and turns
// what waits for it to the new one, if there is one. An address that others have
// too stays.
func redirect(tx *store.Tx, before models.Person, to string) error {
	if before.Email == "" || before.Email == to {
		return nil
	}
	shared, err := tx.AddressShared(before)
	if err != nil || shared {
		return err
	}
	if to != "" {
		if err := tx.Readdress(before.Email, to); err != nil {
			return err
		}
	}
	return tx.ForgetAddress(before.Email)
}

// holdPerson reads the person of a path and holds the list of people, so that two
// who share an address are not erased each on the other's account.
func holdPerson(tx *store.Tx, code string) (models.Person, error) {
	if err := tx.HoldPeople(); err != nil {
		return models.Person{}, err
	}
	return findPerson(tx, code)
}

// findPerson reads the person of a path. If there is none, near codes are
// suggested.
func findPerson(tx *store.Tx, code string) (models.Person, error) {
	person, err := tx.Person(models.NameKey(code))
	if !errors.Is(err, store.ErrNoRow) {
		return person, err
	}
	codes, err := tx.PersonCodes()
	if err != nil {
		return person, err
	}
	missing := models.Errorf(models.NotFound, "no-such-person", "there is no person %q on the list", code)
	missing.Suggestions = rules.Near(code, codes)
	return person, missing
}

func personView(p *models.Person, warnings []string) models.PersonView {
	return models.PersonView{
		Code: p.Code, Name: p.Name, Email: p.Email, Phone: p.Phone, Note: p.Note, Mail: listed(p.Mail),
		Erased: p.ErasedAt != nil, Warnings: listed(warnings), Version: p.Version,
	}
}

// peopleOf reads the codes of people once, where they are asked for. A use case that
// writes asks before it does.
func peopleOf(tx *store.Tx) func() (rules.People, error) {
	return sync.OnceValues(func() (rules.People, error) {
		codes, err := tx.PersonCodes()
		return rules.PeopleOf(codes), err
	})
}

// settle writes codes in the people fields of a request as the list spells them,
// and warns of those that hold no code.
func (m *moment) settle(fields []models.PersonField) ([]string, error) {
	people, err := m.people()
	if err != nil {
		return nil, err
	}
	return people.Settle(fields), nil
}

// veil shows codes alone in people fields, unless the caller sees names.
func (m *moment) veil(fields []models.PersonField) error {
	if m.caller.SeesNames() {
		return nil
	}
	return m.veilFromAll(fields)
}

// veilFromAll shows codes alone in people fields, to everyone: for what leaves
// the house.
func (m *moment) veilFromAll(fields []models.PersonField) error {
	people, err := m.people()
	if err != nil {
		return err
	}
	people.Veil(fields)
	return nil
}

// naming is a noun that names people.
type naming[T any] interface {
	*T
	PersonFields() []models.PersonField
}

// veilAll veils the people that the items of a list name.
func veilAll[T any, P naming[T]](items []T, veil func([]models.PersonField) error) error {
	for i := range items {
		if err := veil(P(&items[i]).PersonFields()); err != nil {
			return err
		}
	}
	return nil
}
