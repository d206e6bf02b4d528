package cli

import (
	"cmp"
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/rules"
)

// compareAsk asks whether arms differ.
type compareAsk struct {
	rootingAsk
	ask rules.CompareAsk
}

func newCompare(s *session) *cobra.Command {
	a := &compareAsk{rootingAsk: rootingAsk{session: s}}
	cmd := &cobra.Command{
		Use: "compare", Short: "Compare treatments, or other arms, and say whether they differ",
		Long: `Holds arms against each other: their rates by one day, the difference with limits,
and a test over the whole curve that relabels whole batches, since cuttings of one
batch are not independent. Where batches were split from one harvest, or a file
names blocks, arms are compared within them; other arms are headed "not a
side-by-side trial". Where no outcome could show a difference it says that there
are too few batches to test. Arms that are doses (soak_days, auxin_ppm) are tested
for a trend as well. With --difference it says how many batches an arm it takes to
find a difference that would matter: name one beforehand, never the one that was
seen. Who stuck the batches (--by person) is compared for leads and coordinators
alone, and is not exported.` + aboutFile,
		Example: examples("withy rooting compare --taxon \"Cornus sericea\"", "withy rooting compare --by medium --treatment none",
			"withy rooting compare --by auxin_ppm --taxon \"Physocarpus capitatus\"", "withy rooting compare --difference 0.15",
			"withy rooting compare --file checks.csv --reference none"),
		Args: takes(), PreRunE: a.prepare,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return report(&a.rootingAsk, cmd, a.far, a.near, inWords(s, a.comparison))
		},
	}
	a.flags(cmd)
	a.drawFlags(cmd)
	cmd.Flags().StringVar(&a.ask.By, "by", "treatment", "what arms are told apart by: "+models.OneOf(rules.Comparable()))
	complete(cmd, "by", rules.Comparable())
	cmd.Flags().StringVar(&a.ask.Reference, "reference", "", "the arm that others are held against; the first by name by default")
	addValue(cmd, "difference", "share", "a difference of rates that would matter, as in 0.15", func(text string) (err error) {
		if a.ask.Difference, err = parseNumber(text); err == nil && !(a.ask.Difference > 0 && a.ask.Difference < 1) {
			err = fmt.Errorf("is %s, and must be a share above 0 and below 1, as in 0.15", text)
		}
		return err
	})
	return cmd
}

func (a *compareAsk) prepare(cmd *cobra.Command, args []string) error {
	switch {
	case a.ask.By == rules.ByPerson && a.json:
		return usagef("a comparison of people is not exported: leave --json out")
	case a.ask.By != "treatment" && a.file != "":
		return usagef("--by %s does not go with --file: batches of a file are told apart by treatment only", a.ask.By)
	}
	return a.rootingAsk.prepare(cmd, args)
}

func (a *compareAsk) far(ctx context.Context, c *api.Client) (models.Comparison, error) {
	a.ask.Draw = a.q.Drawing
	return c.RootingCompare(ctx, a.q.RootingPick, a.ask)
}

func (a *compareAsk) near(ctx context.Context) (models.Comparison, error) {
	a.ask.Draw = a.q.Drawing
	return rules.Compare(ctx, a.checks.Batches, a.ask)
}

func (s *session) comparison(c models.Comparison) {
	s.tell("%s.", capital(c.Heading))
	s.arms(&c)
	if c.Difference != nil {
		s.tell("%s", differenceWords(c.Difference))
	}
	// What was declined is in the heading already.
	if c.Test != nil && !strings.HasSuffix(c.Heading, cmp.Or(c.Test.Reason, "-")) {
		s.tell("%s", testWords(c.Test))
	}
	if c.Overall != nil && !strings.HasSuffix(c.Heading, cmp.Or(c.Overall.Reason, "-")) {
		s.tell("%s", overallWords(c.Overall))
	}
	s.armPairs(c.Pairs)
	for i := range c.Arms {
		if a := &c.Arms[i]; a.RhoAssumed {
			s.tell("%s: %s.", a.Treatment, rhoAssumed)
		}
	}
	if c.Need != nil {
		s.tell("%s", needWords(c.Need))
	}
	for _, note := range c.Notes {
		s.tell("Note: %s.", note)
	}
	if c.Trend != nil {
		s.say("")
		s.tell("%s", trendHeading(c.Trend))
		s.tell("%s", trendWords(c.Trend))
	}
}

func (s *session) arms(c *models.Comparison) {
	var rows [][]string
	for i := range c.Arms {
		a := &c.Arms[i]
		rows = append(rows, []string{a.Treatment, strconv.Itoa(a.Batches), strconv.Itoa(a.Cuttings), strconv.Itoa(a.Rooted),
			strconv.Itoa(a.Lost), strconv.Itoa(a.Open), maybe(a.Rate, shareOf), maybe(a.NEff, func(n float64) string { return number(n, 0) })})
	}
	s.table([]column{textCol("ARM"), numCol("BATCHES"), numCol("STUCK"), numCol("ROOTED"), numCol("LOST"), numCol("OPEN"), numCol("RATE"), numCol("COUNTS AS")},
		rows, "No batch was stuck of which that is recorded.")
}

func (s *session) armPairs(pairs []models.ArmPair) {
	for i := range pairs {
		p := &pairs[i]
		s.tell("%s", differenceWords(&p.Difference))
		text := testWords(&p.Test)
		if p.PHolm != nil {
			text += fmt.Sprintf(" With all pairs in mind (Holm): p = %s.", pWords(*p.PHolm))
		}
		s.tell("%s", text)
	}
}

func shareOf(share float64) string { return percent(100 * share) }

func pWords(p float64) string { return strconv.FormatFloat(p, 'g', 2, 64) }
