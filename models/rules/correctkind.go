package rules

import (
	"slices"

	"withybed/models"
)

// entryKind is how the entries of a kind are corrected: where they stand in a record,
// how they were requested, and how they are made.
type entryKind[E, F any] struct {
	what  string
	list  func(*models.BatchRecord) *[]E
	id    func(*E) string
	form  func(*E) F
	make  func(r *models.BatchRecord, req F, old *E, today models.Date) (E, []string, error)
	place func(is, was *E) // gives an entry the place of what it was
}

var (
	moveKind = entryKind[models.Move, models.NewMove]{
		what: "a move", list: func(r *models.BatchRecord) *[]models.Move { return &r.Moves }, id: moveID, form: moveForm,
		make: func(r *models.BatchRecord, req models.NewMove, old *models.Move, today models.Date) (models.Move, []string, error) {
			return moveAs(r, req, slot{old.Entry, old.ID}, today)
		},
		place: func(is, was *models.Move) {
			is.ID, is.BatchID, is.Entry, is.EnteredAt = was.ID, was.BatchID, was.Entry, was.EnteredAt
		},
	}
	checkKind = entryKind[models.Check, models.NewCheck]{
		what: "a check", list: func(r *models.BatchRecord) *[]models.Check { return &r.Checks }, id: checkID, form: lookForm,
		make: func(r *models.BatchRecord, req models.NewCheck, old *models.Check, today models.Date) (models.Check, []string, error) {
			return checkAs(r, req, slot{old.Entry, old.ID}, today)
		},
		place: func(is, was *models.Check) {
			is.ID, is.BatchID, is.Entry, is.EnteredAt = was.ID, was.BatchID, was.Entry, was.EnteredAt
		},
	}
	pottingKind = entryKind[models.Potting, models.NewPotting]{
		what: "a potting", list: func(r *models.BatchRecord) *[]models.Potting { return &r.Pottings }, id: pottingID, form: pottingForm,
		make: func(r *models.BatchRecord, req models.NewPotting, old *models.Potting, today models.Date) (models.Potting, []string, error) {
			return potAs(r, req, slot{old.Entry, old.ID}, today)
		},
		place: func(is, was *models.Potting) {
			is.ID, is.BatchID, is.Entry, is.EnteredAt = was.ID, was.BatchID, was.Entry, was.EnteredAt
		},
	}
	decisionKind = entryKind[models.Decision, models.NewDecision]{
		what: "a decision", list: func(r *models.BatchRecord) *[]models.Decision { return &r.Decisions }, id: decisionID, form: decisionForm,
		make: decideAgain,
		place: func(is, was *models.Decision) {
			is.ID, is.BatchID, is.Entry, is.EnteredAt = was.ID, was.BatchID, was.Entry, was.EnteredAt
		},
	}
)

// decideAgain makes a corrected decision. One that made a sister keeps its action and
// its day, and none can come to make one.
func decideAgain(r *models.BatchRecord, req models.NewDecision, old *models.Decision, today models.Date) (models.Decision, []string, error) {
	switch lifts := old.Action == models.Restick; {
	case lifts && (req.Action != old.Action || req.On != old.DecidedOn):
		return models.Decision{}, nil, notAlone(r, old.Entry)
	case !lifts && req.Action == models.Restick:
		return models.Decision{}, nil, models.InvalidField("not-correctable", "action", req.Action,
			"makes a sister batch: take this decision out, and decide anew")
	case lifts:
		d := decisionOf(&req)
		return d, nil, checkDecision(&d, today)
	}
	d, _, warnings, err := decideAs(r, req, slot{old.Entry, old.ID}, today)
	return d, warnings, err
}

// correctAs corrects an entry of a kind, and answers it as it is now.
func correctAs[E, F any](r *models.BatchRecord, c *EntryCorrection, changes models.Changes, today models.Date, k *entryKind[E, F]) (*E, error) {
	without, with := *r, *r
	entries := *k.list(r)
	at := slices.IndexFunc(entries, func(e E) bool { return k.id(&e) == c.ID })
	old := entries[at]
	is, err := changed(k.form(&old), changes, k.what+byNumber)
	if err != nil {
		return nil, err
	}
	*k.list(&without) = slices.Delete(slices.Clone(entries), at, at+1)
	e, warnings, err := k.make(&without, is, &old, today)
	if err != nil {
		return nil, err
	}
	k.place(&e, &old)
	corrected := slices.Clone(entries)
	corrected[at] = e
	*k.list(&with) = corrected
	c.With, c.Warnings = &with, warnings
	c.Before, c.After, err = differences(k.form(&old), k.form(&e))
	return &e, err
}

// The forms are entries as they were requested.

func stickingForm(s *models.Sticking) models.NewSticking {
	return models.NewSticking{StuckOn: s.StuckOn, Count: s.Count, Tray: s.Tray}
}

func moveForm(m *models.Move) models.NewMove {
	return models.NewMove{On: m.MovedOn, To: m.To, Count: m.Count, Use: m.Use, Cause: m.Cause}
}

func lookForm(c *models.Check) models.NewCheck {
	form := models.NewCheck{
		CheckedOn: c.CheckedOn, Rooted: c.Rooted, PottingRoots: c.PottingRoots, Overlong: c.Overlong, Unrooted: c.Unrooted,
		Lost: c.Lost, Withdrawn: c.Withdrawn, CheckedBy: c.CheckedBy, Method: c.Method, Examined: c.Examined, Note: c.Note,
	}
	if c.LostRooted != nil {
		lost := c.LostRooted
		form.LostRooted = &lost
	}
	return form
}

func pottingForm(p *models.Potting) models.NewPotting {
	return models.NewPotting{PottedOn: p.PottedOn, Count: p.Count, Container: p.Container, Medium: p.Medium, Bench: p.Bench, PottedBy: p.PottedBy}
}

func decisionForm(d *models.Decision) models.NewDecision {
	return models.NewDecision{On: d.DecidedOn, Action: d.Action, Until: d.UntilDay, By: d.DecidedBy, Why: d.Why}
}
