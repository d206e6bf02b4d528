package models

import "time"

// ToolCleaning is tools and boots cleaned before a stand is entered.
type ToolCleaning struct {
	ID        string    `json:"id" doc:"Identifier of the cleaning"`
	StandID   string    `json:"-"`
	CleanedOn Date      `json:"on" doc:"Day they were cleaned"`
	CleanedBy string    `json:"by" doc:"Who cleaned them"`
	How       string    `json:"how" doc:"What with"`
	EnteredAt time.Time `json:"entered_at" doc:"When it was entered, UTC"`
}

// PersonFields are the people a cleaning names.
func (c *ToolCleaning) PersonFields() []PersonField { return []PersonField{{"by", &c.CleanedBy}} }

// NewToolCleaning is the request that logs tools and boots cleaned.
type NewToolCleaning struct {
	On  Date   `json:"on,omitzero" doc:"Day they were cleaned; today by default" example:"2026-01-17"`
	By  string `json:"by" minLength:"1" maxLength:"80" doc:"Who cleaned them" example:"RQ"`
	How string `json:"how" minLength:"1" maxLength:"2000" doc:"What with" example:"brushed, then alcohol on blades and soles"`
}

// PersonFields are the people a request names.
func (r *NewToolCleaning) PersonFields() []PersonField { return []PersonField{{"by", &r.By}} }

// ToolCleaningView is a cleaning as it is shown, with what it warns of.
type ToolCleaningView struct {
	Stand string `json:"stand" doc:"Code of the stand"`
	ToolCleaning
	Amended
	Warnings []string `json:"warnings" doc:"What to look at again"`
}
