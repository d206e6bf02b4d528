package cli

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

func newDecide(s *session) *cobra.Command {
	var req models.NewDecision
	var on, until day
	cmd := &cobra.Command{
		Use: "decide BATCH", Short: "Decide about cuttings that have not rooted: keep, restick, discard or close",
		Example: examples(
			"withy batch decide MB-03-2026-7 --action keep --until 2026-05-18 --why \"callus on most of them\" --by OP",
			"withy batch decide MB-03-2026-7 --action restick --by OP"),
		Args: takes("BATCH"),
		RunE: s.entering(func(ctx context.Context, c *api.Client, args []string) (err error) {
			if req.Until, err = s.dayOf(ctx, c, until); err != nil {
				return err
			}
			return s.decide(ctx, c, args[0], on, req)
		}),
	}
	wordFlag(cmd, &req.Action, "action", "what was decided", models.Actions)
	dayAheadFlag(cmd, &until, "until", "day to which it is kept; with keep")
	decisionFlags(cmd, &req, &on)
	needs(cmd, "action")
	return cmd
}

func newClose(s *session) *cobra.Command {
	req := models.NewDecision{Action: models.CloseBatch}
	var on day
	cmd := &cobra.Command{
		Use: "close BATCH", Short: "Close a batch: what has not rooted counts as unrooted, not lost",
		Example: examples("withy batch close MB-03-2026-7 --why \"all potted\" --by OP"),
		Args:    takes("BATCH"),
		RunE: s.entering(func(ctx context.Context, c *api.Client, args []string) error {
			return s.decide(ctx, c, args[0], on, req)
		}),
	}
	decisionFlags(cmd, &req, &on)
	return cmd
}

func decisionFlags(cmd *cobra.Command, req *models.NewDecision, on *day) {
	dayFlag(cmd, on, "on", "day of the decision; today by default")
	cmd.Flags().StringVar(&req.By, "by", "", "who decided; initials do")
	cmd.Flags().StringVar(&req.Why, "why", "", "why")
}

func (s *session) decide(ctx context.Context, c *api.Client, code string, on day, req models.NewDecision) (err error) {
	if req.On, err = s.dayOf(ctx, c, on.orToday()); err != nil {
		return err
	}
	batch, err := c.Decide(ctx, code, req)
	if err != nil {
		return err
	}
	return show(s, batch, func(b models.BatchView) {
		s.say("%s", decided(&b, &req))
		s.warnAll(b.Warnings)
	})
}

// decided is a decision with what follows from it.
func decided(b *models.BatchView, req *models.NewDecision) string {
	switch req.Action {
	case models.Keep:
		return fmt.Sprintf("%s is kept until %s, and asks for no decision before.", b.Code, req.Until)
	case models.Restick:
		if last := len(b.Sisters); last > 0 {
			return fmt.Sprintf("The unrooted of %s are lifted as %s. Next: withy batch stick %s.", b.Code, b.Sisters[last-1].Code, b.Sisters[last-1].Code)
		}
	case models.Discard:
		return fmt.Sprintf("The unrooted of %s are discarded, and count as lost.", b.Code)
	}
	return fmt.Sprintf("%s is closed.", b.Code)
}

func newReview(s *session) *cobra.Command {
	var req models.NewReview
	var restUntil day
	cmd := &cobra.Command{
		Use: "review BATCH", Short: "Answer a batch that was cut against a rule",
		Long: `Accepts a cut that was recorded against a rule, with the reason, or leaves it to
review with what has to be cleared up (--accept=false). Where the batch passed a
limit its stand rests from the day after: --rest-until gives that rest its last day.`,
		Example: examples("withy batch review MB-03-2026-9 --accept --reason \"both crews counted again\" --by OP --rest-until 2026-10-31",
			"withy batch review MB-03-2026-9 --accept=false --reason \"ask the second crew for its tally\""),
		Args: takes("BATCH"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) (err error) {
			if req.RestUntil, err = restUntil.in(ctx, c); err != nil {
				return err
			}
			batch, err := c.Review(ctx, args[0], req)
			if err != nil {
				return err
			}
			return show(s, batch, func(b models.BatchView) {
				if b.ToReview {
					s.say("%s stays to review: %s", b.Code, req.Reason)
				} else {
					s.say("%s is accepted. Its stems count as they stand.", b.Code)
				}
				if !req.RestUntil.IsZero() {
					s.say("The rest of %s that it began is over after %s.", b.Stand, req.RestUntil)
				}
				s.warnAll(b.Warnings)
			})
		}),
	}
	cmd.Flags().BoolVar(&req.Accept, "accept", false, "accept the cut as it stands; --accept=false leaves it to review")
	cmd.Flags().StringVar(&req.Reason, "reason", "", "why")
	cmd.Flags().StringVar(&req.By, "by", "", "who reviewed it; initials do")
	dayAheadFlag(cmd, &restUntil, "rest-until", "last day of the rest that the batch began by passing a limit")
	needs(cmd, "accept", "reason")
	return cmd
}
