package api

import (
	"context"

	"withybed/models"
)

type listPeopleInput struct{ Paged }

func (h handlers) listPeople(ctx context.Context, in *listPeopleInput) (*answered[Page[models.PersonView]], error) {
	list, err := h.nursery.People(ctx, in.page())
	return listed(&in.Paged, list, err)
}

type addPersonInput struct {
	Keyed
	Body models.NewPerson
}

func (h handlers) addPerson(ctx context.Context, in *addPersonInput) (*made[models.PersonView], error) {
	person, err := h.nursery.AddPerson(ctx, in.once("people"), in.Body)
	return making(person, person.Version, err, "people", person.Code)
}

func (h handlers) showPerson(ctx context.Context, in *PersonPath) (*shown[models.PersonView], error) {
	person, err := h.nursery.Person(ctx, in.Person)
	return showing(person, person.Version, err)
}

type editPersonInput struct {
	PersonPath
	Guarded
	Body models.PersonEdit
}

func (h handlers) editPerson(ctx context.Context, in *editPersonInput) (*shown[models.PersonView], error) {
	version, err := in.Version()
	if err != nil {
		return nil, err
	}
	person, err := h.nursery.EditPerson(ctx, in.Person, version, in.Body)
	return showing(person, person.Version, err)
}

type erasePersonInput struct {
	PersonPath
	Keyed
}

func (h handlers) erasePerson(ctx context.Context, in *erasePersonInput) (*made[models.PersonView], error) {
	person, err := h.nursery.ErasePerson(ctx, in.once("people", in.Person, "erasures"), in.Person)
	return making(person, person.Version, err, "people", person.Code)
}

// AddPerson puts a person on the list.
func (c *Client) AddPerson(ctx context.Context, req models.NewPerson) (models.PersonView, error) {
	person, _, err := post[models.PersonView](ctx, c, pathOf("people"), req)
	return person, err
}

// People lists the people by code, the erased ones too.
func (c *Client) People(ctx context.Context) All[models.PersonView] {
	return pages[models.PersonView](ctx, c, pathOf("people"), largePages())
}

// Person shows the person of a code.
func (c *Client) Person(ctx context.Context, code string) (models.PersonView, error) {
	person, _, err := get[models.PersonView](ctx, c, pathOf("people", code), nil)
	return person, err
}

// EditPerson changes a person by a merge patch of the version it was read at.
func (c *Client) EditPerson(ctx context.Context, code string, version int, edit models.PersonEdit) (models.PersonView, error) {
	person, _, err := patch[models.PersonView](ctx, c, pathOf("people", code), ETag(version), edit)
	return person, err
}

// ErasePerson takes away all that is known of a person but the code.
func (c *Client) ErasePerson(ctx context.Context, code string) (models.PersonView, error) {
	person, _, err := post[models.PersonView](ctx, c, pathOf("people", code, "erasures"), nil)
	return person, err
}
