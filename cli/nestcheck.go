package cli

import (
	"context"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

const aboutNests = `
A look is good for seven days: one that found none lifts closures where nests are
looked for first, and one that found nests keeps them shut. The latest look counts; of
one day, the one that found nests.`

func newNestCheck(s *session) *cobra.Command {
	var req models.NewNestCheck
	var on day
	cmd := &cobra.Command{
		Use: "nest-check STAND", Short: "Record a look for nests at a stand, or list them",
		Long: "Records who looked for nests at a stand, when, and whether nests in use were found.\nWithout a flag it lists the looks." + aboutNests,
		Example: examples(
			"withy stand nest-check MB-03 --nests-found no --by RQ",
			"withy stand nest-check MB-03 --nests-found yes --by RQ --on 2026-03-20 --note \"a wren in the thicket\"",
			"withy stand nest-check MB-03"),
		Args: takes("STAND"),
	}
	nestFlags(cmd, &req, &on)
	s.listsOr(cmd, s.listNestChecks, s.entering(func(ctx context.Context, c *api.Client, args []string) (err error) {
		if req.On, err = s.dayOf(ctx, c, on.orToday()); err != nil {
			return err
		}
		look, err := c.AddNestCheck(ctx, args[0], req)
		if err != nil {
			return err
		}
		return show(s, look, s.looked)
	}), "nests-found", "by")
	return cmd
}

func newPlaceNestCheck(s *session) *cobra.Command {
	var req models.NewNestCheck
	var on day
	cmd := &cobra.Command{
		Use: "nest-check PLACE", Short: "Record a look for nests over a whole place",
		Long:    "Records a look for nests over a whole place, which goes for every stand there." + aboutNests,
		Example: examples("withy place nest-check \"Mallow Bend\" --nests-found no --by RQ"),
		Args:    takes("PLACE"),
		RunE: s.entering(func(ctx context.Context, c *api.Client, args []string) (err error) {
			if req.On, err = s.dayOf(ctx, c, on.orToday()); err != nil {
				return err
			}
			look, err := c.CheckPlaceForNests(ctx, args[0], req)
			if err != nil {
				return err
			}
			return show(s, look, s.looked)
		}),
	}
	nestFlags(cmd, &req, &on)
	needs(cmd, "nests-found", "by")
	return cmd
}

func nestFlags(cmd *cobra.Command, req *models.NewNestCheck, on *day) {
	dayFlag(cmd, on, "on", "day of the look; today by default")
	addValue(cmd, "nests-found", "yes or no", "whether nests in use were found", func(text string) (err error) {
		req.NestsFound, err = parseYesNo(text)
		return err
	})
	cmd.Flags().StringVar(&req.By, "by", "", "who looked")
	cmd.Flags().StringVar(&req.Note, "note", "", "what was seen")
}

func (s *session) looked(v models.NestCheckView) {
	where := v.Stand
	if where == "" {
		where = "the whole of " + v.Place
	}
	if v.NestsFound {
		s.say("Recorded: nests in use at %s on %s%s. Where nests are looked for first it stays shut: do not cut, keep away, and tell the lead.", where, v.CheckedOn, by(v.CheckedBy))
	} else {
		s.say("Recorded: no nests at %s on %s%s. The look is good to %s; stop all the same where you meet one.", where, v.CheckedOn, by(v.CheckedBy), v.GoodTo)
	}
	s.warnAll(v.Warnings)
}

func (s *session) listNestChecks(ctx context.Context, c *api.Client, args []string) error {
	return showAll(s, c.NestChecks(ctx, args[0]), func(looks []models.NestCheckView) {
		var rows [][]string
		for _, v := range looks {
			over := "stand"
			if v.Place != "" {
				over = "place"
			}
			rows = append(rows, []string{v.CheckedOn.String(), foundWords(v.NestsFound), over, dash(v.CheckedBy), dash(asAmended(v.Amended, v.Note)), v.ID})
		}
		s.table([]column{col("ON"), col("NESTS"), col("OVER"), col("BY"), textCol("NOTE"), col("LOOK")}, rows,
			"No look for nests at this stand is on file.")
	})
}

func foundWords(found bool) string {
	if found {
		return "found"
	}
	return "none"
}
