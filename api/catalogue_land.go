package api

import "withybed/models"

// landProblems are slips about whose land, or which place, a page is about.
var landProblems = map[string]Entry{
	"unknown-land-manager": {Kind: models.Unknown, Title: "No stand names such a land manager",
		Meaning: "No stand has a land manager of the name that was given, compared without case. Near names are suggested.",
		Next:    "Check the name, or give it to the stands on their land with withy stand edit."},
	"unknown-place": {Kind: models.Unknown, Title: "No such stand is at such a place",
		Meaning: "No stand of those asked about names the place that was given, compared without case. Near names are suggested.",
		Next:    "Check the name, and the land manager where one was given too."},
}
