package models

import (
	"strings"
	"time"
)

// Letter is one mail to one address, kept until it is sent and after.
type Letter struct {
	ID        string
	Occasion  string // what it is about; an address gets one letter about it
	Address   string // empty where nobody on the list gets such mail
	MessageID string // without brackets; fixed at the first try
	Subject   string
	Text      string
	HTML      string
	MadeAt    time.Time
	TryAt     time.Time  // not before
	Tries     int        // so far
	HeldBy    string     // the server that is sending it
	HeldUntil *time.Time // after that another may
	SentAt    *time.Time
	GivenUpAt *time.Time
	Trouble   string // what the last try met
}

// LetterState says how far a letter has come.
type LetterState string

// The states of a letter.
const (
	LetterWaiting LetterState = "waiting"
	LetterSent    LetterState = "sent"
	LetterGivenUp LetterState = "given_up"
)

// State is how far the letter has come.
func (l *Letter) State() LetterState {
	switch {
	case l.SentAt != nil:
		return LetterSent
	case l.GivenUpAt != nil:
		return LetterGivenUp
	}
	return LetterWaiting
}

// MailCounts says how many letters there are that ask for attention.
type MailCounts struct {
	Waiting int // to be sent, or sent again
	GivenUp int // lately
}

// LetterStates lists every state.
var LetterStates = []LetterState{LetterWaiting, LetterSent, LetterGivenUp}

// AddressKey is an address as it is compared with others: without case, since no
// mail server in use tells addresses apart by it.
func AddressKey(address string) string { return strings.ToLower(address) }

// NobodyGets is the trouble of a letter that has no address, since nobody on the
// list of people gets some lists of mail.
func NobodyGets(lists []MailList) string {
	words := make([]string, len(lists))
	for i, list := range lists {
		words[i] = string(list)
	}
	return "nobody on the list of people gets this mail: withy person add CODE --email ADDRESS --mail " + strings.Join(words, ",")
}

// LetterView is a letter as coordinators see it.
type LetterView struct {
	ID        string      `json:"id" doc:"Identifier of the letter"`
	State     LetterState `json:"state" doc:"waiting, sent or given_up"`
	Address   string      `json:"address" doc:"Where it goes; empty where nobody on the list of people gets such mail"`
	Subject   string      `json:"subject" doc:"Its subject"`
	MadeAt    time.Time   `json:"made_at" doc:"When it was made, UTC"`
	TryAt     time.Time   `json:"try_at" doc:"When it is tried next, UTC, while it waits"`
	Tries     int         `json:"tries" doc:"Tries so far"`
	SentAt    *time.Time  `json:"sent_at,omitempty" doc:"When the relay took it, UTC"`
	GivenUpAt *time.Time  `json:"given_up_at,omitempty" doc:"When it was given up, UTC"`
	Trouble   string      `json:"trouble,omitempty" doc:"What the last try met"`
}
