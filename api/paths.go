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

// BatchPath is embedded in the input of every route about one batch.
type BatchPath struct {
	Batch string `path:"batch" minLength:"1" maxLength:"80" doc:"Code of the batch, compared without case" example:"MB-03-2026-7"`
}

// PersonPath is embedded in the input of every route about one person.
type PersonPath struct {
	Person string `path:"person" minLength:"1" maxLength:"80" doc:"Code of the person, compared without case" example:"RQ"`
}

// once names a POST that may be sent again: its path, with the names in it, and
// its key.
func (k Keyed) once(path ...string) nursery.Once {
	return nursery.Once{Route: "POST /v1/" + strings.Join(path, "/"), Key: k.Key}
}
