package cli

import (
	"context"
	"encoding/csv"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

func newSplit(s *session) *cobra.Command {
	var req models.NewSplit
	var on day
	cmd := &cobra.Command{
		Use: "split BATCH", Short: "Split sister batches off a batch, for the arms of a trial",
		Long: `Splits cuttings off into sister batches; the stems stay on the first. Each --arm is
a list of parts: count, and where it is stuck at once, its sticking by the names of
the flags of withy batch stick. Keep one arm untreated, as a control.`,
		Example: examples(
			"withy batch split MB-03-2026-7 --arm count=24,treatment=none,bench=B2 --arm count=24,auxin=IBA,auxin-ppm=3000,auxin-form=talc,bench=B2"),
		Args: takes("BATCH"),
		RunE: s.entering(func(ctx context.Context, c *api.Client, args []string) (err error) {
			if req.On, err = s.dayOf(ctx, c, on.orToday()); err != nil {
				return err
			}
			split, err := c.Split(ctx, args[0], req)
			if err != nil {
				return err
			}
			return show(s, split, s.splitWords)
		}),
	}
	dayFlag(cmd, &on, "on", "day of the split; today by default")
	addValue(cmd, "arm", "count=n,…", "an arm, as in \"count=24,auxin=IBA,auxin-ppm=3000\"; may be given again", func(text string) error {
		arm, err := parseArm(text)
		req.Arms = append(req.Arms, arm)
		return err
	})
	needs(cmd, "arm")
	return cmd
}

// parseArm reads the parts of an arm. They are the flags of a sticking, and are
// read as such.
func parseArm(text string) (models.Arm, error) {
	var arm models.Arm
	parts := &cobra.Command{Use: "arm"}
	intFlag(parts, &arm.Count, "count", "")
	addValue(parts, "stuck-on", "day", "", func(text string) (err error) {
		arm.StuckOn, err = models.ParseDate(text)
		return err
	})
	trayFlags(parts, &arm.Tray)
	alias(parts, "count")
	reader := csv.NewReader(strings.NewReader(text))
	reader.LazyQuotes, reader.TrimLeadingSpace = true, true
	pairs, err := reader.Read()
	if err != nil {
		return arm, fmt.Errorf("is %q, and must be parts with commas between them, as in count=24,bench=B2", text)
	}
	for _, pair := range pairs {
		name, value, ok := strings.Cut(pair, "=")
		name = strings.TrimSpace(name)
		if !ok {
			return arm, fmt.Errorf("has the part %q, which has no value: write it as in count=24", pair)
		}
		if parts.Flags().Lookup(name) == nil {
			return arm, fmt.Errorf("has no part %q%s", name, meant(nearFlags(parts, name, "")))
		}
		if err := parts.Flags().Set(name, strings.TrimSpace(value)); err != nil {
			return arm, fmt.Errorf("has a part that cannot be: %w", flagFault(parts, err))
		}
	}
	if !parts.Flags().Changed("count") {
		return arm, fmt.Errorf("is %q, and needs a count, as in count=24", text)
	}
	return arm, nil
}

func (s *session) splitWords(v models.SplitView) {
	s.say("%s split off %s.", many(len(v.Sisters), "sister batch is", "sister batches are"), v.Batch.Code)
	var rows [][]string
	for _, sister := range v.Sisters {
		treatment := "waits to be stuck"
		if sister.Sticking != nil {
			treatment = sister.Sticking.Label
		}
		rows = append(rows, []string{sister.Code, fmt.Sprint(sister.Cuttings), treatment})
	}
	s.table([]column{col("SISTER"), numCol("CUTTINGS"), textCol("TREATMENT")}, rows, "There are no sisters.")
	s.say("Write each code on its tray.")
	s.warnAll(v.Batch.Warnings)
}
