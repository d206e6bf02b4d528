package rules

import (
	"fmt"
	"slices"

	"withybed/models"
)

// EnterRest makes the record of a rest, from today where no first day is given.
// Identifier, stand, and the times it was set and entered, are left to the caller.
func EnterRest(req models.NewRest, today models.Date) (models.Rest, error) {
	rest := models.Rest{StartsOn: startOn(req.From, today), EndsOn: req.To, Why: models.Clean(req.Why), SetBy: models.Clean(req.By)}
	var f models.Faults
	if !rest.EndsOn.IsZero() && rest.EndsOn.Before(rest.StartsOn) {
		f.Add("out-of-order", "to", rest.EndsOn, "is %s, before the first day, %s", rest.EndsOn, rest.StartsOn)
	}
	needText(&f, "why", req.Why, models.MaxNote)
	checkText(&f, "by", req.By, models.MaxName)
	return rest, f.Err()
}

// EndRest gives a rest of a stand its end, or an earlier one, and answers the rest as
// it was and the one that stands in for it. What lasts longer than it did is a rest
// of its own, since it stops shares that were set aside meanwhile. Identifier and time
// of entry of the second are left to the caller.
func EndRest(stand *models.StandRecord, id string, req models.NewRestEnd) (before, after models.Rest, err error) {
	i := slices.IndexFunc(stand.Rests, func(r models.Rest) bool { return r.ID == id })
	if i < 0 {
		return before, after, models.Errorf(models.NotFound, "no-such-rest",
			"there is no rest %q of %s, or it was given another end: list its rests to see those that stand", id, stand.Code)
	}
	before = stand.Rests[i]
	var f models.Faults
	needText(&f, "why", req.Why, models.MaxNote)
	checkText(&f, "by", req.By, models.MaxName)
	after = endedOn(&f, "to", &before, req.To)
	return before, after, f.Err()
}

// endedOn is a rest with an end, which is given in a field of a request.
func endedOn(f *models.Faults, field string, before *models.Rest, to models.Date) models.Rest {
	switch {
	case to.IsZero():
		f.Add("invalid", field, nil, "is missing: the last day of the rest")
	case to.Before(before.StartsOn):
		f.Add("out-of-order", field, to, "is %s, before the rest begins, on %s: a rest that is not to be is voided", to, before.StartsOn)
	case !before.EndsOn.IsZero() && !to.Before(before.EndsOn):
		f.Add("out-of-order", field, to, "is %s, and the rest ends on %s already: set another rest for the days after it", to, before.EndsOn)
	}
	after := *before
	after.EndsOn = to
	return after
}

// EndOfRest is what a rest said before it was given an end, and what it says after, by
// the names of its fields.
func EndOfRest(before, after *models.Rest) (was, is map[string]any) {
	was, is = map[string]any{}, map[string]any{"to": after.EndsOn}
	if !before.EndsOn.IsZero() {
		was["to"] = before.EndsOn
	}
	return was, is
}

// RestAfter is the rest that a batch over a limit begins, from the day after it was
// cut until the coordinator gives its end. Identifier, and the times it was set and
// entered, are left to the caller.
func RestAfter(batch *models.Batch) models.Rest {
	return models.Rest{
		StandID: batch.StandID, BatchID: &batch.ID, StartsOn: batch.CollectedOn.Add(1), SetBy: batch.CollectedBy,
		Why: fmt.Sprintf("batch %s was cut over a limit", batch.Code),
	}
}

// restBegins warns that a batch over a limit begins a rest.
func restBegins(batch *models.Batch, stand string) string {
	return fmt.Sprintf("a limit was passed: %s rests from %s until the coordinator gives the end", stand, RestAfter(batch).StartsOn)
}

// RestOfBatch is the rest that a batch began, as long as it stands, or nil.
func RestOfBatch(stand *models.StandRecord, batchID string) *models.Rest {
	for i := range stand.Rests {
		if r := &stand.Rests[i]; r.BatchID != nil && *r.BatchID == batchID {
			return r
		}
	}
	return nil
}

// EndRestInReview gives the rest that a batch began the end that its review names.
func EndRestInReview(stand *models.StandRecord, batch *models.Batch, req models.NewReview) (before, after models.Rest, err error) {
	rest := RestOfBatch(stand, batch.ID)
	if rest == nil {
		return before, after, models.InvalidField("invalid", "rest_until", req.RestUntil,
			"is given, and %s began no rest of %s that still stands", batch.Code, stand.Code)
	}
	var f models.Faults
	after = endedOn(&f, "rest_until", rest, req.RestUntil)
	return *rest, after, f.Err()
}

// OpenRest warns that the rest which a batch began has no end yet.
func OpenRest(stand *models.StandRecord, batch *models.Batch) []string {
	rest := RestOfBatch(stand, batch.ID)
	if rest == nil || !rest.EndsOn.IsZero() {
		return nil
	}
	return []string{fmt.Sprintf("%s rests from %s on, and the rest has no end yet: give its last day as rest_until of a review of %s, or end the rest itself, which is among those of %s", stand.Code, rest.StartsOn, batch.Code, stand.Code)}
}

// RestsFrom are the rests of a stand that hold on a day or begin later.
func RestsFrom(stand *models.StandRecord, day models.Date) []models.Rest {
	rests := []models.Rest{}
	for _, r := range stand.Rests {
		if r.EndsOn.IsZero() || !r.EndsOn.Before(day) {
			rests = append(rests, r)
		}
	}
	return rests
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

func anyRest(*models.Rest) bool { return true }

// rest is the rule that a stand at rest is not cut. A rest never stops what is drawn
// on a share that was set aside before it was set.
func (h *history) rest(cut Cut) models.RuleAllowed {
	stops := anyRest
	if cut.Share != nil && cut.Share.Covers(cut.On) {
		stops = func(r *models.Rest) bool { return !cut.Share.EnteredAt.Before(r.SetAt) }
	}
	if r := h.restOn(cut.On, stops); r != nil {
		return limited(RuleRest, 0, restWords(r))
	}
	if h.restOn(cut.On, anyRest) != nil {
		return limited(RuleRest, cut.Share.Left, fmt.Sprintf("the share of %s was set aside before the rest", cut.Share.Crew))
	}
	return noLimit(RuleRest, "no rest holds on "+cut.On.String())
}

func restWords(r *models.Rest) string {
	until := "until the coordinator gives its end"
	if !r.EndsOn.IsZero() {
		until = "to " + r.EndsOn.String()
	}
	return fmt.Sprintf("the stand rests from %s %s (%s)", r.StartsOn, until, r.Why)
}
