package rules

import "withybed/models"

// JudgeCut is how a batch's cut is judged.
func JudgeCut(stand *models.StandRecord, cut Cut) *models.Error {
	return newHistory(stand).judgeCut(cut)
}

// Fractions are the shares of a batch's cut.
func Fractions(stand *models.StandRecord, cut Cut) (survey *models.Survey, harvest, all *float64) {
	return newHistory(stand).fractions(cut)
}
