package api

import "withybed/models"

// peopleProblems are about the list of people.
var peopleProblems = map[string]Entry{
	"no-such-person": {Kind: models.NotFound, Title: "No such person",
		Meaning: "Nobody on the list of people has this code.",
		Next:    "See the near codes in suggestions, or list them with withy person list."},
	"person-erased": {Kind: models.Conflict, Title: "The person was erased",
		Meaning: "All that was known of this person was taken away for good. The code stays on the list for the records that name it.",
		Next:    "Put the person on the list again under another code, with withy person add."},
}
