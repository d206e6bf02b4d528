package models

import "time"

// MailList is a kind of mail a person may get.
type MailList string

// The lists of mail: what the benches ask for, meant for leads, and what the
// stands ask for, meant for coordinators.
const (
	BenchMail MailList = "bench"
	StandMail MailList = "stands"
)

// MailLists lists both lists.
var MailLists = []MailList{BenchMail, StandMail}

// Known says that the word is one of the lists.
func (l MailList) Known() bool { return oneOf(l, MailLists) }

// Person is someone on the list of people. Records hold the code alone, so that a
// name and how to reach it can be taken off the list without touching a record.
type Person struct {
	ID        string
	Code      string
	CodeKey   string
	Name      string
	Email     string
	Phone     string
	Note      string
	Mail      []MailList `gorm:"serializer:json"`
	ErasedAt  *time.Time // when all but the code was taken away
	Version   int
	EnteredAt time.Time
}

// NewPerson is the request that puts a person on the list.
type NewPerson struct {
	Code  string     `json:"code" minLength:"1" maxLength:"12" doc:"Short code that stands for the person in every record: letters, digits and dashes; unique whatever the case, for good" example:"RQ"`
	Name  string     `json:"name,omitempty" maxLength:"80" doc:"Name; shown to coordinators alone" example:"Rowan Quill"`
	Email string     `json:"email,omitempty" maxLength:"254" doc:"Address for mail; shown to coordinators alone" example:"rowan@wrenlow.example"`
	Phone string     `json:"phone,omitempty" maxLength:"80" doc:"Telephone; shown to coordinators alone" example:"555 0117"`
	Note  string     `json:"note,omitempty" maxLength:"2000" doc:"Anything else; shown to coordinators alone" example:"Saturdays only"`
	Mail  []MailList `json:"mail,omitempty" maxItems:"2" enum:"bench,stands" doc:"Mail the person gets: bench is for leads, stands for coordinators; needs an email" example:"[\"bench\"]"`
}

// PersonEdit is the merge patch of a person (RFC 7396). The code stays.
type PersonEdit struct {
	Name  Patch[string]     `json:"name,omitzero" doc:"Name" example:"Rowan Quill"`
	Email Patch[string]     `json:"email,omitzero" doc:"Address for mail" example:"rowan@wrenlow.example"`
	Phone Patch[string]     `json:"phone,omitzero" doc:"Telephone" example:"555 0117"`
	Note  Patch[string]     `json:"note,omitzero" doc:"Anything else" example:"Saturdays only"`
	Mail  Patch[[]MailList] `json:"mail,omitzero" maxItems:"2" enum:"bench,stands" doc:"Mail the person gets, the whole list" example:"[\"bench\"]"`
}

// Changed lists the fields that an edit speaks of, as they are called in JSON.
func (e *PersonEdit) Changed() []string {
	changed := []string{}
	for _, field := range []struct {
		name  string
		given bool
	}{{"name", e.Name.IsSet()}, {"email", e.Email.IsSet()}, {"phone", e.Phone.IsSet()}, {"note", e.Note.IsSet()}, {"mail", e.Mail.IsSet()}} {
		if field.given {
			changed = append(changed, field.name)
		}
	}
	return changed
}

// PersonView is a person as coordinators see them.
type PersonView struct {
	Code     string     `json:"code" doc:"The code that stands for the person in every record"`
	Name     string     `json:"name" doc:"Name"`
	Email    string     `json:"email" doc:"Address for mail"`
	Phone    string     `json:"phone" doc:"Telephone"`
	Note     string     `json:"note" doc:"Anything else"`
	Mail     []MailList `json:"mail" doc:"Mail the person gets"`
	Erased   bool       `json:"erased" doc:"All but the code was taken away"`
	Warnings []string   `json:"warnings" doc:"What to look at again"`
	Version  int        `json:"version" doc:"Counts the edits; the ETag"`
}
