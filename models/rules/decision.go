package rules

import (
	"slices"

	"withybed/models"
)

// Decide makes the record of what was decided about a batch. With restick it
// answers the sister that the unrooted cuttings of the tray go into; otherwise
// the sister is nil. Warnings tell what a close leaves behind.
func Decide(r *models.BatchRecord, req models.NewDecision, today models.Date) (models.Decision, *Sister, []string, error) {
	return decideAs(r, req, newSlot(r), today)
}

func decisionOf(req *models.NewDecision) models.Decision {
	return models.Decision{
		DecidedOn: req.On, Action: req.Action, UntilDay: req.Until,
		DecidedBy: models.Clean(req.By), Why: models.Clean(req.Why),
	}
}

func decideAs(r *models.BatchRecord, req models.NewDecision, at slot, today models.Date) (models.Decision, *Sister, []string, error) {
	d := decisionOf(&req)
	if err := checkDecision(&d, today); err != nil {
		return models.Decision{}, nil, nil, err
	}
	story, err := Replay(r, d.DecidedOn)
	if err != nil {
		return models.Decision{}, nil, nil, err
	}
	with, entry := *r, d
	entry.Entry, entry.ID = at.number, at.id
	with.Decisions = append(slices.Clone(r.Decisions), entry)
	sister := lifted(&d, story)
	if sister != nil {
		split := sister.Split
		split.Entry = entry.Entry
		with.Splits = append(slices.Clone(r.Splits), split)
	}
	if err := fits(&with, at, "on", d.DecidedOn); err != nil {
		return models.Decision{}, nil, nil, err
	}
	if d.Action == models.Restick && sister == nil {
		return models.Decision{}, nil, nil, nothingToLift(&d)
	}
	return d, sister, decisionWarnings(&d, &story.Tally), nil
}

func checkDecision(d *models.Decision, today models.Date) error {
	var f models.Faults
	checkPast(&f, "on", d.DecidedOn, today)
	needWord(&f, "action", d.Action, models.Actions)
	checkText(&f, "by", d.DecidedBy, models.MaxName)
	checkText(&f, "why", d.Why, models.MaxNote)
	switch keep := d.Action == models.Keep; {
	case keep && d.UntilDay.IsZero():
		f.Add("missing", "until", nil, "is missing: say to which day the batch is kept")
	case keep && !d.UntilDay.After(d.DecidedOn):
		f.Add("out-of-order", "until", d.UntilDay, "is %s, and must be after the day of the decision, %s", d.UntilDay, d.DecidedOn)
	case !keep && !d.UntilDay.IsZero():
		f.Add("contradiction", "until", d.UntilDay, "is %s, and goes with keep only", d.UntilDay)
	}
	return f.Err()
}

// lifted is the sister that a restick makes of the unrooted ones in the tray.
func lifted(d *models.Decision, story *Story) *Sister {
	if d.Action != models.Restick || story.Tally.Unrooted == 0 {
		return nil
	}
	return &Sister{
		Split:       models.Split{SplitOn: d.DecidedOn, Count: story.Tally.Unrooted, Source: models.FromTray},
		WaitingFrom: d.DecidedOn,
	}
}

func nothingToLift(d *models.Decision) error {
	return models.InvalidField("nothing-left", "action", d.Action,
		"cannot be: no unrooted cuttings stand in the tray on %s to be stuck again", d.DecidedOn)
}

func decisionWarnings(d *models.Decision, t *models.Tally) []string {
	if d.Action != models.CloseBatch {
		return nil
	}
	var warnings []string
	if t.Rooted > 0 {
		warnings = append(warnings, "still in the tray of the closed batch: "+models.Counted(t.Rooted, "rooted cutting"))
	}
	if n := t.Waiting(); n > 0 {
		warnings = append(warnings, "still waiting to be stuck in the closed batch: "+models.Counted(n, "cutting"))
	}
	return warnings
}

// Review makes the coordinator's answer to a batch that was cut against a rule.
func Review(r *models.BatchRecord, req models.NewReview) (models.Review, error) {
	v := models.Review{Accepted: req.Accept, Reason: models.Clean(req.Reason), ReviewedBy: models.Clean(req.By)}
	var f models.Faults
	needText(&f, "reason", v.Reason, models.MaxNote)
	checkText(&f, "by", v.ReviewedBy, models.MaxName)
	if err := f.Err(); err != nil {
		return models.Review{}, err
	}
	if !r.AwaitsReview {
		return models.Review{}, models.Errorf(models.Invalid, "not-to-review",
			"batch %s is not marked to review: there is nothing to accept", r.Code)
	}
	return v, nil
}
