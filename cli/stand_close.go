package cli

import (
	"context"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

func newStandClose(s *session) *cobra.Command {
	var req models.NewClosures
	var from day
	cmd := &cobra.Command{
		Use: "close STAND", Short: "Close a stand for more days",
		Long: `Adds closures to those of a stand, from --in-force-from on, today by default. What
is closed stays closed, and a closure that is there already is not added again. For
coordinators, and for a land manager on their own land.`,
		Example: examples(
			"withy stand close MB-03 --closure \"04-15..07-31: birds nest here\" --why \"nests found\" --by parks",
			"withy stand close MB-03 --closure \"2026-11-20..2026-12-05: bank works\" --nest-check \"03-15..04-14: early nests\" --why \"agreed on site\" --by OP --in-force-from 2026-11-01"),
		Args: takes("STAND"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) (err error) {
			if req.InForceFrom, err = from.in(ctx, c); err != nil {
				return err
			}
			stand, err := c.AddClosures(ctx, args[0], req)
			if err != nil {
				return err
			}
			return show(s, stand, func(v models.StandView) { s.closed(v, req.InForceFrom) })
		}),
		PreRunE: func(cmd *cobra.Command, _ []string) error {
			if len(req.Closures) == 0 {
				return given(cmd, []string{"closure"})
			}
			return nil
		},
	}
	closureFlags(cmd, &req.Closures)
	dayAheadFlag(cmd, &from, "in-force-from", "first day of the new list of closures; today by default")
	cmd.Flags().StringVar(&req.Why, "why", "", "why the stand is closed")
	cmd.Flags().StringVar(&req.By, "by", "", "who closes it")
	return cmd
}

func (s *session) closed(v models.StandView, from models.Date) {
	s.say("What was given is on the list of closures of stand %s from %s on, beside what was there.", v.Code, todayOr(from))
	if len(v.Closures) > 0 {
		s.say("The list today:")
	}
	for _, closure := range v.Closures {
		s.say("%s", closureWords(closure))
	}
	s.say("See every version of the list with withy stand versions %s.", v.Code)
	if v.Exceeded != "" {
		s.warn("%s: %s", v.Code, v.Exceeded)
	}
	s.warnAll(v.Warnings)
}

// todayOr is a day in words, where no day means today.
func todayOr(day models.Date) string {
	if day.IsZero() {
		return "today"
	}
	return day.String()
}
