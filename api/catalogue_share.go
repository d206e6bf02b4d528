package api

import "withybed/models"

// shareProblems are about stems set aside for a crew.
var shareProblems = map[string]Entry{
	"share-misfit": {Kind: models.Invalid, Title: "No crew share fits",
		Meaning: "Nothing is set aside for that crew, or under that identifier, at the stand: it was returned or released, or is of another stand. Or the day is none of the share's, or the crew has several shares there.",
		Next:    "List the shares of the stand and name one by its identifier. What was cut on no share is logged without one, and judged like any cut."},
	"no-such-share": {Kind: models.NotFound, Title: "No such crew share",
		Meaning: "Nothing is or was set aside under that name at the stand.",
		Next:    "List the shares of the stand."},
	"share-ended": {Kind: models.Conflict, Title: "Nothing is left of the crew share",
		Meaning: "Batches used the share up, or what was left of it was returned or released already.",
		Next:    "Nothing has to be done: its stems are not set aside any more."},
}
