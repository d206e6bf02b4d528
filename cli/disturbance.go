package cli

import (
	"context"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

func newDisturb(s *session) *cobra.Command {
	var req models.NewDisturbance
	var on day
	cmd := &cobra.Command{
		Use: "disturb STAND", Short: "Record a flood, fire or the like, which ends the surveys of a stand",
		Example: examples("withy stand disturb MB-03 --kind flood --on 2026-10-30 --by OP"),
		Args:    takes("STAND"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) (err error) {
			if req.On, err = on.orToday().in(ctx, c); err != nil {
				return err
			}
			event, err := c.AddDisturbance(ctx, args[0], req)
			if err != nil {
				return err
			}
			return show(s, event, func(d models.DisturbanceView) {
				s.say("Recorded: %s on %s. The surveys of %s up to that day are no longer good.", d.Kind, d.HappenedOn, args[0])
				s.say("Next: count the stand again, and enter it with withy survey add %s.", args[0])
				s.warnAll(d.Warnings)
			})
		}),
	}
	dayFlag(cmd, &on, "on", "day it happened; today by default")
	wordFlag(cmd, &req.Kind, "kind", "what happened", models.Disturbances)
	cmd.Flags().StringVar(&req.By, "by", "", "who reports it")
	needs(cmd, "kind")
	return cmd
}

func newDisturbances(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "disturbances STAND", Short: "List the disturbances of a stand",
		Example: examples("withy stand disturbances MB-03"),
		Args:    takes("STAND"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			events, err := c.Disturbances(ctx, args[0])
			if err != nil {
				return err
			}
			return showItems(s, events, s.disturbanceTable)
		}),
	}
}

func (s *session) disturbanceTable(events []models.DisturbanceView) {
	var rows [][]string
	for _, d := range events {
		rows = append(rows, []string{d.HappenedOn.String(), d.Kind, asAmended(d.Amended, dash(d.ReportedBy))})
	}
	s.table([]column{col("ON"), col("KIND"), textCol("BY")}, rows, "No disturbance of this stand is on file.")
	s.endedCounts(events)
}

// endedCounts says which counts the disturbances ended.
func (s *session) endedCounts(events []models.DisturbanceView) {
	var last models.Date
	for _, d := range events {
		if !d.Void && d.ReplacedBy == "" {
			last = models.Later(last, d.HappenedOn)
		}
	}
	if !last.IsZero() {
		s.say("Counts of %s and before are no longer good.", last)
	}
}
