package cli

import (
	"context"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

func newSalvage(s *session) *cobra.Command {
	var req models.NewSalvage
	var from, to day
	cmd := &cobra.Command{
		Use: "salvage STAND", Short: "Enter that the ground of a stand is to be destroyed, or list it",
		Long: `Enters days on which a stand may be cut free of caps, since its ground is to be
destroyed: on whose authority, and the last day. Closures, rests, protection and
permits hold as ever, and what is cut is on the ledger all the same. Without a flag
it lists what is on file.`,
		Example: examples(
			"withy stand salvage MB-03 --to 2026-03-15 --authority \"Wrenlow Valley Roads\" --why \"the bank is dug away for the new bridge\" --by OP",
			"withy stand salvage MB-03"),
		Args: takes("STAND"),
	}
	dayAheadFlag(cmd, &from, "from", "first day; today by default")
	dayAheadFlag(cmd, &to, "to", "last day, before the ground is destroyed (needed)")
	cmd.Flags().StringVar(&req.Authority, "authority", "", "on whose authority (needed)")
	cmd.Flags().StringVar(&req.Why, "why", "", "what happens to the ground (needed)")
	cmd.Flags().StringVar(&req.By, "by", "", "who enters it")
	s.listsOr(cmd, s.listSalvages, s.through(func(ctx context.Context, c *api.Client, args []string) (err error) {
		if req.From, err = from.in(ctx, c); err != nil {
			return err
		}
		if req.To, err = to.in(ctx, c); err != nil {
			return err
		}
		salvage, err := c.AddSalvage(ctx, args[0], req)
		if err != nil {
			return err
		}
		return show(s, salvage, s.salvageAdded)
	}), "to", "authority", "why")
	return cmd
}

func (s *session) salvageAdded(v models.SalvageView) {
	s.say("From %s to %s the caps of %s do not hold, on the authority of %s.", v.StartsOn, v.EndsOn, v.Stand, v.Authority)
	s.say("Closures, rests, protection and permits do. Log what is cut with --purpose salvage: its stems are on the ledger all the same.")
	s.warnAll(v.Warnings)
}

func (s *session) listSalvages(ctx context.Context, c *api.Client, args []string) error {
	return showAll(s, c.Salvages(ctx, args[0]), func(salvages []models.SalvageView) {
		var rows [][]string
		for _, v := range salvages {
			rows = append(rows, []string{v.StartsOn.String(), v.EndsOn.String(), v.Authority, asAmended(v.Amended, v.Why), dash(v.SetBy), v.ID})
		}
		s.table([]column{col("FROM"), col("TO"), textCol("AUTHORITY"), textCol("WHY"), col("BY"), col("SALVAGE")}, rows, "No salvage of this stand is on file.")
	})
}
