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

// PossibleFrom is the first day on which a cut would pass every rule, PossibleDayByDay
// the same found by asking about every day.
func PossibleFrom(stand *models.StandRecord, cut Cut) *models.Date {
	return newHistory(stand).possibleFrom(cut)
}

// PossibleDayByDay asks every rule about every day.
func PossibleDayByDay(stand *models.StandRecord, cut Cut) *models.Date {
	h := newHistory(stand)
	for last := h.lastGoodDay(); !cut.On.After(last); cut.On = cut.On.Add(1) {
		if h.forbids(cut) == nil && h.fits(cut) {
			return &cut.On
		}
	}
	return nil
}
