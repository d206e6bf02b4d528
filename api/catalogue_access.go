package api

import "withybed/models"

// accessProblems are about who asks, and what they may do.
var accessProblems = map[string]Entry{
	"not-for-role": {Kind: models.Forbidden, Title: "Not for this role",
		Meaning: "The token is good, but its role may not do this.",
		Next:    "Ask the coordinator to do it, or for a token of another role."},
	"exact-withheld": {Kind: models.Forbidden, Title: "Exact coordinates are withheld",
		Meaning: "Exact coordinates are shown to coordinators and to the manager of the land alone.",
		Next:    "Leave exact out: the place is then shown as coarsely as its sensitivity asks."},
	"closures-only": {Kind: models.Forbidden, Title: "A land manager enters closures",
		Meaning: "The edit changes more of the stand than its closures.",
		Next:    "Send closures with why, by and in_force_from alone, and ask the coordinator for the rest."},
}
