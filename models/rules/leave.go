package rules

import (
	"fmt"

	"withybed/models"
)

// leave says whether a cut is within the count, and that leave to cut is not on
// file: the count alone never gives it.
func (h *history) leave(cut Cut, answer *models.Allowance) string {
	are := models.Counted(answer.Stems, "stem") + " " + models.Are(answer.Stems)
	within := are + " within the count"
	switch {
	case answer.Allowed < answer.Stems:
		within = fmt.Sprintf("%s not within the count: %s", are, answer.Binding.Detail)
	case h.parentsUnsaid(cut):
		within += ", with the per-plant rule left out: say from how many plants they are cut"
	}
	who := "the land manager"
	if h.LandManager != "" {
		who += " (" + h.LandManager + ")"
	}
	return within + ". Leave to cut is not on file: ask " + who + "."
}

// daysOfYear are the days of the longest year.
const daysOfYear = 366

// instead is what would help a cut that is possible on no day as things are. A
// new count lifts neither a closure nor the protection of a taxon, and does not
// make many plants of few.
func (h *history) instead(cut Cut) string {
	every := models.MaxCount
	fromEvery := Cut{On: cut.On, Stems: cut.Stems, Parents: &every}
	switch {
	case h.Taxon.Protected:
		return "not without an authority on file"
	case h.closedAllYear(cut.On):
		return "not while the stand is closed"
	case h.possibleFrom(fromEvery) != nil:
		return "not from so few plants: take them from more"
	case h.closureOn(cut.On) != nil:
		return "not while the stand is closed, and not before a new count"
	}
	return "not before a new count"
}

func (h *history) closedAllYear(from models.Date) bool {
	for day := range daysOfYear {
		if h.closureOn(from.Add(day)) == nil {
			return false
		}
	}
	return true
}
