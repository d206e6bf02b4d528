package models

import "time"

// NestLookDays is for how many days after it a look for nests is good.
const NestLookDays = 7

// NestLook is a look for nests at a stand, or at a whole place.
type NestLook struct {
	ID         string    `json:"id" doc:"Identifier of the look"`
	StandID    *string   `json:"-"`
	Place      string    `json:"place,omitempty" doc:"The place that was looked over, where it was a whole one"`
	PlaceKey   string    `json:"-"`
	CheckedOn  Date      `json:"on" doc:"Day of the look"`
	NestsFound bool      `json:"nests_found" doc:"Nests in use were found"`
	CheckedBy  string    `json:"by" doc:"Who looked"`
	Note       string    `json:"note,omitempty" doc:"What was seen"`
	EnteredAt  time.Time `json:"entered_at" doc:"When it was entered, UTC"`
}

// PersonFields are the people a look for nests names.
func (l *NestLook) PersonFields() []PersonField { return []PersonField{{"by", &l.CheckedBy}} }

// NewNestCheck is the request that enters a look for nests.
type NewNestCheck struct {
	On         Date   `json:"on,omitzero" doc:"Day of the look; today by default" example:"2026-03-20"`
	NestsFound bool   `json:"nests_found" doc:"Nests in use were found" example:"false"`
	By         string `json:"by" minLength:"1" maxLength:"80" doc:"Who looked" example:"RQ"`
	Note       string `json:"note,omitempty" maxLength:"2000" doc:"What was seen" example:"an old nest in the alder, empty"`
}

// PersonFields are the people a request names.
func (r *NewNestCheck) PersonFields() []PersonField { return []PersonField{{"by", &r.By}} }

// NestCheckView is a look for nests as it is shown, with what it warns of.
type NestCheckView struct {
	Stand string `json:"stand,omitempty" doc:"Code of the stand, where one was looked over"`
	NestLook
	Amended
	GoodTo   Date     `json:"good_to" doc:"Last day on which the look is good"`
	Warnings []string `json:"warnings" doc:"What to look at again"`
}
