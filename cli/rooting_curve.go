package cli

import (
	"fmt"
	"strconv"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/rules"
)

func newCurve(s *session) *cobra.Command {
	a := &rootingAsk{session: s}
	cmd := &cobra.Command{
		Use: "curve", Short: "Show the share rooted and lost, day by day",
		Long: `Shows the share rooted and the share lost by day, worked out from batches that were
looked at on different days: a cutting found rooted rooted at some time since the
look before, and losses compete with rooting. All batches are pooled unless they are
grouped with --by. Limits come from whole batches drawn again.` + aboutFile,
		Example: examples("withy rooting curve --taxon \"Cornus sericea\"", "withy rooting curve --by treatment --season 2025/26",
			"withy rooting curve --file checks.csv --by treatment --json"),
		Args: takes(), PreRunE: a.prepare,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return report(a, cmd, (*api.Client).RootingCurve, rules.CurveReport, a.curveTables)
		},
	}
	a.flags(cmd)
	a.drawFlags(cmd)
	return cmd
}

func newDays(s *session) *cobra.Command {
	a := &rootingAsk{session: s}
	cmd := &cobra.Command{
		Use: "days", Short: "Show by which day a tenth, half and nine tenths had rooted",
		Long: `Shows the days by which a tenth, half and nine tenths had rooted, of those stuck and
of those that rooted, as the stretch between two looks in which that came about,
with limits. "Not reached" is an answer. All batches are pooled unless they are
grouped with --by.` + aboutFile,
		Example: examples("withy rooting days --by taxon", "withy rooting days --by treatment --taxon \"Cornus sericea\"",
			"withy rooting days --file checks.csv --by treatment"),
		Args: takes(), PreRunE: a.prepare,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return report(a, cmd, (*api.Client).RootingDays, rules.DaysReport, a.daysTable)
		},
	}
	a.flags(cmd)
	a.drawFlags(cmd)
	return cmd
}

func (s *session) curveTables(r models.CurveReport) {
	unseen, shown := 0, 0
	for i := range r.Groups {
		g := &r.Groups[i]
		unseen += g.WithoutChecks
		if g.Batches == 0 {
			continue
		}
		if shown > 0 {
			s.say("")
		}
		shown++
		s.curveTable(r.By, g)
	}
	if shown == 0 {
		s.say("%s", noneSeen(r.On))
	}
	s.sayUnseen(unseen)
}

func (s *session) curveTable(by []string, c *models.RootingCurve) {
	s.say("%s: %s, %d stuck, %d rooted, %d lost, %d open.", keyWords(by, c.Key), many(c.Batches, "batch", "batches"), c.Cuttings, c.Rooted, c.Lost, c.Open)
	var rows [][]string
	for _, p := range c.Curve {
		limits := "-"
		if p.Limits != nil {
			limits = fmt.Sprintf("%.0f-%.0f %%", 100*p.Limits[0], 100*p.Limits[1])
		}
		rows = append(rows, []string{strconv.Itoa(p.Day), shareWords(p.RootedLower, p.RootedUpper), limits, shareWords(p.LostLower, p.LostUpper), strconv.Itoa(p.AtRisk)})
	}
	s.table([]column{numCol("DAY"), numCol("ROOTED"), numCol("LIMITS"), numCol("LOST"), numCol("WATCHED")}, rows, "")
	if c.Tau != nil && len(c.Curve) > 0 && c.Curve[len(c.Curve)-1].Day > *c.Tau {
		s.say("After day %d too few were watched to say anything.", *c.Tau)
	}
	s.say("Final rate %s. Half of those stuck rooted %s.", rateWords(&c.Rate), halfWords(c.DaysToRoot.OfStuck.T50.Bracket))
	for _, note := range c.Notes {
		s.say("Note: %s.", note)
	}
}

// shareWords is a share, or a stretch of shares within which it lies.
func shareWords(lower, upper float64) string {
	if low, high := percent(100*lower), percent(100*upper); low != high {
		return fmt.Sprintf("%.1f-%s", 100*lower, high)
	}
	return percent(100 * lower)
}

func (s *session) daysTable(r models.DaysReport) {
	columns := append(keyColumns(r.By), col("OF"), col("A TENTH"), col("HALF"), col("NINE TENTHS"))
	var rows [][]string
	unseen := 0
	for i := range r.Groups {
		g := &r.Groups[i]
		unseen += g.WithoutChecks
		if g.Batches == 0 {
			continue
		}
		blank := make([]string, len(r.By))
		for _, base := range []struct {
			key    []string
			name   string
			levels models.CurveLevels
		}{{keyCells(r.By, g.Key), "stuck", g.DaysToRoot.OfStuck}, {blank, "rooted", g.DaysToRoot.OfRooted}} {
			row := append(append([]string{}, base.key...), base.name)
			for _, l := range []models.CurveLevel{base.levels.T10, base.levels.T50, base.levels.T90} {
				row = append(row, halfWords(l.Bracket)+limitWords(l.Limits))
			}
			rows = append(rows, row)
		}
	}
	if len(rows) > 0 {
		s.say("By which day after sticking they had rooted, with 95 %% limits:")
	}
	s.table(columns, rows, noneSeen(r.On))
	for i := range r.Groups {
		s.notesOf(r.By, r.Groups[i].Key, r.Groups[i].Notes)
	}
	s.sayUnseen(unseen)
}

// limitWords are the limits of a day.
func limitWords(limits *[2]*int) string {
	switch {
	case limits == nil || limits[0] == nil:
		return ""
	case limits[1] == nil:
		return fmt.Sprintf(" (%d or later)", *limits[0])
	}
	return fmt.Sprintf(" (%d-%d)", *limits[0], *limits[1])
}
