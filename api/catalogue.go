package api

import (
	"maps"
	"net/http"

	"withybed/models"
)

// Entry says what a problem's code means, in words for the person who meets it.
type Entry struct {
	Kind    models.Kind // the reaction it calls for
	Status  int         // the HTTP status; 0 is the kind's own
	Title   string      // a few words, the same each time
	Meaning string      // what is wrong
	Next    string      // what to do about it
}

// Catalogue holds every code that a problem document can carry. Codes are
// stable: programs may rely on them.
var Catalogue = gather(requestProblems, serverProblems, accessProblems, nameProblems,
	peopleProblems, harvestProblems, restProblems, shareProblems, permitProblems, recordProblems, correctionProblems, landProblems)

func gather(parts ...map[string]Entry) map[string]Entry {
	all := map[string]Entry{}
	for _, part := range parts {
		maps.Copy(all, part)
	}
	return all
}

// statuses is the HTTP status of each kind.
var statuses = map[models.Kind]int{
	models.Malformed:       http.StatusBadRequest,
	models.Invalid:         http.StatusUnprocessableEntity,
	models.NotFound:        http.StatusNotFound,
	models.Unknown:         http.StatusUnprocessableEntity,
	models.Refused:         http.StatusConflict,
	models.Conflict:        http.StatusConflict,
	models.Stale:           http.StatusPreconditionFailed,
	models.Unguarded:       http.StatusPreconditionRequired,
	models.Unauthenticated: http.StatusUnauthorized,
	models.Forbidden:       http.StatusForbidden,
	models.TooMany:         http.StatusTooManyRequests,
	models.Unavailable:     http.StatusServiceUnavailable,
	models.Internal:        http.StatusInternalServerError,
}

// HTTPStatus is the status a problem with this entry is answered with.
func (e Entry) HTTPStatus() int {
	if e.Status != 0 {
		return e.Status
	}
	return statuses[e.Kind]
}

// entryFor is the entry of an error. A code outside the catalogue, or met with
// another kind than its own, falls back on the kind.
func entryFor(err *models.Error) Entry {
	entry, ok := Catalogue[err.Code]
	if !ok {
		entry.Title = "Not possible"
	}
	if !ok || entry.Kind != err.Kind {
		entry.Kind, entry.Status = err.Kind, 0
	}
	if _, known := statuses[entry.Kind]; !known {
		entry.Kind = models.Internal
	}
	return entry
}
