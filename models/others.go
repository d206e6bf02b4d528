package models

import "time"

// OthersCut is stems that others than the nursery cut from a stand. How many and
// when is known within bounds only: the stand bears the high figure, on the last
// day on which they may have been cut.
type OthersCut struct {
	ID        string    `json:"id" doc:"Identifier of the cut"`
	StandID   string    `json:"-"`
	LedgerID  string    `json:"-"`
	CutFrom   Date      `json:"from" doc:"First day on which they may have been cut"`
	CutTo     Date      `json:"to" doc:"Last day on which they may have been cut; the stems count on it"`
	Low       int       `json:"low" doc:"Fewest stems it may have been"`
	High      int       `json:"high" doc:"Most stems it may have been; these count against the stand"`
	CutBy     string    `json:"cut_by" doc:"Who cut, as far as that is known"`
	Ours      bool      `json:"ours" doc:"Cut by the nursery itself, before it kept batches"`
	Evidence  string    `json:"evidence" doc:"How it is known"`
	EnteredBy string    `json:"by" doc:"Who entered it"`
	EnteredAt time.Time `json:"entered_at" doc:"When it was entered, UTC"`
}

// NewOthersCut is the request that enters a cut of others.
type NewOthersCut struct {
	From     Date   `json:"from" doc:"First day on which they may have been cut" example:"2026-01-03"`
	To       Date   `json:"to" doc:"Last day on which they may have been cut, today at the latest" example:"2026-01-05"`
	Low      int    `json:"low" minimum:"0" maximum:"10000000" doc:"Fewest stems it may have been" example:"5"`
	High     int    `json:"high" minimum:"1" maximum:"10000000" doc:"Most stems it may have been; these count against the stand" example:"12"`
	CutBy    string `json:"cut_by" minLength:"1" maxLength:"80" doc:"Who cut, as far as that is known: a group, a crew, or not known" example:"valley basket weavers"`
	Ours     bool   `json:"ours,omitempty" doc:"They were cut by the nursery itself, before it kept batches" example:"false"`
	Evidence string `json:"evidence" minLength:"1" maxLength:"2000" doc:"How it is known" example:"cut stubs seen on the bank"`
	By       string `json:"by,omitempty" maxLength:"80" doc:"Who enters it" example:"OP"`
}

// PersonFields are the people a request names.
func (r *NewOthersCut) PersonFields() []PersonField { return []PersonField{{"by", &r.By}} }

// PersonFields are the people a cut of others names.
func (c *OthersCut) PersonFields() []PersonField { return []PersonField{{"by", &c.EnteredBy}} }

// OthersCutView is a cut of others as it is shown, with what it warns of.
type OthersCutView struct {
	Stand string `json:"stand" doc:"Code of the stand"`
	OthersCut
	Amended
	Warnings []string `json:"warnings" doc:"What to look at again"`
}
