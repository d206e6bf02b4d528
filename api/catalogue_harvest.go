package api

import "withybed/models"

// harvestProblems are what a harvest rule refuses, and cuts and surveys that
// cannot be.
var harvestProblems = map[string]Entry{
	"over-allowance": {Kind: models.Refused, Title: "More stems than the stand can spare",
		Meaning: "With these stems more would be taken within the window than the rule of the stand allows. binding names the rule with its numbers, allowed what is still possible.",
		Next:    "Cut no more than allowed, go to another stand, or wait until possible_from of the allowance. Stems that are cut already are recorded with already_cut and a reason, and reviewed."},
	"closed-season": {Kind: models.Refused, Title: "The stand is closed on that day",
		Meaning: "A closure of the stand holds on the day of the cut, or nests must be looked for first.",
		Next:    "Wait for the first open day, which the allowance of the stand gives as possible_from, or go to another stand."},
	"survey-expired": {Kind: models.Refused, Title: "The stand must be counted again",
		Meaning: "The last survey is too old, or a disturbance has ended it, so nobody knows how many stems the stand can spare.",
		Next:    "Survey the stand and enter the count with withy survey add."},
	"protected": {Kind: models.Refused, Title: "The taxon or the place is protected",
		Meaning: "A protected taxon or place is cut on a permit alone that names the authority for it and covers the stand, the day and those who cut.",
		Next:    "Name such a permit, or ask the coordinator and the land manager for one. Local law decides."},
	"before-first-survey": {Kind: models.Invalid, Title: "Cut before the stand was first counted",
		Meaning: "The day of the cut lies before the stand's first survey, or the stand was never surveyed, so no share can be worked out.",
		Next:    "Enter the first survey, or correct the date. Stems cut already are recorded with already_cut and a reason, and reviewed."},
	"no-stems": {Kind: models.Invalid, Title: "Cuttings without stems",
		Meaning: "Cuttings are made from stems, and no stem is given.",
		Next:    "Count the stems that were cut."},
	"parents-missing": {Kind: models.Invalid, Title: "The number of parent plants is missing",
		Meaning: "The survey counted plants, so the per-plant cap needs to know from how many plants the stems came.",
		Next:    "Give parent_plants."},
	"taxon-misfit": {Kind: models.Invalid, Title: "The stand is of another taxon",
		Meaning: "A stand is one taxon at one place, and the taxon given is not the stand's.",
		Next:    "See which is wrong: name the other stand, or identify the plant again. If the wrong plant was cut, log it without a taxon, since the stems count against this stand, then name it with withy batch determine."},
	"plots-beyond-stand": {Kind: models.Invalid, Title: "The plots are larger than the stand",
		Meaning: "The plots counted cannot cover more ground than the stand has.",
		Next:    "Check plot_area_m2, stand_area_m2 and the number of counts."},
	"too-few-plots": {Kind: models.Invalid, Title: "Too few plots",
		Meaning: "Fewer than three plots say nothing about how much the stand varies.",
		Next:    "Count at least three plots, or enter an ocular range instead."},
	"too-few-clumps": {Kind: models.Invalid, Title: "Too few clumps",
		Meaning: "Fewer than three clumps say nothing about how much clumps vary.",
		Next:    "Count the stems of at least three clumps, or enter an ocular range instead."},
	"sample-beyond-clumps": {Kind: models.Invalid, Title: "The sample is larger than the count",
		Meaning: "More clumps were sampled than were counted.",
		Next:    "Check clumps.total and clumps.stems_on_sample."},
}
