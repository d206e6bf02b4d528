package models

import "time"

// SalvagePeriod is days on which a stand may be cut free of caps, since its ground is to
// be destroyed. Both its ends are included.
type SalvagePeriod struct {
	ID        string    `json:"id" doc:"Identifier of the salvage"`
	StandID   string    `json:"-"`
	StartsOn  Date      `json:"from" doc:"First day"`
	EndsOn    Date      `json:"to" doc:"Last day, before the ground is destroyed"`
	Authority string    `json:"authority" doc:"On whose authority"`
	Why       string    `json:"why" doc:"What happens to the ground"`
	SetBy     string    `json:"by" doc:"Who entered it"`
	EnteredAt time.Time `json:"entered_at" doc:"When it was entered, UTC"`
}

// PersonFields are the people a salvage names.
func (s *SalvagePeriod) PersonFields() []PersonField { return []PersonField{{"by", &s.SetBy}} }

// NewSalvage is the request that enters a salvage.
type NewSalvage struct {
	From      Date   `json:"from,omitzero" doc:"First day; today by default" example:"2026-02-01"`
	To        Date   `json:"to" doc:"Last day, before the ground is destroyed" example:"2026-03-15"`
	Authority string `json:"authority" minLength:"1" maxLength:"80" doc:"On whose authority" example:"Wrenlow Valley Roads"`
	Why       string `json:"why" minLength:"1" maxLength:"2000" doc:"What happens to the ground" example:"the bank is dug away for the new bridge"`
	By        string `json:"by,omitempty" maxLength:"80" doc:"Who enters it" example:"OP"`
}

// PersonFields are the people a request names.
func (r *NewSalvage) PersonFields() []PersonField { return []PersonField{{"by", &r.By}} }

// SalvageView is a salvage as it is shown, with what it warns of.
type SalvageView struct {
	Stand string `json:"stand" doc:"Code of the stand"`
	SalvagePeriod
	Amended
	Warnings []string `json:"warnings" doc:"What to look at again"`
}
