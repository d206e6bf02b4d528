package rules

import (
	"fmt"

	"withybed/models"
)

// nestCheckDays is for how many days after it a look for nests is good.
const nestCheckDays = 7

// nestLook is the latest look for nests on or before a day that is good still, or
// nil.
func (h *history) nestLook(day models.Date) *models.NestLook {
	for i := len(h.NestChecks) - 1; i >= 0; i-- {
		look := &h.NestChecks[i]
		if look.CheckedOn.After(day) {
			continue
		}
		if day.Sub(look.CheckedOn) > nestCheckDays {
			return nil
		}
		return look
	}
	return nil
}

// lookedOver says that a look for nests that is good on a day found none.
func (h *history) lookedOver(day models.Date) bool {
	look := h.nestLook(day)
	return look != nil && !look.NestsFound
}

// nestWords is what stands in the way of a cut where nests are looked for first.
func (h *history) nestWords(day models.Date) string {
	if look := h.nestLook(day); look != nil {
		return fmt.Sprintf(" where nests are in use, and %s found some on %s", orSomeone(look.CheckedBy), look.CheckedOn)
	}
	return fmt.Sprintf(" until someone has looked for nests: no look of the last %d days is on file", nestCheckDays)
}

func orSomeone(code string) string {
	if code == "" {
		return "someone"
	}
	return code
}

// restOn is a rest that holds on a day, or nil; the one that lasts longest.
func (h *history) restOn(day models.Date, stops func(*models.Rest) bool) *models.Rest {
	var found *models.Rest
	for i := range h.Rests {
		r := &h.Rests[i]
		if r.StartsOn.After(day) || !r.EndsOn.IsZero() && r.EndsOn.Before(day) || !stops(r) {
			continue
		}
		if found == nil || r.EndsOn.IsZero() || !found.EndsOn.IsZero() && r.EndsOn.After(found.EndsOn) {
			found = r
		}
	}
	return found
}

// rest is the rule that a stand at rest is not cut. A rest never stops what is drawn
// on a share that was set aside before it was entered.
func (h *history) rest(cut Cut) models.RuleAllowed {
	r := h.restOn(cut.On, func(*models.Rest) bool { return true })
	if r == nil {
		return noLimit(RuleRest, "no rest holds on "+cut.On.String())
	}
	younger := func(r *models.Rest) bool { return cut.Share == nil || !cut.Share.EnteredAt.Before(r.EnteredAt) }
	if h.restOn(cut.On, younger) == nil {
		return limited(RuleRest, cut.Share.Left, fmt.Sprintf("the share of %s was set aside before the rest", cut.Share.Crew))
	}
	until := "until the coordinator gives its end"
	if !r.EndsOn.IsZero() {
		until = "to " + r.EndsOn.String()
	}
	return limited(RuleRest, 0, fmt.Sprintf("the stand rests from %s %s (%s)", r.StartsOn, until, r.Why))
}

// salvageOn is the salvage that goes on on a day, or nil.
func (h *history) salvageOn(day models.Date) *models.SalvagePeriod {
	for i := range h.Salvages {
		if s := &h.Salvages[i]; !s.StartsOn.After(day) && !s.EndsOn.Before(day) {
			return s
		}
	}
	return nil
}

func salvageWords(s *models.SalvagePeriod) string {
	return fmt.Sprintf("salvage to %s, free of caps: %s (authority: %s)", s.EndsOn, s.Why, s.Authority)
}

// RestAfter is the rest that a batch over a limit begins, from the day after it was
// cut until the coordinator gives its end. Identifier and time of entry are left to
// the caller.
func RestAfter(batch *models.Batch) models.Rest {
	return models.Rest{
		StandID: batch.StandID, BatchID: &batch.ID, StartsOn: batch.CollectedOn.Add(1), SetBy: batch.CollectedBy,
		Why: fmt.Sprintf("batch %s was cut over a limit", batch.Code),
	}
}
