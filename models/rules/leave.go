package rules

import (
	"fmt"
	"slices"
	"strings"

	"withybed/models"
)

// leave says whether a cut is within the count, and what is on file about leave to
// cut: the count alone never gives it.
func (h *history) leave(cut Cut, answer *models.Allowance) string {
	are := models.Counted(answer.Stems, "stem") + " " + models.Are(answer.Stems)
	within := are + " within the count"
	switch {
	case answer.Allowed < answer.Stems:
		within = fmt.Sprintf("%s not within the count: %s", are, answer.Binding.Detail)
	case h.salvageOn(cut.On) != nil:
		within = fmt.Sprintf("%s to be had as salvage, free of caps", are)
	case h.parentsUnsaid(cut):
		within += ", with the per-plant rule left out: say from how many plants they are cut"
	}
	return within + ". " + h.papersOn(cut) + h.consentOn(cut)
}

// papersOn says on what permit or leave a cut may be made, and whom to ask where
// there is none on file.
func (h *history) papersOn(cut Cut) string {
	if p := h.bestPaper(cut); p != nil {
		return paperTerms(p)
	}
	who := "the land manager"
	if h.LandManager != "" {
		who += " (" + h.LandManager + ")"
	}
	switch {
	case h.protectedBy() != "":
		return "A permit with an authority is required, and is not on file: ask " + who + "."
	case h.PermitRequired == models.PermitNeeded:
		return "A permit is required, and none on file covers this cut: ask " + who + "."
	case h.PermitRequired == models.PermitNotNeeded:
		return fmt.Sprintf("No permit is required (%s): what %s says and local rules still decide.", inShort(h.PermitReason), who)
	}
	return "Leave to cut is not on file: ask " + who + "."
}

// bestPaper is the permit or leave that covers a cut and leaves the most room for it,
// or nil: where an authority is needed one that names it, then one that sets no number,
// then one that counts something else than stems, and otherwise that with the most left.
func (h *history) bestPaper(cut Cut) *models.Permit {
	var best *models.Permit
	for _, p := range h.papers(cut) {
		if h.covers(&p, cut) == "" && (best == nil || h.bearsMore(&p, best, cut)) {
			best = &p
		}
	}
	return best
}

// bearsMore says that a permit leaves more room for a cut than another.
func (h *history) bearsMore(p, other *models.Permit, cut Cut) bool {
	if authorised := p.Authority != ""; h.protectedBy() != "" && authorised != (other.Authority != "") {
		return authorised
	}
	if p.Quantity == nil || other.Quantity == nil {
		return other.Quantity != nil
	}
	if one, two := roomOf(h.permitted(p, cut)), roomOf(h.permitted(other, cut)); one != two {
		return one > two
	}
	return p.Unit == other.Unit && leftOf(p) > leftOf(other)
}

// roomOf is how many stems a rule allows, MaxCount where it sets no number.
func roomOf(rule models.RuleAllowed) int {
	if rule.Allowed == nil {
		return models.MaxCount
	}
	return *rule.Allowed
}

// paperTerms is a permit with what is left of it, its end and its conditions.
func paperTerms(p *models.Permit) string {
	text := fmt.Sprintf("On file is %s", paperWords(p))
	if p.Quantity != nil {
		text += fmt.Sprintf(", with %s of %s %s left", leftOf(p), *p.Quantity, p.Unit)
	}
	if !p.ValidTo.IsZero() {
		text += ", to " + p.ValidTo.String()
	}
	if len(p.People) > 0 {
		text += ", for " + strings.Join(p.People, ", ")
	}
	if p.Conditions != "" {
		return text + ". Its conditions: " + strings.TrimRight(inShort(p.Conditions), ".") + "."
	}
	return text + "."
}

// consentOn says what is on file of the consent of the people whose gathering place
// a stand is.
func (h *history) consentOn(cut Cut) string {
	text, missing := "", listOf(h.GatheringPlaceOf)
	for i := range h.Permits {
		p := &h.Permits[i]
		if p.Kind != models.ConsentPaper || !holdsOn(p, cut.On) {
			continue
		}
		missing = slices.DeleteFunc(missing, func(people string) bool { return models.NameKey(people) == models.NameKey(p.Issuer) })
		text += fmt.Sprintf(" The consent of %s is on file (%s)", p.Issuer, p.Number)
		if p.Conditions != "" {
			text += ", on these terms: " + strings.TrimRight(inShort(p.Conditions), ".")
		}
		text += "."
	}
	for _, people := range missing {
		text += fmt.Sprintf(" It is a gathering place of %s, and their consent is not on file: ask them first.", people)
	}
	return text
}

// daysOfYear are the days of the longest year.
const daysOfYear = 366

// instead is what would help a cut that is possible on no day as things are. A
// new count lifts neither a closure nor the protection of a taxon, and does not
// make many plants of few.
func (h *history) instead(cut Cut) string {
	every := models.MaxCount
	fromEvery := cut
	fromEvery.Parents, fromEvery.Tagged = &every, nil
	switch {
	case nothing(h.protection(cut)):
		return "not without an authority on file"
	case !allows(h.permit(cut), cut.Stems):
		return h.permitInstead(cut)
	case nothing(h.rest(cut)) && h.restOn(cut.On, func(r *models.Rest) bool { return r.EndsOn.IsZero() }) != nil:
		return "not before the rest has an end"
	case h.closedAllYear(cut.On):
		return "not while the stand is closed"
	case h.possibleFrom(fromEvery) != nil:
		return "not from so few plants: take them from more"
	case h.closureOn(cut.On) != nil:
		return "not while the stand is closed, and not before a new count"
	}
	return "not before a new count"
}

// permitInstead is what would help a cut that its permit does not bear, with what else
// is in its way.
func (h *history) permitInstead(cut Cut) string {
	text := "not without a permit that covers it"
	if h.bestPaper(cut) != nil {
		text = "not without another permit, or more on this one"
	}
	permitted := cut
	permitted.SetAside = true // no permit is asked for
	if h.possibleFrom(permitted) == nil {
		text += ", and " + h.instead(permitted)
	}
	return text
}

// nothing says that a rule allows no stem.
func nothing(rule models.RuleAllowed) bool {
	return rule.Allowed != nil && *rule.Allowed == 0
}

func (h *history) closedAllYear(from models.Date) bool {
	for day := range daysOfYear {
		if h.closureOn(from.Add(day)) == nil {
			return false
		}
	}
	return true
}
