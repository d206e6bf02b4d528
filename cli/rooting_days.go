package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
	"withybed/models/rules"
)

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
			return groupReport[models.DaysReport]{(*api.Client).RootingDays, rules.DaysReport}.ask(a, cmd, inWords(s, a.daysTable))
		},
	}
	a.flags(cmd)
	a.groupFlag(cmd)
	a.drawFlags(cmd)
	return cmd
}

func (s *session) daysTable(r models.DaysReport) {
	columns := append(keyColumns(r.By), col("OF"), textCol("A TENTH"), textCol("HALF"), textCol("NINE TENTHS"))
	var rows [][]string
	unseen := 0
	for i := range r.Groups {
		g := &r.Groups[i]
		unseen += g.WithoutChecks
		if g.Batches == 0 {
			continue
		}
		blank := make([]string, len(keyCells(r.By, g.Key)))
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
		s.tell("By which day after sticking they had rooted, with 95 %% limits:")
	}
	s.table(columns, rows, noneSeen(r.On))
	var said groupNotes
	for i := range r.Groups {
		if g := &r.Groups[i]; g.Batches > 0 { // the others are told together
			said.add(keyWords(r.By, g.Key), g.Notes)
		}
	}
	said.say(s)
	s.sayUnseen(unseen)
}

// limitWords are the limits of a day.
func limitWords(limits *[2]*int) string {
	switch {
	case limits == nil || limits[0] == nil:
		return ""
	case limits[1] == nil:
		return fmt.Sprintf(" (after %d)", *limits[0])
	}
	return fmt.Sprintf(" (%d-%d)", *limits[0], *limits[1])
}
