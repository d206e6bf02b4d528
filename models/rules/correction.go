package rules

import (
	"fmt"
	"reflect"
	"slices"

	"withybed/models"
)

// checkCorrection looks at what every correction says: why, and who.
func checkCorrection(why, by string) error {
	var f models.Faults
	needText(&f, "why", why, models.MaxNote)
	checkText(&f, "by", by, models.MaxName)
	return f.Err()
}

// changed makes the changes of a correction to what was said, and refuses those that
// do not belong to it.
func changed[T any](was T, changes models.Changes, what string) (T, error) {
	is, strays, err := models.Apply(was, changes)
	if err != nil || len(strays) == 0 {
		return is, err
	}
	var f models.Faults
	for _, name := range strays {
		f.Add("invalid", name, nil, "does not belong to %s", what)
	}
	return is, f.Err()
}

// byNumber says how to correct what does not belong to the cut or the entry.
const byNumber = ": give the number of the entry it belongs to, as the history of the batch shows it"

// notVoid refuses a correction of a batch that is void.
func notVoid(r *models.BatchRecord) error {
	if !r.Void {
		return nil
	}
	return models.Errorf(models.Invalid, "batch-void", "batch %s is void: it never was, and nothing more is said of it", r.Code)
}

// inChanges is an error about a changed form, with the fields where the request has
// them: all but those of the correction itself are within its changes.
func inChanges(err error) error {
	e := models.AsError(err)
	if e == nil {
		return err
	}
	told := *e
	told.Fields = slices.Clone(e.Fields)
	for i := range told.Fields {
		f := &told.Fields[i]
		if !slices.Contains(ownFields, f.Name) {
			f.Name = "changes." + f.Name
		}
	}
	return &told
}

// ownFields are the fields of a correction that are not of what it changes.
var ownFields = []string{"changes", "entry", "void", "already_cut", "reason"}

// differences are what two forms say otherwise. A correction that changes nothing is a
// slip.
func differences(was, is any) (before, after map[string]any, err error) {
	said, err := models.Said(was)
	if err != nil {
		return nil, nil, err
	}
	says, err := models.Said(is)
	if err != nil {
		return nil, nil, err
	}
	before, after = models.Differences(said, says)
	if len(before)+len(after) == 0 {
		return nil, nil, models.InvalidField("nothing-changes", "changes", nil, "change nothing: all of it is recorded so already")
	}
	return before, after, nil
}

// stillStands says whether a corrected record still replays to the end. An error of the
// entry that was corrected, by its number, is its own; one of another says which. A
// field and a value begin the sentence.
func stillStands(with *models.BatchRecord, number int, field string, value any, without string) error {
	_, at, err := replayTo(with, endOfTime)
	if err == nil || at.number == number {
		return err
	}
	return models.InvalidField("later-entry", field, value,
		"cannot be: %s the %s of %s on %s (entry %d) could not be: %s", without, at.what, with.Code, at.on, at.number, whatIsWrong(err))
}

// EntryCorrection is an entry about a batch as it is after a correction. One of the
// entries is filled, unless it is void. With is the record with it.
type EntryCorrection struct {
	Subject  models.Subject
	ID       string
	With     *models.BatchRecord
	Before   map[string]any
	After    map[string]any
	Warnings []string

	Sticking *models.Sticking
	Move     *models.Move
	Check    *models.Check
	Potting  *models.Potting
	Decision *models.Decision
}

// CorrectEntry corrects an entry about a batch, or takes it out: it is judged as one
// that is entered now would be, and all that came after it has to stand still.
func CorrectEntry(r *models.BatchRecord, req models.NewCorrection, today models.Date) (EntryCorrection, error) {
	if err := checkCorrection(req.Why, req.By); err != nil {
		return EntryCorrection{}, err
	}
	if err := notVoid(r); err != nil {
		return EntryCorrection{}, err
	}
	if req.AlreadyCut || models.Clean(req.Reason) != "" {
		return EntryCorrection{}, models.InvalidField("contradiction", "already_cut", req.AlreadyCut, "goes with a correction of the cut, not of entry %d", req.Entry)
	}
	c, err := findEntry(r, req.Entry)
	if err != nil {
		return c, err
	}
	if req.Void {
		return c, voidEntry(r, &c, &req)
	}
	switch c.Subject {
	case models.OfSticking:
		err = correctSticking(r, &c, req.Changes, today)
	case models.OfMove:
		c.Move, err = correctAs(r, &c, req.Changes, today, &moveKind)
	case models.OfCheck:
		c.Check, err = correctAs(r, &c, req.Changes, today, &checkKind)
	case models.OfPotting:
		c.Potting, err = correctAs(r, &c, req.Changes, today, &pottingKind)
	case models.OfDecision:
		c.Decision, err = correctAs(r, &c, req.Changes, today, &decisionKind)
	}
	return c, inChanges(err)
}

