package api

import (
	"strings"

	"withybed/models/nursery"
)

// TaxonPath is embedded in the input of every route about one taxon.
type TaxonPath struct {
	Taxon string `path:"taxon" minLength:"1" maxLength:"80" doc:"Scientific name, compared without case and extra spaces" example:"Cornus sericea"`
}

// StandPath is embedded in the input of every route about one stand.
type StandPath struct {
	Stand string `path:"stand" minLength:"1" maxLength:"80" doc:"Code of the stand, compared without case" example:"MB-03"`
}

// SharePath is embedded in the input of every route about one crew share.
type SharePath struct {
	StandPath
	Share string `path:"share" minLength:"1" maxLength:"80" doc:"Identifier of the crew share, or its crew where that has one share at the stand" example:"C"`
}

// SurveyPath is embedded in the input of every route about one survey.
type SurveyPath struct {
	StandPath
	Survey string `path:"survey" minLength:"1" maxLength:"80" doc:"Identifier of the survey" example:"0198c5a0-7d1e-7c3a-9f00-2b6f1d3e4a51"`
}

// BatchPath is embedded in the input of every route about one batch.
type BatchPath struct {
	Batch string `path:"batch" minLength:"1" maxLength:"80" doc:"Code of the batch, compared without case" example:"MB-03-2026-7"`
}

// PersonPath is embedded in the input of every route about one person.
type PersonPath struct {
	Person string `path:"person" minLength:"1" maxLength:"80" doc:"Code of the person, compared without case" example:"RQ"`
}

// PermitPath is embedded in the input of every route about one permit.
type PermitPath struct {
	Permit string `path:"permit" minLength:"1" maxLength:"80" doc:"Number of the permit, compared without case" example:"WV-2026-12"`
}

// PlacePath is embedded in the input of every route about one place.
type PlacePath struct {
	Place string `path:"place" minLength:"1" maxLength:"80" doc:"Name of the place, as its stands spell it, compared without case and extra spaces" example:"Mallow Bend"`
}

// once names a POST that may be sent again: its path, with the names in it, and
// its key.
func (k Keyed) once(path ...string) nursery.Once {
	return nursery.Once{Route: "POST /v1/" + strings.Join(path, "/"), Key: k.Key}
}
