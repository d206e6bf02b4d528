package cli

import (
	"context"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

func newRemind(s *session) *cobra.Command {
	cmd := s.group("remind", "Make the weekly reminder, and read the last ones",
		examples("withy remind run", "withy remind list", "withy remind show 2026-02-02"))
	cmd.AddCommand(newRemindRun(s), newRemindList(s), newRemindShow(s))
	return cmd
}

func newRemindRun(s *session) *cobra.Command {
	var on day
	cmd := &cobra.Command{
		Use: "run", Short: "Make this week's reminder, or find the one that was made",
		Long: `Makes the reminder of the week, once: asked for again it shows the same one. A week
runs from one reminder hour to the next.`,
		Example: examples("withy remind run", "withy remind run --on 2026-02-03"),
		Args:    takes(),
		RunE: s.through(func(ctx context.Context, c *api.Client, _ []string) (err error) {
			var req models.NewReminder
			if req.On, err = on.in(ctx, c); err != nil {
				return err
			}
			view, err := c.Remind(ctx, req)
			if err != nil {
				return err
			}
			return show(s, view, func(v models.ReminderView) {
				s.reminderWords(v.Reminder)
				if !v.Made {
					s.note("the reminder of the week of %s was made before", v.Week)
				}
			})
		}),
	}
	dayFlag(cmd, &on, "on", "a day of the week wanted; this instant by default")
	return cmd
}

func (s *session) reminderWords(r models.Reminder) { s.say("%s", strings.TrimRight(r.Text, "\n")) }

func newRemindList(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "list", Short: "List the reminders, the latest week first", Example: examples("withy remind list"),
		Args: takes(),
		RunE: s.through(func(ctx context.Context, c *api.Client, _ []string) error {
			return showAll(s, c.Reminders(ctx), func(reminders []models.Reminder) {
				var rows [][]string
				for _, r := range reminders {
					b := &r.Body
					rows = append(rows, []string{r.Week.String(), r.On.String(), strconv.Itoa(len(b.Review)), strconv.Itoa(len(b.PotUp)),
						strconv.Itoa(len(b.Due)), strconv.Itoa(len(b.Coming)), strconv.Itoa(len(b.Stands) + len(b.Expiring))})
				}
				s.table([]column{col("WEEK OF"), col("SPEAKS OF"), numCol("REVIEW"), numCol("POT UP"), numCol("DUE"), numCol("COMING"), numCol("STANDS")}, rows,
					"No reminder was made yet: make one with withy remind run.")
			})
		}),
	}
}

func newRemindShow(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "show [WEEK]", Short: "Show a reminder by the day its week begins on, or the latest one",
		Example: examples("withy remind show", "withy remind show 2026-02-02"),
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usagef("withy remind show takes one day: the day the week begins on, as in 2026-02-02")
			}
			return nil
		},
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			reminder, err := findReminder(ctx, c, args)
			if err != nil {
				return err
			}
			return show(s, reminder, s.reminderWords)
		}),
	}
}

func findReminder(ctx context.Context, c *api.Client, args []string) (models.Reminder, error) {
	if len(args) == 1 {
		week, err := models.ParseDate(args[0])
		if err != nil {
			return models.Reminder{}, usage{err.Error()}
		}
		return c.Reminder(ctx, week)
	}
	for reminder, err := range c.Reminders(ctx) {
		return reminder, err
	}
	return models.Reminder{}, models.Errorf(models.NotFound, "no-such-reminder", "no reminder was made yet: make one with withy remind run")
}
