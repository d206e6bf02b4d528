package cli

import (
	"context"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

func newToolCleaning(s *session) *cobra.Command {
	var req models.NewToolCleaning
	var on day
	cmd := &cobra.Command{
		Use: "clean STAND", Short: "Log tools and boots cleaned before a stand is entered, or list it",
		Long: `Logs that tools and boots were cleaned before a stand is entered: sickness travels
on both from stand to stand. Without a flag it lists what is logged.`,
		Example: examples(
			"withy stand clean MB-03 --by RQ --how \"brushed, then alcohol on blades and soles\"",
			"withy stand clean MB-03"),
		Args: takes("STAND"),
	}
	dayFlag(cmd, &on, "on", "day they were cleaned; today by default")
	cmd.Flags().StringVar(&req.By, "by", "", "who cleaned them (needed)")
	cmd.Flags().StringVar(&req.How, "how", "", "what with (needed)")
	s.listsOr(cmd, s.listToolCleanings, s.entering(func(ctx context.Context, c *api.Client, args []string) (err error) {
		if req.On, err = s.dayOf(ctx, c, on.orToday()); err != nil {
			return err
		}
		cleaning, err := c.LogToolCleaning(ctx, args[0], req)
		if err != nil {
			return err
		}
		return show(s, cleaning, func(v models.ToolCleaningView) {
			s.say("Logged: tools and boots cleaned on %s%s before %s was entered (%s).", v.CleanedOn, by(v.CleanedBy), v.Stand, v.How)
			s.warnAll(v.Warnings)
		})
	}), "by", "how")
	return cmd
}

func (s *session) listToolCleanings(ctx context.Context, c *api.Client, args []string) error {
	return showAll(s, c.ToolCleanings(ctx, args[0]), func(cleanings []models.ToolCleaningView) {
		var rows [][]string
		for _, v := range cleanings {
			rows = append(rows, []string{v.CleanedOn.String(), asAmended(v.Amended, v.How), dash(v.CleanedBy)})
		}
		s.table([]column{col("ON"), textCol("HOW"), col("BY")}, rows, "No cleaning of tools at this stand is logged.")
	})
}
