package cli

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

func newShare(s *session) *cobra.Command {
	cmd := s.group("share", "Set stems of a stand aside for crews",
		examples("withy share set MB-03 --crew C --stems 24 --to 2026-01-31", "withy share list", "withy share return MB-03 C --by RQ"))
	cmd.AddCommand(newShareSet(s), newShareList(s), newShareReturn(s))
	return cmd
}

func newShareSet(s *session) *cobra.Command {
	var req models.NewShare
	var from, to day
	cmd := &cobra.Command{
		Use: "set STAND", Short: "Set stems of a stand aside for a crew",
		Long: `Sets stems aside for a crew for some days, as far as the stand can spare them on
each of these. They count against the stand from the first day on. Batches logged
with --share draw on them, up to seven days after the last day: what is not drawn
by then is released. A share is no leave to cut.`,
		Example: examples(
			"withy share set MB-03 --crew C --stems 24 --from 2026-01-24 --to 2026-01-31 --by OP",
			"withy share set TC-02 --crew weavers --stems 12 --parents 6 --to today --note \"north bank, no signal there\""),
		Args: takes("STAND"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) (err error) {
			if req.From, err = from.orToday().in(ctx, c); err != nil {
				return err
			}
			if req.To, err = to.in(ctx, c); err != nil {
				return err
			}
			share, err := c.AddShare(ctx, args[0], req)
			if err != nil {
				return err
			}
			return show(s, share, s.shareSet)
		}),
	}
	f := cmd.Flags()
	f.StringVar(&req.Crew, "crew", "", "the crew they are set aside for")
	intFlag(cmd, &req.Stems, "stems", "stems to set aside")
	optionalInt(cmd, &req.Parents, "parents", "plants or clumps to cut them from; needed where those were counted")
	dayAheadFlag(cmd, &from, "from", "first day of the share; today by default")
	dayAheadFlag(cmd, &to, "to", "last day of the share")
	f.StringVar(&req.Note, "note", "", "anything else")
	f.StringVar(&req.By, "by", "", "who sets them aside")
	needs(cmd, "crew", "stems", "to")
	return cmd
}

func (s *session) shareSet(v models.ShareView) {
	s.say("Set aside at %s for %s: %s, from %s to %s. They count against the stand from the first day on.",
		v.Stand, v.Crew, models.Counted(v.Stems, "stem"), v.FromDay, v.ToDay)
	s.say("Log what is cut with withy batch log --share %s, on %s at the latest. What is not needed goes back with withy share return %s %s.",
		quoted(v.Crew), v.LogUntil, v.Stand, quoted(v.Crew))
	s.say("A share is no leave to cut. %s", v.Leave)
	s.warnAll(v.Warnings)
}

func newShareList(s *session) *cobra.Command {
	return &cobra.Command{
		Use: "list [STAND]", Short: "List what is set aside for crews",
		Long: `Lists what is set aside at all stands, those shares first that end first. With a
stand it lists all shares there ever were of it, the latest first.`,
		Example: examples("withy share list", "withy share list MB-03"),
		Args:    perhaps("STAND"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			if len(args) == 0 {
				return showAll(s, c.HeldShares(ctx), s.heldShares)
			}
			return showAll(s, c.Shares(ctx, args[0]), s.sharesOfStand)
		}),
	}
}

// perhaps takes one argument or none.
func perhaps(name string) cobra.PositionalArgs {
	one := takes(name)
	return func(cmd *cobra.Command, args []string) error {
		if len(args) == 0 {
			return nil
		}
		return one(cmd, args)
	}
}

func (s *session) heldShares(shares []models.ShareView) {
	var rows [][]string
	for i := range shares {
		v := &shares[i]
		rows = append(rows, append([]string{v.Stand}, shareCells(v)...))
	}
	s.table(append([]column{col("STAND")}, shareColumns...), rows, "Nothing is set aside.")
	s.warnMisfits(shares)
}

func (s *session) sharesOfStand(shares []models.ShareView) {
	var rows [][]string
	for i := range shares {
		v := &shares[i]
		rows = append(rows, append(shareCells(v), v.ID))
	}
	columns := append([]column{}, shareColumns...)
	s.table(append(columns, col("IDENTIFIER")), rows, "Nothing was ever set aside at this stand.")
	s.warnMisfits(shares)
}

var shareColumns = []column{textCol("CREW"), col("FROM"), col("TO"), numCol("STEMS"), numCol("DRAWN"), numCol("LEFT"), textCol("REMARK")}

func shareCells(v *models.ShareView) []string {
	return []string{v.Crew, v.FromDay.String(), v.ToDay.String(), strconv.Itoa(v.Stems), strconv.Itoa(v.Drawn), strconv.Itoa(v.Left), dash(shareRemark(v))}
}

// shareRemark is what became of a share, or what is to be done about it.
func shareRemark(v *models.ShareView) string {
	var remarks []string
	if v.Returned > 0 {
		remarks = append(remarks, fmt.Sprintf("%d returned", v.Returned))
	}
	if v.Released > 0 {
		remarks = append(remarks, fmt.Sprintf("%d released", v.Released))
	}
	switch {
	case v.Unreturned:
		remarks = append(remarks, "not returned")
	case v.Misfit != "":
		remarks = append(remarks, "no longer fits")
	case v.Left == 0 && len(remarks) == 0:
		remarks = append(remarks, "used up")
	}
	return strings.Join(remarks, ", ")
}

func (s *session) warnMisfits(shares []models.ShareView) {
	for i := range shares {
		if v := &shares[i]; v.Misfit != "" {
			s.warn("%s: %s", v.Stand, v.Misfit)
		}
	}
}

func newShareReturn(s *session) *cobra.Command {
	var req models.NewShareReturn
	cmd := &cobra.Command{
		Use: "return STAND SHARE", Short: "Return all that is left of a crew share",
		Long: `Returns all that is left of a crew share, so that it counts against the stand no
more. A share is named by its crew, or by its identifier where the crew has several
at the stand.`,
		Example: examples("withy share return MB-03 C --by RQ --why \"the river was too high\""),
		Args:    takes("STAND", "SHARE"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			share, err := c.ReturnShare(ctx, args[0], args[1], req)
			if err != nil {
				return err
			}
			return show(s, share, func(v models.ShareView) {
				s.say("Returned to %s: %s of the share of %s, which had taken %d of %d.",
					v.Stand, models.Counted(v.Returned, "stem"), v.Crew, v.Drawn, v.Stems)
				s.warnAll(v.Warnings)
			})
		}),
	}
	cmd.Flags().StringVar(&req.By, "by", "", "who returns it")
	cmd.Flags().StringVar(&req.Why, "why", "", "why it was not needed")
	needs(cmd, "by")
	return cmd
}
