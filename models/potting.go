package models

import "time"

// Potting is rooted cuttings taken out of the tray into pots.
type Potting struct {
	ID        string
	BatchID   string
	PottedOn  Date
	Count     int
	Container string
	Medium    string
	Bench     string
	PottedBy  string
	Entry     int
	EnteredAt time.Time
}

// NewPotting is the request that pots cuttings up. More than were known to be
// rooted are recorded as found rooted that day.
type NewPotting struct {
	PottedOn  Date   `json:"potted_on" doc:"Day they were potted" example:"2026-03-14"`
	Count     int    `json:"count" minimum:"1" maximum:"10000000" doc:"Cuttings potted" example:"40"`
	Container string `json:"container,omitempty" maxLength:"80" doc:"Pot" example:"1-gallon pot"`
	Medium    string `json:"medium,omitempty" maxLength:"80" doc:"Potting medium" example:"bark and compost"`
	Bench     string `json:"bench,omitempty" maxLength:"80" doc:"Where they stand now" example:"Yard 1"`
	PottedBy  string `json:"potted_by,omitempty" maxLength:"80" doc:"Who potted" example:"RQ"`
}
