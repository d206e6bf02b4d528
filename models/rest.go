package models

import "time"

// Rest is days on which a stand is left alone, both ends included; without an end it
// lasts until the coordinator gives one. One that began because a batch was cut
// over a limit names that batch. SetAt is when it was entered first: a rest that was
// given its end stands in for the one it was.
type Rest struct {
	ID        string    `json:"id" doc:"Identifier of the rest"`
	StandID   string    `json:"-"`
	StartsOn  Date      `json:"from" doc:"First day of the rest"`
	EndsOn    Date      `json:"to,omitzero" doc:"Last day of the rest; until an end is given without one"`
	Why       string    `json:"why" doc:"Why the stand rests"`
	SetBy     string    `json:"by" doc:"Who set it"`
	BatchID   *string   `json:"-"`
	SetAt     time.Time `json:"set_at" doc:"When it was entered first, before its end was given, UTC"`
	EnteredAt time.Time `json:"entered_at" doc:"When it was entered, UTC"`
}

// PersonFields are the people a rest names.
func (r *Rest) PersonFields() []PersonField { return []PersonField{{"by", &r.SetBy}} }

// NewRest is the request that sets a stand at rest.
type NewRest struct {
	From Date   `json:"from,omitzero" doc:"First day of the rest; today by default" example:"2026-02-01"`
	To   Date   `json:"to,omitzero" doc:"Last day of the rest; without one it lasts until its end is given" example:"2027-10-31"`
	Why  string `json:"why" minLength:"1" maxLength:"2000" doc:"Why the stand rests" example:"browsed hard in the winter"`
	By   string `json:"by,omitempty" maxLength:"80" doc:"Who sets it" example:"OP"`
}

// PersonFields are the people a request names.
func (r *NewRest) PersonFields() []PersonField { return []PersonField{{"by", &r.By}} }

// NewRestEnd is the request that gives a rest its end, or an earlier one.
type NewRestEnd struct {
	To  Date   `json:"to" doc:"Last day of the rest" example:"2026-10-31"`
	Why string `json:"why" minLength:"1" maxLength:"2000" doc:"Why it ends then" example:"the shoots of two summers stand"`
	By  string `json:"by,omitempty" maxLength:"80" doc:"Who gives the end" example:"OP"`
}

// PersonFields are the people a request names.
func (r *NewRestEnd) PersonFields() []PersonField { return []PersonField{{"by", &r.By}} }

// RestView is a rest as it is shown, with what it warns of.
type RestView struct {
	Stand string `json:"stand" doc:"Code of the stand"`
	Rest
	Amended
	Warnings []string `json:"warnings" doc:"What to look at again"`
}
