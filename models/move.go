package models

import "time"

// MoveTo is where cuttings go before they are stuck.
type MoveTo string

// The places cuttings go to before they are stuck. Used is planted, woven or
// given away unrooted; lost is lost before sticking.
const (
	ToSoak         MoveTo = "soak"
	ToRefrigerator MoveTo = "refrigerator"
	ToColdStore    MoveTo = "cold_store"
	ToUsed         MoveTo = "used"
	ToLost         MoveTo = "lost"
)

// MoveTos lists every place.
var MoveTos = []MoveTo{ToSoak, ToRefrigerator, ToColdStore, ToUsed, ToLost}

// Known says that the word is one of the places.
func (m MoveTo) Known() bool { return oneOf(m, MoveTos) }

// Move is cuttings put to soak or into a store, used or lost before sticking.
type Move struct {
	ID        string
	BatchID   string
	MovedOn   Date
	To        MoveTo `gorm:"column:moved_to"`
	Count     int
	Use       string `gorm:"column:used_for"`
	Cause     Cause
	Entry     int
	EnteredAt time.Time
}

// NewMove is the request that moves cuttings before they are stuck. They are
// taken from those in hand first, then from soak, refrigerator and cold store.
type NewMove struct {
	On    Date   `json:"on" doc:"Day of the move" example:"2026-01-17"`
	To    MoveTo `json:"to" enum:"soak,refrigerator,cold_store,used,lost" doc:"Where they go; a cold store is at -2 to 0.5 degrees Celsius, for leafless wood only" example:"soak"`
	Count int    `json:"count" minimum:"1" maximum:"10000000" doc:"Cuttings moved" example:"72"`
	Use   string `json:"use,omitempty" maxLength:"80" doc:"What they were used for; with used" example:"staked on the bank"`
	Cause Cause  `json:"cause,omitempty" maxLength:"80" doc:"What they were lost to, a cause of loss; with lost" example:"dried"`
}
