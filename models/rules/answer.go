package rules

import (
	"fmt"
	"strings"

	"withybed/models"
)

// sentence answers in one sentence whether stems may be cut: the most that is possible
// on the day, what limits it, the number of every rule, and the first day on which the
// stems asked about are possible. It never is a bare yes, since counts give no leave.
func (h *history) sentence(cut Cut, a *models.Allowance) string {
	day := a.On.String()
	if a.Share != "" {
		day += ", " + a.Share + ":"
	}
	return fmt.Sprintf("At %s on %s %s; %s; %s.", h.Code, day, mostWords(a), h.numberWords(cut, a.Rules), firstWords(a))
}

// mostWords is the most that is possible and what limits it.
func mostWords(a *models.Allowance) string {
	asked := models.Counted(a.Stems, "stem") + " " + models.Are(a.Stems)
	limit := limiting(a)
	if limit == nil {
		return fmt.Sprintf("%s free of caps (%s), which is no leave to cut", asked, a.Binding.Detail)
	}
	by := fmt.Sprintf("limited by %s (%s)", limit.Code, strings.TrimRight(limit.Detail, "."))
	most := fmt.Sprintf("%s %s possible at most", models.Counted(a.Allowed, "stem"), models.Are(a.Allowed))
	switch {
	case a.Allowed == 0:
		return "no stem is possible, " + by
	case a.Allowed < a.Stems:
		return fmt.Sprintf("%s and %d are not, %s", most, a.Stems, by)
	}
	return fmt.Sprintf("%s, %s, and %s within the count, which is no leave to cut", most, by, asked)
}

// firstWords is the first day on which the stems asked about are possible.
func firstWords(a *models.Allowance) string {
	asked := models.Counted(a.Stems, "stem")
	switch {
	case a.PossibleFrom == nil:
		return fmt.Sprintf("%s would be possible on no day as things are: %s", asked, a.Instead)
	case *a.PossibleFrom == a.On:
		return fmt.Sprintf("%s %s possible from that day on", asked, models.Are(a.Stems))
	}
	return fmt.Sprintf("%s would be possible from %s", asked, a.PossibleFrom)
}

// limiting is the rule that allows the least, or nil where none sets a number.
func limiting(a *models.Allowance) *models.RuleAllowed {
	for i := range a.Rules {
		if rule := &a.Rules[i]; rule.Allowed != nil && a.Binding != nil && rule.Code == a.Binding.Code {
			return rule
		}
	}
	return nil
}

// numberWords says what number each rule sets.
func (h *history) numberWords(cut Cut, rules []models.RuleAllowed) string {
	var some, none []string
	for _, rule := range rules {
		switch {
		case rule.Allowed != nil:
			some = append(some, fmt.Sprintf("%d by %s", *rule.Allowed, rule.Code))
		case rule.Code == RulePerPlant && h.parentsUnsaid(cut):
			none = append(none, rule.Code+" (left out: say from how many plants they are cut)")
		default:
			none = append(none, rule.Code)
		}
	}
	if len(some) == 0 {
		return "no rule sets a number"
	}
	text := "the rules allow " + inSeries(some)
	if len(none) > 0 {
		text += ", and no number is set by " + inSeries(none)
	}
	return text
}

// inSeries are words one after the other: a, b and c.
func inSeries(words []string) string {
	last := len(words) - 1
	if last < 1 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:last], ", ") + " and " + words[last]
}
