package rules_test

import (
	"context"
	"slices"
	"testing"
	"time"

	"withybed/models"
	"withybed/models/rules"
)

// noon is when things are entered in these tests, on their day.
var noon = time.Date(2000, 1, 1, 12, 0, 0, 0, time.UTC)

func noonOf(d models.Date) time.Time { return d.At(12, noon.Location()) }

// enterOnTheirDay says of everything that it was entered on its day.
func enterOnTheirDay(records []*models.BatchRecord) {
	for _, r := range records {
		r.EnteredAt = noonOf(r.CollectedOn)
		if r.Sticking != nil {
			r.Sticking.EnteredAt = noonOf(r.Sticking.StuckOn)
		}
		for i := range r.Moves {
			r.Moves[i].EnteredAt = noonOf(r.Moves[i].MovedOn)
		}
		for i := range r.Checks {
			r.Checks[i].EnteredAt = noonOf(r.Checks[i].CheckedOn)
		}
		for i := range r.Pottings {
			r.Pottings[i].EnteredAt = noonOf(r.Pottings[i].PottedOn)
		}
		for i := range r.Decisions {
			r.Decisions[i].EnteredAt = noonOf(r.Decisions[i].DecidedOn)
		}
	}
}

// withoutLater are records without what is dated after a day.
func withoutLater(records []*models.BatchRecord, on models.Date) []*models.BatchRecord {
	var all []*models.BatchRecord
	for _, r := range records {
		then := *r
		then.Checks = slices.DeleteFunc(slices.Clone(r.Checks), func(c models.Check) bool { return c.CheckedOn.After(on) })
		then.Pottings = slices.DeleteFunc(slices.Clone(r.Pottings), func(p models.Potting) bool { return p.PottedOn.After(on) })
		then.Decisions = slices.DeleteFunc(slices.Clone(r.Decisions), func(d models.Decision) bool { return d.DecidedOn.After(on) })
		all = append(all, &then)
	}
	return all
}

// enterLate says of the last check of each batch up to a day that it was entered
// the day after, and takes it out of the pruned record. It is let be where
// something came after it.
func enterLate(records, pruned []*models.BatchRecord, on models.Date) {
	for i, r := range records {
		n := len(pruned[i].Checks)
		if n == 0 || len(r.Pottings) > 0 || len(r.Decisions) > 0 {
			continue
		}
		r.Checks[n-1].EnteredAt = noonOf(on.Add(1))
		pruned[i].Checks = pruned[i].Checks[:n-1]
	}
}

// A look that was corrected can rest on one that was entered after it: on the days
// between, what holds now does not add up, and nothing was known.
func TestThePastOfACorrectedBatch(t *testing.T) {
	set := models.Settings{}
	rules.FillSettings(&set)
	r := &models.BatchRecord{
		Batch:    models.Batch{ID: "b", Code: "TB-01-2026-1", CollectedOn: date("2026-01-10"), WaitingFrom: date("2026-01-10"), Cuttings: 60, StemsCut: 20, Version: 1, EnteredAt: noonOf(date("2026-01-10"))},
		Sticking: &models.Sticking{StuckOn: date("2026-01-12"), Count: 60, Entry: 2, EnteredAt: noonOf(date("2026-01-12"))},
		Checks: []models.Check{
			{ID: "c-3", CheckedOn: date("2026-02-10"), LostRooted: models.Losses{models.Eaten: 5}, Entry: 3, EnteredAt: noonOf(date("2026-02-10"))},
			{ID: "c-4", CheckedOn: date("2026-02-01"), Rooted: ptr(30), Entry: 4, EnteredAt: noonOf(date("2026-02-20"))},
		},
		Corrections: []models.Correction{{Subject: models.OfCheck, SubjectID: "c-3", AboutEntry: 3, Entry: 5, EnteredAt: noonOf(date("2026-02-21"))}},
	}
	past := rules.RecordPast([]*models.BatchRecord{r}, &set.Thresholds, noon.Location())
	for on, want := range map[string]int{"2026-01-11": 0, "2026-01-31": 1, "2026-02-12": 0, "2026-02-20": 1} {
		known, err := past(context.Background(), date(on))
		if err != nil || len(known) != want {
			t.Errorf("on %s %d batches are known, want %d: %v", on, len(known), want, err)
		}
	}
	r.Corrections = nil
	if _, err := past(context.Background(), date("2026-02-12")); err == nil {
		t.Error("a record that does not add up without a correction is let pass")
	}
}
