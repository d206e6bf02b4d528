package cli

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/rules"
)

func newCheck(s *session) *cobra.Command {
	cmd := s.group("check", "Look at trays, and count what rooted", examples("withy check add MB-03-2026-7 --rooted 31 --lost \"rotted base=3\""))
	cmd.AddCommand(newCheckAdd(s))
	return cmd
}

func newCheckAdd(s *session) *cobra.Command {
	req := models.NewCheck{}
	var on day
	cmd := &cobra.Command{
		Use: "add BATCH", Short: "Enter what stands in a tray now",
		Long: `Enters a look at a tray: what stands in it now, not what changed. Rooted means
roots, not leaves. What is unrooted is worked out, and must balance if it is given.
Losses since the last look go by cause, as in --lost "rotted base=3, dried=1".
The causes are: ` + causeList() + `.`,
		Example: examples(
			"withy check add MB-03-2026-7 --on 2026-02-07 --rooted 31 --potting-roots 18 --lost \"rotted base=3\" --by RQ",
			"withy check add MB-03-2026-7 --rooted 6 --potting-roots 4 --examined 10 --method lift"),
		Args: takes("BATCH"),
		RunE: s.entering(func(ctx context.Context, c *api.Client, args []string) (err error) {
			if req.CheckedOn, err = s.dayOf(ctx, c, on.orToday()); err != nil {
				return err
			}
			batch, err := c.Check(ctx, args[0], req)
			if err != nil {
				return err
			}
			return show(s, batch, func(b models.BatchView) { s.checked(&b, &req) })
		}),
	}
	dayFlag(cmd, &on, "on", "day of the look; today by default")
	alias(cmd, "on", "checked-on")
	lookFlags(cmd, &req)
	return cmd
}

// lookFlags are what was seen at a look.
func lookFlags(cmd *cobra.Command, req *models.NewCheck) {
	optionalInt(cmd, &req.Rooted, "rooted", "rooted cuttings in the tray now; leave out if roots were not looked at")
	optionalInt(cmd, &req.PottingRoots, "potting-roots", "of the rooted, those with three or more roots of 2.5 cm or longer")
	optionalInt(cmd, &req.Overlong, "overlong", "of these, those whose roots are too long already")
	optionalInt(cmd, &req.Unrooted, "unrooted", "live unrooted cuttings in the tray now")
	lossFlag(cmd, &req.Lost, "lost", "lost since the last look, by cause; may be given again")
	lost := models.Losses{}
	lossFlag(cmd, &lost, "lost-rooted", "of the rooted ones, lost since the last look, by cause")
	cmd.PreRunE = func(cmd *cobra.Command, _ []string) error {
		if cmd.Flags().Changed("lost-rooted") {
			req.LostRooted = &lost
		}
		return nil
	}
	intFlag(cmd, &req.Withdrawn, "withdrawn", "taken out unrooted since the last look: no loss")
	cmd.Flags().StringVar(&req.CheckedBy, "checked-by", "", "who looked; initials do")
	alias(cmd, "checked-by", "by")
	wordFlag(cmd, &req.Method, "method", "how roots were looked for", models.LookMethods)
	optionalInt(cmd, &req.Examined, "examined", "how many were looked at, when only some were: the counts are of those")
	cmd.Flags().StringVar(&req.Note, "note", "", "anything else")
}

func causeWords() []string {
	var list []string
	for _, cause := range models.Causes {
		list = append(list, cause.Words())
	}
	return list
}

func causeList() string { return strings.Join(causeWords(), ", ") }

func lossFlag(cmd *cobra.Command, to *models.Losses, name, help string) {
	addValue(cmd, name, "cause=n", help, func(text string) error {
		if *to == nil {
			*to = models.Losses{}
		}
		return readLosses(*to, text)
	})
}

// readLosses adds losses such as "rotted base=3, dried=1".
func readLosses(to models.Losses, text string) error {
	for _, pair := range strings.Split(text, ",") {
		name, count, ok := strings.Cut(pair, "=")
		if !ok {
			return fmt.Errorf("is %q, and must be a cause and a count, as in \"rotted base=3\"", text)
		}
		cause, known := models.ParseCause(name)
		if !known {
			return fmt.Errorf("has the cause %q, and the causes are %s%s", strings.TrimSpace(name), causeList(), meant(rules.Near(name, causeWords())))
		}
		n, err := parseCount(strings.TrimSpace(count))
		if err != nil {
			return err
		}
		to[cause] += n
	}
	return nil
}

func (s *session) checked(b *models.BatchView, req *models.NewCheck) {
	switch {
	case req.Examined != nil:
		s.say("The look at %s of %s on %s is entered; it moves no count.", models.Counted(*req.Examined, "cutting"), b.Code, req.CheckedOn)
	case b.Rooting != nil:
		s.say("The look at %s on %s is entered: %s rooted (%d of %d stuck) on %s.", b.Code, req.CheckedOn,
			percent(b.Rooting.Percent), b.Rooting.EverRooted, b.Rooting.Stuck, b.Rooting.On)
	default:
		s.say("The look at %s on %s is entered.", b.Code, req.CheckedOn)
	}
	s.next(b)
}

func newPot(s *session) *cobra.Command {
	var req models.NewPotting
	var on day
	cmd := &cobra.Command{
		Use: "pot BATCH", Short: "Pot rooted cuttings up",
		Long:    "Pots cuttings up. More than were known to be rooted are recorded as found rooted that day.",
		Example: examples("withy pot MB-03-2026-7 --count 40 --container \"1-gallon pot\" --bench \"Yard 1\" --by RQ"),
		Args:    takes("BATCH"),
		RunE: s.entering(func(ctx context.Context, c *api.Client, args []string) (err error) {
			if req.PottedOn, err = s.dayOf(ctx, c, on.orToday()); err != nil {
				return err
			}
			batch, err := c.Pot(ctx, args[0], req)
			if err != nil {
				return err
			}
			return show(s, batch, func(b models.BatchView) {
				left := b.Counts.Live()
				s.say("%s of %s %s potted on %s; %d %s left in the tray.", models.Counted(req.Count, "cutting"), b.Code, models.Are(req.Count),
					req.PottedOn, left, models.Are(left))
				s.next(&b)
			})
		}),
	}
	dayFlag(cmd, &on, "on", "day they were potted; today by default")
	alias(cmd, "on", "potted-on")
	intFlag(cmd, &req.Count, "count", "cuttings potted")
	cmd.Flags().StringVar(&req.Container, "container", "", "pot")
	cmd.Flags().StringVar(&req.Medium, "medium", "", "potting medium")
	cmd.Flags().StringVar(&req.Bench, "bench", "", "where they stand now")
	cmd.Flags().StringVar(&req.PottedBy, "potted-by", "", "who potted; initials do")
	alias(cmd, "potted-by", "by")
	needs(cmd, "count")
	return cmd
}
