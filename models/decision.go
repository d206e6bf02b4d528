package models

import "time"

// Action is what was decided about cuttings that have not rooted.
type Action string

// Keep waits until a day, Restick lifts the unrooted into a sister batch,
// Discard throws them out, CloseBatch ends the batch.
const (
	Keep       Action = "keep"
	Restick    Action = "restick"
	Discard    Action = "discard"
	CloseBatch Action = "close"
)

// Actions lists every action.
var Actions = []Action{Keep, Restick, Discard, CloseBatch}

// Known says that the word is one of the actions.
func (a Action) Known() bool { return oneOf(a, Actions) }

// Decision is what was decided about a batch, by whom and why.
type Decision struct {
	ID        string
	BatchID   string
	DecidedOn Date
	Action    Action
	UntilDay  Date
	DecidedBy string
	Why       string
	Entry     int
	EnteredAt time.Time
}

// NewDecision is the request that enters a decision.
type NewDecision struct {
	On     Date   `json:"on" doc:"Day of the decision" example:"2026-04-20"`
	Action Action `json:"action" enum:"keep,restick,discard,close" doc:"What was decided" example:"keep"`
	Until  Date   `json:"until,omitzero" doc:"Day to which it is kept; with keep" example:"2026-05-18"`
	By     string `json:"by,omitempty" maxLength:"80" doc:"Who decided" example:"OP"`
	Why    string `json:"why,omitempty" maxLength:"2000" doc:"Why" example:"callus on most of them"`
}

// Review is the coordinator's answer to a batch that was cut against a rule.
type Review struct {
	ID         string
	BatchID    string
	Accepted   bool
	Reason     string
	ReviewedBy string
	Entry      int
	EnteredAt  time.Time
}

// NewReview is the request that answers a batch to review.
type NewReview struct {
	Accept    bool   `json:"accept" doc:"True accepts the cut as it stands; false leaves it to review, with what has to be cleared up" example:"true"`
	Reason    string `json:"reason" minLength:"1" maxLength:"2000" doc:"Why" example:"both crews counted again, the stand can bear it"`
	By        string `json:"by,omitempty" maxLength:"80" doc:"Who reviewed it" example:"OP"`
	RestUntil Date   `json:"rest_until,omitzero" doc:"Last day of the rest that the batch began by passing a limit" example:"2026-10-31"`
}
