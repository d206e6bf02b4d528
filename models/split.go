package models

import "time"

// SplitSource is where the cuttings of a sister batch came from.
type SplitSource string

// Cuttings are split off before sticking, or lifted unrooted from the tray to
// be stuck again.
const (
	FromWaiting SplitSource = "waiting"
	FromTray    SplitSource = "tray"
)

// Split is the record that cuttings of a batch went on as a sister batch.
type Split struct {
	ID        string
	BatchID   string // the first batch
	SisterID  string
	Sister    string `gorm:"->"` // code, read only
	Treatment string `gorm:"-"`  // of the sister, in words
	SplitOn   Date
	Count     int
	Source    SplitSource
	Entry     int
	EnteredAt time.Time
}

// Arm is one part of a split: how many cuttings, and their sticking. An arm
// with any detail of a sticking is stuck on stuck_on, or else on the day of the
// split; an arm with only a count waits to be stuck.
type Arm struct {
	Count   int  `json:"count" minimum:"1" maximum:"10000000" doc:"Cuttings of the arm" example:"24"`
	StuckOn Date `json:"stuck_on,omitzero" doc:"Day they were stuck; the day of the split by default, where anything else of the sticking is given" example:"2026-01-18"`
	Tray
}

// NewSplit is the request that splits sister batches off a batch.
type NewSplit struct {
	On   Date  `json:"on" doc:"Day of the split" example:"2026-01-18"`
	Arms []Arm `json:"arms" minItems:"1" maxItems:"50" doc:"The sister batches to make"`
}

// SplitView answers a split: the batch, and the sisters it made.
type SplitView struct {
	Batch   BatchView   `json:"batch" doc:"The batch that was split"`
	Sisters []BatchView `json:"sisters" doc:"The sisters, in the order of the arms"`
}
