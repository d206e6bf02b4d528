package models

import "time"

// Share is stems of a stand set aside for a crew for some days. They count against
// the stand from its first day, until batches draw on them, they are returned, or
// they are released once the share is over.
type Share struct {
	ID        string    `json:"id" doc:"Identifier of the share"`
	StandID   string    `json:"-"`
	Crew      string    `json:"crew" doc:"Who they are set aside for"`
	Stems     int       `json:"stems" doc:"Stems set aside"`
	Parents   int       `json:"parents" doc:"Plants they may be cut from, where plants are counted"`
	FromDay   Date      `json:"from" doc:"First day; the stems count on it"`
	ToDay     Date      `json:"to" doc:"Last day"`
	Note      string    `json:"note,omitempty" doc:"Anything else"`
	SetBy     string    `json:"by" doc:"Who set them aside"`
	EndedOn   Date      `json:"ended_on,omitzero" doc:"Day from which nothing can be drawn on it: it was returned, or released"`
	EnteredAt time.Time `json:"entered_at" doc:"When it was entered, UTC"`
}

// Covers says that a day is one of the share's.
func (s *Share) Covers(day Date) bool { return !day.Before(s.FromDay) && !day.After(s.ToDay) }

// OpenShare is a share on which batches can draw, with what is still set aside of
// it. Where batches used it up nothing is left, and they can go beyond it still.
type OpenShare struct {
	Share
	Left        int // stems
	LeftParents int
}

// KeptShare is a share with what became of its stems.
type KeptShare struct {
	OpenShare
	Stand    string // code
	Returned int    // stems
	Released int
}

// NewShare is the request that sets stems of a stand aside for a crew.
type NewShare struct {
	Crew    string `json:"crew" minLength:"1" maxLength:"24" doc:"The crew they are set aside for" example:"C"`
	Stems   int    `json:"stems" minimum:"1" maximum:"10000000" doc:"Stems to set aside" example:"24"`
	Parents *int   `json:"parents,omitempty" minimum:"1" maximum:"10000000" doc:"Plants or clumps to cut them from; needed where the survey counted plants" example:"12"`
	From    Date   `json:"from" doc:"First day of the share; the stems count on it" example:"2026-01-24"`
	To      Date   `json:"to" doc:"Last day, today at the earliest and at most 183 days after the first" example:"2026-01-31"`
	Note    string `json:"note,omitempty" maxLength:"2000" doc:"Anything else" example:"north bank, no signal there"`
	By      string `json:"by,omitempty" maxLength:"80" doc:"Who sets them aside" example:"OP"`
}

// PersonFields are the people a request names.
func (r *NewShare) PersonFields() []PersonField { return []PersonField{{"by", &r.By}} }

// NewShareReturn is the request that returns all that is left of a crew share.
type NewShareReturn struct {
	By  string `json:"by" minLength:"1" maxLength:"80" doc:"Who returns it" example:"RQ"`
	Why string `json:"why,omitempty" maxLength:"2000" doc:"Why it was not needed" example:"the river was too high"`
}

// PersonFields are the people a request names.
func (r *NewShareReturn) PersonFields() []PersonField { return []PersonField{{"by", &r.By}} }

// ShareView is a crew share as it is shown.
type ShareView struct {
	Stand string `json:"stand" doc:"Code of the stand"`
	Share
	Left        int      `json:"left" doc:"Stems still set aside"`
	LeftParents int      `json:"left_parents" doc:"Plants they may be cut from"`
	Drawn       int      `json:"drawn" doc:"Stems that batches took of it"`
	Returned    int      `json:"returned" doc:"Stems that were returned"`
	Released    int      `json:"released" doc:"Stems that were released when it was over"`
	LogUntil    Date     `json:"log_until" doc:"Last day on which a batch can be logged on it"`
	Unreturned  bool     `json:"unreturned" doc:"Its last day is past, and something of it is left"`
	Misfit      string   `json:"misfit,omitempty" doc:"Why the stand cannot bear what is left of it any more, as it is known now"`
	Leave       string   `json:"leave,omitempty" doc:"What is on file about leave to cut, as it is set aside: a share is no leave"`
	Warnings    []string `json:"warnings" doc:"What to look at again"`
}

// PersonFields are the people a crew share names.
func (v *ShareView) PersonFields() []PersonField { return []PersonField{{"by", &v.SetBy}} }
