package cli

import (
	"context"
	"strconv"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/nursery"
)

func newDue(s *session) *cobra.Command {
	var q nursery.DueQuery
	var on day
	cmd := &cobra.Command{
		Use: "due", Short: "List what is due, the most urgent first",
		Long:    "Lists what batches ask for on a day. A day to come is answered as if nothing more were entered until then.",
		Example: examples("withy due", "withy due --on 2026-02-16 --bench B2", "withy due --flag pot_up"),
		Args:    takes(),
		RunE: s.through(func(ctx context.Context, c *api.Client, _ []string) (err error) {
			if q.On, err = on.in(ctx, c); err != nil {
				return err
			}
			list, err := c.Due(ctx, q)
			if err != nil {
				return err
			}
			return show(s, list, func(l models.DueList) {
				if len(l.Items) > 0 {
					s.say("Due on %s:", l.On)
				}
				s.dueTable(l.Items, "Nothing is due on "+l.On.String()+".")
			})
		}),
	}
	dayFlag(cmd, &on, "on", "the day asked about; today by default")
	cmd.Flags().StringVar(&q.Bench, "bench", "", "only what stands on this bench")
	wordFlag(cmd, &q.Flag, "flag", "only this flag", models.Flags)
	return cmd
}

func (s *session) dueTable(items []models.DueItem, none string) {
	var rows [][]string
	for _, item := range items {
		what := item.Flag.Words()
		if item.Urgent {
			what += ", urgent"
		}
		rows = append(rows, []string{dash(item.Bench), item.Batch, what, strconv.Itoa(item.Count), item.Reason})
	}
	s.table([]column{col("BENCH"), col("BATCH"), col("WHAT"), numCol("COUNT"), textCol("WHY")}, rows, none)
}
