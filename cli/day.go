package cli

import (
	"context"
	"fmt"
	"regexp"
	"strconv"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

// day is a flag for a day: a date, or one counted from today. Today is the
// nursery's, whatever the clock of this computer says.
type day struct {
	date     models.Date
	fromHere bool // counted from today
	back     int  // so many days back; of days to come less than 0
}

func dayFlag(cmd *cobra.Command, to *day, name, help string) {
	addValue(cmd, name, "day", help, func(text string) (err error) {
		*to, err = parseDay(text)
		return err
	})
	complete(cmd, name, []string{"today", "yesterday"})
}

// dayAheadFlag is a flag for a day of a plan, which may be told from today as well.
func dayAheadFlag(cmd *cobra.Command, to *day, name, help string) {
	addValue(cmd, name, "day", help, func(text string) (err error) {
		*to, err = parseDayAhead(text)
		return err
	})
	complete(cmd, name, []string{"today", "tomorrow", "10-days-ahead"})
}

var (
	daysAgo   = regexp.MustCompile(`^([0-9]{1,4})[ -]days?[ -]ago$`)
	daysAhead = regexp.MustCompile(`^([0-9]{1,4})[ -]days?[ -]ahead$`)
)

func parseDay(text string) (day, error) {
	switch text {
	case "today":
		return day{fromHere: true}, nil
	case "yesterday":
		return day{fromHere: true, back: 1}, nil
	}
	if match := daysAgo.FindStringSubmatch(text); match != nil {
		back, err := strconv.Atoi(match[1])
		return day{fromHere: true, back: back}, err
	}
	date, err := models.ParseDate(text)
	if err != nil {
		return day{}, fmt.Errorf("%w, or today, yesterday or 10-days-ago", err)
	}
	return day{date: date}, nil
}

// parseDayAhead reads a day of a plan: one that parseDay knows, tomorrow, or one so
// many days ahead.
func parseDayAhead(text string) (day, error) {
	if text == "tomorrow" {
		return day{fromHere: true, back: -1}, nil
	}
	if match := daysAhead.FindStringSubmatch(text); match != nil {
		ahead, err := strconv.Atoi(match[1])
		return day{fromHere: true, back: -ahead}, err
	}
	read, err := parseDay(text)
	if err != nil {
		return day{}, fmt.Errorf("%w, tomorrow or 10-days-ahead", err)
	}
	return read, nil
}

// in is the day as the nursery counts it, which is asked only where it matters.
// A day that was not given stays none.
func (d day) in(ctx context.Context, c *api.Client) (models.Date, error) {
	if !d.fromHere {
		return d.date, nil
	}
	view, err := c.Nursery(ctx)
	if err != nil {
		return models.Date{}, err
	}
	return d.at(view)
}

// at is a day that is counted from the nursery's today.
func (d day) at(view models.NurseryView) (models.Date, error) {
	if view.Today.IsZero() {
		return models.Date{}, models.Errorf(models.Unavailable, "unexpected-answer", "what answers there is not this program's server: it does not say which day it is")
	}
	return view.Today.Add(-d.back), nil
}

// orToday is the day, and today where none was given.
func (d day) orToday() day {
	if d.date.IsZero() {
		d.fromHere = true
	}
	return d
}
