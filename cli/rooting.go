package cli

import (
	"context"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/nursery"
)

// newRooting answers both withy rooting and withy rooting rate.
func newRooting(s *session) *cobra.Command {
	cmd := newRate(s, "rooting")
	cmd.AddCommand(newRate(s, "rate"))
	return cmd
}

func newRate(s *session, name string) *cobra.Command {
	var q nursery.RootingQuery
	var on, from, to day
	cmd := &cobra.Command{
		Use: name, Short: "Show what rooted and how fast, by species, treatment and more",
		Long: `Sums what rooted over groups of batches, always out of those stuck. Finished batches
were last looked at 84 days or more after sticking (112 for slow kinds), whatever
the outcome; the others may still root and stand on lines of their own. Group by
taxon, stand, kind, treatment, season, heated, mist, medium, container, bench or
purpose; taxon, treatment and heated by default.`,
		Example: examples("withy rooting", "withy rooting --by taxon,treatment", "withy rooting --by season --taxon \"Cornus sericea\" --json"),
		Args:    takes(),
		RunE: s.through(func(ctx context.Context, c *api.Client, _ []string) (err error) {
			for _, d := range []struct {
				to  *models.Date
				day day
			}{{&q.On, on}, {&q.From, from}, {&q.To, to}} {
				if *d.to, err = d.day.in(ctx, c); err != nil {
					return err
				}
			}
			report, err := c.Rooting(ctx, q)
			if err != nil {
				return err
			}
			return show(s, report, s.rateTable)
		}),
	}
	cmd.Flags().StringSliceVar(&q.By, "by", nil, "what to group by, with commas")
	dayFlag(cmd, &on, "on", "the day it is to speak of; today by default")
	cmd.Flags().StringVar(&q.Stand, "stand", "", "only batches of this stand")
	cmd.Flags().StringVar(&q.Taxon, "taxon", "", "only batches of this taxon")
	wordFlag(cmd, &q.Kind, "kind", "only this kind of cutting", models.CuttingKinds)
	dayFlag(cmd, &from, "from", "collected on this day or later")
	dayFlag(cmd, &to, "to", "collected on this day or earlier")
	return cmd
}

func (s *session) rateTable(r models.RootingReport) {
	columns := make([]column, 0, len(r.By)+6)
	for _, name := range r.By {
		columns = append(columns, textCol(strings.ToUpper(name)))
	}
	columns = append(columns, col("BATCHES"), numCol("STUCK"), numCol("ROOTED"), numCol("PERCENT"), col("HALF ROOTED"))
	var rows [][]string
	unseen := 0
	for _, group := range r.Groups {
		rows = append(rows, groupRows(r.By, &group)...)
		unseen += group.Finished.WithoutChecks + group.Unfinished.WithoutChecks
	}
	if len(rows) > 0 {
		s.say("What rooted by %s, of those stuck:", r.On)
	}
	s.table(columns, rows, "No batch was stuck and looked at by "+r.On.String()+".")
	if unseen > 0 {
		s.say("%s stuck, and nobody has looked at the roots yet: in no number here.", many(unseen, "more batch was", "more batches were"))
	}
}

// groupRows are the finished and the unfinished batches of a group, apart. The
// days to root are those of the whole group.
func groupRows(by []string, g *models.RootingGroup) [][]string {
	half := halfWords(g.DaysToRoot.OfStuck.T50)
	var rows [][]string
	for _, part := range []struct {
		count models.GroupCount
		word  string
	}{{g.Finished, "finished"}, {g.Unfinished, "unfinished"}} {
		if part.count.Batches == 0 {
			continue
		}
		var row []string
		for _, name := range by {
			row = append(row, strings.ReplaceAll(g.Key[name], "_", " "))
		}
		c := part.count
		rows = append(rows, append(row, strconv.Itoa(c.Batches)+" "+part.word, strconv.Itoa(c.Cuttings), strconv.Itoa(c.Rooted), maybe(c.Percent, percent), half))
		half = ""
	}
	return rows
}
