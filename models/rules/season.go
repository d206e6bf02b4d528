package rules

import (
	"strconv"

	"withybed/models"
)

// TakenBySeason sums a stand's ledger by growth year, the latest first. Each
// season is a share of the lower bound of the survey that set the limit on the
// last day of it with stems. Days come in order.
func TakenBySeason(stand *models.StandRecord, days []models.CutDay) []models.SeasonTaken {
	h := newHistory(stand)
	seasons := []models.SeasonTaken{}
	for i := len(days) - 1; i >= 0; i-- {
		day := days[i]
		if n := len(seasons); n == 0 || seasons[n-1].Season != day.TakenOn.Season() {
			seasons = append(seasons, models.SeasonTaken{Season: day.TakenOn.Season()})
		}
		season := &seasons[len(seasons)-1]
		if season.Stems == 0 && day.Stems != 0 {
			season.SurveyedOn, season.LowerBound = h.baseOf(day.TakenOn)
		}
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

func (h *history) baseOf(day models.Date) (models.Date, *models.Decimal) {
	survey := h.base(day)
	if survey == nil {
		return models.Date{}, nil
	}
	return survey.SurveyedOn, &survey.LowerBound
}

// CheckSeason refuses what is no season, as 2025/99: the second year follows the
// first. Empty text is none.
func CheckSeason(field, season string) error {
	year, err := strconv.Atoi(season[:min(4, len(season))])
	if season == "" || err == nil && models.NewDate(year, 7, 1).Season() == season {
		return nil
	}
	return models.InvalidQuestion("invalid", field, season, "is %q, and a season is written with both its years, as in 2025/26", season)
}
