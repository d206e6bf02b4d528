package models

import "time"

// Sex is the sex of a donor plant. A cutting keeps it.
type Sex string

// The sexes; not determined is a word of its own.
const (
	Female        Sex = "female"
	Male          Sex = "male"
	NotDetermined Sex = "not_determined"
)

// Sexes lists every word.
var Sexes = []Sex{Female, Male, NotDetermined}

// Known says that the word is one of them.
func (s Sex) Known() bool { return oneOf(s, Sexes) }

// Parent is what a batch took of one tagged plant or clump.
type Parent struct {
	Tag      string `json:"tag" minLength:"1" maxLength:"40" doc:"The plant's tag, one within its stand whatever the case" example:"D-07"`
	Stems    int    `json:"stems" minimum:"1" maximum:"10000000" doc:"Stems cut from it" example:"2"`
	Cuttings int    `json:"cuttings,omitempty" minimum:"0" maximum:"10000000" doc:"Cuttings made from these" example:"6"`
	Sex      Sex    `json:"sex,omitempty" enum:"female,male,not_determined" doc:"Sex of the plant; not determined by default" example:"female"`
}

// ParentTally is a Parent as it is kept. One that was replaced by a correction says
// when.
type ParentTally struct {
	ID      string
	BatchID string
	StandID string
	TakenOn Date
	TagKey  string
	Parent
	ReplacedAt *time.Time
	EnteredAt  time.Time
}

// ParentDay is the stems taken from one tagged plant of a stand on a day.
type ParentDay struct {
	TakenOn Date
	TagKey  string
	Tag     string
	Stems   int
	Batches int // that it was cut for
}
