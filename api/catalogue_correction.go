package api

import "withybed/models"

// correctionProblems are about records that were entered wrongly.
var correctionProblems = map[string]Entry{
	"nothing-changes": {Kind: models.Invalid, Title: "The correction changes nothing",
		Meaning: "All that the correction says is recorded so already.",
		Next:    "Show the record, and give what it should say instead."},
	"unknown-entry": {Kind: models.Unknown, Title: "No entry has that number",
		Meaning: "The history of the batch numbers its entries, and there is none with this number.",
		Next:    "Show the batch and use the number that stands before the entry."},
	"not-correctable": {Kind: models.Invalid, Title: "That is not corrected here",
		Meaning: "The entry or field follows another record, which has to be corrected in its place: the answer names it.",
		Next:    "Correct the record that the answer names."},
	"batch-void": {Kind: models.Invalid, Title: "The batch is void",
		Meaning: "The batch was voided: it never was, and nothing more is entered about it.",
		Next:    "Show the batch to see when and why it was voided. If it was after all, log it anew."},
	"corrected-already": {Kind: models.Conflict, Title: "It was corrected already",
		Meaning: "A correction stands against the record already: it is void, or another stands in its place.",
		Next:    "Correct the record that stands in its place, which the answer names."},
	"no-such-survey": {Kind: models.NotFound, Title: "There is no such survey",
		Meaning: "The stand has no survey with this identifier.",
		Next:    "List the surveys of the stand and use the identifier of one."},
	"unknown-record": {Kind: models.Unknown, Title: "The stand has no such record",
		Meaning: "The stand has no record of that kind with this identifier.",
		Next:    "List the records of that kind and use the identifier of one."},
}
