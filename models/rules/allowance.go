package rules

import (
	"fmt"

	"withybed/models"
)

// The codes of the rules a cut has to pass, in the order that settles ties.
const (
	RuleProtection = "protection"
	RuleClosure    = "closure"
	RuleSurvey     = "survey"
	RulePerPlant   = "per-plant"
	RuleStand      = "stand"
)

// Cut is stems to be cut from a stand on a day. Parents is how many plants they
// come from; nil leaves the per-plant rule out.
type Cut struct {
	On      models.Date
	Stems   int
	Parents *int
}

// Allowance answers how many stems may be cut from a stand on a day, by every
// rule, and from which day on the stems of the cut would be possible.
func Allowance(stand *models.StandRecord, cut Cut) models.Allowance {
	h := newHistory(stand)
	answer := h.weigh(cut)
	answer.PossibleFrom = h.possibleFrom(cut)
	if answer.PossibleFrom == nil && answer.Allowed < cut.Stems {
		answer.Instead = h.instead(cut)
		answer.Binding.Detail += "; " + answer.Instead
	}
	answer.Leave = h.leave(cut, &answer)
	return answer
}

// judgeCut is nil if a cut passes every harvest rule of its stand, and otherwise
// the refusal with the rule that binds and its numbers.
func (h *history) judgeCut(cut Cut) *models.Error {
	answer := h.weigh(cut)
	if answer.Allowed >= cut.Stems {
		return nil
	}
	instead := h.instead(cut)
	if from := h.possibleFrom(cut); from != nil {
		instead = fmt.Sprintf("%s would be possible from %s", models.Counted(cut.Stems, "stem"), from)
	}
	detail := fmt.Sprintf("%s of %s on %s %s refused: %s. Possible that day: %d; %s",
		models.Counted(cut.Stems, "stem"), h.Code, cut.On, models.Are(cut.Stems), answer.Binding.Detail, answer.Allowed, instead)
	return &models.Error{
		Kind: models.Refused, Code: refusalCode(answer.Binding.Code), Detail: detail,
		Allowed: &answer.Allowed, Binding: answer.Binding,
	}
}

func refusalCode(rule string) string {
	switch rule {
	case RuleProtection:
		return "protected"
	case RuleClosure:
		return "closed-season"
	case RuleSurvey:
		return "survey-expired"
	}
	return "over-allowance"
}

// Exceeded says on which day of the window that ends today the stems taken are
// the furthest over the limit as it is known now, or is empty. A later count can
// show that an earlier cut was too much.
func Exceeded(stand *models.StandRecord, today models.Date) string {
	h := newHistory(stand)
	worst, text := 0, ""
	for _, day := range h.ledger.daysIn(today.Add(-h.ruleOn(today).WindowDays), today) {
		taken, limit := h.taken(day), h.limit(day)
		if over := taken - limit; over > worst {
			worst = over
			text = fmt.Sprintf("%s %s taken in the %s to %s, %d over the limit of %d as it is known now",
				models.Counted(taken, "stem"), models.Were(taken), models.Counted(h.ruleOn(day).WindowDays, "day"), day, over, limit)
		}
	}
	return text
}

// ExceededSince is the first day whose window Exceeded may look at: the ledger has
// to be read for the windows that end on it and later.
func ExceededSince(today models.Date) models.Date { return today.Add(-longestWindow) }

// fractions are the shares a cut is of its stand: its own stems, and all stems of
// the window that ends on its day with it, over the lower bound of the survey
// that sets the limit that day. All are nil where no stems are known of.
func (h *history) fractions(cut Cut) (survey *models.Survey, harvest, all *float64) {
	survey = h.base(cut.On)
	if survey == nil || survey.LowerBound <= 0 {
		return survey, nil, nil
	}
	bound := survey.LowerBound.Float()
	own, window := float64(cut.Stems)/bound, float64(h.taken(cut.On)+cut.Stems)/bound
	return survey, &own, &window
}

// history is a stand's record made ready for questions about many days.
type history struct {
	*models.StandRecord
	ledger runningSums
}

func newHistory(stand *models.StandRecord) *history {
	return &history{StandRecord: stand, ledger: newRunningSums(stand.Ledger)}
}

// weigh asks every rule about a day, leaving possible_from and leave open.
func (h *history) weigh(cut Cut) models.Allowance {
	answer := models.Allowance{
		Stand: h.Code, On: cut.On, Stems: cut.Stems,
		Taken: h.taken(cut.On), Limit: h.limit(cut.On),
		Rules: []models.RuleAllowed{
			h.protection(), h.closure(cut.On), h.survey(cut.On), h.perPlant(cut), h.standCap(cut.On),
		},
	}
	if base := h.base(cut.On); base != nil {
		answer.Survey = base.Brief()
	}
	for _, rule := range answer.Rules {
		if rule.Allowed == nil {
			continue
		}
		if answer.Binding == nil || *rule.Allowed < answer.Allowed {
			answer.Allowed = *rule.Allowed
			answer.Binding = &models.Binding{Code: rule.Code, Detail: rule.Detail}
		}
	}
	return answer
}

func (h *history) protection() models.RuleAllowed {
	if !h.Taxon.Protected {
		return noLimit(RuleProtection, h.Taxon.ScientificName+" is not marked as protected")
	}
	return limited(RuleProtection, 0, h.Taxon.ScientificName+" is protected, and no authority to cut it is on file")
}

