package api

import "withybed/models"

// restProblems are rests and places that are not there, and places of several land
// managers.
var restProblems = map[string]Entry{
	"no-such-rest": {Kind: models.NotFound, Title: "No such rest",
		Meaning: "The stand has no rest with this identifier, or it was given another end or voided: then another record stands in its place.",
		Next:    "List the rests of the stand, and use the identifier of one of them."},
	"no-such-place": {Kind: models.NotFound, Title: "No stand at such a place",
		Meaning: "A place is known by the stands that name it, and none names this one.",
		Next:    "Use one of suggestions, or give a stand its place first."},
	"place-of-others": {Kind: models.Forbidden, Title: "Others manage land there too",
		Meaning: "What is entered for a whole place goes for every stand there, and not all of them are on this land.",
		Next:    "Enter it for your own stands one by one, or ask the coordinator."},
	"at-rest": {Kind: models.Refused, Title: "The stand is at rest on that day",
		Meaning: "The stand rests on the day of the cut. Stems that were set aside for a crew before the rest was set can be cut all the same.",
		Next:    "Wait for the end of the rest, which the coordinator gives where it has none, or go to another stand."},
}
