package rules_test

import (
	"slices"
	"time"

	"withybed/models"
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
