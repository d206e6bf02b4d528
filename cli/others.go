package cli

import (
	"context"
	"fmt"
	"strconv"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

func newOthers(s *session) *cobra.Command {
	var req models.NewOthersCut
	var from, to day
	cmd := &cobra.Command{
		Use: "others STAND", Short: "Record stems that others cut from a stand, or list them",
		Long: `Records stems that others cut from a stand, or with --ours the nursery itself before
it kept batches, as far as that is known: a range of stems and a range of days. It is never refused: the stems are gone. The high
figure counts against the stand, on the last day. Without a flag it lists what is
recorded.`,
		Example: examples(
			"withy stand others MB-03 --from 2026-01-03 --to 2026-01-05 --low 5 --high 12 --cut-by \"valley basket weavers\" --evidence \"cut stubs seen on the bank\" --by OP",
			"withy stand others MB-03"),
		Args: takes("STAND"),
	}
	dayFlag(cmd, &from, "from", "first day on which they may have been cut; the last one by default")
	dayFlag(cmd, &to, "to", "last day on which they may have been cut")
	intFlag(cmd, &req.Low, "low", "fewest stems it may have been; 0 by default")
	intFlag(cmd, &req.High, "high", "most stems it may have been")
	cmd.Flags().BoolVar(&req.Ours, "ours", false, "the nursery itself cut them, before it kept batches")
	cmd.Flags().StringVar(&req.CutBy, "cut-by", "", "who cut, as far as that is known")
	cmd.Flags().StringVar(&req.Evidence, "evidence", "", "how it is known")
	cmd.Flags().StringVar(&req.By, "by", "", "who enters it")
	cmd.PreRunE = func(cmd *cobra.Command, _ []string) error {
		if onlyLists(cmd) {
			return nil
		}
		return given(cmd, []string{"to", "high", "cut-by", "evidence"})
	}
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if onlyLists(cmd) {
			return s.through(s.listOthers)(cmd, args)
		}
		return s.through(func(ctx context.Context, c *api.Client, args []string) (err error) {
			if req.To, err = to.in(ctx, c); err != nil {
				return err
			}
			if !cmd.Flags().Changed("from") {
				from = to
			}
			if req.From, err = from.in(ctx, c); err != nil {
				return err
			}
			return s.addOthers(ctx, c, args[0], req)
		})(cmd, args)
	}
	return cmd
}

// onlyLists says that nothing is to be recorded: no flag of the command's own is
// given.
func onlyLists(cmd *cobra.Command) bool {
	for _, name := range []string{"from", "to", "low", "high", "ours", "cut-by", "evidence", "by"} {
		if cmd.Flags().Changed(name) {
			return false
		}
	}
	return true
}

func (s *session) addOthers(ctx context.Context, c *api.Client, stand string, req models.NewOthersCut) error {
	cut, err := c.AddOthersCut(ctx, stand, req)
	if err != nil {
		return err
	}
	return show(s, cut, func(v models.OthersCutView) {
		who := "others"
		if v.Ours {
			who = "the nursery itself"
		}
		s.say("Recorded: %s cut at %s by %s, %s. %s on %s.", rangeWords(&v.OthersCut), v.Stand, who, v.CutBy, countsWords(v.High), v.CutTo)
		s.warnAll(v.Warnings)
	})
}

func rangeWords(c *models.OthersCut) string {
	if c.Low == c.High {
		return models.Counted(c.High, "stem")
	}
	return fmt.Sprintf("%d to %s", c.Low, models.Counted(c.High, "stem"))
}

func countsWords(high int) string {
	if high == 1 {
		return "1 stem counts against the stand"
	}
	return fmt.Sprintf("%d stems count against the stand", high)
}

func (s *session) listOthers(ctx context.Context, c *api.Client, args []string) error {
	return showAll(s, c.OthersCuts(ctx, args[0]), func(cuts []models.OthersCutView) {
		var rows [][]string
		for _, v := range cuts {
			rows = append(rows, []string{v.CutFrom.String(), v.CutTo.String(), strconv.Itoa(v.Low), strconv.Itoa(v.High), v.CutBy, asAmended(v.Amended, v.Evidence), dash(v.EnteredBy)})
		}
		s.table([]column{col("FROM"), col("TO"), numCol("LOW"), numCol("HIGH"), textCol("CUT BY"), textCol("EVIDENCE"), col("BY")}, rows,
			"No cuts of others are on file for this stand.")
	})
}
