package store_test

import (
	"errors"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// addReminder writes a reminder and says whether it did: a week that has one
// keeps it.
func addReminder(t *testing.T, s *store.Store, r models.Reminder) (added bool) {
	t.Helper()
	err := s.Write(background, func(tx *store.Tx) error { return tx.AddReminder(r) })
	if err != nil && !store.IsDuplicate(err, "reminders_week") {
		t.Fatal(err)
	}
	return err == nil
}

func TestAWeekHasOneReminder(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		full := reminder("2026-01-19")
		wantFull(t, full)
		wantFull(t, full.Body)
		bare := models.Reminder{ID: "bare", Week: day("2026-01-26"), On: day("2026-01-26"), CoversFrom: day("2026-01-26"), MadeAt: entered}
		another := reminder("2026-01-19")
		another.ID = "another"
		if !addReminder(t, s, full) || !addReminder(t, s, bare) || addReminder(t, s, another) {
			t.Error("each week takes its first reminder and no other")
		}
		for _, want := range []models.Reminder{full, bare} {
			read(t, s, func(tx *store.Tx) error {
				got, err := tx.ReminderOf(want.Week)
				wantSame(t, "the reminder", want, got)
				return err
			})
		}
		err := s.Read(background, func(tx *store.Tx) error {
			_, err := tx.ReminderOf(day("2026-01-20"))
			return err
		})
		if !errors.Is(err, store.ErrNoRow) {
			t.Errorf("a day on which no week begins says %v", err)
		}
	})
}

func TestTheLastReminderBeforeAWeek(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		for _, week := range []string{"2026-01-05", "2026-01-19", "2026-01-12"} {
			addReminder(t, s, reminder(week))
		}
		for week, want := range map[string]string{"2026-01-26": "2026-01-19", "2026-01-19": "2026-01-12", "2026-01-05": ""} {
			read(t, s, func(tx *store.Tx) error {
				last, ok, err := tx.LastReminderBefore(day(week))
				if last.Week.String() != want || ok != (want != "") {
					t.Errorf("the last before %s is of %s (%t), want %q", week, last.Week, ok, want)
				}
				return err
			})
		}
		read(t, s, func(tx *store.Tx) error {
			wantSame(t, "the list", []string{"2026-01-19", "2026-01-12", "2026-01-05"},
				pages(t, 1, tx.Reminders, func(r models.Reminder) string { return r.Week.String() }))
			return nil
		})
	})
}
