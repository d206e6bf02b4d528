package models

import "time"

// Rest is days on which a stand is left alone, both ends included; without an end it
// lasts until the coordinator gives one. One that began because a batch was cut
// over a limit names that batch.
type Rest struct {
	ID        string    `json:"id" doc:"Identifier of the rest"`
	StandID   string    `json:"-"`
	StartsOn  Date      `json:"from" doc:"First day of the rest"`
	EndsOn    Date      `json:"to,omitzero" doc:"Last day of the rest; until an end is given without one"`
	Why       string    `json:"why" doc:"Why the stand rests"`
	SetBy     string    `json:"by" doc:"Who set it"`
	BatchID   *string   `json:"-"`
	EnteredAt time.Time `json:"entered_at" doc:"When it was entered, UTC"`
}

// SalvagePeriod is days on which a stand may be cut free of caps, since its ground is to
// be destroyed.
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

// PlaceClosureVersion is the whole list of the closures of a place with the day it
// starts on. They close every stand there.
type PlaceClosureVersion struct {
	ID          string    `json:"-"`
	Place       string    `json:"-"`
	PlaceKey    string    `json:"-"`
	Closures    []Closure `json:"closures" gorm:"serializer:json" doc:"The closures"`
	InForceFrom Date      `json:"in_force_from" doc:"First day they are in force"`
	Why         string    `json:"why" doc:"Why they were set"`
	SetBy       string    `json:"by" doc:"Who set them"`
	EnteredAt   time.Time `json:"entered_at" doc:"When they were entered, UTC"`
}

// ToolCleaning is tools and boots cleaned before a stand is entered.
type ToolCleaning struct {
	ID        string    `json:"id" doc:"Identifier of the cleaning"`
	StandID   string    `json:"-"`
	CleanedOn Date      `json:"on" doc:"Day they were cleaned"`
	CleanedBy string    `json:"by" doc:"Who cleaned them"`
	How       string    `json:"how" doc:"What with"`
	EnteredAt time.Time `json:"entered_at" doc:"When it was entered, UTC"`
}
