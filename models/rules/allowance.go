package rules

import (
	"fmt"

	"withybed/models"
)

// The codes of the rules a cut has to pass, in the order that settles ties.
const (
	RuleProtection = "protection"
	RulePermit     = "permit"
	RuleClosure    = "closure"
	RuleRest       = "rest"
	RuleSurvey     = "survey"
	RulePerPlant   = "per-plant"
	RuleStand      = "stand"
)

// Cut is stems to be cut from a stand on a day. Parents is how many plants they
// come from; nil leaves the per-plant rule out. Tagged are the plants known one by
// one. Permit is the paper they are cut on and Drawn how much of it in its unit;
// without one any that covers the stand is looked at, unless Logged says that this is
// a batch, which has to name its own. Share is the crew share they are taken from;
// SetAside says that they are to be set aside as one, for which no permit is asked.
type Cut struct {
	On      models.Date
	Stems   int
	Parents *int
	Tagged  []models.Parent
	Permit  *models.Permit
	Drawn   models.Decimal
	By      string // who cuts; anyone where it is empty
	Logged  bool
	Share   *models.OpenShare

	SetAside bool
}

// Allowance answers how many stems may be cut from a stand on a day, by every
// rule, and from which day on the stems of the cut would be possible.
func Allowance(stand *models.StandRecord, cut Cut) models.Allowance {
	h := newHistory(stand)
	answer := h.weighMost(cut)
	answer.PossibleFrom = h.possibleFrom(cut)
	if answer.PossibleFrom == nil && answer.Allowed < cut.Stems {
		answer.Instead = h.instead(cut)
		answer.Binding.Detail += "; " + answer.Instead
	}
	answer.Share = shareWords(cut.Share, min(cut.Stems, answer.Allowed))
	answer.Leave = h.leave(cut, &answer)
	answer.Sentence = h.sentence(cut, &answer)
	return answer
}

// weighMost is weigh where the most that is possible is asked for as well: a cut that
// takes less than its share holds tells no more than that it passes, so then all that is
// left of the share is weighed.
func (h *history) weighMost(cut Cut) models.Allowance {
	answer := h.weigh(cut)
	if cut.Share == nil || answer.Allowed < cut.Stems || cut.Stems >= cut.Share.Left {
		return answer
	}
	whole := cut
	whole.Stems = cut.Share.Left
	if most := h.weigh(whole); most.Allowed > answer.Allowed {
		most.Stems = cut.Stems
		return most
	}
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
	case RulePermit:
		return "no-permit"
	case RuleRest:
		return "at-rest"
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
	return newHistory(stand).worstUse(today).exceeded()
}

