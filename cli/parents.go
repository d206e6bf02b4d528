package cli

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/nursery"
)

func newStandParents(s *session) *cobra.Command {
	var q nursery.ParentsQuery
	var on, known day
	cmd := &cobra.Command{
		Use: "parents STAND", Short: "Show from which plants of a stand stems were cut",
		Long: `Adds up what batches took of each plant that is known by its tag, with its sex and
its share of all, in the window of the harvest rule that ends today, or in a growth
year. The effective number is how many plants of equal share would vary as little.`,
		Example: examples("withy stand parents RS-1", "withy stand parents RS-1 --season 2025/26"),
		Args:    takes("STAND"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) (err error) {
			if q.On, err = on.in(ctx, c); err != nil {
				return err
			}
			if q.KnownOn, err = known.in(ctx, c); err != nil {
				return err
			}
			answer, err := c.StandParents(ctx, args[0], q)
			if err != nil {
				return err
			}
			return show(s, answer, s.standParentWords)
		}),
	}
	dayFlag(cmd, &on, "on", "last day of the window; today by default")
	cmd.Flags().StringVar(&q.Season, "season", "", "growth year to look at, from 1 July, as in 2025/26")
	knownFlag(cmd, &known)
	return cmd
}

func (s *session) standParentWords(p models.StandParents) {
	s.say("%s, %s to %s: %s cut, %d of them from plants known by their tags.", p.Stand, p.From, p.To, models.Counted(p.Stems, "stem"), p.Stems-p.Untagged)
	var rows [][]string
	for _, plant := range p.Plants {
		rows = append(rows, []string{plant.Tag, strconv.Itoa(plant.Stems), countOr(plant.Cuttings), asPercent(plant.Share), words(plant.Sex), plant.LastOn.String()})
	}
	s.table([]column{textCol("PLANT"), numCol("STEMS"), numCol("CUTTINGS"), numCol("SHARE"), col("SEX"), col("CUT LAST")}, rows,
		"No plant is known by its tag: name plants with withy batch log --parent.")
	if p.EffectiveParents != nil {
		s.say("Effective number of parents: %s of %d.", number(*p.EffectiveParents, 1), len(p.Plants))
	}
	s.warnAll(p.Warnings)
}

// countOr is a count, or a dash where it is not told.
func countOr(n int) string {
	if n == 0 {
		return "-"
	}
	return strconv.Itoa(n)
}

// parentWords tells from which plants a batch was cut.
func (s *session) parentWords(b *models.BatchView) {
	if len(b.Parents) == 0 || b.EffectiveParents == nil {
		return
	}
	var plants []string
	for _, p := range b.Parents {
		text := fmt.Sprintf("%s %s", p.Tag, models.Counted(p.Stems, "stem"))
		if p.Cuttings > 0 {
			text += fmt.Sprintf(" and %s", models.Counted(p.Cuttings, "cutting"))
		}
		if p.Sex != models.NotDetermined {
			text += ", " + words(p.Sex)
		}
		plants = append(plants, text)
	}
	s.say("Plants: %s. Effective number: %s.", strings.Join(plants, "; "), number(*b.EffectiveParents, 1))
}