// findEntry finds what a number of the history stands for.
func findEntry(r *models.BatchRecord, number int) (EntryCorrection, error) {
	var found []EntryCorrection
	of := func(entry int, subject models.Subject, id string) {
		if entry == number {
			found = append(found, EntryCorrection{Subject: subject, ID: id})
		}
	}
	if s := r.Sticking; s != nil {
		of(s.Entry, models.OfSticking, s.BatchID)
	}
	for _, c := range r.Checks {
		of(c.Entry, models.OfCheck, c.ID)
	}
	for _, p := range r.Pottings {
		of(p.Entry, models.OfPotting, p.ID)
	}
	for _, d := range r.Decisions {
		of(d.Entry, models.OfDecision, d.ID)
	}
	if len(found) > 0 {
		return found[0], nil // what a sister was begun with besides, was moved before
	}
	for _, m := range r.Moves {
		of(m.Entry, models.OfMove, m.ID)
	}
	switch len(found) {
	case 0:
		return EntryCorrection{}, noSuchEntry(r, number)
	case 1:
		return found[0], nil
	}
	return EntryCorrection{}, models.InvalidField("not-correctable", "entry", number,
		"is how its cuttings waited in %s before they were split off, and is not corrected here", r.SplitFrom)
}

// CorrectedBy says that a number of the history stands for an entry that can be corrected
// by it.
func CorrectedBy(r *models.BatchRecord, number int, id string) bool {
	found, err := findEntry(r, number)
	return err == nil && found.ID == id
}

// noSuchEntry says why a number cannot be corrected.
func noSuchEntry(r *models.BatchRecord, number int) error {
	for _, s := range r.Splits {
		if s.Entry == number {
			return models.InvalidField("not-correctable", "entry", number,
				"is a split: correct the cuttings of %s, or void it", s.Sister)
		}
	}
	for _, v := range r.Reviews {
		if v.Entry == number {
			return models.InvalidField("not-correctable", "entry", number, "is a review: answer the batch once more with another")
		}
	}
	for _, d := range r.Determinations {
		if d.Entry == number {
			return models.InvalidField("not-correctable", "entry", number, "is a name it was given: name it once more")
		}
	}
	for _, c := range r.Corrections {
		if c.Entry == number {
			return models.InvalidField("not-correctable", "entry", number, "is a correction: correct what it corrected once more")
		}
	}
	err := models.UnknownName("unknown-entry", "entry", "entry", fmt.Sprint(number), nil)
	err.Detail = fmt.Sprintf("batch %s has no entry %d: its history shows their numbers", r.Code, number)
	return err
}

// voidEntry takes an entry out of a record.
func voidEntry(r *models.BatchRecord, c *EntryCorrection, req *models.NewCorrection) (err error) {
	if !reflect.ValueOf(req.Changes).IsZero() {
		return models.InvalidField("contradiction", "changes", nil, "are given with void: what never was has nothing to change")
	}
	with := *r
	c.With, c.After = &with, map[string]any{}
	var form any
	switch c.Subject {
	case models.OfSticking:
		form, with.Sticking = stickingForm(r.Sticking), nil
	case models.OfMove:
		form, with.Moves = takenOut(r.Moves, c.ID, moveID, moveForm)
	case models.OfCheck:
		form, with.Checks = takenOut(r.Checks, c.ID, checkID, lookForm)
	case models.OfPotting:
		form, with.Pottings = takenOut(r.Pottings, c.ID, pottingID, pottingForm)
	case models.OfDecision:
		var d models.NewDecision
		if d, with.Decisions = takenOut(r.Decisions, c.ID, decisionID, decisionForm); d.Action == models.Restick {
			return notAlone(r, req.Entry)
		}
		form = d
	}
	if c.Before, err = models.Said(form); err != nil {
		return err
	}
	return stillStands(&with, req.Entry, "void", true, "without it")
}

// notAlone is the error for a decision that made a sister, which cannot be changed
// without her.
func notAlone(r *models.BatchRecord, number int) error {
	for _, s := range r.Splits {
		if s.Entry == number {
			return models.InvalidField("not-correctable", "entry", number, "made batch %s: void that batch, and the decision goes with it", s.Sister)
		}
	}
	return models.InvalidField("not-correctable", "entry", number, "lifted cuttings out of the tray to stick them again, and stays")
}

// takenOut is what the entry of an identifier said, and the entries without it.
func takenOut[E, F any](entries []E, id string, idOf func(*E) string, form func(*E) F) (F, []E) {
	i := slices.IndexFunc(entries, func(e E) bool { return idOf(&e) == id })
	return form(&entries[i]), slices.Delete(slices.Clone(entries), i, i+1)
}

func moveID(m *models.Move) string         { return m.ID }
func checkID(c *models.Check) string       { return c.ID }
func pottingID(p *models.Potting) string   { return p.ID }
func decisionID(d *models.Decision) string { return d.ID }

func correctSticking(r *models.BatchRecord, c *EntryCorrection, changes models.Changes, today models.Date) error {
	was, without, with := stickingForm(r.Sticking), *r, *r
	is, err := changed(was, changes, "a sticking"+byNumber)
	if err != nil {
		return err
	}
	without.Sticking = nil
	s, warnings, err := stickAs(&without, is, slot{r.Sticking.Entry, r.ID}, today)
	if err != nil {
		return err
	}
	s.BatchID, s.Entry, s.EnteredAt = r.ID, r.Sticking.Entry, r.Sticking.EnteredAt
	with.Sticking = &s
	c.Sticking, c.Warnings, c.With = &s, warnings, &with
	c.Before, c.After, err = differences(was, stickingForm(&s))
	return err
}
