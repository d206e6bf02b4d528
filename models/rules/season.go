package rules

import "withybed/models"

// TakenBySeason sums a stand's ledger by growth year, the latest first. Each
// season is a share of the lower bound of the survey that set the limit on the
// last day of it with stems. Days come in order.
func TakenBySeason(stand *models.StandRecord, days []models.CutDay) []models.SeasonTaken {
	h := newHistory(stand)
	seasons := []models.SeasonTaken{}
	for i := len(days) - 1; i >= 0; i-- {
		day := days[i]
		if n := len(seasons); n == 0 || seasons[n-1].Season != day.TakenOn.Season() {
			seasons = append(seasons, h.season(day.TakenOn))
		}
		season := &seasons[len(seasons)-1]
		season.Stems += day.Stems
		season.Batches += day.Batches
	}
	for i := range seasons {
		if bound := seasons[i].LowerBound; bound != nil && *bound > 0 {
			share := float64(seasons[i].Stems) / bound.Float()
			seasons[i].Fraction = &share
		}
	}
	return seasons
}

func (h *history) season(last models.Date) models.SeasonTaken {
	season := models.SeasonTaken{Season: last.Season()}
	if survey := h.base(last); survey != nil {
		season.SurveyedOn, season.LowerBound = survey.SurveyedOn, &survey.LowerBound
	}
	return season
}
