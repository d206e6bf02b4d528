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
	"unknown-setting": {Kind: models.Unknown, Title: "Unknown setting",
		Meaning: "The nursery has no setting of this name.",
		Next:    "Use one of suggestions, or show all settings with withy nursery show."},
	"taken": {Kind: models.Conflict, Title: "The name is taken",
		Meaning: "Something else has this name or code already.",
		Next:    "Choose another, or edit the one there is."},
	"record-number-taken": {Kind: models.Conflict, Title: "The tag is on another bundle",
		Meaning: "A tag written in the field is on one bundle only of its stand and day, and another batch has it.",
		Next:    "Look at the tag again. If the batch was entered before, it need not be entered twice."},
}
