package rules

import (
	"fmt"
	"slices"

	"withybed/models"
)

// Stick makes the sticking of a batch, which has only one. Soaked cuttings are
// stuck first, then those in hand, then those in store; the rest stays waiting.
// Warnings tell of that rest.
func Stick(r *models.BatchRecord, req models.NewSticking, today models.Date) (models.Sticking, []string, error) {
	return stickAs(r, req, newSlot(r), today)
}

func stickAs(r *models.BatchRecord, req models.NewSticking, at slot, today models.Date) (models.Sticking, []string, error) {
	var f models.Faults
	s := stickingOf(&f, "", req, today)
	if err := f.Err(); err != nil {
		return models.Sticking{}, nil, err
	}
	if r.Sticking != nil {
		return models.Sticking{}, nil, models.InvalidField("already-stuck", "stuck_on", req.StuckOn,
			"is %s, but %d of the batch %s stuck on %s, and a batch is stuck once: split the rest off first, then stick the sister",
			req.StuckOn, r.Sticking.Count, models.Were(r.Sticking.Count), r.Sticking.StuckOn)
	}
	with, entry := *r, s
	entry.Entry, entry.BatchID = at.number, at.id
	with.Sticking = &entry
	if err := fits(&with, at, "stuck_on", s.StuckOn); err != nil {
		return models.Sticking{}, nil, err
	}
	return s, append(restWarning(&with, s.StuckOn), soakWarning(r, &s)...), nil
}

// soakWarning tells of a soak on record that the treatment does not name, since
// batches are compared by their treatment.
func soakWarning(r *models.BatchRecord, s *models.Sticking) []string {
	if s.Treatment != nil && s.Treatment.SoakDays != nil {
		return nil
	}
	story := told(r, s.StuckOn)
	if story == nil {
		return nil
	}
	for _, wait := range story.Waits {
		if days := s.StuckOn.Sub(wait.Since); wait.In == models.ToSoak && days > 0 {
			return []string{fmt.Sprintf("they soaked %s, and the treatment does not name it: without soak_days they count with those that were not soaked",
				models.Counted(days, "day"))}
		}
	}
	return nil
}

func stickingOf(f *models.Faults, prefix string, req models.NewSticking, today models.Date) models.Sticking {
	checkPast(f, prefix+"stuck_on", req.StuckOn, today)
	checkCount(f, prefix+"count", req.Count, 1)
	tray := trayOf(f, prefix, req.Tray)
	return models.Sticking{StuckOn: req.StuckOn, Count: req.Count, Tray: tray, Label: tray.TreatmentLabel()}
}

// restWarning tells of cuttings that still wait on the day the others are stuck.
func restWarning(with *models.BatchRecord, on models.Date) []string {
	story := told(with, on)
	if story == nil || story.Tally.Waiting() == 0 {
		return nil
	}
	return []string{fmt.Sprintf("%d of %s %s stuck; what still waits (%d) is split off before it is stuck",
		story.Tally.Stuck, models.Counted(story.Tally.Made, "cutting"), models.Are(story.Tally.Stuck), story.Tally.Waiting())}
}

// MoveCuttings makes a move of cuttings that wait to be stuck. They are taken
// from those in hand first, then from soak, refrigerator and cold store.
func MoveCuttings(r *models.BatchRecord, req models.NewMove, today models.Date) (models.Move, []string, error) {
	return moveAs(r, req, newSlot(r), today)
}

func moveAs(r *models.BatchRecord, req models.NewMove, at slot, today models.Date) (models.Move, []string, error) {
	m := models.Move{MovedOn: req.On, To: req.To, Count: req.Count, Use: models.Clean(req.Use), Cause: req.Cause}
	unsaid := m.Cause == "" && m.To == models.ToLost
	if unsaid {
		m.Cause = models.OtherCause
	}
	if err := checkMove(&m, today); err != nil {
		return models.Move{}, nil, err
	}
	with, entry := *r, m
	entry.Entry, entry.ID = at.number, at.id
	with.Moves = append(slices.Clone(r.Moves), entry)
	if err := fits(&with, at, "on", m.MovedOn); err != nil {
		return models.Move{}, nil, err
	}
	warnings := moveWarnings(r, &m)
	if unsaid {
		warnings = append(warnings, "what they were lost to was not said, and is recorded as other")
	}
	return m, warnings, nil
}

func checkMove(m *models.Move, today models.Date) error {
	var f models.Faults
	checkPast(&f, "on", m.MovedOn, today)
	needWord(&f, "to", m.To, models.MoveTos)
	checkCount(&f, "count", m.Count, 1)
	checkText(&f, "use", m.Use, models.MaxName)
	checkKnown(&f, "cause", m.Cause, models.Causes)
	if m.Use != "" && m.To != models.ToUsed {
		f.Add("contradiction", "use", m.Use, "goes with cuttings that are used, not with a move to %s", m.To)
	}
	if m.Cause != "" && m.To != models.ToLost {
		f.Add("contradiction", "cause", m.Cause, "goes with cuttings that are lost, not with a move to %s", m.To)
	}
	return f.Err()
}

// needWord looks at a word that has to be there.
func needWord[T interface {
	~string
	Known() bool
}](f *models.Faults, field string, word T, words []T) {
	if word == "" {
		f.Add("missing", field, nil, "is missing, and must be %s", models.OneOf(words))
		return
	}
	checkKnown(f, field, word, words)
}

func moveWarnings(r *models.BatchRecord, m *models.Move) []string {
	if m.To == models.ToColdStore && r.Kind.InLeaf() {
		return []string{"a cold store at -2 to 0.5 °C kills cuttings in leaf: keep them cool and moist, and stick them the same day"}
	}
	return nil
}
