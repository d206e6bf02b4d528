package rules_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"withybed/models"
	"withybed/models/rules"
)

func newPerson(change ...func(*models.NewPerson)) models.NewPerson {
	req := models.NewPerson{
		Code: "RQ", Name: " Rowan  Quill ", Email: "rowan@wrenlow.example", Phone: "555 0117",
		Note: "Saturdays", Mail: []models.MailList{models.BenchMail},
	}
	for _, c := range change {
		c(&req)
	}
	return req
}

func person(t *testing.T) models.Person {
	t.Helper()
	p, err := rules.EnterPerson(newPerson())
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestAPersonIsMade(t *testing.T) {
	got := person(t)
	if got.Code != "RQ" || got.CodeKey != "rq" || got.Name != "Rowan Quill" || got.Version != 1 || got.ErasedAt != nil {
		t.Errorf("%+v", got)
	}
	bare, err := rules.EnterPerson(models.NewPerson{Code: "t-2"})
	if err != nil || bare.Mail == nil || len(bare.Mail) != 0 {
		t.Errorf("a bare person is %+v, %v", bare, err)
	}
}

func TestPeopleWhoCannotBe(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*models.NewPerson)
		code   string
		fields []string
	}{
		{"without a code", func(r *models.NewPerson) { r.Code = "" }, "invalid", []string{"code"}},
		{"with a blank in the code", func(r *models.NewPerson) { r.Code = "R Q" }, "invalid", []string{"code"}},
		{"with a comma in the code", func(r *models.NewPerson) { r.Code = "R,Q" }, "invalid", []string{"code"}},
		{"with a dash first", func(r *models.NewPerson) { r.Code = "-RQ" }, "invalid", []string{"code"}},
		{"with a long code", func(r *models.NewPerson) { r.Code = strings.Repeat("R", 13) }, "invalid", []string{"code"}},
		{"with a line end in the code", func(r *models.NewPerson) { r.Code = "RQ\n" }, "invalid", []string{"code"}},
		{"with a long name", func(r *models.NewPerson) { r.Name = strings.Repeat("x", models.MaxName+1) }, "invalid", []string{"name"}},
		{"with a control character", func(r *models.NewPerson) { r.Phone = "5\x005" }, "invalid", []string{"phone"}},
		{"with a long note", func(r *models.NewPerson) { r.Note = strings.Repeat("x", models.MaxNote+1) }, "invalid", []string{"note"}},
		{"with a name in the email", func(r *models.NewPerson) { r.Email = "Rowan <rowan@wrenlow.example>" }, "invalid", []string{"email"}},
		{"with angle brackets", func(r *models.NewPerson) { r.Email = "<rowan@wrenlow.example>" }, "invalid", []string{"email"}},
		{"with two addresses", func(r *models.NewPerson) { r.Email = "a@wrenlow.example, b@wrenlow.example" }, "invalid", []string{"email"}},
		{"with half an address", func(r *models.NewPerson) { r.Email = "rowan" }, "invalid", []string{"email"}},
		{"with a header in the address", func(r *models.NewPerson) { r.Email = "rowan@wrenlow.example\r\nBcc: x@wrenlow.example" }, "invalid", []string{"email"}},
		{"with mail and no address", func(r *models.NewPerson) { r.Email = " " }, "missing", []string{"email"}},
		{"with mail twice", func(r *models.NewPerson) { r.Mail = []models.MailList{"bench", "stands", "bench"} }, "invalid", []string{"mail"}},
		{"with unknown mail", func(r *models.NewPerson) { r.Mail = []models.MailList{"", "news"} }, "invalid", []string{"mail", "mail"}},
		{"with much amiss", func(r *models.NewPerson) { r.Code, r.Email = "?", "?" }, "invalid", []string{"code", "email"}},
	} {
		_, err := rules.EnterPerson(newPerson(c.change))
		e := models.AsError(err)
		if e == nil || e.Kind != models.Invalid || e.Code != c.code || !slices.Equal(names(e), c.fields) {
			t.Errorf("a person %s: %v", c.name, err)
		}
	}
}

func names(e *models.Error) (names []string) {
	for _, f := range e.Fields {
		names = append(names, f.Name)
	}
	return names
}

func TestAnEditOfAPerson(t *testing.T) {
	before := person(t)
	got, err := rules.EditPerson(before, models.PersonEdit{Name: models.SetTo("Rowan  Q"), Phone: models.SetNull[string]()})
	if err != nil || got.Name != "Rowan Q" || got.Phone != "" || got.Email != before.Email || got.Note != before.Note || len(got.Mail) != 1 {
		t.Errorf("%+v, %v", got, err)
	}
	_, err = rules.EditPerson(before, models.PersonEdit{Email: models.SetNull[string]()})
	if e := models.AsError(err); e == nil || e.Code != "missing" {
		t.Errorf("an address that mail needs was taken away: %v", err)
	}
	got, err = rules.EditPerson(before, models.PersonEdit{Email: models.SetNull[string](), Mail: models.SetNull[[]models.MailList]()})
	if err != nil || got.Email != "" || got.Mail == nil || len(got.Mail) != 0 {
		t.Errorf("%+v, %v", got, err)
	}
}

func TestAnErasedPersonIsACodeAndNothingElse(t *testing.T) {
	before := person(t)
	before.ID, before.EnteredAt = "person-1", time.Unix(0, 0)
	at := time.Date(2026, 3, 1, 18, 0, 0, 0, time.UTC)
	got := rules.ErasePerson(before, at)
	if got.Name+got.Email+got.Phone+got.Note != "" || len(got.Mail) != 0 || got.ErasedAt == nil || !got.ErasedAt.Equal(at) {
		t.Errorf("%+v", got)
	}
	if got.Code != "RQ" || got.CodeKey != "rq" || got.ID != "person-1" {
		t.Errorf("%+v", got)
	}
	_, err := rules.EditPerson(got, models.PersonEdit{Name: models.SetTo("Rowan")})
	if e := models.AsError(err); e == nil || e.Kind != models.Conflict || e.Code != "person-erased" {
		t.Errorf("an erased person was edited: %v", err)
	}
	if told := rules.ErasedPerson(&got); len(told) != 1 || !strings.Contains(told[0], "RQ") {
		t.Errorf("%q", told)
	}
}
