package rules

import (
	"sort"

	"withybed/models"
)

// runningSums answers sums of a ledger over any span of days.
type runningSums struct {
	days    []models.LedgerDay
	stems   []int // stems[i] is the sum of the first i days
	parents []int
}

func newRunningSums(days []models.LedgerDay) runningSums {
	sums := runningSums{days: days, stems: make([]int, len(days)+1), parents: make([]int, len(days)+1)}
	for i, day := range days {
		sums.stems[i+1] = sums.stems[i] + day.Stems
		sums.parents[i+1] = sums.parents[i] + day.Parents
	}
	return sums
}

// upTo is how many days of the ledger lie on or before a day.
func (s *runningSums) upTo(day models.Date) int {
	return sort.Search(len(s.days), func(i int) bool { return s.days[i].TakenOn.After(day) })
}

// over sums (after, to].
func (s *runningSums) over(after, to models.Date) (stems, parents int) {
	i, j := s.upTo(after), s.upTo(to)
	return s.stems[j] - s.stems[i], s.parents[j] - s.parents[i]
}

// daysIn are the days in (after, to] on which stems are on the ledger. Days
// whose entries sum to zero are not among them.
func (s *runningSums) daysIn(after, to models.Date) []models.Date {
	var days []models.Date
	for _, day := range s.days[s.upTo(after):s.upTo(to)] {
		if day.Stems != 0 {
			days = append(days, day.TakenOn)
		}
	}
	return days
}

// taken is the stems of the window that ends on a day, (t−W, t], cut or set aside.
func (h *history) taken(t models.Date) int {
	stems, _ := h.windowOf(t)
	return stems
}

// parents is the parent plants of the window that ends on a day.
func (h *history) parents(t models.Date) int {
	_, parents := h.windowOf(t)
	return parents
}

// windowOf sums the window that ends on a day. What is set aside is on the ledger for
// the first day of its share, and counts in every window in which it may yet be cut.
func (h *history) windowOf(t models.Date) (stems, parents int) {
	after := t.Add(-h.ruleOn(t).WindowDays)
	stems, parents = h.ledger.over(after, t)
	for i := range h.Shares {
		if s := &h.Shares[i]; !s.FromDay.After(after) && s.ToDay.After(after) {
			stems, parents = stems+s.Left, parents+s.LeftParents
		}
	}
	return stems, parents
}

// asideIn is how many stems of the window that ends on a day are set aside.
func (h *history) asideIn(t models.Date) int {
	stems := 0
	for _, s := range h.heldIn(t) {
		stems += s.Left
	}
	return stems
}

// heldIn are the crew shares that count in the window that ends on a day.
func (h *history) heldIn(t models.Date) []*models.OpenShare {
	after := t.Add(-h.ruleOn(t).WindowDays)
	var held []*models.OpenShare
	for i := range h.Shares {
		if s := &h.Shares[i]; !s.FromDay.After(t) && s.ToDay.After(after) {
			held = append(held, s)
		}
	}
	return held
}

// daysAsked are the day itself and every later day with stems on the ledger
// whose window holds it: a late entry must not break a window that a later cut
// already filled. No cap holds on days of salvage.
func (h *history) daysAsked(on models.Date) []models.Date {
	days := []models.Date{on}
	for _, t := range h.ledger.daysIn(on, on.Add(h.longestWindow()-1)) {
		if on.After(t.Add(-h.ruleOn(t).WindowDays)) && h.salvageOn(t) == nil {
			days = append(days, t)
		}
	}
	return days
}

func (h *history) longestWindow() int {
	longest := 0
	for _, version := range h.Rules {
		longest = max(longest, version.WindowDays)
	}
	return longest
}

// limit is the most stems of the window that ends on a day: ⌊cap × bound⌋ of the
// counted survey while it is good, and no more than ⌊cap/2 × bound⌋ of each later
// ocular one; otherwise that of the latest survey alone. Without one it is 0.
func (h *history) limit(t models.Date) int {
	limit, _ := h.limitAndBase(t)
	return limit
}

