package rules_test

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

// zones change their clocks by an hour, by half an hour, at midnight, the other
// way round, or never; Apia left out a whole Friday at the end of 2011.
var zones = []string{
	"America/Los_Angeles", "Europe/Dublin", "Australia/Lord_Howe", "America/Santiago", "Africa/Cairo",
	"Pacific/Apia", "Asia/Kolkata", "UTC",
}

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	place, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return place
}

func remindedOn(weekday string, hour int) models.Settings {
	set := rules.DefaultSettings()
	set.ReminderDay, set.ReminderHour = weekday, hour
	return set
}

func instant(t testing.TB, place *time.Location, text string) time.Time {
	t.Helper()
	at, err := time.ParseInLocation("2006-01-02 15:04", text, place)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

func TestWeekOf(t *testing.T) {
	place := zone(t, "America/Los_Angeles")
	monday7 := remindedOn("monday", 7)
	cases := []struct {
		set       models.Settings
		now, want string
	}{
		{monday7, "2026-01-19 06:59", "2026-01-12"},
		{monday7, "2026-01-19 07:00", "2026-01-19"},
		{monday7, "2026-01-25 23:59", "2026-01-19"},
		{remindedOn("sunday", 0), "2026-01-18 00:00", "2026-01-18"},
		{remindedOn("sunday", 23), "2026-01-18 22:59", "2026-01-11"},
		{remindedOn("saturday", 12), "2026-01-18 11:00", "2026-01-17"},
		// On 8 March 2026 the clocks go from 02:00 to 03:00 at once.
		{remindedOn("sunday", 2), "2026-03-08 01:59", "2026-03-01"},
		{remindedOn("sunday", 2), "2026-03-08 03:00", "2026-03-08"},
	}
	for _, c := range cases {
		if got := rules.WeekOf(instant(t, place, c.now), c.set, place); got != day(c.want) {
			t.Errorf("%s with reminders on %s at %d: week of %s, want %s", c.now, c.set.ReminderDay, c.set.ReminderHour, got, c.want)
		}
	}
}

// TestAnHourThatComesTwice wants one week, from the first of the two hours on.
func TestAnHourThatComesTwice(t *testing.T) {
	place := zone(t, "America/Los_Angeles")
	set := remindedOn("sunday", 1)
	first := time.Date(2026, 11, 1, 8, 0, 0, 0, time.UTC) // 01:00 in summer time
	for _, c := range []struct {
		at   time.Time
		want string
	}{
		{first.Add(-time.Minute), "2026-10-25"}, {first, "2026-11-01"},
		{first.Add(59 * time.Minute), "2026-11-01"}, {first.Add(time.Hour), "2026-11-01"},
	} {
		if got := rules.WeekOf(c.at, set, place); got != day(c.want) {
			t.Errorf("at %s: week of %s, want %s", c.at.In(place), got, c.want)
		}
	}
}

// TestWeeksFollowEachOther walks through a year and more by the half hour: every
// instant is in exactly one week, and no week is left out.
func TestWeeksFollowEachOther(t *testing.T) {
	for _, name := range zones {
		place := zone(t, name)
		for _, set := range []models.Settings{remindedOn("monday", 7), remindedOn("sunday", 2), remindedOn("friday", 0), remindedOn("saturday", 23)} {
			t.Run(fmt.Sprintf("%s %s %d", name, set.ReminderDay, set.ReminderHour), func(t *testing.T) {
				walk(t, place, set, time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(2027, 2, 1, 0, 0, 0, 0, time.UTC))
				walk(t, place, set, time.Date(2011, 12, 1, 0, 0, 0, 0, time.UTC), time.Date(2012, 2, 1, 0, 0, 0, 0, time.UTC))
			})
		}
	}
}

func walk(t *testing.T, place *time.Location, set models.Settings, from, to time.Time) {
	t.Helper()
	last := rules.WeekOf(from, set, place)
	for now := from; now.Before(to); now = now.Add(30 * time.Minute) {
		start := rules.WeekOf(now, set, place)
		if start != last && start != last.Add(7) {
			t.Fatalf("at %s the week of %s follows the one of %s", now.In(place), start, last)
		}
		if rules.ReminderAt(start, set, place).After(now) || !rules.NextReminder(now, set, place).After(now) {
			t.Fatalf("%s is outside the week of %s, %s to %s", now.In(place), start,
				rules.ReminderAt(start, set, place), rules.NextReminder(now, set, place))
		}
		if rules.WeekStart(start, set) != start {
			t.Fatalf("the week of %s begins on a %s", start, start.Weekday())
		}
		last = start
	}
}

func TestWeekStart(t *testing.T) {
	for _, c := range []struct{ weekday, on, want string }{
		{"monday", "2026-01-18", "2026-01-12"}, {"monday", "2026-01-19", "2026-01-19"}, {"monday", "2026-01-20", "2026-01-19"},
		{"sunday", "2026-01-17", "2026-01-11"}, {"saturday", "2026-01-18", "2026-01-17"}, {"saturday", "2026-01-17", "2026-01-17"},
	} {
		if got := rules.WeekStart(day(c.on), remindedOn(c.weekday, 7)); got != day(c.want) {
			t.Errorf("%s with reminders on %s: %s, want %s", c.on, c.weekday, got, c.want)
		}
	}
}

func TestDueWeek(t *testing.T) {
	place := zone(t, "America/Los_Angeles")
	set := remindedOn("monday", 7)
	at := func(text string) time.Time { return instant(t, place, text) }
	on := func(text string) *models.Date { d := day(text); return &d }
	cases := []struct {
		name, now, made string
		last            *models.Date
		week, covers    string
		due             bool
	}{
		{"made this week, before the first hour", "2026-01-18 12:00", "2026-01-14 09:00", nil, "2026-01-12", "2026-01-12", false},
		{"its first", "2026-01-19 07:00", "2026-01-14 09:00", nil, "2026-01-19", "2026-01-19", true},
		{"made at the very hour", "2026-01-19 07:00", "2026-01-19 07:00", nil, "2026-01-19", "2026-01-19", true},
		{"made a minute after it", "2026-01-25 07:00", "2026-01-19 07:01", nil, "2026-01-19", "2026-01-19", false},
		{"its first was missed", "2026-02-04 10:00", "2026-01-14 09:00", nil, "2026-02-02", "2026-01-19", true},
		{"made already", "2026-01-22 10:00", "2026-01-01 09:00", on("2026-01-19"), "2026-01-19", "2026-01-19", false},
		{"the next week", "2026-01-26 07:00", "2026-01-01 09:00", on("2026-01-19"), "2026-01-26", "2026-01-26", true},
		{"three weeks missed", "2026-02-18 07:00", "2026-01-01 09:00", on("2026-01-19"), "2026-02-16", "2026-01-26", true},
		{"asked for by hand before the first hour", "2026-01-19 07:00", "2026-01-14 09:00", on("2026-01-12"), "2026-01-19", "2026-01-19", true},
		{"over the spring change", "2026-03-09 07:00", "2026-01-01 09:00", on("2026-03-02"), "2026-03-09", "2026-03-09", true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			week, covers, due := rules.DueWeek(at(c.now), set, place, at(c.made), c.last)
			if week != day(c.week) || covers != day(c.covers) || due != c.due {
				t.Errorf("week %s from %s, due %v; want %s from %s, %v", week, covers, due, c.week, c.covers, c.due)
			}
		})
	}
}

