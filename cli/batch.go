package cli

import (
	"context"
	"strconv"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/nursery"
)

func newBatch(s *session) *cobra.Command {
	cmd := s.group("batch", "Log batches of cuttings, and follow them from cut to tray",
		examples("withy batch log --stand MB-03 --stems-cut 24 --cuttings 72 --collected-by RQ", "withy batch show MB-03-2026-7"))
	cmd.AddCommand(newBatchLog(s), newBatchList(s), newBatchShow(s), newStick(s), newMove(s), newSplit(s),
		newDecide(s), newClose(s), newReview(s), newCorrect(s), newVoid(s), newDetermine(s))
	return cmd
}

func newBatchList(s *session) *cobra.Command {
	var q nursery.BatchQuery
	var from, to day
	cmd := &cobra.Command{
		Use: "list", Short: "List batches, the latest collected first",
		Example: examples("withy batch list --stand MB-03", "withy batch list --active --bench B2", "withy batch list --to-review"),
		Args:    takes(),
		RunE: s.through(func(ctx context.Context, c *api.Client, _ []string) (err error) {
			if q.From, err = from.in(ctx, c); err != nil {
				return err
			}
			if q.To, err = to.in(ctx, c); err != nil {
				return err
			}
			return showAll(s, c.Batches(ctx, q), s.batchTable)
		}),
	}
	f := cmd.Flags()
	f.StringVar(&q.Stand, "stand", "", "only of this stand")
	f.StringVar(&q.Taxon, "taxon", "", "only of this taxon")
	f.StringVar(&q.Bench, "bench", "", "only stuck on this bench")
	wordFlag(cmd, &q.Kind, "kind", "only of this kind", models.CuttingKinds)
	dayFlag(cmd, &from, "from", "collected on this day or later")
	dayFlag(cmd, &to, "to", "collected on this day or earlier")
	f.BoolVar(&q.Active, "active", false, "only those of which something can fall due")
	f.BoolVar(&q.ToReview, "to-review", false, "only those the coordinator has to look at")
	f.BoolVar(&q.Void, "void", false, "only those that are void, which are left out otherwise")
	return cmd
}

func (s *session) batchTable(batches []models.BatchSummary) {
	var rows [][]string
	for _, b := range batches {
		rows = append(rows, []string{b.Code, models.QualifiedName(b.Taxon, b.Qualifier), b.CollectedOn.String(), strconv.Itoa(b.StemsCut), strconv.Itoa(b.Cuttings),
			standing(b.State, b.Stage), strconv.Itoa(b.Stuck), maybe(b.Percent, percent)})
	}
	s.table([]column{col("BATCH"), textCol("TAXON"), col("CUT ON"), numCol("STEMS"), numCol("CUTTINGS"),
		textCol("STAGE"), numCol("STUCK"), numCol("ROOTED")}, rows, "There are no such batches.")
}

// standing is where a batch is, and whether someone has to look at its record.
func standing(state models.State, stage models.Stage) string {
	switch state {
	case models.ToReview:
		return words(stage) + ", to review"
	case models.NeverWas:
		return "void"
	}
	return words(stage)
}

func newStick(s *session) *cobra.Command {
	var req models.NewSticking
	var on day
	cmd := &cobra.Command{
		Use: "stick BATCH", Short: "Stick the cuttings of a batch",
		Long: `Sticks cuttings of a batch. A batch has one sticking: what is stuck another day, or
for another arm of a trial, is split off first with withy batch split.`,
		Example: examples("withy batch stick MB-03-2026-7 --count 72 --medium perlite --bench B2 --bottom-heat 21 --auxin IBA --auxin-ppm 3000 --auxin-form talc --stuck-by RQ"),
		Args:    takes("BATCH"),
		RunE: s.entering(func(ctx context.Context, c *api.Client, args []string) (err error) {
			if req.StuckOn, err = s.dayOf(ctx, c, on.orToday()); err != nil {
				return err
			}
			batch, err := c.Stick(ctx, args[0], req)
			if err != nil {
				return err
			}
			return show(s, batch, func(b models.BatchView) {
				s.say("%s of %s %s stuck on %s (treatment: %s).", models.Counted(req.Count, "cutting"), b.Code, models.Are(req.Count), req.StuckOn, req.TreatmentLabel())
				s.next(&b)
			})
		}),
	}
	dayFlag(cmd, &on, "on", "day they were stuck; today by default")
	alias(cmd, "on", "stuck-on")
	intFlag(cmd, &req.Count, "count", "cuttings stuck")
	trayFlags(cmd, &req.Tray)
	alias(cmd, "stuck-by", "by")
	needs(cmd, "count")
	return cmd
}

func newMove(s *session) *cobra.Command {
	var req models.NewMove
	var on day
	cmd := &cobra.Command{
		Use: "move BATCH", Short: "Soak or store cuttings before sticking, or record them as used or lost",
		Example: examples(
			"withy batch move MB-03-2026-7 --to soak --count 72",
			"withy batch move MB-03-2026-7 --to used --count 20 --use \"staked on the bank\"",
			"withy batch move MB-03-2026-7 --to lost --count 4 --cause dried"),
		Args: takes("BATCH"),
		RunE: s.entering(func(ctx context.Context, c *api.Client, args []string) (err error) {
			if req.On, err = s.dayOf(ctx, c, on.orToday()); err != nil {
				return err
			}
			batch, err := c.Move(ctx, args[0], req)
			if err != nil {
				return err
			}
			return show(s, batch, func(b models.BatchView) {
				s.say("%s of %s: %s, on %s.", models.Counted(req.Count, "cutting"), b.Code, words(req.To), req.On)
				s.next(&b)
			})
		}),
	}
	dayFlag(cmd, &on, "on", "day of the move; today by default")
	wordFlag(cmd, &req.To, "to", "where they go", models.MoveTos)
	intFlag(cmd, &req.Count, "count", "cuttings moved")
	cmd.Flags().StringVar(&req.Use, "use", "", "what they were used for; with used")
	wordFlag(cmd, &req.Cause, "cause", "what they were lost to; with lost", models.Causes)
	needs(cmd, "to", "count")
	return cmd
}

// next says what a batch asks for now, and warns of what to look at again.
func (s *session) next(b *models.BatchView) {
	for _, item := range b.Flags {
		s.say("Next: %s: %s.", item.Flag.Words(), item.Reason)
	}
	if len(b.Flags) == 0 {
		s.say("Nothing is due for it today: withy batch show %s.", b.Code)
	}
	s.warnAll(b.Warnings)
}
