package api

import "withybed/models"

// permitProblems are about permits, leaves and consents.
var permitProblems = map[string]Entry{
	"no-such-permit": {Kind: models.NotFound, Title: "There is no such permit",
		Meaning: "No permit, leave or consent with this number is on file, or none that covers a stand on your land.",
		Next:    "Check the number, or list the permits."},
	"no-permit": {Kind: models.Refused, Title: "No permit for this cut",
		Meaning: "A permit is required, and the batch names none, names one that does not cover the stand, the day, the taxon or those who cut, or asks for more than is left on it. binding says which.",
		Next:    "Name a permit that covers the cut, ask the land manager for one, or cut no more than allowed. Stems that are cut already are recorded with already_cut and a reason, and reviewed."},
	"permit-misfit": {Kind: models.Invalid, Title: "The permit does not fit",
		Meaning: "The batch names a number under which no permit for its stand is on file, or a consent, or a consent is entered for the gathering place of another people.",
		Next:    "See which number the paper bears, and which stands are entered with it."},
	"permit-drawn": {Kind: models.Invalid, Title: "Batches draw on the permit",
		Meaning: "What batches drew on a permit is counted in its unit, so that the unit stays, and a permit that was cut on becomes no consent.",
		Next:    "Enter the other paper under a number of its own."},
}
