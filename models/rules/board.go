package rules

import (
	"cmp"
	"slices"

	"withybed/models"
)

// BoardRow is a stand as the board shows it on a day.
func BoardRow(stand *models.StandRecord, on models.Date) models.BoardRow {
	return models.BoardRow{
		Stand: stand.Code, Name: stand.Name, Taxon: stand.Taxon.ScientificName, CommonName: stand.Taxon.CommonName,
		Place: stand.Place, LandManager: stand.LandManager, StandUse: newHistory(stand).use(on),
	}
}

// SortBoard puts the stands of which the most is left first, and those over their limit
// last, the furthest over at the end; stands that are alike go by their codes.
func SortBoard(rows []models.BoardRow) {
	slices.SortFunc(rows, func(a, b models.BoardRow) int {
		return cmp.Or(cmp.Compare(a.Over, b.Over), cmp.Compare(leftOrAll(b.Left), leftOrAll(a.Left)),
			cmp.Compare(models.NameKey(a.Stand), models.NameKey(b.Stand)))
	})
}

func leftOrAll(left *int) int {
	if left == nil {
		return models.MaxCount
	}
	return *left
}

// use asks every rule about one stem on a day, cut from as many plants as it takes.
func (h *history) use(on models.Date) models.StandUse {
	every := models.MaxCount
	cut := Cut{On: on, Stems: 1, Parents: &every}
	answer, worst := h.weigh(cut), h.worstUse(on)
	use := models.StandUse{
		Limit: answer.Limit, Binding: answer.Binding, Over: worst.over(), Exceeded: worst.exceeded(),
		OpenFrom: h.possibleFrom(cut),
	}
	if limiting(&answer) != nil {
		use.Left = &answer.Allowed
	}
	if use.OpenFrom == nil {
		use.Instead = h.instead(cut)
	}
	use.Taken, use.SetAside = answer.Taken-answer.SetAside, answer.SetAside+h.asideAfter(on)
	use.State, use.StateDetail = h.stateOn(on)
	h.tellSurvey(&use, on)
	h.tellPermit(&use, cut)
	return use
}

// asideAfter is how many stems are set aside for days after a day whose windows hold it,
// so that a cut on it has to leave room for them.
func (h *history) asideAfter(on models.Date) int {
	stems := 0
	for i := range h.Shares {
		s := &h.Shares[i]
		if s.FromDay.After(on) && on.After(s.FromDay.Add(-h.ruleOn(s.FromDay).WindowDays)) {
			stems += s.Left
		}
	}
	return stems
}

// stateOn says in a word whether the stand is open on a day, and what holds.
func (h *history) stateOn(on models.Date) (models.StandState, string) {
	if closure := h.closureOn(on); closure != nil {
		state := models.StandClosed
		if closure.Kind == models.NestCheck {
			state = models.StandNestCheck
		}
		return state, h.closure(on).Detail
	}
	if rest := h.rest(Cut{On: on}); rest.Allowed != nil {
		return models.StandAtRest, rest.Detail
	}
	if salvage := h.salvageOn(on); salvage != nil {
		return models.StandSalvage, salvageWords(salvage)
	}
	if survey := h.survey(on); nothing(survey) {
		return models.StandUncounted, survey.Detail
	}
	return models.StandOpen, ""
}

func (h *history) tellSurvey(use *models.StandUse, on models.Date) {
	survey := h.latestSurvey(on)
	if survey == nil {
		return
	}
	age := on.Sub(survey.SurveyedOn)
	use.Survey, use.SurveyAge, use.SurveyGood = survey.Brief(), &age, h.good(survey, on)
}

func (h *history) tellPermit(use *models.StandUse, cut Cut) {
	paper := h.bestPaper(cut)
	switch {
	case paper != nil:
		use.Permit, use.PermitNo, use.PermitTo = models.PermitOnFile, paper.Number, paper.ValidTo
		if paper.Quantity != nil && leftOf(paper) == 0 {
			use.Permit = models.PermitUsedUp
		}
	case h.PermitRequired == models.PermitNeeded || h.protectedBy() != "":
		use.Permit = models.PermitMissing
	case h.PermitRequired == models.PermitNotNeeded:
		use.Permit = models.PermitNotRequired
	default:
		use.Permit = models.PermitUnknown
	}
}