// worstUse is the day of the window that ends on a day on which the stems taken are
// the furthest over the limit; no day where they are within it. No limit holds on days
// of salvage.
func (h *history) worstUse(on models.Date) standUse {
	worst := standUse{}
	for _, day := range h.ledger.daysIn(on.Add(-h.ruleOn(on).WindowDays), on) {
		if use := h.useOn(day); use.over() > worst.over() && h.salvageOn(day) == nil {
			worst = use
		}
	}
	return worst
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
	drawn, _ := cut.drawn()
	own, window := float64(cut.Stems)/bound, float64(h.taken(cut.On)+cut.Stems-drawn)/bound
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
		Taken: h.taken(cut.On), SetAside: h.asideIn(cut.On), Limit: h.limit(cut.On),
		Rules: []models.RuleAllowed{
			h.protection(cut), h.permit(cut), h.closure(cut.On), h.rest(cut), h.survey(cut.On), h.perPlant(cut), h.standCap(cut),
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
	if last := answer.Rules[len(answer.Rules)-1]; answer.Binding == nil { // a salvage sets it free of every number
		answer.Allowed, answer.Binding = models.MaxCount, &models.Binding{Code: last.Code, Detail: last.Detail}
	}
	return answer
}

func (h *history) closure(on models.Date) models.RuleAllowed {
	closure := h.closureOn(on)
	if closure == nil {
		return noLimit(RuleClosure, "no closure holds on "+on.String())
	}
	detail := fmt.Sprintf("closed from %s to %s", closure.From, closure.To)
	if closure.ofPlace {
		detail = "the whole place is " + detail
	}
	if closure.EveryYear {
		detail += " every year"
	}
	if closure.Kind == models.NestCheck {
		detail += h.nestWords(on)
	}
	if closure.Reason != "" {
		detail += " (" + closure.Reason + ")"
	}
	return limited(RuleClosure, 0, detail)
}

func (h *history) survey(on models.Date) models.RuleAllowed {
	if salvage := h.salvageOn(on); salvage != nil {
		return noLimit(RuleSurvey, salvageWords(salvage))
	}
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
func (h *history) standCap(cut Cut) models.RuleAllowed {
	if salvage := h.salvageOn(cut.On); salvage != nil {
		return noLimit(RuleStand, salvageWords(salvage))
	}
	allowed, tightest := 0, cut.On
	for i, day := range h.daysAsked(cut.On) {
		left := h.limit(day) - h.taken(day)
		if all := cut.within(left, left-cut.adds()); i == 0 || all < allowed {
			allowed, tightest = all, day
		}
	}
	detail := h.useOn(tightest).words()
	if base := h.base(tightest); base != nil {
		detail += fmt.Sprintf(" (%s × %s, the lower bound of the %s count of %s)",
			h.capOn(tightest, base), base.LowerBound, methodWords(base), base.SurveyedOn)
	}
	return limited(RuleStand, max(0, allowed), detail)
}

// adds is by how many stems a cut raises what is taken: what it draws on a share is
// counted already.
func (c *Cut) adds() int {
	drawn, _ := c.drawn()
	return c.Stems - drawn
}

// within is how many stems of a cut a cap allows that leaves some stems before it and
// some after it, both below zero where the cap is passed. What is drawn on a share is
// never refused for what is taken in any case.
func (c *Cut) within(before, after int) int {
	if drawn, _ := c.drawn(); drawn > 0 {
		after -= min(0, before)
	}
	return c.Stems + after
}

// perPlant is the cap on the plants cut from, on the same days as the stand cap,
// wherever the survey in force counted plants.
func (h *history) perPlant(cut Cut) models.RuleAllowed {
	if salvage := h.salvageOn(cut.On); salvage != nil {
		return noLimit(RulePerPlant, salvageWords(salvage))
	}
	if h.parentsUnsaid(cut) {
		return noLimit(RulePerPlant, "left out: say how many plants are cut from")
	}
	answer := noLimit(RulePerPlant, "the survey did not count plants")
	for _, day := range h.daysAsked(cut.On) {
		survey, counted := h.plantsOn(day)
		if !counted {
			continue
		}
		for _, found := range []models.RuleAllowed{h.taggedOn(cut, day, survey), h.parentsOn(cut, day, survey), h.allPlantsOn(cut, day, survey)} {
			if found.Allowed != nil && (answer.Allowed == nil || *found.Allowed < *answer.Allowed) {
				answer = found
			}
		}
	}
	return answer
}

// parentsUnsaid says that plants were counted, and it is not said how many of
// them are cut from.
func (h *history) parentsUnsaid(cut Cut) bool {
	_, counted := h.plantsOn(cut.On)
	return counted && cut.Parents == nil
}

// forbids is the rule by which no stem at all may be cut, whatever the counts, or
// nil.
func (h *history) forbids(cut Cut) *models.RuleAllowed {
	for _, rule := range []models.RuleAllowed{h.protection(cut), h.permit(cut), h.closure(cut.On), h.rest(cut), h.survey(cut.On)} {
		if rule.Allowed != nil && *rule.Allowed < max(1, cut.Stems) {
			return &rule
		}
	}
	return nil
}

// possibleFrom is the first day on or after the cut's on which it would pass
// every rule, or nil if there is none that the records of today allow.
func (h *history) possibleFrom(cut Cut) *models.Date {
	last := h.lastGoodDay()
	if cut.On.After(last) {
		return nil
	}
	for _, day := range append([]models.Date{cut.On}, h.changeDays(cut.On, last)...) {
		cut.On = day
		if h.forbids(cut) == nil && h.fits(cut) {
			return &day
		}
	}
	return nil
}

func (h *history) fits(cut Cut) bool {
	for _, rule := range []models.RuleAllowed{h.perPlant(cut), h.standCap(cut)} {
		if rule.Allowed != nil && *rule.Allowed < cut.Stems {
			return false
		}
	}
	return true
}

// lastGoodDay is the last day on which any survey can be good, or a salvage goes on.
func (h *history) lastGoodDay() models.Date {
	valid := 0
	for _, version := range h.Rules {
		valid = max(valid, version.SurveyValidDays)
	}
	last := models.Date{}
	if n := len(h.Surveys); n > 0 {
		last = h.Surveys[n-1].SurveyedOn.Add(valid)
	}
	for _, s := range h.Salvages {
		if s.EndsOn.After(last) {
			last = s.EndsOn
		}
	}
	return last
}

func limited(code string, allowed int, detail string) models.RuleAllowed {
	return models.RuleAllowed{Code: code, Allowed: &allowed, Detail: detail}
}

func noLimit(code, detail string) models.RuleAllowed {
	return models.RuleAllowed{Code: code, Detail: detail}
}
