package rules

import "withybed/models"

// TellToday tells in what is shown of a stand what holds today: whether it is closed,
// its rests and salvage, the latest look for nests, and why it has to be counted
// again.
func TellToday(stand *models.StandRecord, today models.Date, view *models.StandView) {
	h := newHistory(stand)
	view.PlaceClosures = PlaceClosuresOn(stand.PlaceClosures, today).Closures
	if view.PlaceClosures == nil {
		view.PlaceClosures = []models.Closure{}
	}
	if closure := h.closure(today); nothing(closure) {
		view.ClosedToday, view.ClosedWhy = true, closure.Detail
	}
	view.Rests, view.AtRest = RestsFrom(stand, today), h.restOn(today, anyRest) != nil
	if salvage := h.salvageOn(today); salvage != nil {
		shown := *salvage
		view.Salvage = &shown
	}
	if look := h.lastLook(today); look != nil {
		shown := *look
		view.NestCheck = &shown
	}
	if survey := h.survey(today); nothing(survey) {
		view.CountAgain = survey.Detail
	}
}
