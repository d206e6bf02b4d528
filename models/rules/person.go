package rules

import (
	"fmt"
	"net/mail"
	"regexp"
	"slices"
	"strings"
	"time"

	"withybed/models"
)

var personCode = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9-]{0,11}$`)

const longestAddress = 254 // characters of an address for mail (RFC 5321)

// EnterPerson makes the person of a request. Identifier and time of entry are left
// to the caller.
func EnterPerson(req models.NewPerson) (models.Person, error) {
	p := models.Person{
		Code: req.Code, CodeKey: models.NameKey(req.Code), Name: models.Clean(req.Name), Email: strings.TrimSpace(req.Email),
		Phone: models.Clean(req.Phone), Note: models.Clean(req.Note), Mail: mailOf(req.Mail), Version: 1,
	}
	var f models.Faults
	if !personCode.MatchString(req.Code) {
		f.Add("invalid", "code", req.Code, "must be letters, digits and dashes, at most 12, the first no dash, such as RQ")
	}
	checkPerson(&f, &p)
	return p, f.Err()
}

// EditPerson is a person after a merge patch. One who was erased stays so.
func EditPerson(p models.Person, edit models.PersonEdit) (models.Person, error) {
	if p.ErasedAt != nil {
		return p, models.Errorf(models.Conflict, "person-erased",
			"what was known of %s was erased, and the code is kept for the records that name it: put the person on the list again under another code", p.Code)
	}
	p.Name = models.Clean(edit.Name.Or(p.Name))
	p.Email = strings.TrimSpace(edit.Email.Or(p.Email))
	p.Phone = models.Clean(edit.Phone.Or(p.Phone))
	p.Note = models.Clean(edit.Note.Or(p.Note))
	p.Mail = mailOf(edit.Mail.Or(p.Mail))
	var f models.Faults
	checkPerson(&f, &p)
	return p, f.Err()
}

// ErasePerson is a person of whom nothing is left but the code, which stays taken
// and on the list.
func ErasePerson(p models.Person, at time.Time) models.Person {
	p.Name, p.Email, p.Phone, p.Note = "", "", "", ""
	p.Mail, p.ErasedAt = []models.MailList{}, &at
	return p
}

// ErasedPerson warns of what an erasure cannot reach.
func ErasedPerson(p *models.Person) []string {
	return []string{fmt.Sprintf("records go on naming the code %s; where one names the person in words, in a note or in place of a code, it keeps them, and so do names of tokens, letters in a folder of mail and backups made before", p.Code)}
}

// mailOf is never nil: it is kept, and shown, as a list.
func mailOf(lists []models.MailList) []models.MailList {
	return append([]models.MailList{}, lists...)
}

func checkPerson(f *models.Faults, p *models.Person) {
	checkText(f, "name", p.Name, models.MaxName)
	checkText(f, "phone", p.Phone, models.MaxName)
	checkText(f, "note", p.Note, models.MaxNote)
	checkText(f, "email", p.Email, longestAddress)
	if p.Email != "" && !plainAddress(p.Email) {
		f.Add("invalid", "email", p.Email, "is %q, and must be one address alone, such as rowan@wrenlow.example", p.Email)
	}
	for i, list := range p.Mail {
		switch {
		case !list.Known():
			f.Add("invalid", "mail", list, "has %q, and mail is %s", list, models.OneOf(models.MailLists))
		case slices.Contains(p.Mail[:i], list):
			f.Add("invalid", "mail", list, "has %q twice", list)
		}
	}
	if len(p.Mail) > 0 && p.Email == "" {
		f.Add("missing", "email", nil, "is missing, and mail needs it: give an email, or take mail away")
	}
}

// plainAddress says that a text is one address and nothing else: no name beside
// it, no angle brackets, no comment.
func plainAddress(text string) bool {
	address, err := mail.ParseAddress(text)
	return err == nil && address.Name == "" && address.Address == text
}
