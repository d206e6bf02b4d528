package models

import "time"

// Taxon is a kind of plant. Its scientific name, compared without case and
// extra spaces, is its only name in requests.
type Taxon struct {
	ID             string    `json:"-"`
	NameKey        string    `json:"-"`
	ScientificName string    `json:"scientific_name" doc:"Scientific name, compared without case and extra spaces" example:"Cornus sericea"`
	CommonName     string    `json:"common_name" doc:"Name in everyday use" example:"red-osier dogwood"`
	Family         string    `json:"family" doc:"Plant family" example:"Cornaceae"`
	Dioecious      bool      `json:"dioecious" doc:"Female and male flowers stand on separate plants, and a cutting keeps its donor's sex"`
	Protected      bool      `json:"protected" doc:"Listed or locally protected: cuts are refused until there is an authority on file"`
	SlowToRoot     bool      `json:"slow_to_root" doc:"Given more time before a decision is asked for and before its rate counts as finished"`
	IdentityMarks  string    `json:"identity_marks" doc:"What to look for, and what it is mistaken for, one mark a line or sentence; printed on field sheets"`
	SoakDays       *int      `json:"soak_days" doc:"Longest soak of dormant wood in days; null follows the nursery's settings" example:"10"`
	Version        int       `json:"version" doc:"Counts the edits; the ETag"`
	EnteredAt      time.Time `json:"entered_at" doc:"When it was entered, UTC"`
}

// NewTaxon is the request that adds a taxon.
type NewTaxon struct {
	ScientificName string `json:"scientific_name" minLength:"3" maxLength:"80" doc:"Scientific name" example:"Cornus sericea"`
	CommonName     string `json:"common_name,omitempty" maxLength:"80" doc:"Name in everyday use" example:"red-osier dogwood"`
	Family         string `json:"family,omitempty" maxLength:"80" doc:"Plant family" example:"Cornaceae"`
	Dioecious      bool   `json:"dioecious,omitempty" doc:"Female and male flowers stand on separate plants" example:"false"`
	Protected      bool   `json:"protected,omitempty" doc:"Listed or locally protected: cuts are refused until there is an authority on file" example:"false"`
	SlowToRoot     bool   `json:"slow_to_root,omitempty" doc:"Given more time before a decision is asked for" example:"false"`
	IdentityMarks  string `json:"identity_marks,omitempty" maxLength:"2000" doc:"What to look for, and what it is mistaken for, one mark a line or sentence; printed on field sheets" example:"Buds stand in pairs. Twigs are red in winter."`
	SoakDays       *int   `json:"soak_days,omitempty" minimum:"0" maximum:"60" doc:"Longest soak of dormant wood in days, where the nursery's settings do not fit" example:"10"`
}

// TaxonEdit is the merge patch of a taxon (RFC 7396).
type TaxonEdit struct {
	CommonName    Patch[string] `json:"common_name,omitzero" doc:"Name in everyday use" example:"red twig dogwood"`
	Family        Patch[string] `json:"family,omitzero" doc:"Plant family" example:"Cornaceae"`
	Dioecious     Patch[bool]   `json:"dioecious,omitzero" doc:"Female and male flowers stand on separate plants" example:"false"`
	Protected     Patch[bool]   `json:"protected,omitzero" doc:"Listed or locally protected" example:"false"`
	SlowToRoot    Patch[bool]   `json:"slow_to_root,omitzero" doc:"Given more time before a decision is asked for" example:"true"`
	IdentityMarks Patch[string] `json:"identity_marks,omitzero" doc:"What to look for, and what it is mistaken for, one mark a line or sentence; at most 2000 characters" example:"Buds stand in pairs. Twigs are red in winter."`
	SoakDays      Patch[int]    `json:"soak_days,omitzero" doc:"Longest soak of dormant wood in days; null follows the nursery's settings" example:"7"`
}
