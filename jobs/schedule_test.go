package jobs_test

import (
	"context"
	"fmt"
	"log/slog"
	"slices"
	"testing"
	"time"

	"withybed/jobs"
	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// town is a nursery with a clock that the test moves.
type town struct {
	*nursery.Nursery
	t     *testing.T
	place *time.Location
	at    time.Time
	ids   int
}

func newTown(t *testing.T, s *store.Store, made string) *town {
	place, err := time.LoadLocation("America/Los_Angeles")
	if err != nil {
		t.Fatal(err)
	}
	town := &town{t: t, place: place}
	town.at = town.minute(made)
	town.Nursery = nursery.New(s, func() time.Time { return town.at }, func() string {
		town.ids++
		return fmt.Sprintf("id-%09d", town.ids)
	}, func() string { panic("no job makes a secret") })
	if _, err := town.Make(t.Context(), nursery.Seed{TimeZone: "America/Los_Angeles"}); err != nil {
		t.Fatal(err)
	}
	return town
}

func (n *town) minute(text string) time.Time {
	n.t.Helper()
	at, err := time.ParseInLocation("2006-01-02 15:04", text, n.place)
	if err != nil {
		n.t.Fatal(err)
	}
	return at
}

// remindOn sets the day and hour of the reminder.
func (n *town) remindOn(day string, hour int) {
	n.t.Helper()
	seen, err := n.See(n.t.Context())
	if err == nil {
		_, err = n.Edit(n.t.Context(), seen.Version, models.NurseryEdit{ReminderDay: models.SetTo(day), ReminderHour: models.SetTo(hour)})
	}
	if err != nil {
		n.t.Fatal(err)
	}
}

// beatTo lets the heart beat until an instant.
func (n *town) beatTo(end string, every time.Duration) {
	n.t.Helper()
	runner := jobs.New(jobs.Table(n.Nursery), slog.New(slog.DiscardHandler))
	for stop := n.minute(end); !n.at.After(stop); n.at = n.at.Add(every) {
		runner.RunOnce(context.Background())
	}
}

// made are the reminders, oldest first: the minute they were made and the week.
func (n *town) made() []string {
	n.t.Helper()
	list, err := n.Reminders(n.t.Context(), models.Page{})
	if err != nil {
		n.t.Fatal(err)
	}
	var lines []string
	for _, r := range list.Items {
		lines = append(lines, fmt.Sprintf("%s for %s to %s", r.MadeAt.In(n.place).Format("2006-01-02 15:04 MST"), r.CoversFrom, r.Week))
	}
	slices.Reverse(lines)
	return lines
}

// The hour of the reminder is skipped in spring and comes twice in autumn; there
// is one reminder a week all the same, at the hour or as soon after it as can be.
func TestOneReminderAWeekAroundBothClockChanges(t *testing.T) {
	for _, c := range []struct {
		name, made, end string
		day             string
		hour            int
		want            []string
	}{
		{"spring, the hour that is skipped", "2026-02-28 12:00", "2026-03-16 12:00", "sunday", 2, []string{
			"2026-03-01 02:00 PST for 2026-03-01 to 2026-03-01",
			"2026-03-08 03:00 PDT for 2026-03-08 to 2026-03-08",
			"2026-03-15 02:00 PDT for 2026-03-15 to 2026-03-15",
		}},
		{"autumn, the hour that comes twice", "2026-10-24 12:00", "2026-11-09 12:00", "sunday", 1, []string{
			"2026-10-25 01:00 PDT for 2026-10-25 to 2026-10-25",
			"2026-11-01 01:00 PDT for 2026-11-01 to 2026-11-01",
			"2026-11-08 01:00 PST for 2026-11-08 to 2026-11-08",
		}},
		{"spring, another hour", "2026-03-01 12:00", "2026-03-16 12:00", "monday", 7, []string{
			"2026-03-02 07:00 PST for 2026-03-02 to 2026-03-02",
			"2026-03-09 07:00 PDT for 2026-03-09 to 2026-03-09",
			"2026-03-16 07:00 PDT for 2026-03-16 to 2026-03-16",
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			storetest.Each(t, func(t *testing.T, s *store.Store) {
				n := newTown(t, s, c.made)
				n.remindOn(c.day, c.hour)
				n.beatTo(c.end, 30*time.Minute)
				if got := n.made(); !slices.Equal(got, c.want) {
					t.Errorf("made are\n%q, want\n%q", got, c.want)
				}
			})
		})
	}
}

// A server that slept for weeks makes one reminder that stands for them all.
func TestMissedWeeksAreFoldedIntoOne(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		n := newTown(t, s, "2026-03-01 12:00")
		n.beatTo("2026-03-02 12:00", time.Hour)
		n.at = n.minute("2026-03-26 09:00")
		n.beatTo("2026-03-26 12:00", time.Hour)
		want := []string{"2026-03-02 07:00 PST for 2026-03-02 to 2026-03-02", "2026-03-26 09:00 PDT for 2026-03-09 to 2026-03-23"}
		if got := n.made(); !slices.Equal(got, want) {
			t.Errorf("made are\n%q, want\n%q", got, want)
		}
	})
}

func TestTheTableNamesEveryJobOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		n := newTown(t, s, "2026-03-02 07:00")
		var names []string
		did := map[string]bool{}
		for _, job := range jobs.Table(n.Nursery) {
			names = append(names, job.Name)
			for range 2 {
				done, err := job.Run(t.Context())
				if err != nil {
					t.Errorf("%s: %v", job.Name, err)
				}
				if done && did[job.Name] {
					t.Errorf("%s did its work twice", job.Name)
				}
				did[job.Name] = did[job.Name] || done
			}
		}
		if want := []string{"rooting models", "flags", "crew shares", "reminder", "forget keys"}; !slices.Equal(names, want) || !did["flags"] || !did["reminder"] {
			t.Errorf("the jobs are %q, and did something: %v", names, did)
		}
	})
}
