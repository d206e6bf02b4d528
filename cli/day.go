package cli

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

// day is a flag for a day: a date, today or yesterday. Today is the nursery's,
// whatever the clock of this computer says.
type day struct {
	date models.Date
	word string // today or yesterday, where there is no date
}

func dayFlag(cmd *cobra.Command, to *day, name, help string) {
	addValue(cmd, name, "day", help, func(text string) (err error) {
		*to, err = parseDay(text)
		return err
	})
	complete(cmd, name, []string{"today", "yesterday"})
}

func parseDay(text string) (day, error) {
	if text == "today" || text == "yesterday" {
		return day{word: text}, nil
	}
	date, err := models.ParseDate(text)
	if err != nil {
		return day{}, fmt.Errorf("%w, or today or yesterday", err)
	}
	return day{date: date}, nil
}

// in is the day as the nursery counts it, which is asked only where it matters.
// A day that was not given stays none.
func (d day) in(ctx context.Context, c *api.Client) (models.Date, error) {
	if d.word == "" {
		return d.date, nil
	}
	view, err := c.Nursery(ctx)
	if err != nil || d.word == "today" {
		return view.Today, err
	}
	return view.Today.Add(-1), nil
}

// orToday is the day, and today where none was given.
func (d day) orToday() day {
	if d.word == "" && d.date.IsZero() {
		return day{word: "today"}
	}
	return d
}