// base is the survey that sets the limit on a day, or nil.
func (h *history) base(t models.Date) *models.Survey {
	_, survey := h.limitAndBase(t)
	return survey
}

func (h *history) limitAndBase(t models.Date) (int, *models.Survey) {
	inForce := h.surveyInForce(t)
	if inForce == nil {
		return 0, nil
	}
	limit, base := h.cap(t, inForce), inForce
	for _, later := range h.surveysAfter(inForce, t) {
		if l := h.cap(t, later); l < limit {
			limit, base = l, later
		}
	}
	return limit, base
}

// cap is ⌊stand cap × bound⌋ of a survey, of half the cap if it is ocular.
func (h *history) cap(t models.Date, survey *models.Survey) int {
	halves := 2
	if !survey.Counted() {
		halves = 1
	}
	return h.ruleOn(t).StandCap.FloorMul(survey.LowerBound, halves, 2)
}

// capOn is the cap in words.
func (h *history) capOn(t models.Date, survey *models.Survey) string {
	text := h.ruleOn(t).StandCap.String()
	if !survey.Counted() {
		text = "half of " + text
	}
	return text
}

// surveyInForce is the latest counted survey while it is good, and otherwise the
// latest survey of any kind, good or not.
func (h *history) surveyInForce(t models.Date) *models.Survey {
	for i := h.surveysUpTo(t) - 1; i >= 0; i-- {
		if h.superseded(i) || !h.Surveys[i].Counted() {
			continue
		}
		if h.good(&h.Surveys[i], t) {
			return &h.Surveys[i]
		}
		break
	}
	return h.latestSurvey(t)
}

// surveysAfter are the surveys after one, up to a day; those after the latest
// counted one are all ocular.
func (h *history) surveysAfter(first *models.Survey, t models.Date) []*models.Survey {
	var later []*models.Survey
	for i := range h.surveysUpTo(t) {
		if h.Surveys[i].SurveyedOn.After(first.SurveyedOn) && !h.superseded(i) {
			later = append(later, &h.Surveys[i])
		}
	}
	return later
}

func (h *history) latestSurvey(t models.Date) *models.Survey {
	if n := h.surveysUpTo(t); n > 0 {
		return &h.Surveys[n-1]
	}
	return nil
}

func (h *history) surveysUpTo(t models.Date) int {
	return sort.Search(len(h.Surveys), func(i int) bool { return h.Surveys[i].SurveyedOn.After(t) })
}

// superseded says that a survey entered later is of the same day.
func (h *history) superseded(i int) bool {
	return i+1 < len(h.Surveys) && h.Surveys[i+1].SurveyedOn == h.Surveys[i].SurveyedOn
}

func (h *history) good(survey *models.Survey, t models.Date) bool {
	return t.Sub(survey.SurveyedOn) <= h.ruleOn(t).SurveyValidDays &&
		h.disturbedBetween(survey.SurveyedOn, t) == nil
}

// disturbedBetween is the first disturbance from one day to another, both
// included: a count of the day of a flood is taken to be from before it.
func (h *history) disturbedBetween(from, to models.Date) *models.Disturbance {
	for i := range h.Disturbances {
		event := &h.Disturbances[i]
		if !event.HappenedOn.Before(from) && !event.HappenedOn.After(to) {
			return event
		}
	}
	return nil
}

// plantsOn is the survey in force on a day, and whether it counted plants.
func (h *history) plantsOn(t models.Date) (*models.Survey, bool) {
	survey := h.surveyInForce(t)
	if survey == nil {
		return nil, false
	}
	_, counted := survey.PlantsCounted()
	return survey, counted
}

func methodWords(survey *models.Survey) string {
	switch survey.Method {
	case models.PlotCount:
		if !survey.Counted() {
			return "plots chosen by eye"
		}
		return "plot"
	case models.ClumpCount:
		return "clump"
	case models.ClumpsFromPlots:
		return "clumps from plots"
	}
	return string(survey.Method)
}
