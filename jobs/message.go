package jobs

import (
	"fmt"
	"net/mail"

	gomail "github.com/wneessen/go-mail"

	"withybed/models"
)

// compose is a letter as it is sent (RFC 5322): its text and its HTML as
// alternatives. A letter without an address names nobody it is to.
func compose(l models.Letter, from mail.Address) (*gomail.Msg, error) {
	m := gomail.NewMsg(gomail.WithNoDefaultUserAgent())
	if err := m.From(from.String()); err != nil {
		return nil, fmt.Errorf("write the sender: %w", err)
	}
	if l.Address != "" {
		if err := m.To(l.Address); err != nil {
			return nil, fmt.Errorf("write the address: %w", err)
		}
	}
	m.Subject(l.Subject)
	m.SetMessageIDWithValue(l.MessageID)
	m.SetDateWithValue(l.MadeAt)
	m.SetGenHeader("Auto-Submitted", "auto-generated") // RFC 3834: no answers by machines
	if l.Occasion != "" {
		m.SetGenHeader("X-Withybed-Occasion", l.Occasion) // for the rules of mailboxes
	}
	m.SetBodyString(gomail.TypeTextPlain, l.Text)
	m.AddAlternativeString(gomail.TypeTextHTML, l.HTML)
	return m, nil
}
