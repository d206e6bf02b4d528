package models

import "time"

// Change is a line of the record of who changed what. It is written with the
// change, or not at all.
type Change struct {
	ID        string         `json:"id" doc:"Identifier of the line"`
	MadeAt    time.Time      `json:"made_at" doc:"When, UTC"`
	MadeBy    string         `json:"made_by" doc:"Name of the token, or how the door was opened without one"`
	TokenID   string         `json:"-"`
	Role      Role           `json:"role" doc:"The role it was done in"`
	Request   string         `json:"request" doc:"Method and path of the request" example:"PATCH /v1/stands/MB-03"`
	RequestID string         `json:"request_id" doc:"What the request is called in the server's log"`
	Detail    map[string]any `json:"detail,omitempty" gorm:"serializer:json" doc:"What an edit changed, as it was sent; or, as made, the codes of what was added"`
}