func (h *history) closure(on models.Date) models.RuleAllowed {
	closure := h.closureOn(on)
	if closure == nil {
		return noLimit(RuleClosure, "no closure holds on "+on.String())
	}
	detail := fmt.Sprintf("closed from %s to %s", closure.From, closure.To)
	if closure.EveryYear {
		detail += " every year"
	}
	if closure.Kind == models.NestCheck {
		detail += " until someone has looked for nests, and no look can be recorded yet"
	}
	if closure.Reason != "" {
		detail += " (" + closure.Reason + ")"
	}
	return limited(RuleClosure, 0, detail)
}

func (h *history) survey(on models.Date) models.RuleAllowed {
	latest := h.latestSurvey(on)
	if latest == nil {
		return limited(RuleSurvey, 0, "the stand was not counted on or before "+on.String())
	}
	age := on.Sub(latest.SurveyedOn)
	if event := h.disturbedBetween(latest.SurveyedOn, on); event != nil {
		return limited(RuleSurvey, 0, fmt.Sprintf("%s on %s ended the survey of %s: count the stand again",
			event.Kind, event.HappenedOn, latest.SurveyedOn))
	}
	valid := h.ruleOn(on).SurveyValidDays
	detail := fmt.Sprintf("the survey of %s is %s old and good for %d", latest.SurveyedOn, models.Counted(age, "day"), valid)
	if age > valid {
		return limited(RuleSurvey, 0, detail+": count the stand again")
	}
	return noLimit(RuleSurvey, detail)
}

// standCap is the window rule: on the day and on every later day with stems on
// the ledger whose window holds the day, no more may be taken than the limit.
func (h *history) standCap(on models.Date) models.RuleAllowed {
	allowed, tightest := 0, on
	for i, day := range h.daysAsked(on) {
		if left := h.limit(day) - h.taken(day); i == 0 || left < allowed {
			allowed, tightest = left, day
		}
	}
	rule := h.ruleOn(tightest)
	detail := takenWords(h.taken(tightest), h.limit(tightest), rule.WindowDays, tightest)
	if base := h.base(tightest); base != nil {
		detail += fmt.Sprintf(" (%s × %s, the lower bound of the %s count of %s)",
			h.capOn(tightest, base), base.LowerBound, methodWords(base), base.SurveyedOn)
	}
	return limited(RuleStand, max(0, allowed), detail)
}

// perPlant is the cap on the plants cut from, on the same days as the stand cap,
// wherever the survey in force counted plants.
func (h *history) perPlant(cut Cut) models.RuleAllowed {
	if h.parentsUnsaid(cut) {
		return noLimit(RulePerPlant, "left out: say how many plants are cut from")
	}
	parents := 0
	if cut.Parents != nil {
		parents = *cut.Parents
	}
	answer := noLimit(RulePerPlant, "the survey did not count plants")
	for _, day := range h.daysAsked(cut.On) {
		survey, counted := h.plantsOn(day)
		if !counted {
			continue
		}
		share := min(h.parents(day)+parents, *survey.Plants)
		rule := h.ruleOn(day)
		limit := rule.PerPlantCap.FloorMul(survey.LowerBound, share, *survey.Plants)
		left := max(0, limit-h.taken(day))
		if answer.Allowed != nil && *answer.Allowed <= left {
			continue
		}
		answer = limited(RulePerPlant, left, fmt.Sprintf(
			"%s from %d of the %d plants counted on %s (%s × %s ÷ %d × %d)",
			takenWords(h.taken(day), limit, rule.WindowDays, day), share, *survey.Plants, survey.SurveyedOn,
			rule.PerPlantCap, survey.LowerBound, *survey.Plants, share))
	}
	return answer
}

// parentsUnsaid says that plants were counted, and it is not said how many of
// them are cut from.
func (h *history) parentsUnsaid(cut Cut) bool {
	_, counted := h.plantsOn(cut.On)
	return counted && cut.Parents == nil
}

// takenWords is what a window holds of what it may hold.
func takenWords(taken, limit, window int, to models.Date) string {
	return fmt.Sprintf("%d of %s %s taken in the %s to %s",
		taken, models.Counted(limit, "stem"), models.Are(taken), models.Counted(window, "day"), to)
}

// forbidden says that no stem at all may be cut on a day, whatever the counts.
func (h *history) forbidden(on models.Date) bool {
	return h.Taxon.Protected || h.closureOn(on) != nil || !h.hasGoodSurvey(on)
}

// possibleFrom is the first day on or after the cut's on which it would pass
// every rule, or nil if there is none that the records of today allow.
func (h *history) possibleFrom(cut Cut) *models.Date {
	if h.Taxon.Protected || len(h.Surveys) == 0 {
		return nil
	}
	for last := h.lastGoodDay(); !cut.On.After(last); cut.On = cut.On.Add(1) {
		if h.forbidden(cut.On) {
			continue
		}
		if h.fits(cut) {
			day := cut.On
			return &day
		}
	}
	return nil
}

func (h *history) fits(cut Cut) bool {
	for _, day := range h.daysAsked(cut.On) {
		if h.taken(day)+cut.Stems > h.limit(day) {
			return false
		}
	}
	perPlant := h.perPlant(cut)
	return perPlant.Allowed == nil || *perPlant.Allowed >= cut.Stems
}

// lastGoodDay is the last day on which any survey can be good.
func (h *history) lastGoodDay() models.Date {
	valid := 0
	for _, version := range h.Rules {
		valid = max(valid, version.SurveyValidDays)
	}
	return h.Surveys[len(h.Surveys)-1].SurveyedOn.Add(valid)
}

func limited(code string, allowed int, detail string) models.RuleAllowed {
	return models.RuleAllowed{Code: code, Allowed: &allowed, Detail: detail}
}

func noLimit(code, detail string) models.RuleAllowed {
	return models.RuleAllowed{Code: code, Detail: detail}
}
