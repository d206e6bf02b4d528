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
	EndedOn   Date      `json:"ended_on,omitzero" doc:"Day on which nothing of it was left set aside"`
	EnteredAt time.Time `json:"entered_at" doc:"When it was entered, UTC"`
}

// OpenShare is a share with what is still set aside of it.
type OpenShare struct {
	Share
	Left        int // stems
	LeftParents int
}