// TestAChangedReminderDay wants the week that runs to end at the first new
// reminder hour, and nothing to be owed twice.
func TestAChangedReminderDay(t *testing.T) {
	place := zone(t, "America/Los_Angeles")
	made, last := instant(t, place, "2026-01-01 09:00"), day("2026-01-19") // a Monday
	friday := remindedOn("friday", 6)
	if week, _, due := rules.DueWeek(instant(t, place, "2026-01-22 10:00"), friday, place, made, &last); due {
		t.Errorf("on Thursday the week of %s is owed", week)
	}
	week, covers, due := rules.DueWeek(instant(t, place, "2026-01-23 06:00"), friday, place, made, &last)
	if !due || week != day("2026-01-23") || covers != week {
		t.Errorf("on Friday: %s from %s, %v", week, covers, due)
	}
}

// TestOneReminderAWeek runs the schedule at any moments, late, often or not at
// all, and wants each week to have at most one reminder and every week from the
// first to be stood for exactly once.
func TestOneReminderAWeek(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		place, err := time.LoadLocation(rapid.SampledFrom(zones).Draw(t, "zone"))
		if err != nil {
			t.Fatal(err)
		}
		set := remindedOn(rapid.SampledFrom([]string{"monday", "sunday", "friday"}).Draw(t, "weekday"), rapid.IntRange(0, 23).Draw(t, "hour"))
		now := time.Date(2026, 1, 1, 0, rapid.IntRange(0, 14*24*60).Draw(t, "minutes to the making"), 0, 0, time.UTC)
		made := now
		var last *models.Date
		next := models.Date{}
		for range rapid.IntRange(1, 60).Draw(t, "runs") {
			now = now.Add(time.Duration(rapid.IntRange(0, 20*24*60).Draw(t, "minutes to the next run")) * time.Minute)
			week, covers, due := rules.DueWeek(now, set, place, made, last)
			if !due {
				continue
			}
			if last == nil {
				next = rules.WeekOf(made.Add(-time.Nanosecond), set, place).Add(7)
			}
			if covers != next || covers.After(week) || (last != nil && !week.After(*last)) {
				t.Fatalf("at %s the week of %s stands for those from %s, and the next was %s", now, week, covers, next)
			}
			last, next = &week, week.Add(7)
		}
	})
}
