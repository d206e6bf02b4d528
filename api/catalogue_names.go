package api

import "withybed/models"

// nameProblems are names that nothing has, or that something has already. A
// name in the path is "no such", a name in the body is "unknown".
var nameProblems = map[string]Entry{
	"no-such-taxon": {Kind: models.NotFound, Title: "No such taxon",
		Meaning: "The nursery keeps no taxon of this scientific name.",
		Next:    "See the near names in suggestions, list them with withy taxon list, or add it with withy taxon add."},
	"no-such-stand": {Kind: models.NotFound, Title: "No such stand",
		Meaning: "No stand has this code.",
		Next:    "See the near codes in suggestions, or list all with withy stand list."},
	"no-such-survey": {Kind: models.NotFound, Title: "No such survey",
		Meaning: "The stand has no survey of this number.",
		Next:    "Show the stand to see its surveys."},
	"no-such-batch": {Kind: models.NotFound, Title: "No such batch",
		Meaning: "No batch has this code.",
		Next:    "See the near codes in suggestions, or list them with withy batch list."},
	"no-such-reminder": {Kind: models.NotFound, Title: "No such reminder",
		Meaning: "No reminder was made for this week.",
		Next:    "List the reminders with withy remind list."},
	"unknown-taxon": {Kind: models.Unknown, Title: "Unknown taxon",
		Meaning: "The nursery keeps no taxon of this scientific name.",
		Next:    "Use one of suggestions, or add it first with withy taxon add. Nothing was recorded."},
	"unknown-stand": {Kind: models.Unknown, Title: "Unknown stand",
		Meaning: "No stand has this code.",
		Next:    "Use one of suggestions, or add it first with withy stand add. Nothing was recorded."},
	"unknown-survey": {Kind: models.Unknown, Title: "Unknown survey",
		Meaning: "The stand has no survey of this number.",
		Next:    "Show the stand to see its surveys. Nothing was recorded."},
	"unknown-batch": {Kind: models.Unknown, Title: "Unknown batch",
		Meaning: "No batch has this code.",
		Next:    "Use one of suggestions, or list them with withy batch list. Nothing was recorded."},
	"taken": {Kind: models.Conflict, Title: "The name is taken",
		Meaning: "Something else has this name or code already.",
		Next:    "Choose another, or edit the one there is."},
}
