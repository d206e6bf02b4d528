package rules

import (
	"time"

	"withybed/models"
)

// weekdays are the days of the week by the names settings use.
var weekdays = map[string]time.Weekday{
	"monday": time.Monday, "tuesday": time.Tuesday, "wednesday": time.Wednesday, "thursday": time.Thursday,
	"friday": time.Friday, "saturday": time.Saturday, "sunday": time.Sunday,
}

const week = 7 // days

// WeekOf is the reminder week that holds an instant: it begins on the latest
// reminder day whose reminder hour, in the nursery's place, has come by then.
// Weeks follow each other without a gap whatever the clocks do: an hour that is
// skipped counts as the moment it is skipped, one that comes twice as the first.
//
// Where the reminder day or hour is changed, the week that is running ends with
// the first new reminder hour, so that it may be shorter or longer than seven
// days; each start still begins exactly one week.
func WeekOf(now time.Time, set models.Settings, place *time.Location) models.Date {
	start := WeekStart(models.DateIn(now, place), set)
	if ReminderAt(start, set, place).After(now) {
		return start.Add(-week)
	}
	return start
}

// WeekStart is the start of the week that holds a day at its reminder hour: the
// last reminder day on or before it.
func WeekStart(day models.Date, set models.Settings) models.Date {
	since := int(day.Weekday()) - int(weekdays[set.ReminderDay])
	return day.Add(-(since + week) % week)
}

// ReminderAt is the instant a week begins: the reminder hour of its first day.
func ReminderAt(start models.Date, set models.Settings, place *time.Location) time.Time {
	return start.At(set.ReminderHour, place)
}

// NextReminder is the first reminder hour after an instant.
func NextReminder(now time.Time, set models.Settings, place *time.Location) time.Time {
	return ReminderAt(WeekOf(now, set, place).Add(week), set, place)
}

// DueWeek says whether the schedule owes a reminder at an instant, for which
// week, and from which week on it stands for those that were missed. Last is the
// latest week up to this instant that has a reminder, however it was made; nil
// is none.
//
// Owed is a reminder for the week that is running, if it has none yet and began
// no earlier than the nursery was made: its first is owed at the first reminder
// hour from then on. Weeks missed before are folded into it and not made up.
func DueWeek(now time.Time, set models.Settings, place *time.Location, madeAt time.Time, last *models.Date) (start, coversFrom models.Date, due bool) {
	start = WeekOf(now, set, place)
	coversFrom = CoversFrom(start, set, place, madeAt, last)
	due = (last == nil || last.Before(start)) && !ReminderAt(start, set, place).Before(madeAt)
	return start, coversFrom, due
}

// CoversFrom is the first week that the reminder of a week stands for: the one
// after the last reminder's, or the nursery's first where there was none, and
// never later than the week itself.
func CoversFrom(start models.Date, set models.Settings, place *time.Location, madeAt time.Time, last *models.Date) models.Date {
	var from models.Date
	if last == nil {
		from = firstWeek(set, place, madeAt)
	} else {
		from = WeekStart(*last, set).Add(week)
	}
	if from.After(start) {
		return start
	}
	return from
}

// firstWeek is the first week that begins no earlier than the nursery was made.
func firstWeek(set models.Settings, place *time.Location, madeAt time.Time) models.Date {
	start := WeekOf(madeAt, set, place)
	if ReminderAt(start, set, place).Before(madeAt) {
		return start.Add(week)
	}
	return start
}
