package rules

import (
	"strconv"
	"time"

	"withybed/models"
)

// GrowthYear is the growth year that holds a day, from 1 July to 30 June.
func GrowthYear(day models.Date) (from, to models.Date) {
	year := day.Year()
	if month, _ := day.MonthDay(); month < time.July {
		year--
	}
	return models.NewDate(year, time.July, 1), models.NewDate(year+1, time.June, 30)
}

// seasonDays are the days of a growth year that is written as one, as in 2025/26.
func seasonDays(season string) (from, to models.Date) {
	year, _ := strconv.Atoi(season[:4]) // CheckSeason let it pass
	return GrowthYear(models.NewDate(year, time.July, 1))
}

// Period are the days a report speaks of: from one to another, both included. What is
// left out follows the growth year that holds the other end, or today.
//
// It fails with a models.Error, kind Invalid, code out-of-order, where it ends before
// it begins.
func Period(from, to, today models.Date) (first, last models.Date, err error) {
	switch {
	case from.IsZero() && to.IsZero():
		first, last = GrowthYear(today)
	case from.IsZero():
		first, _ = GrowthYear(to)
		last = to
	case to.IsZero():
		first = from
		_, last = GrowthYear(models.Later(from, today))
	default:
		first, last = from, to
	}
	if last.Before(first) {
		return first, last, models.InvalidQuestion("out-of-order", "to", last, "is %s, before the first day, %s", last, first)
	}
	return first, last, nil
}

// courseYears is how many growth years before the last one the course of a stand begins
// where no first day is given: a window looks back nearly a year, and a count lasts two.
const courseYears = 2

// CourseDays are the days over which the course of a stand is shown: as Period, but from
// two growth years earlier where no first day is given.
func CourseDays(from, to, today models.Date) (first, last models.Date, err error) {
	first, last, err = Period(from, to, today)
	if from.IsZero() {
		first = models.NewDate(first.Year()-courseYears, time.July, 1)
	}
	return first, last, err
}
