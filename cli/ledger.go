package cli

import (
	"context"
	"strconv"

	"github.com/spf13/cobra"

	"withybed/api"
	"withybed/models"
)

func newLedger(s *session) *cobra.Command {
	var known day
	cmd := &cobra.Command{
		Use: "ledger STAND", Short: "List the stems taken from a stand, the latest entered first",
		Example: examples("withy stand ledger MB-03", "withy stand ledger MB-03 --known-on 2026-01-31"),
		Args:    takes("STAND"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			on, err := known.in(ctx, c)
			if err != nil {
				return err
			}
			return showAll(s, c.Ledger(ctx, args[0], on), func(lines []models.LedgerLine) { s.ledgerTable(lines, on) })
		}),
	}
	knownFlag(cmd, &known)
	return cmd
}

// knownFlag is the flag of reports that can be read as they were known on a day.
func knownFlag(cmd *cobra.Command, known *day) {
	dayFlag(cmd, known, "known-on", "by what was known at the end of that day; by what is known now by default")
}

// emptyLedger says that nothing was taken, as it was known on a day or, without
// one, as it is known now.
func emptyLedger(known models.Date) string {
	if known.IsZero() {
		return "No stems of this stand are on the ledger."
	}
	return "No stems of this stand were on the ledger at the end of " + known.String() + "."
}

func (s *session) ledgerTable(lines []models.LedgerLine, known models.Date) {
	var rows [][]string
	for _, l := range lines {
		rows = append(rows, []string{l.TakenOn.String(), words(l.Kind), strconv.Itoa(l.Stems), strconv.Itoa(l.Parents), dash(l.Batch), dash(l.EnteredBy), l.Why})
	}
	s.table([]column{col("TAKEN ON"), col("KIND"), numCol("STEMS"), numCol("PARENTS"), col("BATCH"), textCol("BY"), textCol("WHY")}, rows, emptyLedger(known))
}

func newSeasons(s *session) *cobra.Command {
	var known day
	cmd := &cobra.Command{
		Use: "seasons STAND", Short: "Show what was taken of a stand season by season",
		Long:    "Sums the ledger of a stand by growth year, 1 July to 30 June, as a share of the survey then in force.",
		Example: examples("withy stand seasons MB-03", "withy stand seasons MB-03 --known-on 2026-01-31"),
		Args:    takes("STAND"),
		RunE: s.through(func(ctx context.Context, c *api.Client, args []string) error {
			on, err := known.in(ctx, c)
			if err != nil {
				return err
			}
			seasons, err := c.Seasons(ctx, args[0], on)
			if err != nil {
				return err
			}
			return showItems(s, seasons, func(items []models.SeasonTaken) { s.seasonTable(items, on) })
		}),
	}
	knownFlag(cmd, &known)
	return cmd
}

func (s *session) seasonTable(seasons []models.SeasonTaken, known models.Date) {
	var rows [][]string
	for _, season := range seasons {
		rows = append(rows, []string{season.Season, strconv.Itoa(season.Stems), strconv.Itoa(season.Batches),
			maybe(season.Fraction, asPercent), maybe(season.LowerBound, func(d models.Decimal) string { return number(d.Float(), 1) }), dash(season.SurveyedOn.String())})
	}
	s.table([]column{col("SEASON"), numCol("STEMS"), numCol("BATCHES"), numCol("OF BOUND"), numCol("BOUND"), col("COUNTED")}, rows, emptyLedger(known))
}

// asPercent is a fraction as a percent.
func asPercent(fraction float64) string { return percent(100 * fraction) }
