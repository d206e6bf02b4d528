package models

import "time"

// Token is a key to the door, with who holds it and what it opens. Of its secret
// only a hash is kept.
type Token struct {
	ID          string
	Handle      string // the part of the secret that finds the token; not secret
	Hash        string // SHA-256 of the whole secret, in hexadecimal digits
	Name        string
	NameKey     string
	Role        Role
	LandManager string
	EndsOn      Date
	EndsAt      time.Time
	MadeBy      string
	MadeAt      time.Time
	RevokedBy   string
	RevokedAt   *time.Time
}

// TokenState says whether a token opens the door.
type TokenState string

// The states of a token.
const (
	Current TokenState = "current"
	Over    TokenState = "ended"
	Revoked TokenState = "revoked"
)

// TokenStates lists every state.
var TokenStates = []TokenState{Current, Over, Revoked}

// StateAt is the state of a token at an instant.
func (t *Token) StateAt(at time.Time) TokenState {
	switch {
	case t.RevokedAt != nil:
		return Revoked
	case !at.Before(t.EndsAt):
		return Over
	}
	return Current
}

// NewToken is the request that makes a token.
type NewToken struct {
	Name        string `json:"name" minLength:"1" maxLength:"80" doc:"Who or what holds it, as it stands in the record of changes; one current token of a name" example:"RQ"`
	Role        Role   `json:"role" enum:"volunteer,lead,coordinator,manager,reader" doc:"What it opens" example:"volunteer"`
	EndsOn      Date   `json:"ends_on,omitzero" doc:"Last day it opens the door, in the nursery's time zone; today by default for a volunteer, a year from now for others" example:"2026-01-17"`
	LandManager string `json:"land_manager,omitempty" maxLength:"80" doc:"Whose land a manager sees, as the stands name it; for managers only, and needed there" example:"Wrenlow Valley Parks"`
}

// TokenView is a token as it is shown. Its secret is shown once, to whoever made it.
type TokenView struct {
	Handle      string     `json:"handle" doc:"Short public name of the token, the part of its secret after the first dash" example:"k7m2qd4x"`
	Name        string     `json:"name" doc:"Who or what holds it"`
	Role        Role       `json:"role" doc:"What it opens"`
	LandManager string     `json:"land_manager,omitempty" doc:"Whose land a manager sees"`
	State       TokenState `json:"state" doc:"current, ended or revoked"`
	EndsOn      Date       `json:"ends_on" doc:"Last day it opens the door"`
	EndsAt      time.Time  `json:"ends_at" doc:"The instant it ends, UTC"`
	MadeBy      string     `json:"made_by" doc:"Who made it"`
	MadeAt      time.Time  `json:"made_at" doc:"When it was made, UTC"`
	RevokedBy   string     `json:"revoked_by,omitempty" doc:"Who revoked it"`
	RevokedAt   *time.Time `json:"revoked_at,omitempty" doc:"When it was revoked, UTC"`
	Secret      string     `json:"secret,omitempty" doc:"The secret, in the answer to the request that made it and never again"`
	Warnings    []string   `json:"warnings" doc:"What to look at again"`
}
